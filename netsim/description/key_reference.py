"""The reference of the file's keys, made of the models: nothing about a key is written twice."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, get_args, get_origin

from pydantic.fields import FieldInfo

from netsim.description.assumed import TYPICAL
from netsim.description.file_format import (
    annotation,
    bare,
    example,
    headers,
    is_model,
    measure,
    tables,
    without_numbers,
)
from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath, printed_key
from netsim.description.quantity import Measure
from netsim.description.text import TextRule

_ANY_TEXT = '"..."'
_PRACTICE = "common practice"
DEFAULT_SOURCES = {
    "stage.duty": "a steady carrier, the worst",
    "antenna.resistance": _PRACTICE,
    "antenna.worst_swr": "matched",
    "limits.loaded_q": _PRACTICE,
    "limits.target_loaded_q": _PRACTICE,
    "limits.harmonic_level": "47 CFR 97.307(d), one country's rule, below 30 MHz",
    "limits.close_to_rating": _PRACTICE,
    "limits.padding_stock": _PRACTICE,
    "tube.count": "one tube",
    "coil.tap_step": _PRACTICE,
    "coil.temperature": _PRACTICE,
    "coil.strap_inductance": _PRACTICE,
    "winding.core_loss_share": _PRACTICE,
    "input.source_resistance": _PRACTICE,
    "input.target_loaded_q": _PRACTICE,
    "supply.capacitors_in_series": "one capacitor",
    "supply.arc_voltage": _PRACTICE,
}
"""Where a default that is not nothing comes from, by table and key; both coils are ``coil``."""


@dataclass(frozen=True)
class KeyRow:
    """What there is to know of one key.

    Attributes
    ----------
    table : str
        Header of its table, such as ``[[bands]]``; ``the top of the file`` for title alone.
    key : str
        Its name.
    required : bool
        Whether its table cannot be without it.
    description : str
        What it means.
    example : str
        How it is written.
    unit : str
        SI unit, ``deg``, ``degC``, ``dB``; empty for texts, choices and plain numbers.
    range : str
        Plausible values; empty where any will do.
    default : str
        What holds without it; empty where nothing does.
    default_source : str
        Where the default comes from.
    takes_limits : bool
        Whether limits may follow its value.
    """

    table: str
    key: str
    required: bool
    description: str
    example: str
    unit: str
    range: str
    default: str
    default_source: str
    takes_limits: bool


def key_rows() -> tuple[KeyRow, ...]:
    """Return a row for every key of the format that is no table, table by table."""
    rows: list[KeyRow] = []
    for path, model in tables():
        header = headers().get(without_numbers(path), "the top of the file")
        rows += [
            _row(header, (*path, name), field)
            for name, field in model.model_fields.items()
            if not _is_table(field)
        ]
    return tuple(rows)


def _row(header: str, path: KeyPath, field: FieldInfo) -> KeyRow:
    kinds = list(_measures(path))
    default, source = _default(path, field, kinds[0] if kinds else None)
    return KeyRow(
        header,
        str(path[-1]),
        field.is_required(),
        field.description or "",
        _ANY_TEXT if _is_free_text(path) else example(annotation(path), every_choice=True),
        ", ".join(dict.fromkeys(kind.unit for kind in kinds if kind.unit != "1")),
        "; ".join(dict.fromkeys(kind.range for kind in kinds)),
        default,
        source,
        bool(kinds) and not any(kind.fixed for kind in kinds),
    )


def _measures(path: KeyPath) -> Iterator[Measure]:
    """Go through the quantities that a key holds: one, or those of a list's entry."""
    found = measure(path)
    if found is not None:
        yield found
        return
    kind = annotation(path)
    if get_origin(kind) is tuple:
        items = [item for item in get_args(kind) if item is not Ellipsis]
        for number in range(len(items)):
            yield from _measures((*path, number))


def _default(path: KeyPath, field: FieldInfo, kind: Measure | None) -> tuple[str, str]:
    """Write what holds without a key, and where that comes from."""
    typical = TYPICAL.get(tuple(step for step in path if isinstance(step, str)))
    if typical is not None:
        unit = kind.unit if kind is not None else "1"
        nominal, low, high = (_written(value, unit) for value in typical)
        return f"{nominal}, {low} to {high}", _PRACTICE
    value = None if field.is_required() else field.get_default(call_default_factory=True)
    if value is None or value is False or value in ("", ()):
        return "", ""
    if isinstance(value, tuple):
        text = ", ".join(_written(item, kind.unit if kind is not None else "1") for item in value)
    elif kind is not None:
        text = _written(value, kind.unit)
    else:
        text = str(value)
    return text, DEFAULT_SOURCES.get(source_key(path), "")


def source_key(path: KeyPath) -> str:
    """Return table and key as `DEFAULT_SOURCES` has them."""
    names = [str(step).replace("output_coil", "coil") for step in path if isinstance(step, str)]
    return printed_key(tuple(names[-2:]))


def _written(value: float, unit: str) -> str:
    text = format_quantity(value, unit, digits=6, trim=True)
    return text.replace("\u03a9", "ohm").replace("\u00b5", "u").replace("\u00b0C", "degC")


def _is_free_text(path: KeyPath) -> bool:
    kind = annotation(path)
    rules = kind.__metadata__ if get_origin(kind) is Annotated else ()
    return path[-1] != "name" and any(isinstance(rule, TextRule) for rule in rules)


def _is_table(field: FieldInfo) -> bool:
    kind = bare(field.annotation)
    return is_model(bare(get_args(kind)[0]) if get_origin(kind) is tuple else kind)
