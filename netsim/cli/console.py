"""Where text is printed: 80 columns at most, colour only where wanted, and a word about long work."""

import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TextIO

from netsim.cli.options import RunOptions

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

COLUMNS = 80
_CLEAR = "\r\x1b[K"
_LIKE_A_DIFF = re.compile(
    r"^(?=[\sX]*(?:---|\+\+\+|\*\*\*|@@|Index:|Prereq:|diff |\d+(?:,\d+)?[acd]))", re.MULTILINE
)
_GUARD = "| "


def paper(stream: TextIO) -> "Console":
    """Give a console on a stream; rich leaves colour away for pipes and under ``NO_COLOR``."""
    from rich.console import Console

    from netsim.report.terminal.fitting import fitted

    class Paper(Console):
        """Lets a closed pipe through, where rich would exit with a status of its own."""

        def on_broken_pipe(self) -> None:
            raise

        def print(self, *objects: Any, **how: Any) -> None:
            """Print what fits the stream of it, with no figure cut."""
            super().print(*(fitted(renderable, self) for renderable in objects), **how)

    console = Paper(file=stream, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, COLUMNS)
    return console


def print_above_diff(stream: TextIO, renderable: Any) -> None:
    """Print what stands above a diff, so that ``patch`` takes no line of it for one of the diff.

    A title or a band's name may begin as a header does; such a line gets a bar before it.
    """
    console = paper(stream)
    with console.capture() as printed:
        console.print(renderable)
    stream.write(_LIKE_A_DIFF.sub(_GUARD, printed.get()))


def write_utf8(text: str) -> None:
    """Write a file's text on standard output: UTF-8 whatever the locale; a screen gets what it can show.

    On a screen what would move the cursor or turn the line is written out.
    """
    if sys.stdout.isatty():
        from netsim.report.terminal.fitting import spelt

        signs = {c: spelt(c, sys.stdout.encoding) for c in set(text) - {"\n", "\r", "\t"}}
        sys.stdout.write("".join(signs.get(character, character) for character in text))
        return
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()


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


def hand_over(
    options: RunOptions,
    as_json: Callable[[], str],
    as_text: Callable[[], "RenderableType"],
    diff: str | None = None,
) -> None:
    """Print a result in the form that was asked for; a diff follows the text as it is, so that ``patch`` takes it."""
    if options.as_json:
        sys.stdout.write(as_json())
    elif diff is None:
        paper(sys.stdout).print(as_text())
    else:
        print_above_diff(sys.stdout, as_text())
        write_utf8(diff)


def deliver(text: str, path: str | os.PathLike[str], following: str, before: str = "") -> None:
    """Write a file's text where it is wanted, ``-`` being standard output, and say so as `wrote`."""
    from pathlib import Path

    from netsim.output import write_text

    if path == "-":
        write_utf8(text)
        return
    write_text(Path(path), text)
    wrote(path, following, before)


def wrote(path: str | os.PathLike[str], following: str, before: str = "") -> None:
    """Say that a file was written, and what is worth doing with it; there is nothing to do with a device."""
    from pathlib import Path

    import click

    from netsim.output import is_device
    from netsim.report.terminal.excerpt import shown_name

    if not is_device(Path(path)):
        click.echo(f"{before}Wrote {shown_name(path)}{following}", err=True)
