"""Ctrl-C and its kin: leave at once, with a word instead of a traceback, and without half-written files.

Raising KeyboardInterrupt would not do: inside a callback of a library it is printed and swallowed, and the
run goes on. The engine's process ends by itself when this one is gone.
"""

import contextlib
import os
import signal
from types import FrameType

from netsim.errors import INTERRUPTED
from netsim.output import unfinished

_ERROR_STREAM = 2
_OTHERS = ("SIGTERM", "SIGHUP", "SIGQUIT")


def take_over() -> None:
    """Handle Ctrl-C and requests to end from now on; nothing changes where they are ignored (``nohup``)."""
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, _leave)
    for name in _OTHERS:
        number = getattr(signal, name, None)  # not every system has them all
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _end)


def _leave(number: int, frame: FrameType | None) -> None:
    _remove()
    with contextlib.suppress(OSError):
        os.write(_ERROR_STREAM, b"\nInterrupted; nothing was written.\n")
    os._exit(INTERRUPTED)


def _end(number: int, frame: FrameType | None) -> None:
    """End as the system would have ended this process, so that whoever waits for it sees why."""
    _remove()
    signal.signal(number, signal.SIG_DFL)
    os.kill(os.getpid(), number)


def _remove() -> None:
    for path in unfinished:
        with contextlib.suppress(OSError):
            os.unlink(path)
