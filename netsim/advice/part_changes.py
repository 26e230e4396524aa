"""What can be done to the amplifier as a whole: other parts, less stray, less power, higher ratings."""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from netsim.advice.change import Change, Edit, plain_edit, quantity_edit, removal, written
from netsim.advice.preferred_values import AIR_RATIO, MINIMA, SLIP, VACUUM_RATIO, minimum_below
from netsim.circuit.parts import Parts
from netsim.circuit.preferred_values import E12, R10, step_down, step_up
from netsim.description.assumed import completed
from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import Description, Stage
from netsim.description.models.capacitors import FixedCapacitor, VariableCapacitor
from netsim.verdict.checks.parts import RATINGS, effective_rating

BEST_COIL_Q = 400.0
"""Unloaded Q above which no coil is asked for (common practice)."""

LEAST_STRAY = 3e-12
"""Stray capacitance below which no wiring is promised to be [F] (common practice)."""

LESS = (0.9, 0.8, 0.7, 0.6, 0.5)
"""Shares of plate current or voltage that are tried."""

_LEAST_OF_MATCH = 2 * MINIMA[0]
"""Least setting of the matched antenna that a search asks for where other antennas need some room below it [F]."""

_PLATE_LEADS = (30e-9, 60e-9, 100e-9)
_SUPPRESSED = 0.85
_WIDER = 2.0
_SOURCE = "to be found: its figures are what the proposal asks for"
_TENTH = 0.1
_UNITS = {rating.key: rating.unit for rating in RATINGS}


def widest_range(description: Description, side: str, swr: float = 1.0) -> Change:
    """Return the change to a variable capacitor as wide as a match may use it; `definite` makes it a part.

    Where antennas up to a standing wave ratio above 1 are to be served, the match leaves them the lower end.
    """
    least = MINIMA[0] if swr == 1.0 else _LEAST_OF_MATCH
    name = f"{side}_capacitor"
    part = getattr(description.network, name)
    edits = []
    if part.minimum > least:
        edits.append(quantity_edit(("network", name, "minimum"), least, "F"))
    edits.append(quantity_edit(("network", name, "maximum"), part.maximum * _WIDER, "F"))
    return Change("part", f"network.{name}", None, f"another {side} capacitor", tuple(edits))


def capacitor(
    description: Description, side: str, lowest: float, highest: float, *, clear: bool
) -> Change | None:
    """Return the change to a variable capacitor, ``tune`` or ``load``, that reaches some settings [F].

    Where it is to be clear, the maximum is so of the highest setting even where it reaches it.

    Returns
    -------
    Change or None
        The least capacitance is the highest usual one that the settings keep clear of; the largest stays
        unless a setting needs more, or none is sold that spans both: largest over least is 40 at most of air
        capacitors, 100 of vacuum ones (common practice). None if there is nothing to change, or no such part.
    """
    name = f"{side}_capacitor"
    part: VariableCapacitor = getattr(description.network, name)
    close = description.limits.close_to_rating
    if not lowest > 0 or not math.isfinite(highest):
        return None
    minimum, maximum = part.minimum, part.maximum
    if minimum > lowest * close:
        found = minimum_below(lowest * close) or minimum_below(lowest)
        if found is None:
            return None
        minimum = min(minimum, found)
    if highest > maximum * (close if clear else 1.0):
        maximum = step_up(highest / close, R10)
    most = AIR_RATIO if part.air_gap is not None else VACUUM_RATIO
    most = max(most, part.maximum / part.minimum)
    if maximum / minimum > most:
        # Clear of the highest setting if that can be had, else at least as high.
        wanted = (step_down(most * minimum, E12), step_up(highest / close, R10), step_up(highest, E12))
        fitting = [value for value in wanted if highest <= value <= most * minimum * (1 + 1e-9)]
        maximum = min(maximum, max(fitting, default=max(most * minimum, highest)))
    if maximum / minimum > most * (1 + 1e-9) or (minimum, maximum) == (part.minimum, part.maximum):
        return None
    edits, words = [], []
    for key, value in (("minimum", minimum), ("maximum", maximum)):
        if value != getattr(part, key):
            edits.append(quantity_edit(("network", name, key), value, "F"))
            words.append(f"{key} {edits[-1].text} instead of {written(getattr(part, key), 'F')}")
    kind = "vacuum " if maximum / minimum > max(AIR_RATIO, part.maximum / part.minimum) else ""
    title = f"another {kind}{side} capacitor: {', '.join(words)}"
    return Change("part", f"network.{name}", None, title, tuple(edits))


def less_stray(description: Description, side: str) -> list[Change]:
    """Return the change to freer wiring: half of the stray, never below what can be promised."""
    stray = getattr(completed(description).network, f"{side}_capacitor").stray
    edit = quantity_edit(("network", f"{side}_capacitor", "stray"), max(stray / 2, LEAST_STRAY), "F", 2)
    if edit.value >= stray:
        return []
    title = f"{edit.text} of stray on the {side} side instead of {written(stray, 'F')}: shorter, freer wiring"
    return [Change("part", f"network.{side}_capacitor.stray", None, title, (edit,))]


def suppressors(description: Description, used: float) -> list[Change]:
    """Return smaller coils of the suppressor, whose resistor's loss goes as the square of the inductance.

    `used` is the worst used fraction of its rating. What is within it as it stands may be beyond at another plate
    load or once a band matches, so that a third of the present one is among them.
    """
    suppressor = description.network.suppressor
    if suppressor is None or suppressor.power_rating is None or suppressor.inductance is None:
        return []
    present = suppressor.inductance
    least = step_up(present / 3, E12)
    wanted = step_down(present * math.sqrt(_SUPPRESSED / (used if used > 1.0 else 2.0)), E12)
    found = []
    for value in dict.fromkeys((max(wanted, least), least)):
        if value >= present:
            continue
        edit = quantity_edit(("network", "suppressor", "inductance"), value, "H")
        title = f"suppressor coil {edit.text} instead of {written(present, 'H')}"
        found.append(Change("part", "network.suppressor", None, title, (edit,)))
    return found


def less_power(stage: Stage, shares: Sequence[float] = LESS) -> list[Change]:
    """Return steps of less plate current, and of less plate voltage where the plate load follows from it."""
    nominal = _swing(stage, stage.plate_voltage) * stage.plate_current
    found = []
    for factor in shares:
        current = quantity_edit(("stage", "plate_current"), stage.plate_current * factor, "A")
        loss = 1 - factor if stage.plate_load is None else 1 - factor**2
        title = f"plate current {current.text} instead of {written(stage.plate_current, 'A')}"
        found.append(_less_output(title, (current,), loss))
        swing = _swing(stage, stage.plate_voltage * factor)
        if stage.plate_load is None and swing > stage.drive_voltage_peak:
            edits = [quantity_edit(("stage", "plate_voltage"), stage.plate_voltage * factor, "V")]
            if stage.no_load_plate_voltage is not None:
                key = ("stage", "no_load_plate_voltage")
                edits.append(quantity_edit(key, stage.no_load_plate_voltage * factor, "V"))
            present = written(stage.plate_voltage, "V")
            title = f"plate voltage {edits[0].text} instead of {present} (another tap of the supply)"
            found.append(_less_output(title, tuple(edits), 1 - swing * stage.plate_current / nominal))
    return found


def _swing(stage: Stage, voltage: float) -> float:
    return voltage - (stage.minimum_plate_voltage or 0.0) + stage.drive_voltage_peak


def _less_output(title: str, edits: tuple[Edit, ...], nominal_loss: float) -> Change:
    """Weigh a change by what it gives up of the output into the plate load of the stage."""
    tenths = math.ceil(nominal_loss / _TENTH - 1e-9)
    return Change("output", "stage", None, title, edits, tenths)


def told_of_tube(description: Description, quantity: str, settled: float) -> list[Change]:
    """Return what [stage] and [tube] could say instead, so that they agree on what the tube settles at, in SI."""
    stage, tube = description.stage, description.tube
    assert tube is not None
    found = []
    if stage.pulse == "cosine":
        found.append(
            ("plate current of three-halves power in [stage], as space charge makes it",
             [plain_edit(("stage", "pulse"), "three-halves")])
        )  # fmt: skip
    if quantity == "drive_voltage_peak":
        edit = quantity_edit(("stage", "drive_voltage_peak"), settled, "V")
        now = written(stage.drive_voltage_peak, "V")
        found.append((f"{edit.text} of drive in [stage] instead of {now}: what the tube takes", [edit]))
    if quantity == "connection":
        found.append(("no drive in series in [stage]", [removal(("stage", "drive_voltage_peak"))]))
    if quantity == "conduction_angle":
        degrees = f"{math.degrees(settled):.3g} deg"
        edit = Edit(("stage", "conduction_angle"), math.radians(float(degrees.removesuffix(" deg"))), degrees)
        now = f"{math.degrees(stage.conduction_angle):.3g} deg"
        found.append((f"a conduction angle of {degrees} in [stage] instead of {now}", [edit]))
    keys = [key for key in ("bias_voltage", "drive_voltage_peak") if getattr(tube, key) is not None]
    if keys:
        gone = [removal(("tube", key)) for key in keys]
        found.append(("bias and drive left out of [tube], to be found from [stage]", gone))
    return [Change("setting", "stage", None, title, tuple(edits)) for title, edits in found]


def blocking(description: Description, parts: Parts) -> list[Change]:
    """Return a blocking capacitor where there is none, or a larger one where it is in the way.

    Notes
    -----
    Its reactance at the lowest frequency is to be a tenth of the plate load at most (common practice); its
    rating about twice the supply.
    """
    present = description.network.blocking_capacitor
    lowest = min(f for band in description.bands for f in band.frequencies)
    least = float(np.max(1 / (2 * np.pi * lowest * parts.plate_load * _TENTH)))
    place = "network.blocking_capacitor"
    if present is None:
        stage = description.stage
        capacitance = written(max(step_up(least, E12), 1e-9), "F")
        rating = written(step_up(2 * stage.highest_plate_voltage, R10), "V")
        text = {"capacitance": capacitance, "voltage_rating": rating}
        title = f"a blocking capacitor of {capacitance} rated {rating} pk, about twice the supply"
        edit = Edit(("network", "blocking_capacitor"), FixedCapacitor.model_validate(text), text)
        return [Change("part", place, None, title, (edit,))]
    if present.capacitance >= least:
        return []
    reactance = 1 / (2 * math.pi * lowest * present.capacitance)
    edit = quantity_edit((*place.split("."), "capacitance"), step_up(least, E12), "F")
    title = (
        f"another blocking capacitor: {edit.text} instead of {written(present.capacitance, 'F')}, whose "
        f"{format_quantity(reactance, 'ohm')} at {format_quantity(lowest, 'Hz')} are more than a tenth of the "
        "plate load"
    )
    return [Change("part", place, None, title, (edit,))]


def plate_leads(description: Description) -> list[Change]:
    """Return inductances in the plate lead, which carry part of the tube's output capacitance on the highest band."""
    present = description.network.plate_lead_inductance
    found = []
    for value in _PLATE_LEADS:
        if value > present * 1.2:
            edit = quantity_edit(("network", "plate_lead_inductance"), value, "H")
            title = f"{edit.text} in the plate lead instead of {written(present, 'H') if present else 'none'}"
            found.append(Change("part", "network.plate_lead_inductance", None, title, (edit,)))
    return found


def coil_quality(description: Description, used: float, parts: Parts, most: float) -> list[Change]:
    """Return a tank coil of higher unloaded Q, as far as one can be had.

    Heat, of which a fraction of what the coil sheds is used in the network in question, goes as 1 / Q. `most` is what
    its winding gives by its own wire, infinite where the file has none: a Q that is computed from it is not for the
    owner to choose.
    """
    coil = description.network.coil
    key = "unloaded_q" if coil.winding and not math.isinf(most) else "q"
    if key == "unloaded_q" and coil.unloaded_q is None:
        return []
    present = float(np.broadcast_to(parts.coil_q, (len(parts),)).min())
    wanted = math.ceil(present * used / description.limits.close_to_rating / 10) * 10.0
    if not present < wanted <= min(BEST_COIL_Q, most):
        return []
    edit = plain_edit(("network", "coil", key), wanted)
    title = f"a coil of unloaded Q {wanted:g} instead of {present:.0f}: thicker, cleaner or plated conductor"
    return [Change("part", f"network.coil.{key}", None, title, (edit,))]


def quieter_choke(description: Description) -> list[Change]:
    """Return a plate choke whose resonances are out of and well away from every band, if one is near.

    Notes
    -----
    A resonance stays clear if it is more than a tenth off each band; the nearest such place is taken.
    """
    choke = description.network.plate_choke
    if choke is None:
        return []
    spans = sorted((min(b.frequencies) * 0.89, max(b.frequencies) * 1.12) for b in description.bands)
    moved = []
    for resonance in choke.series_resonances:
        if any(low <= resonance <= high for low, high in spans):
            places = [place for span in spans for place in span]
            free = [p for p in places if not any(low < p < high for low, high in spans)]
            resonance = min(free, key=lambda place: abs(math.log(place / resonance)))
        moved.append(resonance)
    if moved == list(choke.series_resonances):
        return []
    path = ("network", "plate_choke", "series_resonances")
    texts = [written(resonance, "Hz") for resonance in moved]
    listed = " and ".join(texts)
    title = (
        f"another plate choke: it resonates at {listed}, by other turns or a split winding, measured again"
    )
    return [Change("part", "network.plate_choke", None, title, (Edit(path, tuple(moved), texts),))]


def larger_choke(description: Description, short: float) -> list[Change]:
    """Return a plate choke of more inductance, by what its reactance is short of the plate load as a ratio."""
    choke = description.network.plate_choke
    if choke is None or choke.inductance is None:
        return []
    edit = quantity_edit(
        ("network", "plate_choke", "inductance"), step_up(choke.inductance * short, R10), "H"
    )
    title = f"another plate choke: {edit.text} instead of {written(choke.inductance, 'H')}, resonances measured anew"
    return [Change("part", "network.plate_choke", None, title, (edit,))]


def thicker_wall(description: Description, part: str, section: int, wanted: float) -> list[Change]:
    """Return a tube with a wall of so much [m], if its conductor is thick enough for one."""
    winding = getattr(description.network, part).winding[section]
    edit = quantity_edit(("network", part, "winding", section, "wall"), step_up(wanted, R10), "m")
    if not winding.conductor_diameter or edit.value > winding.conductor_diameter / 2:
        return []
    title = f"a tube with a wall of {edit.text} instead of {written(winding.wall, 'm')}"
    return [Change("part", f"network.{part}.winding", None, title, (edit,))]


def higher_ratings(description: Description, part: str, ratings: Mapping[str, float]) -> Change:
    """Return the change to a part with higher ratings, by key in SI."""
    model = getattr(description.network, part)
    edits, words, slips = [], [], 0
    for key, value in ratings.items():
        edit = quantity_edit(("network", part, key), value, _UNITS[key])
        edits.append(edit)
        present = effective_rating(model, key) or 0.0
        now = format_quantity(present, _UNITS[key], trim=True)
        if getattr(model, "air_gap", None) is not None and key == "voltage_rating":
            gone = [name for name in ("air_gap", "altitude") if getattr(model, name) is not None]
            edits += [removal(("network", part, name)) for name in gone]
        gap = model.air_gap if key == "voltage_rating" and hasattr(model, "air_gap") else None
        given = now if gap is None else f"a gap of {gap * 1e3:.3g} mm"
        slip = f" (is {given} a slip?)" if value > SLIP * present else ""
        slips += bool(slip)
        words.append(f"{key.replace('_', ' ')} {edit.text} instead of {now}{slip}")
    title = f"another {part.replace('_', ' ')}: {', '.join(words)}"
    return Change("part", f"network.{part}", None, title, tuple(edits), 1 + slips)


def source_edits(description: Description, changes: Sequence[Change]) -> list[Edit]:
    """Return edits that say of replaced parts' figures that they are wishes, where the file says whence they come."""
    replaced = dict.fromkeys(change.part for change in changes if change.kind == "part" and change.part)
    models = {name: getattr(description.network, name, None) for name in replaced}
    return [
        plain_edit(("network", name, "source"), _SOURCE)
        for name, model in models.items()
        if getattr(model, "source", None) is not None
    ]
