"""A proposed amplifier file: where it may go, and the measurements that go along."""

import filecmp
import os
from dataclasses import dataclass
from pathlib import Path

from netsim.cli.console import wrote
from netsim.description.reader import files_named
from netsim.errors import OutputError, Problem
from netsim.output import copy, demand_new, is_device, write_text
from netsim.report.terminal.excerpt import argument, shown_name


@dataclass(frozen=True)
class Destination:
    """Where a proposal goes, as the user named it.

    Beside it must stand the files that the amplifier file names: from where and to where.
    """

    path: str
    beside: tuple[tuple[Path, Path], ...] = ()

    @classmethod
    def demanded(cls, path: str, source: str, text: str, *, force: bool) -> "Destination":
        """Refuse what cannot be written, before anything is solved for it.

        The owner's file, its source with its text, is never written over; others may be replaced by force.

        Raises
        ------
        OutputError
            As `demand_new`, also of a file that would have to go along.
        """
        demand_new(path, source, force=force)
        folder, home = Path(path).parent, Path(source).parent
        if is_device(Path(path)) or os.path.samefile(folder, home):
            return cls(path)
        beside = []
        for name in files_named(text, source):
            measured, there = home / name, folder / name
            if not measured.is_file():  # told when it is read
                continue
            if os.path.lexists(there) and not force and not _alike(measured, there):
                message = (
                    f"the amplifier file names {name}, which has to stand beside it, and another file of that name "
                    "is there already: choose another folder, or add --force"
                )
                raise OutputError(Problem("output_exists", message, os.fspath(there)))
            beside.append((measured, there))
        return cls(path, tuple(beside))

    def write(self, text: str) -> None:
        """Write the proposal with what it names, and say what is worth running next.

        Raises
        ------
        OutputError
            As `write_text`.
        """
        for measured, there in self.beside:
            if not _alike(measured, there):
                copy(measured, there)
        write_text(Path(self.path), text)
        along = "".join(f", and {shown_name(there)} that it names" for _, there in self.beside)
        wrote(self.path, f"{along}. Next: netsim check {argument(self.path)}")


def _alike(one: Path, other: Path) -> bool:
    return other.is_file() and filecmp.cmp(one, other, shallow=False)
