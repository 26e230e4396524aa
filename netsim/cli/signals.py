"""Ctrl-C: leave at once, with a word instead of a traceback, and without half-written files.

Raising KeyboardInterrupt would not do: inside a callback of the engine it is printed and swallowed, and
the run goes on.
"""

import contextlib
import os
import signal
from types import FrameType

from netsim.errors import INTERRUPTED

_ERROR_STREAM = 2
unfinished: set[str] = set()
"""Temporary files to remove on the way out."""


def take_over() -> None:
    """Handle Ctrl-C in this process from now on; nothing changes where it is ignored (``nohup``)."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)


def _leave(number: int, frame: FrameType | None) -> None:
    for path in unfinished:
        with contextlib.suppress(OSError):
            os.unlink(path)
    with contextlib.suppress(OSError):
        os.write(_ERROR_STREAM, b"\nInterrupted; nothing was written.\n")
    os._exit(INTERRUPTED)
