"""The stage and the network as a whole."""

import numpy as np

from netsim.circuit.tuning import largest_coil
from netsim.verdict.box.cooling import key_down
from netsim.verdict.box.idle import idle_point
from netsim.verdict.judged import Judged, NotRated, number
from netsim.verdict.lead_effect import LEADS_COUNT_ABOVE, USUAL_LEAD, level_change
from netsim.verdict.solved import Solved
from netsim.verdict.words.parts import SITUATIONS
from netsim.verdict.words.text import Text, against, at, written


def dissipation(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the heat of the plate."""
    stage = solved.assembly.stage
    direct = float(stage.direct_current[row])
    settled = solved.tube_state is not None
    return Text(
        f"plate dissipation: {against(judged, row, f' at {at(solved, row)}')}",
        "mean of plate voltage times plate current in the tube's steady state with this network"
        if settled
        else f"s (V I_dc + I_1 E / 2) - plate power, with s = {solved.current.direct[row] / direct:.3g}: "
        f"{written(stage.input_power[row], 'W')} DC input{_through(stage.feed_through_power[row])} at s = 1, "
        f"{written(solved.output_power[row] / solved.efficiency[row], 'W')} to the network",
    )


def _through(power: float) -> str:
    """Name what the drive in series with the plate adds."""
    return f" and {written(power, 'W')} of the drive's that passes through" if power > 0 else ""


def tuning_heat(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the highest heat of the plate on the way to the match, and how fast it warms."""
    worst = next(meters for meters in solved.meters if meters.row == row).heat
    value, limit = float(judged.value[row]), float(judged.limit[row])
    warms = f"; {_warming(solved, row, value, limit)}" if value > limit else ""
    place = f" at {at(solved, row)} while tuning ({SITUATIONS[worst.situation]})"
    return Text(
        f"plate dissipation: {against(judged, row, place)}{warms}",
        "highest of the tube's steady states over both settings and with the antenna gone, drive unchanged: "
        f"tune {written(worst.tune, 'F')}, load {written(worst.load, 'F')}",
    )


def _warming(solved: Solved, row: int, value: float, limit: float) -> str:
    """Tell how fast a plate warms that is held at more than its rating, from idle."""
    cooling = solved.description.cooling
    if cooling is None or cooling.heat_capacity is None:
        return "heat_capacity under [cooling] would tell how fast it warms"
    rest = idle_point(solved)
    warms, _ = key_down(solved, row, 0.0 if rest is None else rest.dissipation, value)
    fast = f"what is above the rating warms it by {(value - limit) / cooling.heat_capacity:.3g} K a second"
    end = f"its limit of {cooling.anode_temperature_limit:.0f} °C"
    if warms.to_limit is None:
        return f"{fast}; held there the anode ends at {warms.steady:.0f} °C, below {end}"
    return f"{fast}; held there from idle the anode is at {end} after {warms.to_limit:.3g} s"


def dissipation_not_rated(solved: Solved, unrated: NotRated) -> Text:
    """Tell that the plate has no rating."""
    return Text(
        "plate dissipation: no dissipation rating in the file, so not judged",
        f"highest value found: {written(unrated.value[unrated.worst], 'W')}",
        'add dissipation_rating = "..." under [stage], all tubes together',
    )


def loaded_q(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the loaded Q against its window."""
    low, high = solved.description.limits.loaded_q
    value, load = float(judged.value[row]), float(solved.assembly.parts.plate_load[row])
    return Text(
        f"loaded Q: {value:.1f} at {at(solved, row)}, wanted {low:g} to {high:g}",
        "plate load x net susceptance on the plate side: "
        f"{written(load, 'ohm')} x {value / load * 1e3:.3g} mS "
        f"(by stored energy: {solved.stored_energy_q[row]:.1f})",
    )


def harmonic_level(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the highest harmonic."""
    assert judged.order is not None
    order, level, limit = int(judged.order[row]), float(judged.value[row]), float(judged.limit[row])
    unknown = unknown_words(solved.unknown_orders[row], "the filter's file")
    if not order and unknown:
        return Text(f"harmonics: {unknown}", _NOT_MEASURED)
    if not order:
        return Text(
            "harmonics: the plate-current pulse has none",
            "a conduction angle of 360 degrees is a pure cosine",
        )
    attenuation = solved.attenuation[row, order - 1]
    harmonic = written(order * solved.frequency[row], "Hz")
    return Text(
        f"harmonic {order}: {level:.1f} dBc at {harmonic}, limit {limit:g} dBc{unknown and f'; {unknown}'}",
        f"20 log10 |I_{order} / I_1| - attenuation = {level + attenuation:.1f} - {attenuation:.1f} dB, "
        f"into a resistive antenna{_lead(solved, order, row)}",
    )


def _lead(solved: Solved, order: int, row: int) -> str:
    """Tell how far a usual lead would move a high harmonic, where the file says nothing of leads."""
    capacitor, settings = solved.description.network.load_capacitor, solved.settings
    given = "lead_inductance" in capacitor.model_fields_set
    if given or order * solved.frequency[row] < LEADS_COUNT_ABOVE:
        return ""
    only = np.array([row])
    moved = level_change(solved.assembly.parts.take(only), settings.tune[only], settings.load[only])
    return (
        f"; {written(USUAL_LEAD, 'H')} in the load capacitor's lead, of which the file says nothing, would move it by "
        f"{moved[0, order - 1]:+.1f} dB"
    )


def unknown_words(unknown: "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]", whose: str) -> str:
    """Say of which orders nothing was measured, shape ``(10,)``; empty if of none."""
    orders = np.flatnonzero(unknown) + 1
    if not orders.size:
        return ""
    which = f"orders {orders[0]} to {orders[-1]}" if orders.size > 1 else f"order {orders[0]}"
    return f"{which} unknown: beyond {whose}"


_NOT_MEASURED = "what these orders meet was not measured, so whether they keep the limit is not known"


def plate_match(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what the plate sees."""
    impedance, settings = solved.plate_impedance[row], solved.settings
    needed = ""
    if not np.isnan(settings.tune_needed[row]):
        needed = (
            f"; the match is at tune {written(settings.tune_needed[row], 'F')} "
            f"and load {written(settings.load_needed[row], 'F')}"
        )
    return Text(
        f"plate match: SWR {judged.value[row]:.2f} at {at(solved, row)}, "
        f"expected output {written(solved.output_power[row], 'W')}",
        f"the plate sees {impedance.real:.0f} {'+' if impedance.imag >= 0 else '-'} j{abs(impedance.imag):.0f} ohm "
        f"and wants {solved.assembly.parts.plate_load[row]:.0f} ohm{needed}",
    )


def tuning_range(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the setting that matches against what the capacitor reaches."""
    side, value = judged.check.quantity, number(judged.value[row])
    parts = solved.assembly.parts.take(np.array([row]))
    ends = " to ".join(written(getattr(parts, f"{side}_{end}")[0], "F") for end in ("minimum", "maximum"))
    if value is None:
        return Text(
            f"{side} capacitor: no setting matches at {at(solved, row)}; it has {ends}",
            "no real root: the coil is too large to be matched to this plate load by any capacitors"
            f"{_largest(solved, row)}",
        )
    stray, padding = (float(getattr(parts, f"{side}_{what}")[0]) for what in ("stray", "padding"))
    tube = f", beside {written(parts.output_capacitance[0], 'F')} of the tube" if side == "tune" else ""
    there = ", ".join(
        f"{name} {written(c, 'F')}" for name, c in (("stray", stray), ("padding", padding)) if c
    )
    return Text(
        f"{side} capacitor: {written(value, 'F')} needed at {at(solved, row)}, it has {ends}",
        f"the match wants {written(value + padding + stray, 'F')} at this node{tube}; "
        f"already there: {there or 'nothing'}",
    )


def _largest(solved: Solved, row: int) -> str:
    """Name the largest coil that matches at every frequency of the band."""
    assembly = solved.assembly
    band, point = assembly.band_index, assembly.point_index
    rows = np.flatnonzero((band == band[row]) & (point == point[row]))
    largest = largest_coil(assembly.parts.take(rows)).min()
    return f"; the largest that would match is {written(largest, 'H')}" if np.isfinite(largest) else ""


def second_match(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the other pair of settings that tunes."""
    found = solved.settings.found
    wanted, other = (
        f"tune {written(found.tune[i, row], 'F')}, load {written(found.load[i, row], 'F')}" for i in (0, 1)
    )
    return Text(
        f"a second pair of settings also matches at {at(solved, row)}: {other}",
        "the load setting solves a quadratic, and both roots are within reach; the one with less load "
        "capacitance gives slightly more output and far less harmonic attenuation, so peaking leads there: start "
        f"from full load capacitance and stop at {wanted}",
    )
