"""What an operator sees on the meters of one band while tuning, and what the parts see meanwhile."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from netsim.circuit.elements import FloatArray

Situation = Literal["tune", "load", "antenna_gone", "dipped_again"]


@dataclass(frozen=True)
class Readings:
    """Meter readings; arrays over the settings or situations, shape ``(points,)``.

    Attributes
    ----------
    tune, load : ndarray
        Settings [F].
    plate_current_dc, grid_current_dc : ndarray
        [A]; the grid's is None where it is not known.
    output_power, plate_dissipation, grid_dissipation : ndarray
        [W]; the grid's is None where it is not known.
    plate_voltage_minimum : ndarray
        Lowest plate to cathode voltage [V].
    """

    tune: FloatArray
    load: FloatArray
    plate_current_dc: FloatArray
    grid_current_dc: FloatArray | None
    output_power: FloatArray
    plate_dissipation: FloatArray
    grid_dissipation: FloatArray | None
    plate_voltage_minimum: FloatArray


@dataclass(frozen=True)
class WhileTuning:
    """The highest value over everything an operator may do on the way, and when."""

    value: float
    situation: Situation
    tune: float
    load: float


@dataclass(frozen=True)
class Meters:
    """Meters of one band at its first frequency.

    Attributes
    ----------
    band : str
        Its name.
    row : int
        Which network.
    frequency : float
        [Hz].
    by_tune : Readings
        Over the tune setting, load setting as solved.
    by_load : Readings
        Over the load setting, tune capacitor dipped again at each.
    matched_tune, matched_load : int
        Index of the solved setting in each.
    light, heavy : int
        Indices in `by_load` of a load capacitance half as large again, and a third smaller, or the nearest
        within range.
    antenna_gone : Readings
        Two points: settings as solved, then the tune capacitor dipped again, the antenna open and the
        supply without load.
    peaks : mapping of str to WhileTuning
        Peak voltages by part name [V].
    heat : WhileTuning
        Of the plate [W].
    tuned : bool
        Whether the solved settings are a match; else they are those of most output within range, or the file's.
    grid_current, grid_heat : WhileTuning or None
        Mean current [A] and heat [W] of the grid; None where they are not known.
    """

    band: str
    row: int
    frequency: float
    by_tune: Readings
    by_load: Readings
    matched_tune: int
    matched_load: int
    light: int
    heavy: int
    antenna_gone: Readings
    peaks: Mapping[str, WhileTuning]
    heat: WhileTuning
    tuned: bool
    grid_current: WhileTuning | None = None
    grid_heat: WhileTuning | None = None
