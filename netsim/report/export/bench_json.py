"""The bench and the fit as JSON: SI floats, impedances as two numbers, null for what does not exist."""

from typing import Any

from netsim.advice.bench.bench import Bench
from netsim.advice.bench.cold_test import ColdTest
from netsim.advice.bench.comparison import Compared
from netsim.advice.fit.fit import Fit, changes
from netsim.report.export.json_text import document, plain
from netsim.verdict.result import Finding


def dump_bench(found: Bench) -> str:
    """Write the cold tests of all bands, the readings beside what was calculated, and the losses."""
    tables = {
        "cold_match": [_cold(test) for test in found.cold_match],
        "readings": [reading_table(entry) for entry in found.readings],
        "losses": [
            {"band": band.name, "frequency_hertz": band.losses_at_hertz, "losses": plain(band.losses)}
            for band in found.result.verdict.bands
        ],
        "points_to": plain(found.points_to),
    }
    return document(tables)


def dump_fit(found: Fit) -> str:
    """Write the unknowns before and after, the readings, suspects, the next reading and the verdict's changes."""
    tables = {
        "unknowns": plain(found.unknowns),
        "readings": [
            {
                **reading_table(reading.compared),
                "off_the_others": reading.off,
                "contradicts": reading.contradicts,
            }
            for reading in found.readings
        ],
        "chi_square": found.chi_square,
        "degrees": found.degrees,
        "explained": found.explained,
        "inseparable": plain(found.inseparable),
        "suspects": plain(found.suspects),
        "measure_next": plain(found.measure_next),
        "counts": {
            "before": found.before.verdict.counts,
            "after": None if found.after is None else found.after.verdict.counts,
        },
        "findings": [
            {
                **{key: getattr(was, key) for key in _NAME},
                "before": _sureness(was),
                "after": None if now is None else _sureness(now),
            }
            for was, now in changes(found)
        ],
        "diff": found.diff,
    }
    return document(tables)


_NAME = ("code", "case", "band", "part", "quantity", "operating_point")
_SURENESS = ("state", "used_fraction", "used_low", "used_high", "share_over")


def _sureness(finding: Finding) -> dict[str, Any]:
    return {key: getattr(finding, key) for key in _SURENESS}


def reading_table(entry: Compared) -> dict[str, Any]:
    """Give one reading, key by key as in its dataclass."""
    return {key: _number(value) for key, value in vars(entry).items()}


def _cold(test: ColdTest) -> dict[str, Any]:
    tables = {key: _number(value) for key, value in vars(test).items() if key != "resistors"}
    return {
        **tables,
        "plate_resistor_ohm": test.resistors.resistance,
        "plate_resistors": {"joined": test.resistors.joined, "ohm": list(test.resistors.values)},
    }


def _number(value: Any) -> Any:
    return [value.real, value.imag] if isinstance(value, complex) else value
