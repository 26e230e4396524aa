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
    """Refuse what cannot be written, or is the amplifier file itself, before anything is solved for it.

    Raises
    ------
    OutputError
        ``output_folder_missing``, ``output_not_writable``, ``output_is_directory`` or ``output_is_input``.
    """
    try:
        folder = path.parent if is_device(path) else path.resolve().parent
        if not folder.is_dir():
            _fail("output_folder_missing", f"there is no folder {folder}: make it, or write elsewhere", path)
        if path.is_dir():
            _fail("output_is_directory", "this is a directory: name a file in it", path)
        if path.exists() and os.path.samefile(path, source):
            _fail("output_is_input", "this is the amplifier file itself: write elsewhere", path)
        writable = not path.exists() or os.access(path, os.W_OK)
        if writable and not is_device(path):
            # Permissions do not tell it all: try, in a file without a name where the system has such.
            with tempfile.TemporaryFile(dir=folder):
                pass
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: a link to itself
        _refuse(path, error)
    if not writable:
        _fail("output_not_writable", "you may not write here: write elsewhere, or change permissions", path)


def demand_new(path: str, source: str, *, force: bool) -> None:
    """Refuse a file that is there already, before anything is solved for it; a device or a pipe loses nothing.

    The owner's file is never written over, another one by force.

    Raises
    ------
    OutputError
        ``output_exists``, or as in `demand_writable`.
    """
    demand_writable(Path(path), source)
    if os.path.lexists(path) and not force and not is_device(Path(path)):
        raise OutputError(
            Problem("output_exists", "the file is there already: choose another, or add --force", path)
        )


def write_text(path: Path, text: str) -> None:
    """Put a text in a file's place in one step, as UTF-8, so that a failure leaves what stood there before.

    Links are followed, permissions of a file that is there are kept. What is no regular file, such as a device, is
    written directly.

    Raises
    ------
    OutputError
        ``output_not_writable``, with the system's reason.
    BrokenPipeError
        If it is a pipe whose reader has gone.
    """
    try:
        # As it is named: where a link such as /dev/stdout leads to a pipe, that has no path of its own.
        if is_device(path):
            path.write_text(text, encoding="utf-8")
        else:
            _replace(path.resolve(), text.encode())
    except BrokenPipeError:
        raise
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: a link to itself
        _refuse(path, error)


def copy(source: Path, target: Path) -> None:
    """Put a copy of a file in a file's place in one step; raises OutputError as `write_text`."""
    try:
        _replace(target.resolve(), source.read_bytes())
    except (OSError, RuntimeError, ValueError) as error:
        _refuse(target, error)


def write_new(path: Path, text: str) -> bool:
    """Write a file that is not there yet; False if it is, and then it is left alone.

    Raises
    ------
    OutputError
        ``output_folder_missing`` or ``output_not_writable``; then nothing is left behind.
    """
    try:
        with path.open("x", encoding="utf-8") as stream:
            unfinished.add(os.fspath(path))
            try:
                stream.write(text)
                stream.flush()
            except BaseException:
                os.unlink(path)
                raise
            finally:
                unfinished.discard(os.fspath(path))
    except FileExistsError:
        return False
    except FileNotFoundError:
        _fail("output_folder_missing", f"there is no folder {path.parent}: make it, or write elsewhere", path)
    except (OSError, ValueError) as error:
        _refuse(path, error)
    return True


def is_device(path: Path) -> bool:
    """Tell whether something is there that is neither a file nor a directory."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


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
