"""Changes to an amplifier: on its description, and in the text of its file with all comments kept."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from pydantic import ValidationError

from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value
from netsim.description.reader import Amplifier, loads
from netsim.description.toml_text.rewriting import rewrite
from netsim.description.units import parse_quantity
from netsim.verdict.result import RemedyEdit

Kind = Literal["setting", "padding", "tap", "part", "output", "topology"]

WEIGHTS: Mapping[Kind, int] = {"setting": 1, "padding": 2, "tap": 3, "part": 12, "output": 18, "topology": 40}
"""What one change of each kind counts: every piece of a padding, every started tenth of output given up."""

CONTACTS = ("network", "coil", "taps")
"""Where the contacts of the band switch stand, which follow the taps of all bands together."""

_INSTEAD = " instead of "
_ASCII = str.maketrans({"\u00b5": "u", "\u03a9": "ohm"})


@dataclass(frozen=True)
class Edit:
    """One key of the file, and what it is to say.

    Attributes
    ----------
    path : tuple of str or int
        Such as ``("bands", 2, "coil")``.
    value, text : object
        For the description, in SI, None taking the key away; and for the file: a string with its unit, a number, an
        array, or a mapping for a whole table.
    """

    path: tuple[str | int, ...]
    value: Any
    text: Any


@dataclass(frozen=True, eq=False)
class Change:
    """One thing an owner can do, however many keys of the file it takes.

    Attributes
    ----------
    place : str
        What is changed, such as ``bands[2].coil`` or ``network.tune_capacitor``; two changes of one place
        exclude each other.
    band : str or None
        The only band it acts on.
    title : str
        In words, with the value now and then.
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
    def key(self) -> tuple[str, str]:
        """What tells it from the other single changes of its amplifier."""
        return self.place, self.title

    @property
    def weight(self) -> int:
        """What the change counts in a sum that is to be small."""
        return WEIGHTS[self.kind] * self.times

    @property
    def part(self) -> str:
        """Name of the part that is replaced, whose ratings are then open; empty if none is."""
        head, _, name = self.place.partition(".")
        return name if head == "network" and "." not in name else ""

    @property
    def only_ratings(self) -> bool:
        """Whether it raises ratings and leaves the network as it is."""
        keys = {str(edit.path[-1]) for edit in self.edits}
        return any(key.endswith("_rating") for key in keys) and all(
            key.endswith("_rating") or key in ("air_gap", "altitude") for key in keys
        )

    def joined(self, other: "Change") -> "Change":
        """Return this change and one made after it to the same place as one.

        Of a part both count, of a key that both set the second; of anything else the second alone.
        """
        if not self.part:
            then, now = other.title.partition(_INSTEAD)[0], self.title.partition(_INSTEAD)[2]
            return replace(other, title=f"{then}{_INSTEAD}{now}" if now else other.title)
        set_again = {edit.path for edit in other.edits}
        kept = tuple(edit for edit in self.edits if edit.path not in set_again)
        words = other.title.partition(": ")[2] or other.title
        return replace(self, title=f"{self.title}, {words}", edits=(*kept, *other.edits))


def written(value: float, unit: str, digits: int = 3) -> str:
    """Return an SI value as people write it in a file, such as ``12.5 uH``."""
    return format_quantity(value, unit, digits=digits, trim=True).translate(_ASCII)


def quantity_edit(path: tuple[str | int, ...], value: float, unit: str, digits: int = 3) -> Edit:
    """Return the edit that sets a quantity, rounded to what is written."""
    text = written(value, unit, digits)
    return Edit(path, parse_quantity(text, unit), text)


def plain_edit(path: tuple[str | int, ...], value: Any) -> Edit:
    """Return the edit that sets a number or a text that has no unit."""
    return Edit(path, value, value)


def removal(path: tuple[str | int, ...]) -> Edit:
    """Return the edit that takes an optional key away."""
    return Edit(path, None, None)


def applied(description: Description, edits: Iterable[Edit]) -> Description:
    """Return the description with the edits made. Rules of the format are not checked here."""
    for edit in edits:
        description = with_value(description, edit.path, edit.value)
    return description


def keeps_the_rules(description: Description) -> bool:
    """Tell whether the reader would take a changed description: ranges of values and rules between keys."""
    try:
        Description.model_validate(description.model_dump(exclude_unset=True))
    except ValidationError:
        return False
    return True


def edits_of(changes: Iterable[Change]) -> list[Edit]:
    """Return the edits of all changes in turn."""
    return [edit for change in changes for edit in change.edits]


def with_contacts(
    description: Description, changes: Sequence[Change], unplaced: frozenset[int] = frozenset()
) -> tuple[Change, ...]:
    """Return changes with the contacts of the switch following the taps, in the last change that moves one.

    A contact that no band uses any more is moved along; bands whose index is in `unplaced` have none yet.
    Without listed contacts nothing is added.
    """
    coil = description.network.coil
    moved = {e.path[1]: e.value for e in edits_of(changes) if e.path[-1] == "coil_turns"}
    if not coil.taps or not moved:
        return tuple(changes)
    after = [moved.get(index, band.coil_turns) for index, band in enumerate(description.bands)]
    left = {description.bands[int(n)].coil_turns for n in moved if n not in unplaced} - set(after)
    contacts = sorted(({*coil.taps} - left) | {turns for turns in moved.values() if turns is not None})
    edit = Edit(CONTACTS, tuple(contacts), contacts)
    last = max(n for n, change in enumerate(changes) if any(e.path[-1] == "coil_turns" for e in change.edits))
    return tuple(
        replace(change, edits=(*change.edits, edit)) if n == last else change
        for n, change in enumerate(changes)
    )


def together(changes: Sequence[Change], more: Iterable[Change]) -> tuple[Change, ...]:
    """Return changes with others made after them; what is done twice to one place becomes one change."""
    found = {change.place: change for change in changes}
    for change in more:
        known = found.get(change.place)
        found[change.place] = change if known is None else known.joined(change)
    return tuple(found.values())


def without_contacts(change: Change) -> Change:
    """Return a change without the switch's list of contacts: it follows from all changes together."""
    return replace(change, edits=tuple(edit for edit in change.edits if edit.path != CONTACTS))


def changed(amplifier: Amplifier, edits: Iterable[Edit]) -> Amplifier:
    """Return the amplifier with edits written into its file; comments, order and spacing stay.

    Raises
    ------
    DescriptionError
        If the reader would not have it so.
    """
    return loads(rewritten(amplifier.text, edits), amplifier.path)


def rewritten(text: str, edits: Iterable[Edit]) -> str:
    """Return the text of a file with edits made; comments, order and spacing stay."""
    return rewrite(text, ((edit.path, edit.text) for edit in edits))


def as_told(amplifier: Amplifier, edits: Iterable[Edit]) -> tuple[RemedyEdit, ...]:
    """Return edits by the keys of an amplifier's file."""
    return tuple(RemedyEdit(amplifier.key(*edit.path), edit.text) for edit in edits)
