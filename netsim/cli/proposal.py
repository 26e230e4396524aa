"""Proposed amplifier files: written beside the owner's, never over anything unasked."""

import os
from pathlib import Path

import click

from netsim.cli.excerpt import shown_name
from netsim.errors import OutputError, Problem
from netsim.output import demand_writable, write_text


def demand_new(path: str, source: str, *, force: bool) -> None:
    """Refuse a file that is there already, before anything is solved for it.

    Parameters
    ----------
    path : str
        Where the proposal is to go.
    source : str
        The owner's file, which is never written over.
    force : bool
        Whether another file may be replaced.

    Raises
    ------
    OutputError
        ``output_exists``, or as in `demand_writable`.
    """
    demand_writable(Path(path), source)
    if os.path.lexists(path) and not force:
        raise OutputError(
            Problem("output_exists", "the file is there already: choose another, or add --force", path)
        )


def write_proposal(path: str, text: str) -> None:
    """Write it, and say what is worth running next."""
    write_text(Path(path), text)
    shown = shown_name(path)
    click.echo(f"Wrote {shown}. Next: netsim check {shown}", err=True)
