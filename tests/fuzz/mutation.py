"""Changes made to amplifier files, readings and measurements by a seed: some stay possible, some are wild."""

import copy
import math
import random
import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from netsim.description.schema import build_schema

from . import seeds

Path = tuple[str | int, ...]
_QUANTITY = re.compile(r"(\s*[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)(.*)", re.DOTALL)
_RANGE = re.compile(r"\(([^()]+) to ([^()]+)\)$")
_EXTREME = ("0", "-1", "1e308", "1e-308", "1e400", "1e-400", "inf", "nan", "-0", "9" * 70, "0x10", "1_0", "")
_UNITS = (
    "pF",
    "uH",
    "V",
    "kV",
    "mA",
    "ohm",
    "MHz",
    "W",
    "deg",
    "mm",
    "%",
    "dB",
    "C",
    "",
    "pf",
    "mH z",
    "uΩ",
    "F/m",
)
_ODD = (
    "\x00",
    "\x85",
    "\u2028",
    "\u202e",
    "\ufeff",
    "é",
    "🦆",
    '"',
    "'",
    "\\",
    "[",
    "]",
    "{",
    "=",
    "#",
    "\r",
    "\t",
    "nan",
)
_OTHER_TYPES: tuple[Any, ...] = (
    True, 0, -3, 1e308, float("inf"), float("nan"), 10**25, "", "x", [], {}, [[]], [{}], [1, "a"], {"a": {}}, "5 pF",
    ["1 pF", "2 pF"], [1, 2], "x" * 300, "\u0000\u2028",
)  # fmt: skip


def mutated(rng: random.Random, table: dict[str, Any], *, wild: float = 0.3) -> dict[str, Any]:
    """Return a table with one to five changes made to it.

    Parameters
    ----------
    rng : random.Random
        Makes all choices.
    table : dict
        An amplifier file; it stays as it is.
    wild : float
        Chance of each change to be one that hardly any reader should take.
    """
    changed = copy.deepcopy(table)
    for _ in range(rng.choice((1, 1, 2, 2, 3, 5))):
        ways = _WILD if rng.random() < wild else _MILD
        for _ in range(5):
            if rng.choice(ways)(rng, changed):
                break
    return changed


def mutated_text(rng: random.Random, text: str) -> bytes:
    """Return a text with lines moved, doubled or lost, signs put in, or bytes turned over."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        lines = text.split("\n")
        rng.choice(_OF_LINES)(rng, lines, rng.randrange(len(lines)))
        text = "\n".join(lines)
    raw = bytearray(text.encode("utf-8", "surrogatepass"))
    if raw and rng.random() < 0.15:
        for _ in range(rng.choice((1, 3, 30))):
            raw[rng.randrange(len(raw))] = rng.randrange(256)
    return bytes(raw)


def _move_line(rng: random.Random, lines: list[str], here: int) -> None:
    lines.insert(rng.randrange(len(lines)), lines.pop(here))


def _double_line(rng: random.Random, lines: list[str], here: int) -> None:
    lines.insert(rng.randrange(len(lines)), lines[here])


def _lose_line(rng: random.Random, lines: list[str], here: int) -> None:
    if len(lines) > 1:
        del lines[here]


def _put_sign_in(rng: random.Random, lines: list[str], here: int) -> None:
    at = rng.randint(0, len(lines[here]))
    lines[here] = lines[here][:at] + rng.choice(_ODD) + lines[here][at:]


def _change_number(rng: random.Random, lines: list[str], here: int) -> None:
    lines[here] = re.sub(r"[0-9.]+", lambda found: _another_number(rng, found[0]), lines[here], count=1)


def _take_brackets(rng: random.Random, lines: list[str], here: int) -> None:
    lines[here] = lines[here].replace("[[", "[").replace("]]", "]")


def _cut_off(rng: random.Random, lines: list[str], here: int) -> None:
    lines[here:] = [lines[here][: rng.randint(0, len(lines[here]))]]


def _shuffle_words(rng: random.Random, lines: list[str], here: int) -> None:
    words = lines[here].split(" ")
    rng.shuffle(words)
    lines[here] = " ".join(words)


_OF_LINES = (
    *(_move_line, _double_line, _lose_line, _put_sign_in),
    *(_change_number, _take_brackets, _cut_off, _shuffle_words),
)


def _another_number(rng: random.Random, number: str) -> str:
    if rng.random() < 0.4:
        return rng.choice(_EXTREME)
    try:
        return f"{float(number) * math.exp(rng.gauss(0, 1)):.5g}"
    except ValueError:
        return number


def _paths(value: Any, here: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Go through all values below a table, with their paths."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, item in inner:
        yield (*here, step), item
        yield from _paths(item, (*here, step))


def _at(table: Any, path: Path) -> Any:
    for step in path:
        table = table[step]
    return table


def _some(rng: random.Random, table: Any, wanted: Callable[[Any], bool] = lambda value: True) -> Path | None:
    """Choose the path of a value of some kind, any top table as likely as another; None if there is none."""
    found: dict[Any, list[Path]] = {}
    for path, value in _paths(table):
        if wanted(value):
            found.setdefault(path[0], []).append(path)
    return rng.choice(found[rng.choice(list(found))]) if found else None


def _is_quantity(value: Any) -> bool:
    if isinstance(value, str):
        return _QUANTITY.fullmatch(value) is not None
    return isinstance(value, int | float) and not isinstance(value, bool)


def _scaled(rng: random.Random, value: Any, spread: float) -> Any:
    """Return a quantity or number times a random factor."""
    factor = math.exp(rng.gauss(0, spread))
    if isinstance(value, str):
        found = _QUANTITY.fullmatch(value)
        assert found is not None
        try:
            return f"{float(found[1]) * factor:.6g}{found[2]}"
        except ValueError:
            return value
    return float(f"{value * factor:.6g}") if math.isfinite(value) else value


def _scale(rng: random.Random, table: Any) -> bool:
    return _change(rng, table, _is_quantity, lambda value: _scaled(rng, value, rng.choice((0.02, 0.3, 1.0))))


def _scale_far(rng: random.Random, table: Any) -> bool:
    return _change(rng, table, _is_quantity, lambda value: _scaled(rng, value, 4.0))


def _make_extreme(rng: random.Random, table: Any) -> bool:
    def extreme(value: Any) -> Any:
        number = rng.choice(_EXTREME)
        if isinstance(value, str):
            return number + (_QUANTITY.fullmatch(value) or ["", "", ""])[2]
        return rng.choice((0, -1, 1e308, 1e-308, float("inf"), float("nan"), 10**30))

    return _change(rng, table, _is_quantity, extreme)


def _change_unit(rng: random.Random, table: Any) -> bool:
    def other(value: str) -> str:
        return f"{(_QUANTITY.fullmatch(value) or ['', '1'])[1]} {rng.choice(_UNITS)}"

    return _change(rng, table, lambda value: isinstance(value, str), other)


def _change_type(rng: random.Random, table: Any) -> bool:
    return _change(rng, table, lambda value: True, lambda value: copy.deepcopy(rng.choice(_OTHER_TYPES)))


def _give_limits(rng: random.Random, table: Any) -> bool:
    def limited(value: Any) -> str:
        share = rng.choice((0.1, 1, 5, 20, 50))
        return f"{value} {rng.choice(('+-', '±', '+/-'))} {share} %"

    return _change(rng, table, lambda value: _is_quantity(value) and "+-" not in str(value), limited)


def _change(
    rng: random.Random, table: Any, wanted: Callable[[Any], bool], change: Callable[[Any], Any]
) -> bool:
    path = _some(rng, table, wanted)
    if path is None:
        return False
    around = _at(table, path[:-1])
    around[path[-1]] = change(around[path[-1]])
    return True


def _remove(rng: random.Random, table: Any) -> bool:
    path = _some(rng, table)
    if path is None:
        return False
    del _at(table, path[:-1])[path[-1]]
    return True


def _rename(rng: random.Random, table: Any) -> bool:
    path = _some(rng, table)
    if path is None or isinstance(path[-1], int):
        return False
    around = _at(table, path[:-1])
    names = [name for name, _ in _paths(table) if isinstance(name[-1], str)]
    around[rng.choice([f"{path[-1]}s", path[-1].upper(), "", "a.b", str(rng.choice(names)[-1])])] = (
        around.pop(path[-1])
    )
    return True


def _rearrange(rng: random.Random, table: Any) -> bool:
    path = _some(rng, table, lambda value: isinstance(value, list) and len(value) > 0)
    if path is None:
        return False
    items = _at(table, path)
    way = rng.randrange(4)
    if way == 0:
        rng.shuffle(items)
    elif way == 1:
        items.insert(rng.randrange(len(items) + 1), copy.deepcopy(rng.choice(items)))
    elif way == 2 and len(items) > 1:
        del items[rng.randrange(len(items))]
    else:
        items.reverse()
    return True


def _add_band(rng: random.Random, table: Any) -> bool:
    bands = table.get("bands")
    if not isinstance(bands, list) or not bands or not isinstance(bands[0], dict):
        return False
    band = copy.deepcopy(rng.choice(bands))
    if isinstance(band, dict):
        band["name"] = rng.choice(["extra", "--- a/x", "40 m ", "\u0085", "0", "[x]"])
        band["frequencies"] = [f"{rng.uniform(1.8, 30):.4g} MHz" for _ in range(rng.choice((1, 1, 2, 5)))]
    bands.append(band)
    return True


def _swap(rng: random.Random, table: Any) -> bool:
    first, second = _some(rng, table, _is_quantity), _some(rng, table, _is_quantity)
    if first is None or second is None:
        return False
    one, other = _at(table, first), _at(table, second)
    _at(table, first[:-1])[first[-1]], _at(table, second[:-1])[second[-1]] = other, one
    return True


def _turn_table(rng: random.Random, table: Any) -> bool:
    """Put a table where an array of tables is wanted, or the other way round."""
    path = _some(
        rng,
        table,
        lambda v: isinstance(v, dict) or (isinstance(v, list) and v != [] and isinstance(v[0], dict)),
    )
    if path is None:
        return False
    around = _at(table, path[:-1])
    value = around[path[-1]]
    around[path[-1]] = [value] if isinstance(value, dict) else value[0]
    return True


def _graft(rng: random.Random, table: Any) -> bool:
    """Take a table from another file."""
    other = rng.choice(list(seeds.tables().values()))
    top = rng.choice(list(other))
    if isinstance(other[top], dict) and isinstance(table.get(top), dict) and rng.random() < 0.7:
        key = rng.choice(list(other[top]))
        table[top][key] = copy.deepcopy(other[top][key])
    else:
        table[top] = copy.deepcopy(other[top])
    return True


def _add_known(rng: random.Random, table: Any) -> bool:
    """Add a key that the schema has, with a value that it permits."""
    schema = _schema()
    spots: list[tuple[dict[str, Any], dict[str, Any]]] = []
    _collect(schema, table, spots)
    if not spots:
        return False
    where, properties = rng.choice(spots)
    missing = [name for name in properties if name not in where]
    if not missing:
        return False
    name = rng.choice(missing)
    where[name] = _sample(rng, properties[name])
    return True


def _to_bound(rng: random.Random, table: Any) -> bool:
    """Put a quantity at an end of its key's range, or anywhere between."""
    spots: list[tuple[dict[str, Any], dict[str, Any]]] = []
    _collect(_schema(), table, spots)
    found = [
        (where, key, limits)
        for where, properties in spots
        for key in where
        if key in properties and (limits := _RANGE.search(properties[key].get("description", "")))
    ]
    if not found:
        return False
    where, key, limits = rng.choice(found)
    bound = limits[rng.choice((1, 2))]
    as_number = re.fullmatch(r"[0-9.e-]+", bound) is not None and not isinstance(where[key], str)
    where[key] = float(bound) if as_number else bound
    if rng.random() < 0.3 and _is_quantity(where[key]):
        where[key] = _scaled(rng, where[key], 2.0)
    return True


def _collect(node: dict[str, Any], value: Any, spots: list[tuple[dict[str, Any], dict[str, Any]]]) -> None:
    node = _resolved(node)
    if isinstance(value, dict) and "properties" in node:
        spots.append((value, node["properties"]))
        for name, inner in value.items():
            if name in node["properties"]:
                _collect(node["properties"][name], inner, spots)
    elif isinstance(value, list) and isinstance(node.get("items"), dict):
        for inner in value:
            _collect(node["items"], inner, spots)


@cache
def _schema() -> dict[str, Any]:
    return build_schema()


def _resolved(node: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in node:
        node = _schema()["$defs"][node["$ref"].rsplit("/", 1)[1]]
    return node


def _sample(rng: random.Random, node: dict[str, Any], depth: int = 0) -> Any:
    """Return a value that a node of the schema permits, or nearly so."""
    node = _resolved(node)
    if "enum" in node or "const" in node:
        return rng.choice(node.get("enum", [node.get("const")]))
    if "examples" in node:
        example = rng.choice(node["examples"])
        return _scaled(rng, example, rng.choice((0.0, 0.5, 1.5))) if _is_quantity(example) else example
    if "anyOf" in node:
        return _sample(rng, rng.choice(node["anyOf"]), depth)
    kind = node.get("type")
    if kind == "object":
        names = [n for n in node["properties"] if n in node.get("required", ()) or rng.random() < 0.4]
        return {name: _sample(rng, node["properties"][name], depth + 1) for name in names if depth < 4}
    if kind == "array":
        count = rng.randint(max(node.get("minItems", 1), 1), max(node.get("minItems", 1), 3))
        nodes = node.get("prefixItems", [])
        return [
            _sample(rng, nodes[n] if n < len(nodes) else node.get("items") or nodes[-1], depth + 1)
            for n in range(count)
        ]
    if kind in ("number", "integer"):
        low, high = float(node.get("minimum", 0.0)), float(node.get("maximum", 1e3))
        found = math.exp(rng.uniform(math.log(low), math.log(high))) if low > 0 else rng.uniform(low, high)
        return round(found) if kind == "integer" else float(f"{found:.4g}")
    if kind == "boolean":
        return rng.random() < 0.5
    return rng.choice(["some text", seeds.ANTENNA, seeds.FILTER, "inf", "5 +- 1"])


_MILD = (
    (_scale,) * 6 + (_to_bound,) * 6 + (_remove,) * 3 + (_add_known,) * 6 + (_graft,) * 4 + (_rearrange,) * 2
)
_MILD += (_give_limits,) * 3 + (_add_band,)
_WILD = (_scale_far,) * 3 + (
    _make_extreme,
    _change_unit,
    _change_type,
    _rename,
    _swap,
    _turn_table,
    _rearrange,
)
