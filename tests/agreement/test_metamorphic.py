"""An amplifier changed in a way of which the laws say what follows: what was printed has to follow.

Derived: each change's docstring tells from Kirchhoff and the elements' laws how every figure goes. Nothing of the
circuit or the solvers is used, and no figure is expected but a ratio.
"""

import copy
import dataclasses
import random
import re
import tomllib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from fuzz.mutation import mutated
from respelling import Respeller

from netsim.analysis import analyse
from netsim.description.reader import loads
from netsim.errors import NetsimError

ROOT = Path(__file__).parents[2]
FILES = {
    path.name: tomllib.loads(path.read_text(encoding="utf-8"))
    for path in [*sorted(ROOT.glob("circuits/*.toml")), *sorted(ROOT.glob("tests/examples/*.toml"))]
}
PLAIN = ("plain.toml", "new-tube-pi-l.toml")
ON_AIR = "new-tube-on-the-air.toml"
CLOSE = 1e-6
"""Relative; a search of the worst antenna or of a re-dipped setting ends within this."""
PEAKED = 2e-5
"""The same where nothing matches: a peak's setting is true to a millionth of the range, and the dip follows it."""
ROUNDING = 1e-9
"""Of pure numbers: the use of plate_match is what rounding leaves of an SWR of 1."""

_QUANTITY = re.compile(
    r"([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)(.*?)([fpnumkMG]?)(Hz|ohm|Ω|VA|H|F|V|A|W)(\s*(?:\+-|±|\+/-)[^%]*%)?"
)
_PREFIX = {"f": -15, "p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}
_UNIT_OF_KEY = {
    "hertz": "Hz",
    "farad": "F",
    "henry": "H",
    "ohm": "ohm",
    "volt": "V",
    "ampere": "A",
    "watt": "W",
}


def figures(
    table: dict[str, Any], *, engine: Any = "two-port", swr: float | None = None
) -> dict[Any, float | str | None]:
    """Return every figure of the result by its place, and of every finding state, value, limit and use."""
    verdict = analyse(loads(Respeller(0).write(table)), engine=engine, swr=swr, samples=1).verdict
    found: dict[Any, Any] = dict(_leaves(("stage",), verdict.stage))
    for band in verdict.bands:
        for point in band.points:
            found |= dict(
                _leaves((band.name, point.frequency_hertz), dataclasses.replace(point, agreement=None))
            )
    for finding in verdict.findings:
        key = (
            finding.code,
            finding.band,
            finding.part,
            finding.quantity,
            finding.case,
            finding.operating_point,
        )
        found[*key, "state"] = finding.state
        found[*key, "used"] = finding.used_fraction
        for name in ("value", "limit"):
            found[*key, name, finding.unit] = getattr(finding, name)
    return found


def _leaves(path: tuple[Any, ...], value: Any) -> Iterator[tuple[tuple[Any, ...], Any]]:
    if dataclasses.is_dataclass(value):
        value = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves((*path, key), inner)
    elif isinstance(value, tuple | list):
        for number, inner in enumerate(value):
            yield from _leaves((*path, number), inner)
    else:
        yield path, value


def unit_of(path: tuple[Any, ...]) -> str:
    """Return the unit that a figure is in, from its key or its finding; empty for a pure number."""
    if path[-2:-1] in (("value",), ("limit",)):
        return str(path[-1])
    names = [step for step in path if isinstance(step, str)]
    words = names[-1].replace("volt_ampere", "").split("_") if names else [""]
    return next((_UNIT_OF_KEY[word] for word in reversed(words) if word in _UNIT_OF_KEY), "")


def compare(
    before: dict[Any, Any], after: dict[Any, Any], ratio: Callable[[str], float], rel: float = CLOSE
) -> None:
    """Demand every figure after to be the one before times what its unit's ratio says, and states to stay."""
    frequency = ratio("Hz")
    moved = {_moved(path, frequency): (path, value) for path, value in before.items()}
    assert set(moved) == {_moved(path, 1.0) for path in after}
    wrong = []
    for path, value in after.items():
        was = moved[_moved(path, 1.0)][1]
        if isinstance(value, bool | str) or value is None or was is None:
            if value != was:
                wrong.append((path, was, value))
            continue
        expected = was * ratio(unit_of(path))
        scale = _size(path, before, moved) * ratio(unit_of(path))
        if abs(value - expected) > rel * max(abs(expected), scale) + (0 if unit_of(path) else ROUNDING):
            wrong.append((path, expected, value))
    assert not wrong, (len(wrong), wrong[:5])


def _size(path: tuple[Any, ...], before: dict[Any, Any], moved: dict[Any, Any]) -> float:
    """Return what a part of an impedance is to be measured by: its other part, too. Nothing for other figures."""
    if "plate_impedance_ohm" not in path:
        return 0.0
    here = moved[_moved(path, 1.0)][0]
    return max(abs(before[*here[:-1], part]) for part in (0, 1))


def _moved(path: tuple[Any, ...], ratio: float) -> tuple[Any, ...]:
    return tuple(f"{step * ratio:.6g}" if isinstance(step, float) else step for step in path)


def converted(table: Any, ratio: Callable[[str], float]) -> Any:
    """Return a table in which every quantity is multiplied by its unit's ratio."""
    if isinstance(table, dict):
        return {
            key: converted(value, ratio) for key, value in table.items() if key not in ("title", "name")
        } | {key: table[key] for key in ("title", "name") if key in table}
    if isinstance(table, list):
        return [converted(item, ratio) for item in table]
    found = _QUANTITY.fullmatch(table) if isinstance(table, str) else None
    if found is None:
        return table
    factor = ratio(found[4].replace("Ω", "ohm"))
    numbers = re.sub(
        r"[0-9.]+(?:[eE][-+]?[0-9]+)?(?![ ]*%)", lambda n: f"{float(n[0]) * factor!r}", found[1] + found[2]
    )
    return f"{numbers}{found[3]}{found[4]}{found[5] or ''}"


def whole(name: str, *, bands: int = 2) -> dict[str, Any]:
    """Return a file's table with the typical values written out that have a unit, and only its first and last bands."""
    table = copy.deepcopy(FILES[name])
    table["network"]["tune_capacitor"].setdefault("stray", "8 pF")
    table["network"]["load_capacitor"].setdefault("stray", "15 pF")
    table.setdefault("limits", {}).setdefault("harmonic_level", "-43 dB")
    table["bands"] = [table["bands"][0], table["bands"][-1]][:bands]
    return table


def any_of(seed: int, moved: Callable[[dict[str, Any]], dict[str, Any]]) -> dict[str, Any]:
    """Return a file moved about at random until it can be read, `moved` as well, without windings."""
    rng = random.Random(seed)
    while True:
        table = mutated(rng, whole(rng.choice(PLAIN)), wild=0.0)
        text = Respeller(0).write(table)
        if any(
            word in text
            for word in ("winding", "air_gap", ".s1p", ".s2p", "cooling", "supply", "input", "measured")
        ):
            continue
        try:
            loads(text)
            loads(Respeller(0).write(moved(table)))  # what is scaled may leave what the file format permits
        except NetsimError:
            continue
        table["network"]["tune_capacitor"].setdefault("stray", "8 pF")
        table["network"]["load_capacitor"].setdefault("stray", "15 pF")
        table.setdefault("limits", {}).setdefault("harmonic_level", "-43 dB")
        return table


def scaling(k: float) -> Callable[[str], float]:
    """Return by unit what follows if all impedances are k times as large at the same power.

    Derived: R and L k times, C one k-th makes every branch's impedance k times what it was at every frequency. With
    voltages times the root of k and currents divided by it, Kirchhoff's and Ohm's laws hold as before; power, loss, Q,
    efficiency, attenuation, SWR and phase are ratios or products in which k cancels, reactive power too.
    """
    root = k**0.5
    return lambda unit: {"ohm": k, "H": k, "F": 1 / k, "V": root, "A": 1 / root}.get(unit, 1.0)


def scaled(table: dict[str, Any], k: float) -> dict[str, Any]:
    """Return the table with all impedances k times as large, ratings with what they rate.

    The tube's law, I = P (V_g + V_p / mu)^1.5, keeps its form if P goes with the current over the voltage to the
    power 1.5: k^-1/2 / k^3/4.
    """
    found = converted(table, scaling(k))
    for key in ("perveance", "grid_perveance"):
        if key in found.get("tube", {}):
            number, *limits = str(found["tube"][key]).partition(" ")
            value = float(number) * k**-1.25
            found["tube"][key] = f"{value!r}{''.join(limits)}" if limits[0] else value
    found.setdefault("antenna", {}).setdefault("resistance", f"{50.0 * k!r} ohm")
    return found


@pytest.mark.parametrize("name", [*PLAIN, ON_AIR])
def test_all_impedances_scaled(name):
    table = whole(name, bands=1 if name == ON_AIR else 2)
    compare(figures(table), figures(scaled(table, 1.7)), scaling(1.7))


def test_all_impedances_scaled_with_ngspice():
    table = whole("new-tube-pi-l.toml", bands=1)
    compare(figures(table, engine="both"), figures(scaled(table, 0.6), engine="both"), scaling(0.6))


@pytest.mark.parametrize(
    "seed", [*range(2), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(2, 60))]
)
def test_any_amplifier_with_all_impedances_scaled(seed):
    moved = partial(scaled, k=1.3)
    table = any_of(seed, moved)
    compare(figures(table), figures(moved(table)), scaling(1.3), PEAKED)


def test_ratings_that_stay_are_used_by_the_root_of_the_scale():
    """Derived: the voltage is 1.5 times what it was on the same rating, the current a 1.5th, the power the same."""
    table, k = whole("new-tube-pi-l.toml"), 2.25
    before = figures(table)
    other = scaled(table, k)
    for name, part in other["network"].items():
        if isinstance(part, dict):
            was = table["network"][name]
            part |= {key: value for key, value in was.items() if key.endswith("_rating")}
    after = figures(other)
    expected = {"part_voltage": 1.5, "part_unloaded_voltage": 1.5, "part_current": 1 / 1.5}
    expected |= {"part_power": 1.0, "part_reactive_power": 1.0}
    seen = set()
    for path, value in before.items():
        if path[0] in expected and path[-1] == "used" and value is not None:
            seen.add(path[0])
            assert after[path] == pytest.approx(value * expected[path[0]], rel=CLOSE), path
    assert seen == set(expected)


def halving(ratio: float) -> Callable[[str], float]:
    """Return by unit what follows if the frequency is multiplied and every L and C divided by a number.

    Derived: every reactance w L and 1 / (w C) is what it was, at every order; a part of constant Q has the series
    resistance w L / Q that it had. The same equations have the same solution: only frequencies, L and C differ.
    """
    return lambda unit: {"Hz": ratio, "H": 1 / ratio, "F": 1 / ratio}.get(unit, 1.0)


@pytest.mark.parametrize("name", [*PLAIN, ON_AIR])
def test_frequency_halved_and_inductances_and_capacitances_doubled(name):
    table = whole(name, bands=1 if name == ON_AIR else 2)
    compare(figures(table), figures(converted(table, halving(0.5))), halving(0.5))


def test_frequency_doubled_with_ngspice():
    table = whole("plain.toml", bands=1)
    doubled = converted(table, halving(2.0))
    compare(figures(table, engine="both"), figures(doubled, engine="both"), halving(2.0))


@pytest.mark.parametrize(
    "seed", [*range(100, 102), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(102, 160))]
)
def test_any_amplifier_at_another_frequency(seed):
    moved = partial(converted, ratio=halving(0.8))
    table = any_of(seed, moved)
    compare(figures(table), figures(moved(table)), halving(0.8), PEAKED)


def respelt_units(table: Any, rng: random.Random) -> Any:
    """Return a table with every quantity in another decimal multiple of its unit."""
    if isinstance(table, dict):
        return {
            key: value if key in ("title", "name") else respelt_units(value, rng)
            for key, value in table.items()
        }
    if isinstance(table, list):
        return [respelt_units(item, rng) for item in table]
    found = _QUANTITY.fullmatch(table) if isinstance(table, str) else None
    if found is None or found[2].strip():
        return table
    prefix = rng.choice([p for p in _PREFIX if abs(_PREFIX[p] - _PREFIX[found[3]]) <= 6])
    number = float(found[1]) * 10.0 ** (_PREFIX[found[3]] - _PREFIX[prefix])
    return f"{number!r}{rng.choice(['', ' ', '  '])}{prefix}{found[4]}{found[5] or ''}"


@pytest.mark.parametrize("name", ["plain.toml", "on-the-bench.toml", "whole-box.toml"])
def test_units_respelt(name):
    """Derived: 0.25 nF are 250 pF; what is read may differ in its last binary digits, and a figure with it."""
    table = whole(name, bands=1)
    table.pop("measured", None)
    compare(figures(table), figures(respelt_units(table, random.Random(name))), lambda unit: 1.0)


def same(before: dict[Any, Any], after: dict[Any, Any], rel: float = 1e-9) -> None:
    compare(before, after, lambda unit: 1.0, rel)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("network", "plate_lead_inductance"), "0 nH"),
        (("network", "tune_capacitor", "lead_inductance"), "0 nH"),
        (("network", "load_capacitor", "lead_inductance"), "0 nH"),
        (("network", "blocking_capacitor", "lead_inductance"), "0 nH"),
        (("antenna", "worst_swr"), 1),
        (("stage", "duty"), 1),
        (("stage", "pulse"), "cosine"),
    ],
)
def test_what_is_written_and_has_no_effect(path, value):
    """Derived: a lead of nothing, the one antenna, a steady carrier and the usual pulse are what is there without."""
    table = whole("new-tube-pi-l.toml", bands=1)
    before = figures(table)
    *around, key = path
    inner = table
    for step in around:
        inner = inner.setdefault(step, {})
    assert inner.get(key) != value
    inner[key] = value
    same(before, figures(table))


def test_a_padding_without_loss_is_stray():
    """Derived: both are capacitances without loss from the same node to chassis; which of them it is cannot matter."""
    table = whole("new-tube-pi-l.toml", bands=1)
    table["network"]["load_padding"] = {"q": "inf"}
    other = copy.deepcopy(table)
    table["bands"][0]["load_padding"] = "70 pF"
    other["network"]["load_capacitor"]["stray"] = "80 pF"
    assert table["network"]["load_capacitor"]["stray"] == "10 pF"
    padded, stray = (
        {path: value for path, value in figures(t).items() if "load_padding" not in path}
        for t in (table, other)
    )
    same(padded, stray)


def test_an_output_choke_is_load_capacitance_that_is_missing():
    """Derived: at the working frequency a choke without loss takes 1 / (w^2 L) from the capacitance across it.

    In a pi the load capacitor makes up for it, so that plate and antenna see the same; harmonics see less of it.
    """
    table = whole("plain.toml", bands=2)
    table["network"]["load_capacitor"] |= {"q": "inf"}
    table["network"].pop("output_choke", None)
    before = figures(table)
    table["network"]["output_choke"] = {"inductance": "40 uH", "q": "inf"}
    after = figures(table)
    seen = 0
    for path, value in before.items():
        if path[-1] == "load_farad" and before[*path[:-1], "tuned"] and after[*path[:-1], "tuned"]:
            missing = 1 / ((2 * 3.141592653589793 * path[1]) ** 2 * 40e-6)
            assert after[path] - value == pytest.approx(missing, rel=1e-6)
            for other in ("loaded_q", "efficiency", "tune_farad"):
                assert after[*path[:-1], other] == pytest.approx(before[*path[:-1], other], rel=1e-6)
            seen += 1
    assert seen


def test_a_strap_over_no_turns_does_nothing():
    """Derived: at the coil's last turn there is nothing to short, and nothing left open."""
    table = whole("new-tube.toml")
    turns = sum(section["turns"] for section in table["network"]["coil"]["winding"])
    table["network"]["coil"].pop("taps", None)
    for band in table["bands"]:
        band["coil_turns"] = turns
    ways = []
    for way in ("strap", "open"):
        table["network"]["coil"]["unused_turns"] = way
        found = figures(table)
        free = [path for path in found if path[-1] == "coil_free_end_voltage_peak_volt"]
        # Of a strapped end no voltage is told, and from the last turn to itself there is none.
        assert [found.pop(path) for path in free] == [None if way == "strap" else 0.0] * len(free)
        ways.append(found)
    same(*ways)


def test_a_condition_like_the_stage_is_judged_like_it():
    """Derived: the same numbers are the same amplifier, whatever the condition is called."""
    table = whole("new-tube-pi-l.toml")
    table["operating_points"] = [{"name": "the same", "plate_voltage": table["stage"]["plate_voltage"]}]
    found = figures(table)
    of_point = {path: value for path, value in found.items() if len(path) > 5 and path[5] == "the same"}
    assert len(of_point) > 50
    for path, value in of_point.items():
        assert found[*path[:5], None, *path[6:]] == value, path


@pytest.mark.parametrize("name", ["new-tube.toml", ON_AIR, "whole-box.toml"])
def test_order_of_bands(name):
    """Derived: a band is a position of the switch; the others are not connected."""
    table = whole(name)
    before = figures(table)
    table["bands"].reverse()
    same(before, figures(table))


@pytest.mark.parametrize("name", ["plain.toml", "wound.toml", ON_AIR])
def test_one_band_alone_against_all(name):
    """Derived: as above; what is told of no band may be of one that is left out."""
    table = whole(name)
    both = figures(table)
    for band in table["bands"]:
        alone = figures({**table, "bands": [band]})
        here = {path for path in alone if path[0] != "stage" and None not in path[:2]}
        assert len(here) > 50
        assert here == {path for path in both if band["name"] in path[:2]}
        same({path: both[path] for path in here}, {path: alone[path] for path in here})


def test_a_frequency_between_others_changes_no_point():
    """Derived: every frequency is a network of its own."""
    table = whole("plain.toml", bands=1)
    alone = figures(table)
    table["bands"][0]["frequencies"].insert(1, "3.61 MHz")
    more = figures(table)
    points = {path: value for path, value in alone.items() if path[0] == table["bands"][0]["name"]}
    assert len(points) > 50
    same(points, {path: more[path] for path in points})


def test_a_frequency_written_twice_is_judged_once():
    """Derived: the same network twice is no other amplifier; every point and every finding stays."""
    table = whole("new-tube-pi-l.toml", bands=1)
    once = figures(table)
    table["bands"][0]["frequencies"] *= 2
    same(once, figures(table))
    verdict = analyse(loads(Respeller(0).write(table)), engine="two-port", samples=1).verdict
    assert [len(band.points) for band in verdict.bands] == [len(table["bands"][0]["frequencies"])]


def test_an_swr_asked_for_is_one_of_the_file():
    """Derived: the antenna is the same, wherever it is told; what the file says of it gives way."""
    table = whole("new-tube-pi-l.toml", bands=1)
    asked = figures(table, swr=1.7)
    table["antenna"] = {"resistance": "50 ohm", "worst_swr": 1.7}
    same(asked, figures(table))
    table["antenna"]["worst_swr"] = 4
    same(asked, figures(table, swr=1.7))
