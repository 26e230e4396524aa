"""How values, parts, findings and states are written on the page."""

from functools import partial

from markupsafe import Markup

from netsim.description.formatting import NOTHING, format_quantity
from netsim.verdict.result import BandResult, Finding, Note, Verdict

MARKS = {"over": "▲", "close": "◆", "not_rated": "○", "pass": "✓"}
"""A shape for each state, so that colour never stands alone."""

WORDS = {"over": "over", "close": "close", "not_rated": "not rated", "pass": "pass"}

_KINDS = {"_peak": "pk", "_rms": "rms", "dc_voltage": "DC"}
"""How names of quantities end, and what is written after their unit."""

_TITLES = {
    "plate_dissipation": "Plate dissipation",
    "loaded_q": "Loaded Q",
    "harmonic_level": "Harmonic level",
    "harmonic_spread": "Harmonic level by termination",
    "plate_match": "Plate match",
    "second_match": "Second match",
    "antenna_dc": "Plate supply on the antenna",
    "output_choke": "Output choke",
}

_ASPECTS = {
    "part_voltage": "peak voltage",
    "part_unloaded_voltage": "peak voltage, antenna off",
    "part_tuning_voltage": "peak voltage while tuning",
    "part_current": "rms current",
    "part_power": "heat",
    "part_reactive_power": "reactive power",
    "tuning_range": "range",
    "choke_reactance": "reactance",
    "choke_resonance": "series resonance",
    "self_resonance": "self-resonance",
    "tube_wall": "tube wall",
    "coil_temperature": "temperature, estimated",
}

_DISAGREES = {"plate_dissipation": "plate heat", "drive_voltage_peak": "drive voltage"}
"""Quantities of the tube against what is wanted of it, where the name is not what people say."""

_CASES = {"any_antenna": "any antenna"}
"""Words for a condition that the code does not tell."""

_ALSO_MATCHED = ("plate_dissipation", "grid_current", "grid_dissipation")
"""Codes that are judged at the match as well as while tuning."""

_WINDOWS = {"loaded_q", "tuning_range"}
"""Codes whose limit may be a lowest or a highest one."""

_LOWER_LIMITS = {"choke_reactance", "tube_wall"}
"""Codes whose limit is a lowest one."""


CAUTION = (
    "This can kill: capacitors hold thousands of volts after switch-off, RF burns deeply. Unplug, discharge, short "
    "to chassis; follow local codes and licensed practice. These are a model's figures: they tell which ratings "
    "given are exceeded, not that it may be touched."
)
"""What stands under every proposal on the terminal."""


volts, amperes, watts, ohms, farads, joules, seconds = (
    partial(format_quantity, unit=unit) for unit in ("V", "A", "W", "ohm", "F", "J", "s")
)
"""Write a value of the unit that the name tells."""


def flagged(words: str) -> Markup:
    """Write words with the mark of what is over, so that they stand out in a table."""
    return Markup('<b class="flag">{} {}</b>').format(MARKS["over"], words)


def tuned_words(tuned: bool) -> str:
    """Say whether a frequency is tuned, so that one which is not stands out."""
    return f"{MARKS['pass']} tuned" if tuned else flagged("not tuned")


def doubts(verdict: Verdict) -> tuple[Note, ...]:
    """Return what is to be said before any figure: that the tube's curves fit roughly, and where."""
    codes = {note.code for note in verdict.notes}
    shown = ("doubtful_point", "rough_curves") if "rough_curves" in codes else ()
    return tuple(note for note in verdict.notes if note.code in shown)


def nothing_exceeded(verdict: Verdict) -> str:
    """Say that nothing is over, and how much could not be judged."""
    unrated = verdict.counts["not_rated"]
    if not unrated:
        return "Nothing given is exceeded: no change is needed."
    values = "1 value is" if unrated == 1 else f"{unrated} values are"
    return f"Nothing that is rated is exceeded; {values} not rated."


def part_label(name: str) -> str:
    """Write a part's name for people: ``tune_capacitor`` as "Tune capacitor"."""
    return name.replace("_", " ").capitalize()


def kind_of(finding: Finding) -> str:
    """Name what of a part is judged; a code that this page does not know is named by its own words."""
    return _ASPECTS.get(finding.code, finding.code.replace("_", " "))


def case_of(finding: Finding) -> str:
    """Name the condition that the code does not tell; empty for the matched antenna."""
    if finding.code in _ALSO_MATCHED and finding.case == "while_tuning":
        return "while tuning"
    return _CASES.get(finding.case, "")


def aspect(finding: Finding) -> str:
    """Name what is judged and under which condition."""
    return ", ".join(words for words in (kind_of(finding), case_of(finding)) if words)


def subject_of(finding: Finding) -> str:
    """Name a finding by part and what is judged, such as "Coil: heat", leaving the condition out."""
    if finding.code == "tube_disagrees":
        return f"Tube against [stage]: {_DISAGREES.get(finding.quantity, finding.quantity.replace('_', ' '))}"
    if finding.code in _TITLES:
        return _TITLES[finding.code]
    if finding.part in ("network", "stage"):
        return kind_of(finding).capitalize()
    return f"{part_label(finding.part)}: {kind_of(finding)}"


def finding_title(finding: Finding) -> str:
    """Name a finding by part, what is judged, and condition."""
    return ", ".join(words for words in (subject_of(finding), case_of(finding)) if words)


def effect_title(finding: Finding, outcome: str) -> str:
    """Name a finding that a change brings, moves or takes away; of a new part without rating what it must withstand."""
    must = f"; {finding.why}" if outcome == "new" and finding.state == "not_rated" else ""
    return f"{finding_title(finding)}{must}"


def amount(value: float | None, unit: str, quantity: str = "") -> str:
    """Write a value with three digits, unit, and pk, rms or DC where the amplitude needs it; a dash for None.

    Unit and name of the quantity are as in a finding.
    """
    if value is None:
        return NOTHING
    if quantity == "level":
        return f"{value:.1f} dBc"
    if unit == "degC":
        return f"{value:.0f} °C"
    text = format_quantity(value, unit)
    kind = next((word for ending, word in _KINDS.items() if quantity.endswith(ending)), "")
    return f"{text} {kind}".rstrip()


def place_of(finding: Finding) -> str:
    """Name the band of a finding, and the operating point where it is not the stage of the file."""
    return f"{'all bands' if finding.band is None else finding.band}{condition_of(finding)}"


def condition_of(finding: Finding) -> str:
    """Name the operating point of a finding, to go after other words; nothing for the stage of the file."""
    return "" if finding.operating_point is None else f", {finding.operating_point}"


def value_of(finding: Finding) -> str:
    """Write what was found."""
    shown = amount(finding.value, finding.unit, finding.quantity)
    return f"SWR {shown}" if finding.quantity == "swr" else shown


def limit_of(finding: Finding) -> str:
    """Write what the value is held against, with the word that tells which way."""
    if finding.limit is None:
        return ""
    shown = amount(finding.limit, finding.unit, finding.quantity)
    if finding.code == "tube_disagrees":
        return f"wanted {shown}"
    if finding.code == "choke_resonance":
        return f"band edge {shown}"
    if finding.code in _WINDOWS | _LOWER_LIMITS and finding.value is not None:
        return f"at {'least' if _is_lower_limit(finding) else 'most'} {shown}"
    return f"{'rated' if finding.code.startswith('part_') else 'limit'} {shown}"


def _is_lower_limit(finding: Finding) -> bool:
    """Tell which end of a window the limit is: from inside it lies on the other side than from outside."""
    if finding.code in _LOWER_LIMITS:
        return True
    assert finding.value is not None
    assert finding.limit is not None
    outside = finding.used_fraction is None or finding.used_fraction > 1
    return (finding.value < finding.limit) == outside


def band_anchor(index: int) -> str:
    """Give the id of a band's section; never made from the user's text."""
    return f"band-{index + 1}"


def finding_anchor(index: int) -> str:
    """Give the id of a finding by its place in the result."""
    return f"finding-{index + 1}"


def line_anchor(line: int) -> str:
    """Give the id of a line of the input."""
    return f"line-{line}"


def rule_anchor(code: str) -> str:
    """Give the id of the rule behind a code."""
    return f"rule-{code}"


def worst_of_band(verdict: Verdict, band: str) -> tuple[int, Finding] | None:
    """Find the judged finding of a band that uses most of its limit, over before close before pass.

    Findings without a fraction count only where nothing else of their state exists, unless they are over.
    """
    judged = [(i, f) for i, f in enumerate(verdict.findings) if f.band == band and f.state != "not_rated"]
    for wanted in ("over", "close", "pass"):
        # The result is sorted worst first, so the first with a number is the highest.
        of_state = [(i, f) for i, f in judged if f.state == wanted]
        if wanted != "over":
            of_state.sort(key=lambda entry: entry[1].used_fraction is None)
        if of_state:
            return of_state[0]
    return None


def frequencies_of(band: BandResult) -> str:
    """List a band's frequencies, such as "3.5, 3.65 and 3.8 MHz"."""
    shown = [format_quantity(point.frequency_hertz, "Hz") for point in band.points]
    if len(shown) == 1:
        return shown[0]
    numbers, units = zip(*(text.split(" ") for text in shown), strict=True)
    if len(set(units)) == 1:
        shown = [*numbers[:-1], shown[-1]]
    return f"{', '.join(shown[:-1])} and {shown[-1]}"
