"""What pydantic found wrong, in the words of the format: the rule, what was found, what to do."""

import difflib
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from netsim.description.file_format import annotation, example, headers, homes, without_numbers
from netsim.description.key_path import KeyPath
from netsim.description.models import rules, winding_rules
from netsim.description.models.amplifier import Band, Network
from netsim.description.models.rules import Breach
from netsim.description.quantity import FROM_FILE
from netsim.description.text import describe

_MOST_GUESSED_CHARACTERS = 64


def breaches(error: ValidationError) -> Iterator[Breach]:
    """Give every error of a validation of `Description` in our words, with its key path."""
    for detail in error.errors(include_url=False):
        # Items that failed do not count, so an array of faulty items is "too short" once more.
        if detail["type"] != "too_short" or len(detail["input"]) < detail["ctx"]["min_length"]:
            yield _breach(detail)


def leftover_rules(table: dict[str, Any], error: ValidationError) -> Iterator[Breach]:
    """Apply the rules between network and bands where a mistake elsewhere kept pydantic from them."""
    faulty = {detail["loc"][0] for detail in error.errors(include_url=False, include_input=False)}
    if not faulty & {"network", "bands"}:
        network = Network.model_validate(table["network"], context=FROM_FILE)
        bands = TypeAdapter(tuple[Band, ...]).validate_python(table["bands"], context=FROM_FILE)
        yield from rules.bands_of(network, bands)
        yield from winding_rules.bands(network, bands)


def _breach(detail: ErrorDetails) -> Breach:
    key, kind, found = detail["loc"], detail["type"], describe(detail["input"])
    context = detail.get("ctx", {})
    if kind == "extra_forbidden":
        return Breach(key, "unknown_key", _unknown(key))
    if kind == "missing" and isinstance(key[-1], str):
        return Breach(key, "missing_key", f"required but not there; {_how_to_write(key)}")
    if kind in ("missing", "too_short", "too_long"):
        key = key[:-1] if kind == "missing" else key
        wanted = "more" if kind != "too_long" else f"at most {context['max_length']}"
        return Breach(key, "wrong_length", f"{wanted} entries are wanted; {_how_to_write(key)}")
    if kind == "literal_error":
        choices = {str(choice).casefold(): choice for choice in get_args(annotation(key))}
        wanted = str(detail["input"])[:_MOST_GUESSED_CHARACTERS].casefold()
        near = difflib.get_close_matches(wanted, choices, n=1)
        hint = f"; did you mean {choices[near[0]]!r}?" if near else ""
        return Breach(key, "bad_choice", f"must be {context['expected']}; found {found}{hint}")
    if kind == "bool_type":
        return Breach(key, "wrong_type", f"true or false is wanted, without quotes; found {found}")
    if kind in ("model_type", "tuple_type"):
        wanted = "an array" if kind == "tuple_type" else "a table"
        return Breach(key, "wrong_type", f"{wanted} is wanted, found {found}; {_how_to_write(key)}")
    return Breach(key, kind, detail["msg"])


def _unknown(key: KeyPath) -> str:
    """Name the nearest known key of the table, the table where the key belongs, or all keys there are."""
    name = str(key[-1])
    table = annotation(key[:-1])
    known = list(table.model_fields)
    near = difflib.get_close_matches(name, known, n=1) if len(name) <= _MOST_GUESSED_CHARACTERS else []
    if near:
        return f"there is no key {describe(name)} here; did you mean {near[0]!r}?"
    there = homes().get(name, ())
    if there:
        return f"there is no key {name!r} here; it belongs in {' or '.join(there)}"
    return f"there is no key {describe(name)} here; remove it, or write one of {', '.join(known)}"


def _how_to_write(key: KeyPath) -> str:
    """Show what to write at a key that exists in the format."""
    names = without_numbers(key)
    if header := headers().get(names):
        return f"write a table {header}"
    return f"write for example {names.rpartition('.')[2]} = {example(annotation(key))}"
