"""Text that users wrote: what one line of it may hold, and how it is shown in messages."""

import unicodedata
from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

MOST_CHARACTERS = 200
_SHOWN_CHARACTERS = 64
_UNPRINTABLE = {"Cc", "Zl", "Zp", "Cs"}
_DIRECTION_MARKS = set("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True)
class TextRule:
    """One line of text: limited in length, not blank, nothing that breaks or turns a line."""

    def _validate(self, value: object) -> str:
        if not isinstance(value, str):
            raise PydanticCustomError(
                "wrong_type", "{rule}", {"rule": f"a text in quotes is wanted; found {describe(value)}"}
            )
        rule = None
        strange = next(
            (c for c in value if unicodedata.category(c) in _UNPRINTABLE or c in _DIRECTION_MARKS), None
        )
        if len(value) > MOST_CHARACTERS:
            rule = f"at most {MOST_CHARACTERS} characters are allowed; found {len(value)}: shorten the text"
        elif not value.strip():
            rule = "the text is blank; write something, or leave the key out where it is optional"
        elif strange is not None:
            rule = f"control character U+{ord(strange):04X} found; keep to one line of printable characters"
        if rule is not None:
            raise PydanticCustomError("bad_text", "{rule}", {"rule": rule})
        return value

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._validate)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"type": "string", "minLength": 1, "maxLength": MOST_CHARACTERS}


def describe(value: object) -> str:
    """Name what was found in a file, short and on one line whatever it is."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "an array"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return repr(value) if len(value) <= _SHOWN_CHARACTERS else f"{value[:_SHOWN_CHARACTERS]!r} ..."
    if isinstance(value, int) and abs(value) >= 10**20:
        return "a number of more than 20 digits"
    if isinstance(value, int | float):
        return str(value)
    return f"a {type(value).__name__}"
