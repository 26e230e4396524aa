"""The box around the network: grid, bias, drive, supply, heat, meters."""

from collections.abc import Iterator

import numpy as np

from netsim.circuit.box.panel_meter import MOST_ERROR
from netsim.circuit.elements import FloatArray
from netsim.description.key_path import KeyPath
from netsim.verdict.box.cooling import anode_temperature
from netsim.verdict.box.state import MeterState, SupplyState
from netsim.verdict.judged import Check, Judged, NotRated, judged, rated, rated_where_known
from netsim.verdict.solved import Solved

CODES = (
    *("grid_current", "grid_dissipation", "anode_temperature", "input_match", "drive_power", "heater_choke"),
    *(
        "bias_power",
        "supply_voltage",
        "capacitor_voltage",
        "bleeder_power",
        "discharge_time",
        "inrush_energy",
    ),
    *("glitch_energy", "meter_range", "meter_protection"),
)
"""Of findings that changes of the output network are not asked to mend."""

MOST_SWR, NOTED_SWR = 2.0, 1.5
"""SWR that exciters are built to stand, and from which many give less (common practice)."""

CHOKE_OVER_INPUT = 5.0
"""Reactance of the heater's choke over the resistance that it stands across, at least (common practice)."""

SUPPLY_APART = 0.05
"""Share by which the solved supply may differ from what [stage] says of it."""


def grid(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge mean current and heat of the grid, where the tube's law knows them."""
    state = solved.tube_state
    if state is None or state.balance.grid_current_dc is None or state.balance.grid_dissipation is None:
        return
    for check, unit, value in (
        (Check("grid_current", "grid", "grid_current"), "A", state.balance.grid_current_dc),
        (Check("grid_dissipation", "grid", "grid_dissipation"), "W", state.balance.grid_dissipation),
    ):
        key, limit = grid_rating(solved, check.code)
        yield rated_where_known(solved, check, value, limit, unit, ("stage", key))


def grid_rating(solved: Solved, code: str) -> tuple[str, FloatArray]:
    """Return the key under [stage] of a rating of the grid, and its value in every network, NaN where absent."""
    description, key = solved.description, f"{code}_rating"
    stages = [description.stage, *(point.of(description.stage) for point in description.operating_points)]
    ratings = [np.nan if (rating := getattr(stage, key)) is None else rating for stage in stages]
    return key, np.array(ratings, dtype=np.float64)[solved.assembly.point_index]


def anode(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the temperature of the anode, by its rise above the air over the rise that is allowed."""
    cooling = solved.description.cooling
    if cooling is None:
        return
    value = anode_temperature(solved)
    used = (value - cooling.ambient) / (cooling.anode_temperature_limit - cooling.ambient)
    yield judged(
        Check("anode_temperature", "anode", "temperature"), value, cooling.anode_temperature_limit, "degC", used,
        solved.description.limits.close_to_rating, ("cooling", "anode_temperature_limit"),
    )  # fmt: skip


def drive(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge what the exciter sees and has to give, and the choke that keeps the drive from the heater's supply."""
    state, described = None if solved.box is None else solved.box.input, solved.description.input
    if state is None or described is None:
        return
    known = ~np.isnan(state.swr)

    def key(row: int) -> KeyPath:
        band = int(solved.assembly.band_index[row])
        given = solved.description.bands[band].input_coil is not None
        return ("bands", band, "input_coil") if given else ("input",)

    yield judged(
        Check("input_match", "input", "swr"), state.swr, MOST_SWR, "1", state.swr / MOST_SWR,
        NOTED_SWR / MOST_SWR, key, applies=known,
    )  # fmt: skip
    check = Check("drive_power", "input", "exciter_power")
    if described.available_power is None:
        yield NotRated(check, "W", ("input",), state.exciter_power, known)
    else:
        key_of_power = ("input", "available_power")
        yield rated(
            solved, check, state.exciter_power, described.available_power, "W", key_of_power, applies=known
        )
    choke = state.parts.heater_choke
    if np.isfinite(choke).any():
        reactance = 2 * np.pi * solved.frequency * choke
        least = CHOKE_OVER_INPUT * state.tube_resistance
        yield judged(
            Check("heater_choke", "heater_choke", "reactance"), reactance, least, "ohm", least / reactance, 1.0,
            ("input", "heater_choke"), at_most="close", applies=known,
        )  # fmt: skip


def bias(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the heat of what makes the bias."""
    state, described = None if solved.box is None else solved.box.bias, solved.description.bias
    if state is None or described is None or described.kind == "fixed":
        return
    made = state.zener if described.kind == "zener" else state.cathode_resistor
    if made is None:
        return  # a bias that is not negative needs none of it
    yield _once(
        solved, Check("bias_power", described.kind.replace(" ", "_"), "power"), made.watt, described.power_rating, "W",
        ("bias",), "power_rating",
    )  # fmt: skip


def supply(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge the supply: its voltages, its capacitors and bleeder, its inrush, an arc."""
    state, described = None if solved.box is None else solved.box.supply, solved.description.supply
    if state is None or described is None:
        return
    stage = solved.description.stage
    for quantity, value, wanted, name in (
        ("full_load_voltage", state.full_voltage, stage.plate_voltage, "plate_voltage"),
        ("no_load_voltage", state.no_load_voltage, stage.no_load_plate_voltage, "no_load_plate_voltage"),
    ):
        if wanted is not None:
            used = abs(value / wanted - 1) / SUPPLY_APART
            yield _whole(
                Check("supply_voltage", "supply", quantity), value, wanted, "V", used,
                solved.description.limits.close_to_rating, ("stage", name),
            )  # fmt: skip
    table: KeyPath = ("supply",)
    check = Check("capacitor_voltage", "filter_capacitor", "voltage_peak")
    rating = described.capacitor_voltage_rating
    yield _once(solved, check, state.capacitor_voltage, rating, "V", table, "capacitor_voltage_rating")
    if described.bleeder is not None:
        check = Check("bleeder_power", "bleeder", "power")
        rating = described.bleeder_power_rating
        yield _once(solved, check, state.bleeder_power, rating, "W", table, "bleeder_power_rating")
    yield _discharge(solved, state, described.touch_voltage)
    if state.through_resistor is not None:
        check = Check("inrush_energy", "inrush_resistor", "energy")
        rating = described.inrush_pulse_rating
        yield _once(solved, check, state.through_resistor.joule, rating, "J", table, "inrush_pulse_rating")
    check = Check("glitch_energy", "glitch_resistor", "energy")
    if described.glitch_resistor is None:
        yield _not_rated(check, "J", table, np.nan)
    else:
        joule = 0.0 if state.arc is None else state.arc.glitch_joule
        yield _once(solved, check, joule, described.glitch_pulse_rating, "J", table, "glitch_pulse_rating")


def meters(solved: Solved) -> Iterator[Judged | NotRated]:
    """Judge each panel meter: whether its scale holds what it has to show, its error, its resistors, and an arc."""
    supply = None if solved.box is None else solved.box.supply
    for state in () if solved.box is None else solved.box.meters:
        yield from _range(solved, state)
        yield from _error(state)
        if state.meter.is_current and supply is not None and not supply.circuit.arc_resistance > 0:
            yield _in_an_arc_without_end(solved, state)
        if state.arc_current is None:
            continue
        value = state.meter.movement_current(state.arc_current)
        limit = state.momentary_current
        # Diodes carry an arc past the movement, whatever its size: nothing is left to hold against the limit.
        past = solved.description.meters[state.index].diodes
        used = np.nan if past else value / limit
        yield judged(
            Check("meter_protection", state.name, "arc_current"), np.array([value]), limit, "A", np.array([used]),
            solved.description.limits.close_to_rating, ("meters", state.index),
            strain=np.array([0.0 if past else used]), whole=True,
        )  # fmt: skip


def _in_an_arc_without_end(solved: Solved, state: MeterState) -> Judged | NotRated:
    """Judge a meter where no resistance limits an arc: past every limit, or what diodes have to stand unknown."""
    check, key = Check("meter_protection", state.name, "arc_current"), ("meters", state.index)
    if solved.description.meters[state.index].diodes:
        return _not_rated(check, "A", key, np.nan)
    unknown = np.array([np.nan])
    return judged(
        check, unknown, state.momentary_current, "A", unknown, solved.description.limits.close_to_rating, key,
        strain=np.array([np.inf]), absent=np.isnan(unknown), whole=True,
    )  # fmt: skip


def _error(state: MeterState) -> Iterator[Judged]:
    """Judge what is fitted by how far it falsifies the reading."""
    error, key = state.meter.fitted_error, "shunt" if state.meter.is_current else "multiplier"
    if error is not None:
        yield judged(
            Check("meter_range", state.name, "reading_error"), np.array([abs(error)]), MOST_ERROR, "1",
            np.array([abs(error) / MOST_ERROR]), 1.0, ("meters", state.index, key), at_most="close", whole=True,
        )  # fmt: skip


def _range(solved: Solved, state: MeterState) -> Iterator[Judged | NotRated]:
    meter, described = state.meter, solved.description.meters[state.index]
    if state.highest is not None:
        shown = meter.shown(state.highest)
        unit = {"plate voltage": "V", "output": "W"}.get(meter.reads, "A")
        yield _whole(
            Check("meter_range", state.name, "reading"), shown, meter.full_scale, unit, shown / meter.full_scale,
            1.0, ("meters", state.index, "full_scale"),
        )  # fmt: skip
    rating, power = described.resistor_power_rating, state.resistor_power
    if rating is not None and np.isfinite(power):
        check = Check("meter_range", state.name, "resistor_power")
        key = ("meters", state.index, "resistor_power_rating")
        yield rated(solved, check, np.array([power]), rating, "W", key, whole=True)


def _discharge(solved: Solved, state: SupplyState, touch: float | None) -> Judged | NotRated:
    """Judge whether the capacitors are discharged at all, and without the bleeder; of the time itself nobody is judge.

    Over and close have no fraction. How long is too long no key tells: a time is told and not rated, never passed.
    """
    check = Check("discharge_time", "supply", "discharge_time")
    if touch is None:
        return _not_rated(check, "s", ("supply",), np.nan)
    if state.discharge is not None and state.bleeder_open is not None:
        return _not_rated(check, "s", ("supply", "touch_voltage"), state.discharge)
    strain = 2.0 if state.discharge is None else 1.0
    value = np.array([np.nan if state.discharge is None else state.discharge])
    return judged(
        check, value, np.nan, "s", np.array([np.nan]), 0.5, ("supply", "touch_voltage"),
        strain=np.array([strain]), absent=np.isnan(value), whole=True,
    )  # fmt: skip


def _once(
    solved: Solved, check: Check, value: float, limit: float | None, unit: str, table: KeyPath, key: str
) -> Judged | NotRated:
    """Judge one value of the whole amplifier against a rating."""
    if limit is None:
        return _not_rated(check, unit, table, value)
    return rated(solved, check, np.array([value]), limit, unit, (*table, key), whole=True)


def _whole(
    check: Check, value: float, limit: float, unit: str, used: float, close: float, key: KeyPath
) -> Judged:
    return judged(check, np.array([value]), limit, unit, np.array([used]), close, key, whole=True)


def _not_rated(check: Check, unit: str, table: KeyPath, value: float) -> NotRated:
    return NotRated(check, unit, table, np.array([value]), np.ones(1, dtype=np.bool_))
