"""Where text is printed: 80 columns at most, colour only where wanted, and a word about long work."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from rich.console import Console

COLUMNS = 80
_CLEAR = "\r\x1b[K"


def paper(stream: TextIO) -> "Console":
    """Give a console on a stream; rich leaves colour away for pipes and under ``NO_COLOR``."""
    from rich.console import Console

    class Paper(Console):
        """Lets a closed pipe through, where rich would exit with a status of its own."""

        def on_broken_pipe(self) -> None:
            raise

    console = Paper(file=stream, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, COLUMNS)
    return console


@contextmanager
def doing(what: str) -> Iterator[None]:
    """Show what is being done, and take it away at the end; nothing where stderr is no terminal."""
    shown = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    if shown:
        sys.stderr.write(f"{_CLEAR}{what} ...")
        sys.stderr.flush()
    try:
        yield
    finally:
        if shown:
            sys.stderr.write(_CLEAR)
            sys.stderr.flush()


def write_proposal(path: str, text: str) -> None:
    """Write a proposed amplifier file, and say what is worth running next."""
    import click

    from netsim.output import write_text

    write_text(Path(path), text)
    shown = click.format_filename(path)
    click.echo(f"Wrote {shown}. Next: netsim check {shown}", err=True)
