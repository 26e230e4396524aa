"""How a failure is told: on stderr for people, and on stdout as JSON where that was asked for."""

import os
import sys
import traceback

from netsim.cli.options import RunOptions
from netsim.errors import DescriptionError, NetsimError, Problem
from netsim.report.terminal.excerpt import excerpt, one_line

_NEXT = {
    "unknown_code": "netsim explain",
    "file_missing": "netsim new FILE",
    "file_empty": "netsim new FILE, for a file to start from",
    "engine_missing": "netsim doctor",
    "engine_failed": "netsim doctor",
    "disagreement": "netsim doctor",
}


def tell(error: NetsimError, options: RunOptions) -> None:
    """Tell all problems of an error, each with its line of the file, and where to read on."""
    if options.debug:
        traceback.print_exception(error)
    problems = error.problems
    for problem in problems:
        _tell_problem(problem)
    sys.stderr.write(f"\n{_ending(error)}\n")
    tell_json(problems, options)


def tell_own_fault(error: Exception, options: RunOptions) -> None:
    """Own up to a fault of ours, in a few lines, and say how to report it."""
    if options.debug:
        traceback.print_exception(error)
    name = type(error).__name__
    message = one_line(f"a fault of netsim itself: {name}: {error}"[:400])
    sys.stderr.write(f"netsim: {message}\n")
    if not options.debug:
        sys.stderr.write(
            "Please report it: run the same command with --debug, and send the maintainers what that prints\n"
            "together with the amplifier file. Next: netsim doctor tells whether the installation is whole.\n"
        )
    tell_json((Problem("internal_error", message),), options)


def _tell_problem(problem: Problem) -> None:
    colour = _Colours()
    place = ":".join(str(part) for part in (problem.file, problem.line, problem.column) if part is not None)
    head = ": ".join(part for part in (place, problem.key) if part)
    lead = f"{colour.bold}{one_line(head)}:{colour.off} " if head else ""
    sys.stderr.write(
        f"{lead}{one_line(problem.message)} {colour.dim}[{one_line(problem.code)}]{colour.off}\n"
    )
    shown = excerpt(problem)
    if shown is not None:
        sys.stderr.write(f"{shown.number:6d} | {shown.line}\n")
        if shown.mark:
            sys.stderr.write(f"       | {colour.red}{shown.mark}{colour.off}\n")


def _ending(error: NetsimError) -> str:
    """Name the next useful command."""
    code = error.problems[0].code
    ending = f"Next: {_NEXT.get(code, f'netsim explain {code}')}"
    if isinstance(error, DescriptionError):
        count = len(error.problems)
        return f"{count} mistake{'s' if count > 1 else ''}; nothing was solved. {ending}"
    return ending


def tell_json(problems: tuple[Problem, ...], options: RunOptions) -> None:
    """Tell problems on stdout as JSON, where that was asked for."""
    if options.as_json:
        from netsim.report.export import json_text

        sys.stdout.write(json_text.dump_problems(problems))


class _Colours:
    """Codes for the terminal, or nothing where stderr is none or colour is unwanted."""

    def __init__(self) -> None:
        wanted = sys.stderr.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
        self.bold, self.dim, self.red, self.off = (
            ("\x1b[1m", "\x1b[2m", "\x1b[31m", "\x1b[0m") if wanted else ("", "", "", "")
        )
