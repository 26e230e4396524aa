"""The one tree of everything this package raises on purpose.

Each class carries the exit status of the command line and a stable code, so that the mapping from
failure to exit status lives here and nowhere else.
"""

from dataclasses import dataclass

NOTHING_OVER = 0
SOMETHING_OVER = 1
USAGE_STATUS = 2
UNSOLVED_STATUS = 3
OWN_FAULT = 70
INTERRUPTED = 130
CLOSED_PIPE = 141


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, told so that its owner can mend it.

    Attributes
    ----------
    code : str
        Stable identifier, lower case with underscores, for scripts.
    message : str
        The rule, the value and unit found, and what to do, in one or two sentences.
    file : str or None
        The file as the user named it.
    line, column : int or None
        Position in that file, counted from 1.
    key : str or None
        Path of the key, such as ``network.coil.q`` or ``bands[2].frequencies[0]``.
    """

    code: str
    message: str
    file: str | None = None
    line: int | None = None
    column: int | None = None
    key: str | None = None

    def __str__(self) -> str:
        """Give the problem as one line: ``file:line:column: key: message``."""
        place = ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)
        return ": ".join(part for part in (place, self.key, self.message) if part)


class NetsimError(Exception):
    """Base of every error that this package raises.

    Parameters
    ----------
    problems : Problem
        What is wrong, in the order of the file. At least one.
    """

    status = UNSOLVED_STATUS

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems: tuple[Problem, ...] = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class UsageError(NetsimError):
    """The command was asked for something that does not exist, such as an unknown band."""

    status = USAGE_STATUS


class DescriptionError(NetsimError):
    """The amplifier file cannot be read, or breaks a rule of the format."""

    status = USAGE_STATUS


class OutputError(NetsimError):
    """A result could not be written; what stood there before is untouched."""

    status = USAGE_STATUS


class SolveError(NetsimError):
    """A network could not be solved."""


class EngineMissingError(SolveError):
    """The ngspice library was not found."""


class EngineFailedError(SolveError):
    """ngspice refused a netlist, stopped, or returned something other than what was asked for."""


class DisagreementError(SolveError):
    """The two solvers differ by more than rounding can explain, so neither is believed."""


class NotFiniteError(SolveError):
    """A value that was to be judged is not a number, so nothing can be said of it."""


class BalanceError(SolveError):
    """Tube and network found no common steady state."""
