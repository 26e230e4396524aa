"""Taps, fixes, designs and comparisons as JSON: SI floats, null for what does not exist."""

import json
from collections.abc import Mapping
from typing import Any

from netsim.advice.comparison import Comparison
from netsim.advice.design import Design
from netsim.advice.fix.change import WEIGHTS, Move
from netsim.advice.fix.fix import Fix, Identity, identity
from netsim.advice.fix.single_changes import Option
from netsim.advice.taps.tap_advice import TapsAdvice
from netsim.report.export.json_text import as_tables, plain
from netsim.verdict.result import SCHEMA_VERSION


def dump_taps(advice: TapsAdvice) -> str:
    """Write the advice on taps, key by key as in its dataclasses."""
    return _line(plain(advice))


def dump_fix(found: Fix, singles: Mapping[Identity, tuple[Option, ...]]) -> str:
    """Write a fix: its moves, the diff, every effect, what remains, and the result after it."""
    options = [
        {"finding": plain(finding), "options": [_option(o) for o in singles[identity(finding)]]}
        for finding in found.before.verdict.findings
        if identity(finding) in singles
    ]
    return _line(
        {
            "clears": found.clears,
            "weight": found.weight,
            "weights": dict(WEIGHTS),
            "moves": [_move(move) for move in found.moves],
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
    return _line(
        {
            "q_definition": made.definition,
            "target_loaded_q": made.target,
            "bands": plain(made.bands),
            "diff": made.diff,
            "result": as_tables(made.result.verdict),
        }
    )


def dump_comparison(found: Comparison) -> str:
    """Write a comparison: every quantity of both amplifiers with its difference, and both results."""
    return _line(
        {
            "titles": list(found.titles),
            "amplifier": [_quantity(q) for q in found.amplifier],
            "bands": [
                {
                    "name": band.name,
                    "quantities": [_quantity(q) for q in band.quantities],
                    "parts": plain(band.parts),
                }
                for band in found.bands
            ],
            "only_first": list(found.only_first),
            "only_second": list(found.only_second),
            "better": list(found.better),
            "worse": list(found.worse),
            "results": [as_tables(walked.verdict) for walked in found.studies],
        }
    )


def _quantity(quantity: Any) -> dict[str, Any]:
    tables: dict[str, Any] = plain(quantity)
    return {**tables, "difference": quantity.difference}


def _option(option: Option) -> dict[str, Any]:
    return {
        "move": _move(option.move),
        "used_fraction_before": option.before,
        "used_fraction_after": option.after,
        "over_before": option.over_before,
        "over_after": option.over_after,
    }


def _move(move: Move) -> dict[str, Any]:
    return {
        "kind": move.kind,
        "place": move.place,
        "band": move.band,
        "title": move.title,
        "weight": move.weight,
        "keys": {edit.key: edit.text for edit in move.edits},
    }


def _line(tables: dict[str, Any]) -> str:
    return json.dumps({"schema_version": SCHEMA_VERSION, **tables}, allow_nan=False) + "\n"
