"""Taps, fixes, designs and comparisons as JSON: SI floats, null for what does not exist."""

from collections.abc import Sequence
from typing import Any

from netsim.advice.change import WEIGHTS, Change
from netsim.advice.comparison import Comparison
from netsim.advice.design import Design
from netsim.advice.fix.fix import Fix
from netsim.advice.taps.tap_advice import TapsAdvice
from netsim.description.key_path import printed_key
from netsim.description.reader import Amplifier
from netsim.report.export.json_text import as_tables, document, plain
from netsim.verdict.result import Finding


def dump_taps(advice: TapsAdvice) -> str:
    """Write the advice on taps, key by key as in its dataclasses."""
    return document(plain(advice))


def dump_fix(found: Fix, singles: Sequence[Finding] = ()) -> str:
    """Write a fix: its changes, the diff, every effect, what remains, the result after it, remedies of findings."""
    amplifier = found.before.amplifier
    options = [
        {"finding": plain(finding), "options": plain(finding.remedies)}
        for finding in singles
        if finding.state in ("over", "close")
    ]
    return document(
        {
            "clears": found.clears,
            "weight": found.weight,
            "weights": dict(WEIGHTS),
            "moves": [
                _change(change, amplifier, found.elsewhere.get(change.band or "")) for change in found.changes
            ],
            "tried": found.tried,
            "networks": found.networks,
            "ended_early": found.ended_early,
            "diff": found.diff,
            "effects": plain(found.effects),
            "remaining": plain(found.remaining),
            "options": options,
            "before": {"counts": found.before.verdict.counts},
            "after": as_tables(found.after.verdict),
        }
    )


def dump_design(made: Design) -> str:
    """Write a design: what was filled in, and the result of the completed file."""
    return document(
        {
            "q_definition": made.definition,
            "target_loaded_q": made.target,
            "bands": plain(made.bands),
            "box": [{"key": key, "value": value} for key, value in made.box],
            "diff": made.diff,
            "result": as_tables(made.result.verdict),
        }
    )


def dump_comparison(found: Comparison) -> str:
    """Write a comparison: every quantity of both amplifiers with its difference, and both results."""
    return document(
        {
            "titles": found.titles,
            "amplifier": [_quantity(q) for q in found.amplifier],
            "bands": [
                {
                    "name": band.name,
                    "matched": list(band.matched),
                    "quantities": [_quantity(q) for q in band.quantities],
                    "parts": plain(band.parts),
                }
                for band in found.bands
            ],
            **{key: getattr(found, key) for key in _LISTS},
            "results": [as_tables(walked.verdict) for walked in found.results],
        }
    )


_LISTS = ("only_first", "only_second", "better", "worse", "left_out", "other_differences")


def _quantity(quantity: Any) -> dict[str, Any]:
    tables: dict[str, Any] = plain(quantity)
    return {**tables, "difference": quantity.difference}


def _change(change: Change, amplifier: Amplifier, elsewhere: str | None) -> dict[str, Any]:
    """Write a change; `elsewhere` tells of its band why the tap goes elsewhere than the advice on taps has it."""
    moves_tap = change.kind == "tap" and any(edit.path[-1] == "coil_turns" for edit in change.edits)
    return {
        "kind": change.kind,
        "place": change.place,
        "band": change.band,
        "title": change.title,
        "weight": change.weight,
        "keys": {printed_key(edit.path): edit.text for edit in change.edits},
        "edits": [{"key": amplifier.key(*edit.path), "value": edit.text} for edit in change.edits],
        "why": elsewhere if moves_tap else None,
    }
