"""``netsim explain``: findings and errors at length."""

import difflib
import sys
from typing import TYPE_CHECKING

import click

from netsim.cli.completion import complete_code
from netsim.cli.options import debug_option

if TYPE_CHECKING:
    from netsim.description.key_reference import KeyRow


@click.command("explain", short_help="Explain a finding or error at length.")
@click.argument("code", required=False, shell_complete=complete_code)
@debug_option
def command(code: str | None) -> int:
    """Explain a finding or error by its CODE, and what can be done; without CODE, list them all.

    CODE file lists the keys of the amplifier file; the name of a table or key, such as network.coil or
    coil_turns, lists those.
    """
    from netsim.cli.console import paper
    from netsim.errors import Problem, UsageError
    from netsim.report.code_reference import code_reference
    from netsim.report.terminal import result_text as terminal

    known = code_reference()
    if code is None:
        paper(sys.stdout).print(terminal.render_codes(known))
        return 0
    wanted = code.strip().lower().replace("-", "_")
    if wanted not in known and (rows := _keys(wanted)):
        from netsim.report.terminal import key_reference_text

        paper(sys.stdout).print(key_reference_text.render(rows))
        return 0
    if wanted not in known:
        near = difflib.get_close_matches(wanted[:64], known, n=1)
        hint = f"did you mean {near[0]}?" if near else "netsim explain lists all of them"
        raise UsageError(Problem("unknown_code", f"there is no code or key {code[:64]!r}; {hint}"))
    paper(sys.stdout).print(terminal.render_code(wanted, known[wanted]))
    return 0


def _keys(wanted: str) -> "list[KeyRow]":
    """Return the rows of a table with all below it, of a key wherever it stands, or of the whole file."""
    from netsim.description.key_reference import key_rows

    wanted = wanted.strip("[]")
    found = []
    for row in key_rows():
        table = row.table.strip("[]")
        below = f"{table}.{row.key}.".startswith(f"{wanted}.")
        if wanted == "file" or below or row.key == wanted:
            found.append(row)
    return found
