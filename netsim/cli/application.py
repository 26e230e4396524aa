"""The command ``netsim``: its subcommands, and what becomes of whatever they raise."""

import codecs
import difflib
import errno
import importlib
import io
import os
import sys
from collections.abc import Sequence

import click

from netsim import __version__
from netsim.cli import completion, failure
from netsim.cli.options import RunOptions, debug_option
from netsim.errors import (
    CLOSED_PIPE,
    INTERRUPTED,
    NOTHING_OVER,
    OWN_FAULT,
    USAGE_STATUS,
    NetsimError,
    OutputError,
    Problem,
    SolveError,
)

PROGRAM = "netsim"
_PLAIN = "netsim.plain"
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO}
_EXAMPLES = (
    ("netsim check circuits/new-tube.toml", "what fails, why, and what to change"),
    ("netsim report circuits/new-tube.toml", "the same as a page to read and print"),
)
_EXAMPLE_COLUMNS = 38
_MOST_GUESSED = 64
_COMMANDS = (
    "check",
    "report",
    "taps",
    "fix",
    "bench",
    "fit",
    "compare",
    "design",
    "export",
    "new",
    "explain",
    "doctor",
    "completion",
)
"""Modules beside this one, in the order of use."""


class Application(click.Group):
    """A group that imports a subcommand only when it is used, and whose help opens with examples."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the subcommands, in the order of use."""
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one subcommand; None for an unknown name."""
        if cmd_name not in _COMMANDS:
            return None
        command = importlib.import_module(f"netsim.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the subcommand; of a mistyped one say which is meant."""
        if args and args[0] not in _COMMANDS and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0][:_MOST_GUESSED], _COMMANDS, n=1)
            guess = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(_COMMANDS)}"
            raise click.UsageError(f"no command {args[0]!r}: {guess}", ctx)
        return super().resolve_command(ctx, args)

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples, then the usage."""
        with formatter.section("Examples"):
            formatter.write_dl(_EXAMPLES, col_max=_EXAMPLE_COLUMNS)
        formatter.write_paragraph()
        super().format_usage(ctx, formatter)


@click.group(PROGRAM, cls=Application, invoke_without_command=True)
@click.version_option(__version__, prog_name=PROGRAM, message="%(prog)s %(version)s")
@debug_option
@click.pass_context
def application(context: click.Context) -> int:
    """Check the output network of a valve HF power amplifier, from a file that describes it.

    Every network is solved twice and every part held against the ratings in the file. Exit status:
    0 nothing over, 1 something over (check), 2 file or command wrong, 3 not solved, 70 a fault of netsim.
    """
    if context.invoked_subcommand is None:
        raise click.UsageError("a command is missing")
    return NOTHING_OVER


def run(arguments: Sequence[str]) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str
        Without the name of the program.

    Returns
    -------
    int
        Exit status. Nothing is raised.
    """
    options = RunOptions()
    _prepare_streams()
    try:
        status = _guarded(list(arguments), options)
        sys.stdout.flush()
    except BrokenPipeError:
        status = CLOSED_PIPE
        _abandon_stdout()
    except OSError:  # nowhere to tell a failure to; the failure's status stands
        status = USAGE_STATUS
        _abandon_stdout()
    return status


def _guarded(arguments: list[str], options: RunOptions) -> int:
    try:
        status = _invoke(arguments, options)
        sys.stdout.flush()
        return status
    except BrokenPipeError:
        raise
    except OSError as error:
        if error.errno not in _FULL:
            failure.tell_own_fault(error, options)
            return OWN_FAULT
        _abandon_stdout()
        problem = Problem("output_not_writable", f"standard output cannot be written: {error.strerror}")
        failure.tell(OutputError(problem), options)
        return USAGE_STATUS
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.ClickException as mistake:
        mistake.show(sys.stderr)
        options.as_json |= "--json" in arguments  # it may not have come to that yet
        failure.tell_json((Problem("usage", mistake.format_message()),), options)
        return USAGE_STATUS
    except (KeyboardInterrupt, click.Abort):
        sys.stderr.write("\nInterrupted.\n")
        return INTERRUPTED
    except NetsimError as error:
        failure.tell(error, options)
        return error.status
    except MemoryError:
        message = "this machine has not enough memory for it: leave out bands or frequencies, or free some"
        failure.tell(SolveError(Problem("out_of_memory", message)), options)
        return SolveError.status
    except Exception as error:
        failure.tell_own_fault(error, options)
        return OWN_FAULT


def _invoke(arguments: list[str], options: RunOptions) -> int:
    instruction = os.environ.get(completion.VARIABLE)
    if instruction:
        from click.shell_completion import shell_complete

        if "COMP_WORDS" not in os.environ:
            raise click.UsageError("completion is asked by a shell, with the words of its line")
        return shell_complete(application, {}, PROGRAM, completion.VARIABLE, instruction)
    with application.make_context(PROGRAM, arguments, obj=options) as context:
        status = application.invoke(context)
    assert isinstance(status, int)
    return status


def _plainly(error: UnicodeError) -> tuple[str | bytes, int]:
    """Spell what an encoding lacks: our own signs in plain letters, all else by its number."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    from netsim.report.terminal.fitting import PLAIN_SIGNS

    lacking = error.object[error.start : error.end]
    spelt = "".join(PLAIN_SIGNS.get(character, character) for character in lacking)
    return spelt.encode("ascii", "backslashreplace").decode("ascii"), error.end


def _prepare_streams() -> None:
    """Have somewhere to write to, and write out what a terminal's encoding lacks instead of failing."""
    codecs.register_error(_PLAIN, _plainly)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by the caller
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
        getattr(getattr(sys, name), "reconfigure", lambda **_: None)(errors=_PLAIN)
    if isinstance(getattr(sys.stdout, "buffer", None), io.RawIOBase):
        # Under PYTHONUNBUFFERED a long write that is cut short would count as done.
        number, encoding = sys.stdout.fileno(), sys.stdout.encoding
        sys.stdout = open(number, "w", encoding=encoding, errors=_PLAIN, closefd=False)  # noqa: SIM115


def _abandon_stdout() -> None:
    """Point stdout nowhere, so that the interpreter does not stumble over it on its way out."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):  # no real stream behind it, as in tests
        return
