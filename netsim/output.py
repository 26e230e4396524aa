"""Results written to files: whole or not at all."""

import contextlib
import os
import stat
import tempfile
from pathlib import Path
from typing import NoReturn

from netsim.errors import OutputError, Problem

_NEW_FILE = 0o666
unfinished: set[str] = set()
"""Temporary files, to be removed by whoever ends the process before they are."""


def demand_writable(path: Path, source: str | os.PathLike[str]) -> None:
    """Refuse what cannot be written, before anything is solved for it.

    Parameters
    ----------
    path : Path
        Where the result is to go.
    source : path-like
        The amplifier file, which must not be written over.

    Raises
    ------
    OutputError
        ``output_folder_missing``, ``output_not_writable``, ``output_is_directory`` or ``output_is_input``.
    """
    try:
        folder = path.resolve().parent
        if not folder.is_dir():
            _fail("output_folder_missing", f"there is no folder {folder}: make it, or write elsewhere", path)
        if path.is_dir():
            _fail("output_is_directory", "this is a directory: name a file in it", path)
        if path.exists() and os.path.samefile(path, source):
            _fail("output_is_input", "this is the amplifier file itself: write elsewhere", path)
        writable = os.access(path if path.exists() else folder, os.W_OK)
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: a link to itself
        _refuse(path, error)
    if not writable:
        _fail("output_not_writable", "you may not write here: write elsewhere, or change permissions", path)


def demand_new(path: str, source: str, *, force: bool) -> None:
    """Refuse a file that is there already, before anything is solved for it.

    Parameters
    ----------
    path : str
        Where the proposal is to go.
    source : str
        The owner's file, which is never written over.
    force : bool
        Whether another file may be replaced.

    Raises
    ------
    OutputError
        ``output_exists``, or as in `demand_writable`.
    """
    demand_writable(Path(path), source)
    if os.path.lexists(path) and not force:
        raise OutputError(
            Problem("output_exists", "the file is there already: choose another, or add --force", path)
        )


def write_text(path: Path, text: str) -> None:
    """Put a text in a file's place in one step, so that a failure leaves what stood there before.

    Parameters
    ----------
    path : Path
        Where to; links are followed, permissions of a file that is there are kept. What is no regular
        file, such as a device, is written directly.
    text : str
        Written as UTF-8.

    Raises
    ------
    OutputError
        ``output_not_writable``, with the system's reason.
    """
    try:
        target = path.resolve()
        if target.exists() and not target.is_file():
            target.write_text(text, encoding="utf-8")
        else:
            _replace(target, text.encode())
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: a link to itself
        _refuse(path, error)


def _replace(target: Path, content: bytes) -> None:
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else _NEW_FILE & ~_mask()
    handle, name = tempfile.mkstemp(prefix=".netsim-", dir=target.parent)
    unfinished.add(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, mode)
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    finally:
        unfinished.discard(name)


def _mask() -> int:
    """Permissions that the user takes from new files; the system tells only by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refuse(path: Path, error: OSError | RuntimeError | ValueError) -> NoReturn:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    _fail("output_not_writable", f"cannot be written ({reason}): write elsewhere, or free the way", path)


def _fail(code: str, message: str, path: Path) -> NoReturn:
    raise OutputError(Problem(code, f"{message}; nothing was changed", os.fspath(path))) from None
