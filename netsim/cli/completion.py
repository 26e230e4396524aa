"""``netsim completion``, and what the shell is offered for arguments."""

import os
import shlex

import click

from netsim.cli.options import debug_option

VARIABLE = "_NETSIM_COMPLETE"
_HOW = {
    "bash": 'eval "$(netsim completion bash)"    in ~/.bashrc',
    "zsh": 'eval "$(netsim completion zsh)"    in ~/.zshrc',
    "fish": "netsim completion fish | source    in ~/.config/fish/config.fish",
}


@click.command("completion", short_help="Print completion for a shell.")
@click.argument("shell", type=click.Choice(list(_HOW)))
@debug_option
def command(shell: str) -> int:
    """Print the lines that teach SHELL to complete netsim's commands, bands and codes."""
    from click.shell_completion import get_completion_class

    from netsim.cli.application import PROGRAM, application

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(application, {}, PROGRAM, VARIABLE).source())
    click.echo(f"Next: write {_HOW[shell]}", err=True)
    return 0


def complete_band(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Offer the band names of the file that stands on the line already; nothing if it cannot be read."""
    import tomllib
    from pathlib import Path

    from netsim.description import source
    from netsim.errors import DescriptionError

    # While --band still wants its value, click has not come to the arguments yet.
    file = context.params.get("file") or next(iter(context.args), None)
    if not isinstance(file, str):
        return []
    try:
        bands = tomllib.loads(source.decode(source.load_bytes(Path(file), file), file)).get("bands", [])
        names = [band["name"] for band in bands]
    except (DescriptionError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return []
    return [
        _word(name)
        for name in names
        if isinstance(name, str) and name.isprintable() and name.startswith(incomplete)
    ]


def _word(name: str) -> str:
    """Quote what bash would run or split: of the shells it alone puts words on the line as they are."""
    return shlex.quote(name) if os.environ.get(VARIABLE, "").startswith("bash") else name


def complete_code(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Offer the codes that can be explained."""
    from netsim.report.code_reference import code_reference

    return [code for code in (*code_reference(), "file") if code.startswith(incomplete)]
