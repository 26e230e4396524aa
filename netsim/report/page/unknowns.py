"""What could not be judged and what had to be supposed, with the line to add and what hangs on it."""

from dataclasses import dataclass

from netsim.report.notation import finding_anchor, finding_title, part_label
from netsim.verdict.result import Assumption, Finding, Verdict


@dataclass(frozen=True)
class Unknown:
    """One gap in the file."""

    anchor: str
    title: str
    what: str
    add: str
    hangs_on_it: str
    line: int | None


_BY_KEY = {
    "q": "efficiency, expected output, the heat and the harmonic level of every band",
    "stray": "the capacitor setting, tuning range and loaded Q of every band",
    "output_capacitance": "the tune setting, tuning range and loaded Q, most of all on the highest band",
    "no_load_plate_voltage": "every peak voltage that includes DC, and every peak with the antenna off",
    "ambient": "the estimated temperature of the coil",
    "self_capacitance": "the tune setting and loaded Q of the highest bands",
    "lead_inductance": "the settings of the highest bands, and harmonic levels above 40 MHz",
    "plate_lead_inductance": "the tune setting and the harmonic levels of the highest bands",
    "coupling": "the settings and the harmonic levels of every band",
    "plate_choke": "the choke's reactance, resonances and current, and the tune setting of the lowest band",
    "suppressor": "the suppressor's heat on the highest bands",
    "band_switch": "voltage and current of the switch contacts",
}


def not_rated(verdict: Verdict) -> tuple[Unknown, ...]:
    """List the findings that lack a rating, in the result's order."""
    return tuple(_gap(index, f) for index, f in enumerate(verdict.findings) if f.state == "not_rated")


def assumed(verdict: Verdict) -> tuple[Unknown, ...]:
    """List what was supposed because the file does not say it."""
    return tuple(_supposition(number, entry) for number, entry in enumerate(verdict.assumptions, start=1))


def _gap(index: int, finding: Finding) -> Unknown:
    hangs = "this verdict on every band" if finding.band is None else f"this verdict on {finding.band}"
    return Unknown(
        anchor=finding_anchor(index),
        title=finding_title(finding),
        what=f"{finding.message}; {finding.why}",
        add=finding.fix,
        hangs_on_it=hangs,
        line=finding.line,
    )


def _supposition(number: int, entry: Assumption) -> Unknown:
    return Unknown(
        anchor=f"assumed-{number}",
        title=part_label(entry.part) + ("" if entry.key in (entry.part, "") else f": {_key(entry.key)}"),
        what=f"assumed: {entry.assumed}",
        add=f"add {entry.add}",
        hangs_on_it=_BY_KEY.get(entry.key, "every value that this part takes part in"),
        line=entry.line,
    )


def _key(key: str) -> str:
    return "unloaded Q" if key == "q" else key.replace("_", " ")
