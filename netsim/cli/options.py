"""How one run of the command is to behave, and the options that all commands share."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from netsim.analysis import Engine

Command = TypeVar("Command", bound=Callable[..., Any])

NOT_CHECKED = "not cross-checked: solved by two-port analysis alone, without ngspice"


@dataclass
class RunOptions:
    """Filled while arguments are read, asked when something fails.

    Attributes
    ----------
    debug : bool
        Whether tracebacks are wanted.
    as_json : bool
        Whether whatever goes wrong is told on stdout as JSON, too.
    """

    debug: bool = False
    as_json: bool = False


def _note_debug(context: click.Context, parameter: click.Parameter, value: bool) -> None:
    context.ensure_object(RunOptions).debug |= value


def _note_json(context: click.Context, parameter: click.Parameter, value: bool) -> None:
    context.ensure_object(RunOptions).as_json |= value


debug_option = click.option(
    "--debug",
    is_flag=True,
    expose_value=False,
    callback=_note_debug,
    help="Show the traceback of whatever fails.",
)

json_option = click.option(
    "--json",
    is_flag=True,
    expose_value=False,
    callback=_note_json,
    help="Print one JSON object instead of tables.",
)

engine_option = click.option(
    "--engine",
    type=click.Choice(["both", "two-port"]),
    default="both",
    show_default=True,
    help="two-port does without ngspice; nothing is then cross-checked.",
)


def _ratio(context: click.Context, parameter: click.Parameter, value: str | None) -> float | None:
    """Read a standing wave ratio as people write it: 2, 2.0 or 2:1."""
    try:
        return None if value is None else float(value.strip().removesuffix(":1"))
    except ValueError:
        message = f"a ratio is wanted, such as 2 or 2:1; found {value!r}"
        raise click.BadParameter(message, context, parameter) from None


swr_option = click.option(
    "--swr",
    callback=_ratio,
    metavar="S",
    help="Any antenna up to this standing wave ratio, instead of what the file says of it.",
)


samples_option = click.option(
    "--samples",
    type=int,
    default=4096,
    show_default=True,
    metavar="N",
    help="Amplifiers drawn from within the limits of what is known; 1 leaves limits out.",
)


def file_argument(command: Command) -> Command:
    """Give a command the amplifier file as its argument."""
    return click.argument("file", type=click.Path(), callback=_no_option)(command)


def _no_option(context: click.Context, parameter: click.Parameter, value: str) -> str:
    """Name a file such that the commands which messages propose do not take it as an option."""
    return f"./{value}" if value.startswith("-") else value


def announce(engine: "Engine") -> None:
    """Start ngspice, or say on stderr that a run without it is not cross-checked, whatever form its result has."""
    if engine == "two-port":
        click.echo(NOT_CHECKED, err=True)
        return
    from netsim.solvers import spice

    spice.start()


def ohms(text: str, option: str) -> float:
    """Read a resistance as strictly as one in a file.

    Raises
    ------
    UsageError
        Naming the option, if it is none, or is not 1 ohm to 1 Mohm.
    """
    from netsim.description.units import parse_quantity
    from netsim.errors import DescriptionError, Problem, UsageError

    try:
        found = parse_quantity(text, "ohm")
    except DescriptionError as error:
        problem = error.problems[0]
        raise UsageError(Problem(problem.code, f"{option}: {problem.message}")) from None
    if not 1 <= found <= 1e6:
        raise UsageError(Problem("out_of_range", f"{option}: 1 ohm to 1 Mohm is wanted; found {text}"))
    return found
