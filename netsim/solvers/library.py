"""Where the ngspice shared library is found, and what to do when it is not."""

import ctypes.util
import os
import sys
from ctypes import CDLL
from functools import cache

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


def candidates() -> list[str]:
    """List the names and paths that are tried, in order."""
    named = os.environ.get(VARIABLE)
    if named:
        return [named]
    names = list(_NAMES.get(sys.platform, _NAMES["linux"]))
    found = ctypes.util.find_library("ngspice")
    return names + ([found] if found and found not in names else [])


@cache
def find_library() -> str:
    """Find the ngspice shared library.

    Returns
    -------
    str
        A name or path that the dynamic loader opens.

    Raises
    ------
    EngineMissingError
        Naming every place tried, the loader's answer, and how to install the engine.
    """
    answers = []
    for name in candidates():
        try:
            CDLL(name)
        except OSError as refusal:
            answers.append(f"{name} ({refusal})")
        else:
            return name
    install = _INSTALL.get(sys.platform, _INSTALL["linux"])
    raise EngineMissingError(
        Problem(
            "engine_missing",
            f"the ngspice library was not found. Looked for: {'; '.join(answers)}. Install it: {install}; "
            f"or set {VARIABLE} to its file; or run with --engine two-port, without the cross-check.",
        )
    )
