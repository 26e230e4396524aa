"""The tube at work on a resonant network: currents, powers, bias and drive, with a sinusoidal plate swing."""

from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tube.triode import Tube
from netsim.errors import DescriptionError, Problem

SAMPLES = 1024
MOST_DRIVE = 5e3
"""Peak drive [V] above which a tube is taken for the wrong one."""

_HALVINGS = 80
_ANGLE = np.linspace(0, 2 * np.pi, SAMPLES, endpoint=False)


@dataclass(frozen=True)
class TubePoint:
    """What the tubes do at one plate swing. All tubes together; peaks are peaks.

    Attributes
    ----------
    plate_current_dc, grid_current_dc, fundamental_current_peak : float
        [A].
    conduction_angle : float
        Total angle over which plate current flows [rad].
    plate_swing_peak : float
        Of the plate to ground [V]; in grounded grid it includes the drive that stands in series.
    plate_load : float
        Swing over fundamental current [ohm].
    plate_power : float
        Into the plate load [W], of which `feed_through_power` comes from the drive.
    feed_through_power, drive_power : float
        [W].
    input_resistance : float
        Peak drive voltage over the fundamental current it supplies [ohm]; infinite if it supplies none.
    plate_dissipation, grid_dissipation : float
        [W].
    """

    plate_current_dc: float
    grid_current_dc: float
    fundamental_current_peak: float
    conduction_angle: float
    plate_swing_peak: float
    plate_load: float
    plate_power: float
    feed_through_power: float
    drive_power: float
    input_resistance: float
    plate_dissipation: float
    grid_dissipation: float


def at_swing(tube: Tube, plate_voltage: float, swing: float) -> TubePoint:
    """Work out one plate swing.

    Parameters
    ----------
    tube : Tube
        With its bias and drive.
    plate_voltage : float
        DC, plate to cathode [V].
    swing : float
        Peak of the plate to ground [V].

    Returns
    -------
    TubePoint
        From 1024 samples of one period.

    Notes
    -----
    Plate to cathode the voltage is ``V - (swing - E) cos x``, E the drive in series. The drive supplies the
    grid current's fundamental, in grounded grid the plate current's as well: power ``E I / 2`` each.
    """
    drive, series = tube.drive_voltage_peak, tube.series_drive
    plate = plate_voltage - (swing - series) * np.cos(_ANGLE)
    grid = tube.drive(_ANGLE)
    current, grid_current = tube.plate_current(plate, grid), tube.grid_current(grid)
    first, grid_first = (2 * float(np.mean(i * np.cos(_ANGLE))) for i in (current, grid_current))
    supplied = grid_first + (first if series else 0.0)
    lift = drive - (swing - series) / tube.amplification_factor
    rest = tube.bias_voltage + plate_voltage / tube.amplification_factor
    cosine = np.clip(-rest / lift, -1, 1) if lift > 0 else (-1.0 if rest > 0 else 1.0)
    return TubePoint(
        plate_current_dc=float(np.mean(current)),
        grid_current_dc=float(np.mean(grid_current)),
        fundamental_current_peak=first,
        conduction_angle=2 * float(np.arccos(cosine)),
        plate_swing_peak=swing,
        plate_load=swing / first if first > 0 else np.inf,
        plate_power=swing * first / 2,
        feed_through_power=series * first / 2,
        drive_power=drive * supplied / 2,
        input_resistance=drive / supplied if supplied > 0 else np.inf,
        plate_dissipation=float(np.mean(plate * current)),
        grid_dissipation=float(np.mean(grid * grid_current)),
    )


def at_plate_load(tube: Tube, plate_voltage: float, plate_load: float) -> TubePoint:
    """Find the swing at which swing and current fit a plate load [ohm].

    The current only falls as the swing grows, so the swing is bracketed between nothing and what the
    current of a plate at rest would make, and halved down.
    """
    low, high = 0.0, plate_load * at_swing(tube, plate_voltage, 0.0).fundamental_current_peak
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        more = plate_load * at_swing(tube, plate_voltage, middle).fundamental_current_peak > middle
        low, high = (middle, high) if more else (low, middle)
    return at_swing(tube, plate_voltage, (low + high) / 2)


def for_plate_power(tube: Tube, plate_voltage: float, power: float) -> TubePoint:
    """Find the plate load that takes a wanted power.

    Parameters
    ----------
    tube : Tube
        With its bias and drive.
    plate_voltage : float
        DC [V].
    power : float
        Wanted in the plate load [W].

    Returns
    -------
    TubePoint
        Of the two loads the smaller, on the side where the plate does not yet saturate.

    Raises
    ------
    DescriptionError
        If there is no such load; the message names the highest power and its load.
    """
    swings = np.linspace(0, plate_voltage + tube.series_drive, 400)[1:]
    powers = np.array([at_swing(tube, plate_voltage, float(swing)).plate_power for swing in swings])
    top = int(np.argmax(powers))
    if power > powers[top]:
        best = at_swing(tube, plate_voltage, float(swings[top]))
        _fail(
            "output_out_of_reach",
            f"{power:.4g} W is more than this tube gives at this bias and drive; the most is "
            f"{best.plate_power:.4g} W into a plate load of {best.plate_load:.4g} ohm: ask for less, or raise drive "
            "or plate voltage",
        )
    low, high = 0.0, float(swings[top])
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        short = at_swing(tube, plate_voltage, middle).plate_power < power
        low, high = (middle, high) if short else (low, middle)
    return at_swing(tube, plate_voltage, high)


def bias_for(tube: Tube, plate_voltage: float, least_plate_voltage: float, current: float) -> Tube:
    """Set the bias so that the DC plate current is as wanted at the drive given.

    Parameters
    ----------
    tube : Tube
        Its bias does not matter.
    plate_voltage, least_plate_voltage : float
        DC, and the lowest of the swing, plate to cathode [V].
    current : float
        DC plate current wanted, all tubes [A].

    Returns
    -------
    Tube
        With that bias.

    Raises
    ------
    DescriptionError
        ``no_bias_solution``, with the current that zero bias gives.
    """
    swing = plate_voltage - least_plate_voltage + tube.series_drive

    def drawn(bias: float) -> float:
        return at_swing(replace(tube, bias_voltage=bias), plate_voltage, swing).plate_current_dc

    most = drawn(0.0)
    if not 0 < current <= most:
        _fail(
            "no_bias_solution",
            f"no bias gives a plate current of {current:.4g} A with a drive of {tube.drive_voltage_peak:.4g} V "
            f"peak: even without bias it is {most:.4g} A; give more drive, or check perveance and count",
        )
    low, high = -(tube.drive_voltage_peak + (plate_voltage + swing) / tube.amplification_factor), 0.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if drawn(middle) < current else (low, middle)
    return replace(tube, bias_voltage=high)


def bias_and_drive_for(
    tube: Tube, plate_voltage: float, least_plate_voltage: float, current: float, conduction_angle: float
) -> Tube:
    """Set bias and drive so that DC plate current and conduction angle are as wanted.

    Parameters
    ----------
    tube : Tube
        Its bias and drive do not matter.
    plate_voltage, least_plate_voltage, current : float
        As in `bias_for`.
    conduction_angle : float
        Total [rad].

    Returns
    -------
    Tube
        With that bias and drive.

    Raises
    ------
    DescriptionError
        ``no_bias_solution`` if that takes more drive than there can be.

    Notes
    -----
    With the swing A and half the angle t the lift above cutoff is ``(E - A / mu) (cos x - cos t)``: the
    current is a fixed shape times a power of E - A / mu, so both follow in closed form. Derived.
    """
    amplitude = plate_voltage - least_plate_voltage
    cosine = np.cos(conduction_angle / 2)
    plate = plate_voltage - amplitude * np.cos(_ANGLE)
    factor = tube.amplification_factor
    # The law without its grid: put the wanted lift in place of the grid voltage.
    lift: FloatArray = np.maximum(np.cos(_ANGLE) - cosine, 0.0) - plate / factor
    mean = float(np.mean(tube.plate_current(plate, lift)))
    drive = (current / mean) ** (2 / 3) + amplitude / factor if mean > 0 else np.inf
    if drive > MOST_DRIVE:
        _fail(
            "no_bias_solution",
            f"the stage's plate current and conduction angle would take a drive of {drive:.3g} V peak from this tube, "
            f"more than {MOST_DRIVE:g} V; check perveance and count, knee_voltage and the stage's plate swing",
        )
    bias = -drive * cosine - (plate_voltage - amplitude * cosine) / factor
    return replace(tube, bias_voltage=float(bias), drive_voltage_peak=float(drive))


def _fail(code: str, message: str) -> NoReturn:
    raise DescriptionError(Problem(code, message))
