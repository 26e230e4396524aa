"""The tube at work on a resonant network: currents, powers, bias and drive, with a sinusoidal plate swing."""

from dataclasses import dataclass, replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tube.triode import TubeConstants, Value

SAMPLES = 256
"""Of half a period; the other half is its mirror image."""

MOST_DRIVE = 5e3
"""Peak drive [V] above which a tube is taken for the wrong one."""

_HALVINGS = 80
_STEPS = 60
_SETTLED = 1e-13
_ANGLE = (np.arange(SAMPLES) + 0.5) * np.pi / SAMPLES


@dataclass(frozen=True)
class OperatingState:
    """What the tubes do at one plate swing; all tubes together, arrays of shape ``(rows,)``.

    Attributes
    ----------
    plate_current_dc, grid_current_dc : ndarray
        [A]; the grid's, and what follows from it, is None where it is not known.
    fundamental_current_peak : ndarray
        Of the plate [A].
    conduction_angle : ndarray
        Total angle over which plate current flows [rad].
    plate_swing_peak : ndarray
        Of the plate to ground [V]; in grounded grid it includes the drive that stands in series.
    plate_power : ndarray
        Into the plate load [W], of which `feed_through_power` comes from the drive.
    feed_through_power, drive_power : ndarray
        [W]; the drive's without the grid's share where that is not known, None if it is all there is.
    plate_dissipation, grid_dissipation : ndarray
        [W].
    """

    plate_current_dc: FloatArray
    grid_current_dc: FloatArray | None
    fundamental_current_peak: FloatArray
    conduction_angle: FloatArray
    plate_swing_peak: FloatArray
    plate_power: FloatArray
    feed_through_power: FloatArray
    drive_power: FloatArray | None
    plate_dissipation: FloatArray
    grid_dissipation: FloatArray | None


def at_swing(tube: TubeConstants, plate_voltage: Value, swing: Value) -> OperatingState:
    """Work out one plate swing of each row.

    Parameters
    ----------
    tube : TubeConstants
        With its bias and drive; constants are numbers or of shape ``(rows,)``, as the next two.
    plate_voltage : float or ndarray
        DC, plate to cathode [V].
    swing : float or ndarray
        Peak of the plate to ground [V].

    Returns
    -------
    OperatingState
        From 512 samples of one period.

    Notes
    -----
    Plate to cathode the voltage is ``V - (swing - E) cos x``, E the drive in series. The drive supplies the
    grid current's fundamental, in grounded grid the plate current's as well: power ``E I / 2`` each.
    """
    column = tube.column
    volts, peak = _columns(plate_voltage, swing)
    plate = volts - (peak - column.series_drive) * np.cos(_ANGLE)
    grid = np.broadcast_to(column.drive(_ANGLE), plate.shape)
    current, grid_current = column.plate_current(plate, grid), column.grid_current(plate, grid)
    first = _first(current)
    through = np.asarray(tube.series_drive * first / 2)
    drive = None if tube.connection == "grounded cathode" else through
    if grid_current is not None:
        drive = through + tube.drive_voltage_peak * _first(grid_current) / 2
    amplitude = tube.drive_voltage_peak - (swing - tube.series_drive) / tube.amplification_factor
    rest = tube.bias_voltage + tube.screen_lift + plate_voltage / tube.amplification_factor
    with np.errstate(divide="ignore", invalid="ignore"):
        cosine = np.where(amplitude > 0, np.clip(-rest / amplitude, -1, 1), np.where(rest > 0, -1.0, 1.0))
    return OperatingState(
        plate_current_dc=current.mean(axis=1),
        grid_current_dc=None if grid_current is None else grid_current.mean(axis=1),
        fundamental_current_peak=first,
        conduction_angle=2 * np.arccos(cosine),
        plate_swing_peak=peak[:, 0],
        plate_power=peak[:, 0] * first / 2,
        feed_through_power=through,
        drive_power=drive,
        plate_dissipation=(plate * current).mean(axis=1),
        grid_dissipation=None if grid_current is None else (grid * grid_current).mean(axis=1),
    )


def idle_current(tube: TubeConstants, plate_voltage: Value) -> FloatArray:
    """Return the plate current at the bias without drive [A], shape ``(rows,)``; times V it is plate heat.

    Parameters
    ----------
    tube : TubeConstants
        With its bias.
    plate_voltage : float or ndarray
        DC, plate to cathode without drive [V].
    """
    return np.atleast_1d(tube.plate_current(np.asarray(plate_voltage), np.asarray(tube.bias_voltage)))


def bias_for(
    tube: TubeConstants, plate_voltage: Value, least_plate_voltage: Value, current: Value
) -> TubeConstants:
    """Set the bias so that the DC plate current is as wanted at the drive given.

    Parameters
    ----------
    tube : TubeConstants
        Its bias does not matter; constants are numbers or of shape ``(rows,)``, as the next three.
    plate_voltage, least_plate_voltage : float or ndarray
        DC, and the lowest of the swing, plate to cathode [V].
    current : float or ndarray
        DC plate current wanted, all tubes [A].

    Returns
    -------
    TubeConstants
        With that bias, shape ``(rows,)``; NaN where even zero bias gives less current.

    Notes
    -----
    Current rises with the grid's voltage, so the bias is bracketed between cutoff at the crest and zero,
    and halved down.
    """
    swing = plate_voltage - least_plate_voltage + tube.series_drive

    def drawn(bias: FloatArray) -> FloatArray:
        return at_swing(replace(tube, bias_voltage=bias), plate_voltage, swing).plate_current_dc

    lowest = tube.drive_voltage_peak + tube.screen_lift + (plate_voltage + swing) / tube.amplification_factor
    low, high = np.atleast_1d(-lowest), np.zeros(np.atleast_1d(lowest).shape)
    reached = drawn(high) >= current
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        short = drawn(middle) < current
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return replace(tube, bias_voltage=np.where(reached, high, np.nan))


def bias_and_drive_for(
    tube: TubeConstants,
    plate_voltage: Value,
    least_plate_voltage: Value,
    current: Value,
    conduction_angle: Value,
) -> TubeConstants:
    """Set bias and drive so that DC plate current and conduction angle are as wanted.

    Parameters
    ----------
    tube : TubeConstants
        Its bias and drive do not matter; constants as in `bias_for`.
    plate_voltage, least_plate_voltage, current : float or ndarray
        As in `bias_for`.
    conduction_angle : float or ndarray
        Total [rad].

    Returns
    -------
    TubeConstants
        With that bias and drive, shape ``(rows,)``; NaN where that takes more drive than `MOST_DRIVE`, or no
        plate current can flow.

    Notes
    -----
    With the swing A and half the angle t the lift above cutoff is ``L (cos x - cos t)``, L = E - A / mu:
    current is as L to the power of 1.5, less what a positive grid takes of it, which is at most as its
    square root. So ``L <- L (wanted / current)^(2/3)`` comes nearer by a third or more each time, and
    where the grid is not known arrives at once. Derived.
    """
    volts, amplitude, half, factor, offset = (
        column[:, 0]
        for column in _columns(
            plate_voltage,
            plate_voltage - least_plate_voltage,
            np.asarray(conduction_angle) / 2,
            tube.amplification_factor,
            tube.screen_lift,
        )
    )
    cosine = np.cos(half)
    plate = volts[:, np.newaxis] - amplitude[:, np.newaxis] * np.cos(_ANGLE)
    at_grid = plate / factor[:, np.newaxis] + offset[:, np.newaxis]
    shape = np.maximum(np.cos(_ANGLE) - cosine[:, np.newaxis], 0.0)
    lift, column = np.ones(len(volts)), tube.column
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(_STEPS):
            drawn = column.plate_current(plate, lift[:, np.newaxis] * shape - at_grid).mean(axis=1)
            change = (current / drawn) ** (2 / 3)
            lift = lift * change
            if (np.abs(change - 1) < _SETTLED).all():
                break
    drive = lift + amplitude / factor
    drive = np.where((drive <= MOST_DRIVE) & (np.abs(change - 1) < 1e-9), drive, np.nan)
    bias = -drive * cosine - (volts - amplitude * cosine) / factor - offset
    return replace(tube, bias_voltage=bias, drive_voltage_peak=drive)


def _columns(*values: Value) -> list[FloatArray]:
    together = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, dtype=np.float64)) for value in values))
    return [value[:, np.newaxis] for value in together]


def _first(wave: FloatArray) -> FloatArray:
    """Peak of the fundamental of an even wave, ``2 / pi`` times its integral with the cosine."""
    return np.asarray(2 * (wave * np.cos(_ANGLE)).mean(axis=1))
