"""Entry point of the command ``netsim`` and of ``python -m netsim``."""

import os
import signal
import sys

_INTERRUPTED = 130
_WORDS = b"\nInterrupted; nothing was written.\n"


def _leave(*_: object) -> None:
    try:
        os.write(2, _WORDS)
    finally:
        os._exit(_INTERRUPTED)


def main() -> None:
    """Run the command line with the arguments of this process, and exit with its status."""
    # Before all imports but these, which take long on a busy machine; what handles signals properly is one of them.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)
    import logging

    # The matrices here are small: threads of the linear algebra only wait for each other, on a busy machine for
    # a thousand times as long as the work takes. It reads this once, when numpy is first imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Figures are files: what a notebook or a desktop wants of the library that draws them means nothing here, and
    # its advice on folders it cannot write is not for the users of this command.
    os.environ.pop("MPLBACKEND", None)
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from netsim.cli import signals

    signals.take_over()
    from netsim.cli.application import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
