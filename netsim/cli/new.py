"""``netsim new``: an amplifier file to start from."""

import os
from pathlib import Path

import click

from netsim.cli.excerpt import shown_name
from netsim.cli.options import debug_option
from netsim.errors import OutputError, Problem


@click.command("new", short_help="Write an amplifier file to start from.")
@click.argument("file", type=click.Path())
@click.option("--ideal", is_flag=True, help="A short file, by inductances instead of turns.")
@debug_option
def command(file: str, ideal: bool) -> int:
    """Write a commented amplifier file to start from, and its JSON Schema beside it for the editor.

    It is by turns, gaps and points off the tube's curves. An existing file is never touched.
    """
    from netsim.description.schema import SCHEMA_PATH
    from netsim.description.template import template

    target = Path(file)
    if not target.name:
        raise OutputError(
            Problem("output_is_directory", f"{file!r} names no file: write one, such as my-amplifier.toml")
        )
    schema = target.with_name(SCHEMA_PATH.name)
    if target.name == SCHEMA_PATH.name:
        raise OutputError(
            Problem("output_exists", "this name is the schema's; choose another, ending in .toml", file)
        )
    if os.path.exists(file):
        raise OutputError(_there_already(file))
    kept = "" if _create(schema, SCHEMA_PATH.read_text(encoding="utf-8")) else " (was there, and was kept)"
    if not _create(target, template(ideal=ideal)):
        raise OutputError(_there_already(file))
    shown = shown_name(file)
    click.echo(
        f"Wrote {shown}, and {shown_name(schema)}{kept} for editors that check TOML.\n"
        f"Next: write your amplifier's figures into it, then: netsim check {shown}",
        err=True,
    )
    return 0


def _there_already(file: str) -> Problem:
    return Problem("output_exists", "the file is there already and was not touched; choose another", file)


def _create(path: Path, text: str) -> bool:
    """Write a new file; False if there is one already, which is left alone."""
    try:
        with path.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        return False
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        code = "output_folder_missing" if isinstance(error, FileNotFoundError) else "output_not_writable"
        raise OutputError(
            Problem(code, f"cannot be written ({reason}): write elsewhere", os.fspath(path))
        ) from None
    return True
