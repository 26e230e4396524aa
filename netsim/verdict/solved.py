"""Everything the verdict rests on, in arrays over the networks."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.peaking import voltage_limit
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import Match
from netsim.description.reader import Amplifier
from netsim.solvers.solution import Solution
from netsim.verdict.band_switch import switch_stress
from netsim.verdict.stress import SAMPLES, Stress, stored_energy_q, stresses

if TYPE_CHECKING:
    from netsim.verdict.tube_and_antenna import FullOutput

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
class Evidence:
    """What solving has brought to light; arrays of shape ``(networks,)`` unless said otherwise.

    Attributes
    ----------
    amplifier, assembly, settings : Amplifier, Assembly, Settings
        What was asked, and where the capacitors stand.
    scale : ndarray
        Voltage limit's factor on the plate currents.
    swr : ndarray
        Of the plate impedance against the plate load.
    loaded_q, stored_energy_q, efficiency, output_power, plate_dissipation : ndarray
        Powers in [W].
    attenuation, level : ndarray
        [dB], [dBc], shape ``(networks, 10)``; level NaN where no current of that order flows.
    stress : mapping of str to Stress
        By part name.
    operating_point : str or None
        Its name; None for the stage as it stands in the file.
    full_output : FullOutput or None
        Large signal and any antenna, where asked for.
    """

    amplifier: Amplifier
    assembly: Assembly
    settings: Settings
    plate_impedance: npt.NDArray[np.complex128]
    scale: FloatArray
    swr: FloatArray
    loaded_q: FloatArray
    stored_energy_q: FloatArray
    efficiency: FloatArray
    output_power: FloatArray
    plate_dissipation: FloatArray
    attenuation: FloatArray
    level: FloatArray
    stress: Mapping[str, Stress]
    operating_point: str | None = None
    full_output: "FullOutput | None" = None

    @property
    def frequency(self) -> FloatArray:
        """Working frequencies [Hz]."""
        return self.assembly.parts.frequency

    @property
    def tuned(self) -> npt.NDArray[np.bool_]:
        """Whether the plate sees its load."""
        load = self.assembly.parts.plate_load
        return np.asarray(np.abs(self.plate_impedance - load) <= TUNED * load)

    def bands(self) -> Iterator[tuple[int, str, npt.NDArray[np.intp]]]:
        """Walk over the bands: index in the description, name, and the rows of its networks."""
        for index in dict.fromkeys(self.assembly.band_index.tolist()):
            rows = np.flatnonzero(self.assembly.band_index == index)
            yield index, self.amplifier.description.bands[index].name, rows

    def line(self, *key_path: str | int) -> int:
        """Line of a key in the file, or of the nearest table that holds it."""
        return self.amplifier.position(*key_path).line

    def is_wound(self, row: int) -> bool:
        """Whether the network counts either of its coils in turns."""
        return any(coil is not None and row in coil.rows for coil in self.assembly.wound.values())

    def coil_line(self, band: int) -> int:
        """Line where a band says how much of the tank coil it uses."""
        wound = self.amplifier.description.bands[band].coil_turns is not None
        return self.line("bands", band, "coil_turns" if wound else "coil")


def gather(
    amplifier: Amplifier,
    assembly: Assembly,
    settings: Settings,
    ladder: Ladder,
    loaded: Solution,
    unloaded: Solution,
    samples: int = SAMPLES,
) -> Evidence:
    """Draw from the solutions what the verdict asks.

    Parameters
    ----------
    amplifier, assembly, settings
        As walked by the study.
    ladder : Ladder
        At the settings, antenna on.
    loaded, unloaded : Solution
        At orders 1 to 10 with the antenna on; at order 1 with it off and the tune capacitor re-dipped.
    samples : int
        Of one period, for peaks.

    Returns
    -------
    Evidence
        For the findings and the result.
    """
    stage, parts = assembly.stage, assembly.parts
    impedance = loaded.plate_impedance[:, 0]
    scale = voltage_limit(parts.plate_load, impedance)
    # Currents that count by the power they deliver to the antenna, of which a filter keeps some.
    delivery = parts.antenna_delivery(loaded.orders)
    antenna = np.abs(loaded.branch_current["antenna"]) * np.sqrt(delivery / delivery[:, :1])
    reflection = np.abs((impedance - parts.plate_load) / (impedance + parts.plate_load))
    plate_power = (scale * stage.fundamental_current_peak) ** 2 * impedance.real / 2
    efficiency = antenna[:, 0] ** 2 * delivery[:, 0] / impedance.real
    attenuation = 20 * np.log10(antenna[:, :1] / antenna)
    share = np.abs(stage.spectrum)
    relative = np.full(share.shape, np.nan)
    flows = share >= NO_CURRENT
    relative[flows] = 20 * np.log10(share[flows] / share[0])
    stress = stresses(parts, stage, scale, ladder, loaded, unloaded, samples)
    return Evidence(
        amplifier=amplifier,
        assembly=assembly,
        settings=settings,
        plate_impedance=impedance,
        scale=scale,
        swr=(1 + reflection) / (1 - reflection),
        loaded_q=loaded_q(parts, settings.tune),
        stored_energy_q=stored_energy_q(ladder, loaded),
        efficiency=efficiency,
        output_power=efficiency * plate_power,
        plate_dissipation=stage.dissipation(plate_power, scale),
        attenuation=attenuation,
        level=relative - attenuation,
        stress={**stress, "band_switch": switch_stress(assembly.wound, stress)},
    )
