"""Changes to an amplifier: on its model, and in the text of its file with all comments kept."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from netsim.description.formatting import format_quantity
from netsim.description.key_path import printed_key
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value
from netsim.description.toml_text.rewriting import rewrite
from netsim.description.units import parse_quantity

Kind = Literal["setting", "padding", "tap", "part", "output", "topology"]

WEIGHTS: Mapping[Kind, int] = {
    "setting": 1,
    "padding": 2,
    "tap": 3,
    "part": 12,
    "output": 18,
    "topology": 40,
}
"""What one change of each kind counts. ``output`` is each started tenth of output power given up."""

_ASCII = str.maketrans({"\u00b5": "u", "\u03a9": "ohm"})


@dataclass(frozen=True)
class Edit:
    """One key of the file, and what it is to say.

    Attributes
    ----------
    path : tuple of str or int
        Such as ``("bands", 2, "coil")``.
    value : object
        For the model, in SI; None takes the key away.
    text : object
        For the file: a string with its unit, a number, an array, or a mapping for a whole table.
    """

    path: tuple[str | int, ...]
    value: Any
    text: Any

    @property
    def key(self) -> str:
        """The path as ``bands[2].coil``."""
        return printed_key(self.path)


@dataclass(frozen=True)
class Move:
    """One thing an owner can do, however many keys of the file it takes.

    Attributes
    ----------
    kind : str
        What sort of change it is.
    place : str
        What is changed, such as ``bands[2].coil`` or ``network.tune_capacitor``; two moves of one place
        exclude each other.
    band : str or None
        The only band it acts on.
    title : str
        In words, with the value now and then.
    edits : tuple of Edit
        What it means for the file.
    times : int
        How often its kind's weight counts.
    """

    kind: Kind
    place: str
    band: str | None
    title: str
    edits: tuple[Edit, ...]
    times: int = 1

    @property
    def weight(self) -> int:
        """What the move counts in a sum that is to be small."""
        return WEIGHTS[self.kind] * self.times


def written(value: float, unit: str, digits: int = 3) -> str:
    """Write an SI value as people do in a file, such as ``12.5 uH``."""
    return format_quantity(value, unit, digits=digits, trim=True).translate(_ASCII)


def quantity_edit(path: tuple[str | int, ...], value: float, unit: str, digits: int = 3) -> Edit:
    """Set a quantity, rounded to what is written."""
    text = written(value, unit, digits)
    return Edit(path, parse_quantity(text, unit), text)


def plain_edit(path: tuple[str | int, ...], value: Any) -> Edit:
    """Set a number or a text that has no unit."""
    return Edit(path, value, value)


def removal(path: tuple[str | int, ...]) -> Edit:
    """Take an optional key away."""
    return Edit(path, None, None)


def applied(description: Description, edits: Iterable[Edit]) -> Description:
    """Give the amplifier with the edits made. Rules of the format are not checked here."""
    for edit in edits:
        description = with_value(description, edit.path, edit.value)
    return description


def rewritten(text: str, edits: Iterable[Edit]) -> str:
    """Return the text of a file with the edits made; comments, order and spacing stay.

    Parameters
    ----------
    text : str
        A TOML file that the reader has accepted.
    edits : iterable of Edit
        In the order they are to be made.
    """
    return rewrite(text, ((edit.path, edit.text) for edit in edits))
