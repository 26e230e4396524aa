"""Everything the verdict rests on, in arrays over the networks."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.reflection import reflection_of, swr_of
from netsim.circuit.sections import loaded_q
from netsim.circuit.stage import PlateCurrent
from netsim.circuit.tuning import BoolArray, Match
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.solvers.solution import Solution
from netsim.verdict.band_switch import switch_stress
from netsim.verdict.stress import SAMPLES, Stress, Unloaded, stored_energy_q, stresses

if TYPE_CHECKING:
    from netsim.verdict.any_antenna import AnyAntenna
    from netsim.verdict.box.state import Box
    from netsim.verdict.meters import Meters
    from netsim.verdict.tube_state import TubeState

NO_CURRENT = 1e-9
"""An order whose share of the mean plate current is smaller than this has no level."""

TUNED = 1e-3
"""Largest distance from the plate load, relative to it, that still counts as tuned."""


@dataclass(frozen=True)
class Settings:
    """Where the capacitors stand and would have to stand [F]; each of shape ``(networks,)``.

    ``tune_needed`` and ``load_needed`` are NaN where no match exists. ``found`` holds both candidates.
    """

    tune: FloatArray
    load: FloatArray
    tune_needed: FloatArray
    load_needed: FloatArray
    found: Match


@dataclass(frozen=True)
class Solved:
    """What solving has brought to light; arrays of shape ``(networks,)`` unless said otherwise.

    Attributes
    ----------
    amplifier : Amplifier
        The file, for the lines in it.
    description : Description
        What was solved: the file's, or what a search tries.
    assembly, settings : Assembly, Settings
        The networks, and where the capacitors stand.
    ladder, solution : Ladder, Solution
        As solved with the antenna on, for 1 A into the plate at orders 1 to 10.
    current : PlateCurrent
        What flows into the tube.
    plate_impedance : ndarray
        Complex, at the working frequency [ohm].
    swr : ndarray
        Of the plate impedance against the plate load.
    loaded_q, stored_energy_q, efficiency, output_power : ndarray
        Power in [W].
    attenuation, level : ndarray
        [dB], [dBc], shape ``(networks, 10)``; level minus infinity where no current of that order flows. Both NaN
        where `unknown_orders`.
    stress : mapping of str to Stress
        By part name.
    tube_state, meters, any_antenna, harmonic_spread
        Where the file asks for them: the tube's steady states, the meters of each band, all networks on
        other antennas, and how far harmonic levels may change over terminations [dB] ``(networks, 10, 2)``.
    box : Box or None
        What stands around the network, where the file has a table of it.
    """

    amplifier: Amplifier
    description: Description
    assembly: Assembly
    settings: Settings
    ladder: Ladder
    solution: Solution
    current: PlateCurrent
    plate_impedance: ComplexArray
    swr: FloatArray
    loaded_q: FloatArray
    stored_energy_q: FloatArray
    efficiency: FloatArray
    output_power: FloatArray
    attenuation: FloatArray
    level: FloatArray
    stress: Mapping[str, Stress]
    tube_state: "TubeState | None" = None
    meters: "tuple[Meters, ...]" = ()
    any_antenna: "AnyAntenna | None" = None
    harmonic_spread: FloatArray | None = None
    box: "Box | None" = None

    @property
    def frequency(self) -> FloatArray:
        """Working frequencies [Hz]."""
        return self.assembly.parts.frequency

    @property
    def unknown_orders(self) -> BoolArray:
        """Orders of which nobody measured what reaches the antenna, shape ``(networks, 10)``."""
        return self.assembly.parts.unknown_orders(self.solution.orders)

    @property
    def tuned(self) -> BoolArray:
        """Whether the plate sees its load."""
        return tuned(self.plate_impedance, self.assembly.parts.plate_load)

    @property
    def point_names(self) -> tuple[str | None, ...]:
        """Names of the operating points by their index; None for the stage as it stands."""
        return (None, *(point.name for point in self.description.operating_points))

    def bands(self, point: int = 0) -> Iterator[tuple[int, str, IndexArray]]:
        """Walk over the bands of an operating point: index in the description, name, rows of its networks."""
        here = self.assembly.point_index == point
        for index in dict.fromkeys(self.assembly.band_index[here].tolist()):
            rows = np.flatnonzero(here & (self.assembly.band_index == index))
            yield index, self.description.bands[index].name, rows

    def points(self) -> list[int]:
        """List the operating points that any network stands for."""
        return [int(point) for point in np.unique(self.assembly.point_index)]

    def line(self, *key_path: str | int) -> int:
        """Return the line of a key in the file, or of the nearest table that holds it."""
        return self.amplifier.position(*key_path).line

    def is_wound(self, row: int) -> bool:
        """Tell whether the network counts either of its coils in turns."""
        return any(coil is not None and row in coil.rows for coil in self.assembly.wound.values())


def beyond_the_pulse(solved: Solved) -> bool:
    """Tell whether the tube itself or other antennas were solved."""
    return solved.tube_state is not None or solved.any_antenna is not None


def tuned(impedance: ComplexArray, plate_load: FloatArray) -> BoolArray:
    """Tell where a plate impedance [ohm] is the plate load, as far as it counts."""
    return np.asarray(np.abs(impedance - plate_load) <= TUNED * plate_load)


def standing_wave_ratio(impedance: ComplexArray, plate_load: FloatArray) -> FloatArray:
    """Return the standing wave ratio of an impedance against a resistance [ohm]."""
    with np.errstate(divide="ignore"):
        return swr_of(reflection_of(impedance, plate_load))


def unloaded_by(assembly: Assembly, solution: Solution, settled: PlateCurrent | None) -> Unloaded:
    """Return networks with the antenna off, driven by the tube's settled state, or by the pulse without one."""
    if settled is not None:
        return Unloaded(solution, settled.drive)
    stage = assembly.stage
    return Unloaded.swinging(
        solution, stage.supply_voltage, stage.fundamental_current_peak, assembly.parts.plate_load
    )


def gather(
    amplifier: Amplifier,
    description: Description,
    assembly: Assembly,
    settings: Settings,
    ladder: Ladder,
    loaded: Solution,
    unloaded: Unloaded,
    current: PlateCurrent,
    samples: int = SAMPLES,
    peaks: Collection[str] | None = None,
) -> Solved:
    """Draw from the solutions what the verdict asks.

    Parameters
    ----------
    amplifier, description, assembly, settings
        As in `Solved`.
    ladder : Ladder
        At the settings, antenna on.
    loaded : Solution
        At orders 1 to 10 with the antenna on.
    unloaded : Unloaded
        With it off and the tune capacitor dipped again.
    current : PlateCurrent
        Of the plate with the antenna on.
    samples : int
        Of one period, for peaks.
    peaks : collection of str, optional
        As of `stresses`.
    """
    stage, parts = assembly.stage, assembly.parts
    impedance = loaded.plate_impedance[:, 0]
    # Currents that count by the power they deliver to the antenna, of which a filter keeps some.
    delivery = parts.antenna_delivery(loaded.orders)
    antenna = np.abs(loaded.branch_current["antenna"]) * np.sqrt(delivery / delivery[:, :1])
    efficiency = antenna[:, 0] ** 2 * delivery[:, 0] / impedance.real
    size = np.abs(current.phasors)
    with np.errstate(divide="ignore", invalid="ignore"):  # a filter may let nothing through at a harmonic
        attenuation = 20 * np.log10(antenna[:, :1] / antenna)
        level = np.where(
            size < NO_CURRENT * current.direct[:, np.newaxis],
            np.where(np.isnan(attenuation), np.nan, -np.inf),
            20 * np.log10(size / size[:, :1]) - attenuation,
        )
    stress = stresses(
        parts, stage.supply_voltage, current, ladder, loaded, unloaded, samples=samples, peaks=peaks
    )
    return Solved(
        amplifier=amplifier,
        description=description,
        assembly=assembly,
        settings=settings,
        ladder=ladder,
        solution=loaded,
        current=current,
        plate_impedance=impedance,
        swr=standing_wave_ratio(impedance, parts.plate_load),
        loaded_q=loaded_q(parts, settings.tune),
        stored_energy_q=stored_energy_q(ladder, loaded),
        efficiency=efficiency,
        output_power=efficiency * size[:, 0] ** 2 * impedance.real / 2,
        attenuation=attenuation,
        level=level,
        stress={**stress, "band_switch": switch_stress(assembly.wound, stress)},
    )
