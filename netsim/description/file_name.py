"""Files that an amplifier file names: only such as stand beside it."""

import re
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationInfo
from pydantic.json_schema import JsonSchemaValue

from netsim.description import source
from netsim.description.text import Rule, describe, refuse
from netsim.errors import DescriptionError, Problem

MOST_CHARACTERS = 100
_REASONS = {
    "file_missing": "there is no such file there",
    "file_is_directory": "it is a directory",
    "file_not_regular": "it is a device or a pipe",
    "file_unreadable": "it cannot be read; check its permissions",
    "file_too_large": f"it has more than {source.MOST_BYTES} bytes; export fewer points",
    "file_empty": "it is empty",
}


@dataclass(frozen=True)
class FileNameRule(Rule):
    """The plain name of a file in the amplifier file's own folder.

    Attributes
    ----------
    suffix : str
        Ending, with its dot, in any case.
    """

    suffix: str

    @property
    def pattern(self) -> str:
        """Regular expression of the whole name."""
        ending = "".join(f"[{c.lower()}{c.upper()}]" if c.isalpha() else re.escape(c) for c in self.suffix)
        return rf"^[A-Za-z0-9_][A-Za-z0-9_. -]{{0,{MOST_CHARACTERS - 6}}}{ending}$"

    def validate(self, value: object, info: ValidationInfo) -> str:
        """Return the name."""
        if not isinstance(value, str):
            refuse("wrong_type", f"a file name in quotes is wanted; found {describe(value)}")
        if any(mark in value for mark in ("/", "\\", ":")) or value.startswith("."):
            refuse(
                "file_elsewhere",
                f"only the plain name of a file beside the amplifier file may stand here; found {describe(value)}: "
                "put the file into the same folder and name it alone",
            )
        if not re.fullmatch(self.pattern, value, re.ASCII):
            refuse(
                "bad_file_name",
                f"a name of letters, digits, space, dot, dash and underscore that ends in {self.suffix} is wanted; "
                f'found {describe(value)}: rename the file, for example "antenna{self.suffix}"',
            )
        return value

    def json_schema(self) -> JsonSchemaValue:
        """Return its JSON Schema."""
        return {"type": "string", "pattern": self.pattern, "examples": [f"antenna{self.suffix}"]}


def read_beside(amplifier_file: str, name: str) -> tuple[str, str]:
    """Read a text file that stands in the folder of an amplifier file.

    Parameters
    ----------
    amplifier_file : str
        As the user named it.
    name : str
        Plain name, as `FileNameRule` admits it.

    Returns
    -------
    text, shown : str
        Its text, and its path for messages.

    Raises
    ------
    DescriptionError
        Without position: the codes of ``source.load_bytes`` and ``source.decode``, or ``file_elsewhere`` if
        the name is a link that leads out of the folder.
    """
    folder = Path(amplifier_file).parent
    path = folder / name
    shown = str(path)
    try:
        inside = path.resolve().parent == folder.resolve()
    except (OSError, RuntimeError):  # a link that leads to itself
        inside = False
    if not inside:
        raise DescriptionError(
            Problem(
                "file_elsewhere",
                f"{name!r} is a link that leads out of the amplifier file's folder; copy the file itself there",
            )
        )
    try:
        return source.decode(source.load_bytes(path, shown), shown), shown
    except DescriptionError as error:
        problem = error.problems[0]
        reason = _REASONS.get(problem.code, problem.message)
        raise DescriptionError(
            Problem(problem.code, f"{name!r} beside the amplifier file: {reason}")
        ) from error
