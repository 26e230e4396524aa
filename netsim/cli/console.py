"""Where rich text is printed: 80 columns at most, colour only where it is wanted."""

from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from rich.console import Console

COLUMNS = 80


def paper(stream: TextIO) -> "Console":
    """Give a console on a stream; rich leaves colour away for pipes and under ``NO_COLOR``."""
    from rich.console import Console

    class Paper(Console):
        """Lets a closed pipe through, where rich would exit with a status of its own."""

        def on_broken_pipe(self) -> None:
            raise

    console = Paper(file=stream, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, COLUMNS)
    return console
