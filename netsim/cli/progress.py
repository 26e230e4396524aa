"""A word on stderr about long work, while it lasts, for who sits before a terminal."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

_CLEAR = "\r\x1b[K"


@contextmanager
def doing(what: str) -> Iterator[None]:
    """Show what is being done, and take it away at the end; nothing where stderr is no terminal."""
    shown = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    if shown:
        sys.stderr.write(f"{_CLEAR}{what} ...")
        sys.stderr.flush()
    try:
        yield
    finally:
        if shown:
            sys.stderr.write(_CLEAR)
            sys.stderr.flush()
