"""Entry point of the command ``netsim`` and of ``python -m netsim``."""

import sys
from typing import NoReturn


def main() -> NoReturn:
    """Run the command line with the arguments of this process, and exit with its status."""
    from netsim.cli import signals as interruption

    interruption.take_over()
    from netsim.cli.application import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
