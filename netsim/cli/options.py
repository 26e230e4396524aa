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
    """Filled while arguments are read, asked when something fails: are tracebacks wanted, is it told as JSON, too."""

    debug: bool = False
    as_json: bool = False


def _note(context: click.Context, parameter: click.Parameter, value: bool) -> None:
    """Note in the run's options what is set, before the command or behind it."""
    options = context.ensure_object(RunOptions)
    if value:
        setattr(options, str(parameter.name), True)


debug_option = click.option(
    "--debug",
    is_flag=True,
    expose_value=False,
    callback=_note,
    help="Show the traceback of whatever fails.",
)

json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    expose_value=False,
    callback=_note,
    help="Print one JSON object instead of tables.",
)

engine_option = click.option(
    "--engine",
    type=click.Choice(["both", "two-port"]),
    default="both",
    show_default=True,
    help="two-port does without ngspice; nothing is then cross-checked.",
)


def solving(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of all that solve something and print it; it takes the run's own options first."""
    return json_option(engine_option(debug_option(click.pass_obj(command))))


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


def quantity_of(text: str | None, unit: str, option: str) -> float | None:
    """Read a quantity as strictly as one in a file; None where none is given.

    Raises
    ------
    UsageError
        Naming the option, if it is none.
    """
    from netsim.description.units import parse_quantity
    from netsim.errors import DescriptionError, Problem, UsageError

    try:
        return None if text is None else parse_quantity(text, unit)
    except DescriptionError as error:
        problem = error.problems[0]
        raise UsageError(Problem(problem.code, f"{option}: {problem.message}")) from None
