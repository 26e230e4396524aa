"""Rules of what may stand at a key; text on one line; how what users wrote is shown in messages."""

import unicodedata
from dataclasses import dataclass
from typing import Any, NoReturn

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

MOST_CHARACTERS = 200
_SHOWN_CHARACTERS = 64
_UNPRINTABLE = {"Cc", "Zl", "Zp", "Cs"}
_DIRECTION_MARKS = set("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Rule:
    """What may stand at a key: pydantic's validator of it and its JSON Schema, for ``Annotated`` types."""

    def validate(self, value: object, info: ValidationInfo) -> Any:
        """Return the value as the model holds it; raise PydanticCustomError for what may not stand there."""
        raise NotImplementedError

    def json_schema(self) -> JsonSchemaValue:
        """Return the JSON Schema of what a file may hold."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.validate)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return self.json_schema()


def refuse(code: str, rule: str) -> NoReturn:
    """Raise what pydantic reports as a value that breaks a rule."""
    raise PydanticCustomError(code, "{rule}", {"rule": rule})


@dataclass(frozen=True)
class TextRule(Rule):
    """One line of text: limited in length, not blank, nothing that breaks or turns a line."""

    def validate(self, value: object, info: ValidationInfo) -> str:
        """Return the text."""
        if not isinstance(value, str):
            refuse("wrong_type", f"a text in quotes is wanted; found {describe(value)}")
        strange = next(
            (c for c in value if unicodedata.category(c) in _UNPRINTABLE or c in _DIRECTION_MARKS), None
        )
        if len(value) > MOST_CHARACTERS:
            refuse(
                "bad_text",
                f"at most {MOST_CHARACTERS} characters are allowed; found {len(value)}: shorten the text",
            )
        if not value.strip():
            refuse(
                "bad_text", "the text is blank; write something, or leave the key out where it is optional"
            )
        if strange is not None:
            refuse(
                "bad_text",
                f"control character U+{ord(strange):04X} found; keep to one line of printable characters",
            )
        return value

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
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
