"""What runs in ngspice's process: netlists in, vectors out, until the other end of the pipes closes.

Messages are a length and so many bytes. A request is JSON: a netlist, and the vectors wanted. An answer is the
length of a JSON head, the head (what failed, or each vector's name, type and length) and the numbers.
"""

import contextlib
import json
import os
import struct
import threading
from collections.abc import Iterator
from queue import SimpleQueue
from typing import IO, TYPE_CHECKING, Any, NoReturn

from netsim.errors import EngineFailedError, NetsimError, Problem

if TYPE_CHECKING:
    from netsim.solvers.ngspice import Ngspice

_LENGTH = struct.Struct("<Q")
_START_UP_FILE = ".spiceinit"
_folder_lock = threading.Lock()  # while the folder is made; taken for good by whoever ends this process


def write_message(stream: IO[bytes], *pieces: bytes) -> None:
    """Write one message made of these pieces."""
    stream.write(_LENGTH.pack(sum(map(len, pieces))))
    for piece in pieces:
        stream.write(piece)
    stream.flush()


def read_message(stream: IO[bytes]) -> bytes | None:
    """Read one message; None where the stream ends, be it in the middle of one."""
    head = stream.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        return None
    (length,) = _LENGTH.unpack(head)
    body = stream.read(length)
    return body if len(body) == length else None


def write_answer(stream: IO[bytes], head: dict[str, Any], *numbers: bytes) -> None:
    """Write a head and the numbers that it announces."""
    text = json.dumps(head).encode()
    write_message(stream, _LENGTH.pack(len(text)), text, *numbers)


def read_answer(stream: IO[bytes]) -> tuple[dict[str, Any], bytes] | None:
    """Read a head and what follows it; None where the stream ends.

    Raises
    ------
    ValueError
        If it is no answer.
    """
    message = read_message(stream)
    if message is None:
        return None
    if len(message) < _LENGTH.size:
        raise ValueError("too short")
    (length,) = _LENGTH.unpack_from(message)
    head = json.loads(message[_LENGTH.size : _LENGTH.size + length])
    if not isinstance(head, dict):
        raise ValueError("no head")
    return head, message[_LENGTH.size + length :]


def main() -> None:
    """Start the engine and answer requests; leave, whatever the engine is doing, when no more can come."""
    requests, answers = _own_pipes()
    folder = os.environ["HOME"]
    waiting: SimpleQueue[bytes] = SimpleQueue()
    threading.Thread(target=_listen, args=(requests, waiting, folder), daemon=True).start()
    try:
        _forbid_core_files()
        library, engine = _start(folder)
    except NetsimError as failure:
        write_answer(answers, {"code": failure.problems[0].code, "failure": failure.problems[0].message})
        return
    write_answer(answers, {"version": str(engine.ngspice_version), "library": library})
    while True:
        request = json.loads(waiting.get())
        try:
            found = engine.run_alone(request["netlist"], request["vectors"])
        except EngineFailedError as failure:
            write_answer(answers, {"failure": failure.problems[0].message})
            continue
        head = [[name, values.dtype.str, len(values)] for name, values in found.items()]
        write_answer(answers, {"vectors": head}, *(values.tobytes() for values in found.values()))


def _own_pipes() -> tuple[IO[bytes], IO[bytes]]:
    """Keep both pipes to ourselves: what the engine prints must not pass for an answer."""
    requests, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    os.dup2(2, 1)
    return requests, answers


def _listen(requests: IO[bytes], waiting: "SimpleQueue[bytes]", folder: str) -> NoReturn:
    """Take requests in while the engine works, so that the end of our parent is noticed at once."""
    while (request := read_message(requests)) is not None:
        waiting.put(request)
    with _folder_lock:
        _remove(folder)
        os._exit(0)


def _forbid_core_files() -> None:
    """Leave no image of the memory behind if the engine crashes."""
    with contextlib.suppress(ImportError):  # a system without such limits
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _start(folder: str) -> tuple[str, "Ngspice"]:
    """Load the library where nothing can reach it, and see that it is what it should be."""
    from netsim.solvers.library import find_library

    library = find_library()
    from netsim.solvers.ngspice import Ngspice

    with _empty(folder):
        try:
            engine = Ngspice(library)
        except (NameError, ValueError, AttributeError) as refusal:  # what PySpice makes of a wrong library
            raise _failed(f"{library} does not start as ngspice does ({refusal})") from refusal
    if engine.ngspice_version is None:
        raise _failed(f"{library} does not tell which ngspice it is")
    return library, engine


@contextlib.contextmanager
def _empty(folder: str) -> Iterator[None]:
    """Work in a folder of our own while the engine looks for its start-up files.

    The library runs ``.spiceinit`` of the current folder as a script, or else that of the home folder, which
    some builds look up among the system's users and not in HOME. An empty one of ours ends its search. The
    folder is taken away again before the first netlist, so nothing is left when this process ends anyhow.
    """
    try:
        with _folder_lock:
            os.mkdir(folder, 0o700)
            os.chdir(folder)
            with open(_START_UP_FILE, "x", encoding="ascii") as stream:
                stream.write("* nothing\n")
    except OSError as error:
        raise _failed(
            f"its empty folder {folder} cannot be made ({error.strerror}): "
            "let TMPDIR name a folder that can be written"
        ) from error
    os.environ["SPICE_SCRIPTS"] = folder
    try:
        yield
    finally:
        _remove(folder)


def _remove(folder: str) -> None:
    with contextlib.suppress(OSError):
        os.unlink(os.path.join(folder, _START_UP_FILE))
    with contextlib.suppress(OSError):
        os.rmdir(folder)


def _failed(message: str) -> EngineFailedError:
    return EngineFailedError(Problem("engine_failed", f"ngspice cannot be used: {message}"))
