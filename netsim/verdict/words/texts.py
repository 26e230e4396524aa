"""From a check and the network in question to what is said of it."""

from collections.abc import Callable

from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words import antennas, box, chokes, coils, network, parts, tube
from netsim.verdict.words.text import Text

_BY_CODE: dict[tuple[str, str], Callable[[Solved, Judged, int], Text]] = {
    ("plate_dissipation", "matched"): network.dissipation,
    ("loaded_q", "matched"): network.loaded_q,
    ("harmonic_level", "matched"): network.harmonic_level,
    ("plate_match", "matched"): network.plate_match,
    ("tuning_range", "matched"): network.tuning_range,
    ("second_match", "matched"): network.second_match,
    ("choke_reactance", "matched"): chokes.choke_reactance,
    ("choke_resonance", "matched"): chokes.choke_resonance,
    ("antenna_dc", "matched"): chokes.antenna_dc,
    ("self_resonance", "matched"): coils.self_resonance,
    ("tube_wall", "matched"): coils.tube_wall,
    ("coil_temperature", "matched"): coils.temperature,
    ("part_tuning_voltage", "while_tuning"): parts.tuning_voltage,
    ("plate_dissipation", "while_tuning"): network.tuning_heat,
    ("tube_disagrees", "matched"): tube.disagreement,
    ("plate_dissipation", "any_antenna"): antennas.dissipation,
    ("plate_match", "any_antenna"): antennas.plate_match,
    ("harmonic_spread", "any_antenna"): antennas.harmonic_spread,
    ("harmonic_level", "any_antenna"): antennas.measured_level,
    ("grid_current", "matched"): box.grid,
    ("grid_dissipation", "matched"): box.grid,
    ("grid_current", "while_tuning"): box.tuning_grid,
    ("grid_dissipation", "while_tuning"): box.tuning_grid,
    ("anode_temperature", "matched"): box.anode,
    ("input_match", "matched"): box.input_match,
    ("drive_power", "matched"): box.drive_power,
    ("heater_choke", "matched"): box.heater_choke,
    ("bias_power", "matched"): box.bias,
    ("supply_voltage", "matched"): box.supply_voltage,
    ("capacitor_voltage", "matched"): box.capacitor_voltage,
    ("bleeder_power", "matched"): box.bleeder,
    ("discharge_time", "matched"): box.discharge,
    ("inrush_energy", "matched"): box.energy,
    ("glitch_energy", "matched"): box.energy,
    ("meter_range", "matched"): box.meter_range,
    ("meter_protection", "matched"): box.meter_protection,
}
_UNRATED: dict[str, Callable[[Solved, NotRated], Text]] = {
    "plate_dissipation": network.dissipation_not_rated,
    "choke_resonance": chokes.resonance_not_known,
    "output_choke": chokes.no_output_choke,
    "coil_temperature": coils.temperature_not_rated,
    **dict.fromkeys(
        (
            *("grid_current", "grid_dissipation", "drive_power", "bias_power", "capacitor_voltage"),
            *("bleeder_power", "discharge_time", "inrush_energy", "glitch_energy"),
            "meter_protection",
        ),
        box.not_rated,
    ),
}


def text_of(solved: Solved, judged: Judged, row: int) -> Text:
    """Return what is said of one check in one network."""
    known = _BY_CODE.get((judged.check.code, judged.check.case))
    if known is None:
        known = antennas.part if judged.check.case == "any_antenna" else parts.rated
    return known(solved, judged, row)


def unrated_text_of(solved: Solved, unrated: NotRated) -> Text:
    """Return what is said of a limit that the file leaves out."""
    return _UNRATED.get(unrated.check.code, parts.not_rated)(solved, unrated)
