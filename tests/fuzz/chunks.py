"""Many cases one after another, each within limits of memory and time."""

import resource
import signal
import tempfile
from pathlib import Path
from types import FrameType

from . import cases, outcome

_SECONDS = 120
_ADDRESS_SPACE = 4_000_000_000


class TooLongError(BaseException):
    """A command took more CPU time than any should."""


def _end(number: int, frame: FrameType | None) -> None:
    raise TooLongError


def one(seed: int, command: str, both: bool) -> tuple[str, int, list[str], float]:
    """Run one case; return its command, exit status, what is wrong, and CPU seconds."""
    case = cases.case(seed, command, both=both)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_utime
    signal.signal(signal.SIGPROF, _end)
    signal.setitimer(signal.ITIMER_PROF, _SECONDS)
    try:
        with tempfile.TemporaryDirectory() as folder:
            left = outcome.run(case, Path(folder))
            status, found = left.status, outcome.faults(case, left)
    except TooLongError:
        status, found = -1, [f"took more than {_SECONDS} s of CPU"]
    except Exception as error:
        status, found = -2, [f"the fuzz itself: {type(error).__name__}: {error}"]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return command, status, found, resource.getrusage(resource.RUSAGE_SELF).ru_utime - before


def chunk(work: list[tuple[int, str, bool]]) -> list[tuple[int, str, int, list[str], float]]:
    """Run some cases in a process whose memory is limited."""
    resource.setrlimit(resource.RLIMIT_AS, (_ADDRESS_SPACE, _ADDRESS_SPACE))
    return [(seed, *one(seed, command, both)) for seed, command, both in work]
