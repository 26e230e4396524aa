"""A result of schema version 1, frozen: whatever comes later must still satisfy it. Pinned."""

import json
import math
from pathlib import Path

import pytest

from netsim.report.export import json_text

FROZEN = json.loads((Path(__file__).parents[1] / "frozen" / "plain-v1.json").read_text(encoding="utf-8"))
TOLERANCE = 1e-6
ROUNDING = 1e-9
IDENTITY = ("code", "band", "part", "quantity", "case")
# Sentences may be worded better; what they are about is in the other keys.
RECKONED = {"value", "used_fraction", "state", "frequency_hertz"}
WORDING = {"message", "why", "fix", "assumed", "add"}


def missing(frozen, now, place=""):
    """List everything that is gone, of another type, or another number."""
    if isinstance(frozen, dict):
        if not isinstance(now, dict):
            return [f"{place}: no longer a table"]
        gone = [f"{place}.{key}: gone" for key in frozen if key not in now]
        return gone + [m for key in frozen if key in now for m in _entry(key, frozen, now, place)]
    if isinstance(frozen, list):
        return _list(frozen, now, place)
    if isinstance(frozen, bool) or isinstance(now, bool) or frozen is None or isinstance(frozen, str):
        return [] if type(frozen) is type(now) and frozen == now else [f"{place}: {frozen!r} became {now!r}"]
    if isinstance(now, int | float) and math.isclose(frozen, now, rel_tol=TOLERANCE):
        return []
    return [f"{place}: {frozen!r} became {now!r}"]


def _entry(key, frozen, now, place):
    place = f"{place}.{key}"
    if key == "provenance":
        return [f"{place}.{name}: gone" for name in frozen[key] if name not in now[key]]
    if key in WORDING:
        return [] if isinstance(now[key], str) else [f"{place}: no longer text"]
    if key == "worst_relative":
        # Rounding, which differs from machine to machine.
        return [] if isinstance(now[key], float) and now[key] < TOLERANCE else [f"{place}: {now[key]}"]
    if key == "used_fraction" and isinstance(frozen[key], float) and 0 <= frozen[key] < ROUNDING:
        # Of a match that is exact: what is left is rounding.
        return [] if isinstance(now[key], float) and now[key] < ROUNDING else [f"{place}: {now[key]}"]
    if key == "plate_impedance_ohm":
        apart = abs(complex(*frozen[key]) - complex(*now[key]))
        return [] if apart <= TOLERANCE * abs(complex(*frozen[key])) else [f"{place}: off by {apart}"]
    return missing(frozen[key], now[key], place)


def _list(frozen, now, place):
    if not isinstance(now, list):
        return [f"{place}: no longer a list"]
    if place.endswith((".findings", ".assumptions")):
        identity = IDENTITY if place.endswith(".findings") else ("part", "key")
        found = {tuple(item[name] for name in identity): item for item in now}
        lacking = []
        for item in frozen:
            key = tuple(item[name] for name in identity)
            if item.get("code") == "choke_reactance":  # now that of the choke with its self-capacitance
                item = {name: value for name, value in item.items() if name not in RECKONED}
            lacking += missing(item, found[key], f"{place}{key}") if key in found else [f"{place}{key}: gone"]
        return lacking
    if len(frozen) != len(now):
        return [f"{place}: {len(frozen)} entries became {len(now)}"]
    return [
        m for n, (a, b) in enumerate(zip(frozen, now, strict=True)) for m in missing(a, b, f"{place}[{n}]")
    ]


def test_the_plain_example_still_gives_what_it_gave(solved_plain):
    now = json.loads(json_text.dump(solved_plain.verdict))
    # More findings may come, and counts with them.
    counts = FROZEN["counts"]
    assert all(now["counts"][state] >= counts[state] for state in counts)
    assert not missing({**FROZEN, "counts": {}}, now)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (lambda r: r.pop("topology"), "topology"),
        (
            lambda r: r["stage"].update(plate_load_ohm=r["stage"]["plate_load_ohm"] * (1 + 3e-6)),
            "plate_load_ohm",
        ),
        (lambda r: r["bands"][1]["points"][0].update(tuned="yes"), "tuned"),
        (lambda r: r["bands"][0]["points"][0]["parts"].pop("coil"), "coil"),
        (lambda r: r["findings"].pop(), "findings"),
        (lambda r: r["bands"].pop(), "bands"),
        (lambda r: r["bands"][0]["points"][0]["plate_impedance_ohm"].__setitem__(1, 1.0), "plate_impedance"),
    ],
)
def test_the_comparison_notices(change, place):
    now = json.loads(json.dumps(FROZEN))
    change(now)
    assert place in " ".join(missing(FROZEN, now))
