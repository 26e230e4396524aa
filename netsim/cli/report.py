"""``netsim report``: the page."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from netsim.cli.options import announce, debug_option, engine_option, file_argument, swr_option

if TYPE_CHECKING:
    from netsim.analysis import Engine

FOLDER = Path("reports")


@click.command("report", short_help="Write the report on FILE as one page.")
@file_argument
@click.option(
    "-o", "--output", metavar="PATH", help="Where to; reports/NAME.html by default, - is standard output."
)
@click.option(
    "--check",
    "page",
    metavar="PAGE",
    type=click.Path(),
    help="Write nothing; tell what has moved since PAGE was made. Exit status 1 if anything has.",
)
@swr_option
@engine_option
@debug_option
def command(file: str, output: str | None, page: str | None, swr: float | None, engine: "Engine") -> int:
    """Write the report on FILE as one page that needs no network."""
    if page is not None:
        return _check(page, file, swr, engine)
    from netsim.api.result import analyse, page_of
    from netsim.cli.console import deliver, doing
    from netsim.description.reader import read
    from netsim.errors import NOTHING_OVER
    from netsim.output import demand_writable

    announce(engine)
    amplifier = read(file)
    target = FOLDER / f"{Path(file).stem}.html" if output is None else Path(output)
    if output is None:
        _make_folder()
    if output != "-":
        demand_writable(target, file)
    with doing("solving"):
        solved = analyse(amplifier, engine=engine, swr=swr)
    with doing("searching taps and the smallest change, drawing the page"):
        text = page_of(solved.analysis)
    told = ", ".join(f"{count} {state.replace('_', ' ')}" for state, count in solved.counts.items())
    deliver(text, "-" if output == "-" else target, "; next: open it in a browser.", f"{told}.\n")
    return NOTHING_OVER


def _make_folder() -> None:
    """Make the default folder where it is missing; where that fails, what follows says so."""
    import contextlib

    with contextlib.suppress(OSError):
        FOLDER.mkdir(exist_ok=True)


def _check(page: str, file: str, swr: float | None, engine: "Engine") -> int:
    """Solve FILE again and print what is not as the page says."""
    from netsim.api.result import analyse
    from netsim.cli.console import doing, paper
    from netsim.description.reader import read
    from netsim.errors import NOTHING_OVER, SOMETHING_OVER
    from netsim.report.export import page_record
    from netsim.report.terminal import page_check_text

    before = page_record.load(_text_of(page), page)
    announce(engine)
    amplifier = read(file)
    with doing("solving"):
        solved = analyse(amplifier, engine=engine, swr=before.swr if swr is None else swr)
    after = page_record.record_of(solved.verdict, before.file, before.swr)
    paper(sys.stdout).print(page_check_text.render(before, after))
    moved = any(page_record.moved(before, after))
    return SOMETHING_OVER if moved else NOTHING_OVER


def _text_of(page: str) -> str:
    """Read a page.

    Raises
    ------
    UsageError
        ``page_not_readable``.
    """
    from netsim.errors import Problem, UsageError

    try:
        return Path(page).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is no text in UTF-8"
        raise UsageError(
            Problem("page_not_readable", f"--check: this page cannot be read: {why}; name one", page)
        ) from None
