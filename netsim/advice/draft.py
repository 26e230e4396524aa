"""An amplifier file whose bands do not say yet which coil or tap they use: completed with what stands for it."""

import tomllib
from dataclasses import dataclass
from typing import Any

from netsim.advice.change import Edit, plain_edit, rewritten
from netsim.description.reader import Amplifier, loads
from netsim.errors import DescriptionError

_STANDS_FOR_COIL = "1 uH"


@dataclass(frozen=True)
class Draft:
    """A file that is complete but for coils, in whose place something stands.

    ``lacking`` tells of each band which of ``coil`` and ``output_coil`` it gives neither in henry nor in turns.
    """

    amplifier: Amplifier
    lacking: tuple[frozenset[str], ...]


def draft(text: str, shown: str) -> Draft:
    """Read a file of which bands may leave their coils out; errors are to call it as shown.

    Raises
    ------
    DescriptionError
        For everything else that is wrong, with lines of the text as its owner has it.
    """
    table = tomllib.loads(text)
    bands, network = table.get("bands"), table.get("network")
    if not isinstance(bands, list) or not isinstance(network, dict):
        return Draft(loads(text, shown), ())  # the reader says it better
    keys = ("coil", "output_coil") if network.get("topology") == "pi-L" else ("coil",)
    lacking = tuple(
        frozenset(key for key in keys if key not in band and f"{key}_turns" not in band)
        if isinstance(band, dict)
        else frozenset()
        for band in bands
    )
    edits = [_in_place(network, index, key) for index, some in enumerate(lacking) for key in sorted(some)]
    return Draft(_read(text, edits, shown), lacking)


def _in_place(network: dict[str, Any], index: int, key: str) -> Edit:
    """Stand in for a coil: an inductance, or the far end of the tank coil's winding."""
    coil = network.get(key)
    winding = coil.get("winding") if isinstance(coil, dict) and key == "coil" else None
    turns = [section.get("turns") for section in winding or () if isinstance(section, dict)]
    if turns and all(isinstance(value, int | float) for value in turns):
        return plain_edit(("bands", index, f"{key}_turns"), sum(turns))
    return plain_edit(("bands", index, key), _STANDS_FOR_COIL)


def _read(text: str, edits: list[Edit], shown: str) -> Amplifier:
    """Read the completed text; mistakes are told with the lines of the text that its owner has."""
    if not edits:
        return loads(text, shown)
    try:
        return loads(rewritten(text, edits), shown)
    except DescriptionError as error:
        keys = {problem.key for problem in error.problems}
        try:
            loads(text, shown)
        except DescriptionError as own:
            found = [problem for problem in own.problems if problem.key in keys]
            raise (DescriptionError(*found) if found else error) from None
        raise
