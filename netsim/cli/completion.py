"""``netsim completion``, and what the shell is offered for arguments."""

import click

from netsim.cli.options import debug_option

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
    click.echo(kind(application, {}, PROGRAM, "_NETSIM_COMPLETE").source())
    click.echo(f"Next: write {_HOW[shell]}", err=True)
    return 0


def complete_band(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Offer the band names of the file that stands on the line already; nothing if it cannot be read."""
    import tomllib
    from pathlib import Path

    # While --band still wants its value, click has not come to the arguments yet.
    file = context.params.get("file") or next(iter(context.args), None)
    if not isinstance(file, str):
        return []
    try:
        bands = tomllib.loads(Path(file).read_text(encoding="utf-8-sig")).get("bands", [])
        names = [band["name"] for band in bands]
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return []
    return [name for name in names if isinstance(name, str) and name.startswith(incomplete)]


def complete_code(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[str]:
    """Offer the codes that can be explained."""
    from netsim.report.explanations import explanations

    return [code for code in (*explanations(), "file") if code.startswith(incomplete)]
