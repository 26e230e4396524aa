"""``netsim new``: an amplifier file to start from."""

import os
from pathlib import Path

import click

from netsim.cli.options import debug_option
from netsim.errors import OutputError, Problem
from netsim.output import unfinished, write_new
from netsim.report.terminal.excerpt import argument, shown_name


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
    if os.path.lexists(file):
        raise OutputError(_there_already(file))
    kept = " (was there, and was kept)"
    if write_new(schema, SCHEMA_PATH.read_text(encoding="utf-8")):
        kept = ""
        unfinished.add(os.fspath(schema))  # without its file it is of no use
    try:
        if not write_new(target, template(ideal=ideal)):
            raise OutputError(_there_already(file))
    except BaseException:
        if not kept:
            schema.unlink()
        raise
    finally:
        unfinished.discard(os.fspath(schema))
    shown = shown_name(file)
    click.echo(
        f"Wrote {shown}, and {shown_name(schema)}{kept} for editors that check TOML.\n"
        f"Next: write your amplifier's figures into it, then: netsim check {argument(file)}",
        err=True,
    )
    return 0


def _there_already(file: str) -> Problem:
    return Problem("output_exists", "the file is there already and was not touched; choose another", file)
