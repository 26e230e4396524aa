"""Where the ngspice shared library is found, and what to do when it is not."""

import ctypes.util
import os
import sys
from collections.abc import Iterator
from ctypes import CDLL

from netsim.errors import EngineMissingError, Problem

VARIABLE = "NGSPICE_LIBRARY_PATH"
"""Environment variable that names the library's file and goes before every other place."""

_NAMES = {
    "linux": ["libngspice.so.0", "libngspice.so"],
    "darwin": [
        "libngspice.dylib",
        "/opt/homebrew/lib/libngspice.dylib",
        "/usr/local/lib/libngspice.dylib",
    ],
    "win32": ["ngspice.dll", r"C:\Spice64\bin\ngspice.dll", r"C:\Program Files\Spice64\bin\ngspice.dll"],
}
_INSTALL = {
    "linux": "apt-get install libngspice0 (Debian and its kin)",
    "darwin": "brew install libngspice (untested)",
    "win32": f"unpack the ngspice shared-library archive and set {VARIABLE} to its ngspice.dll (untested)",
}


_ENTRY_POINT = "ngSpice_Init"
"""Function that the library must have, or it is another one."""


def candidates() -> Iterator[str]:
    """Name the files and paths to try, in order; the system's own search comes last, because it is slow."""
    named = os.environ.get(VARIABLE)
    if named:
        yield named
        return
    names = _NAMES.get(sys.platform, _NAMES["linux"])
    yield from names
    found = ctypes.util.find_library("ngspice")
    if found and found not in names:
        yield found


def find_library() -> str:
    """Find the ngspice shared library, and load it into this process.

    Returns
    -------
    str
        A name or path that the dynamic loader opens.

    Raises
    ------
    EngineMissingError
        Naming every place tried, what was found there, and how to install the engine.
    """
    answers = []
    for name in candidates():
        try:
            library = CDLL(name)
        except OSError as refusal:
            answers.append(f"{name} ({refusal})")
            continue
        if hasattr(library, _ENTRY_POINT):
            return name
        answers.append(f"{name} (another library: it has no {_ENTRY_POINT})")
    install = _INSTALL.get(sys.platform, _INSTALL["linux"])
    raise EngineMissingError(
        Problem(
            "engine_missing",
            f"the ngspice library was not found. Looked for: {'; '.join(answers)}. Install it: {install}; "
            f"or set {VARIABLE} to its file; or run with --engine two-port, without the cross-check.",
        )
    )
