"""Bytes of a file that users wrote, and the text they spell."""

import stat
from pathlib import Path
from typing import NoReturn

from netsim.errors import DescriptionError, Problem

MOST_BYTES = 1_000_000
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


def load_bytes(path: Path, shown: str) -> bytes:
    """Read a regular file of limited size.

    Parameters
    ----------
    path : Path
        The file; links are followed.
    shown : str
        The file as the user named it.

    Returns
    -------
    bytes
        At most `MOST_BYTES` bytes, at least one.

    Raises
    ------
    DescriptionError
        ``file_missing``, ``file_is_directory``, ``file_not_regular``, ``file_unreadable``,
        ``file_too_large`` or ``file_empty``.
    """
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            _fail("file_is_directory", "this is a directory; name an amplifier file in it", shown)
        if not stat.S_ISREG(mode):
            _fail("file_not_regular", "this is a device or a pipe; save the amplifier to a file first", shown)
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        _fail("file_missing", "there is no such file; check the name and the directory", shown)
    except PermissionError:
        _fail("file_unreadable", "you may not read this file; change its permissions", shown)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        _fail("file_unreadable", f"the file cannot be read: {reason}", shown)
    if len(raw) > MOST_BYTES:
        _fail(
            "file_too_large",
            f"an amplifier file has at most {MOST_BYTES} bytes; is this the right file?",
            shown,
        )
    if not raw.strip():
        _fail("file_empty", "the file is empty; start from an example in circuits/", shown)
    return raw


def decode(raw: bytes, shown: str) -> str:
    """Decode UTF-8, with or without a byte order mark. Raises DescriptionError ``file_not_text``."""
    if raw.startswith(_UTF16_MARKS):
        _fail("file_not_text", "the file is UTF-16; save it as UTF-8", shown, 1, 1)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # With a byte order mark the codec counts from behind it.
        head = error.object[: error.start]
        offset = error.start + len(raw) - len(error.object)
        line = head.count(b"\n") + 1
        _fail(
            "file_not_text",
            f"byte {offset} (0x{error.object[error.start]:02x}, line {line}) is not UTF-8; "
            "save the file as UTF-8 text",
            shown,
            line,
            len(head.rpartition(b"\n")[2].decode("utf-8", "replace")) + 1,
        )
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        _fail("file_not_text", f"line {line} holds a zero byte; this is no text file", shown, line)
    return text


def encode(text: str, shown: str) -> bytes:
    """Return a text as the bytes of a file. Raises DescriptionError ``file_not_text`` or ``file_too_large``."""
    try:
        raw = text.encode()
    except UnicodeEncodeError as error:
        line = text.count("\n", 0, error.start) + 1
        _fail("file_not_text", f"line {line} holds half of a surrogate pair, which is no text", shown, line)
    if len(raw) > MOST_BYTES:
        _fail("file_too_large", f"an amplifier file has at most {MOST_BYTES} bytes", shown)
    return raw


def _fail(code: str, message: str, file: str, line: int | None = None, column: int | None = None) -> NoReturn:
    raise DescriptionError(Problem(code, message, file, line, column)) from None
