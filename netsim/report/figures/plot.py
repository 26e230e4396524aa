"""Diagrams with axes, drawn by matplotlib without a window system and always to the same bytes."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from io import StringIO
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from netsim.report.figures import svg
from netsim.report.figures.svg import NOTHING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SMALL = 9.5
"""Font size of what stands inside a diagram."""

TOP_LEVEL, _LOWEST_LEVEL = 12.0, -150.0
"""Ends of the axis of levels over frequency [dB]."""

_STYLE: Any = {
    "svg.fonttype": "none",
    "font.size": 11.0,
    "axes.linewidth": 0.8,
    "axes.edgecolor": svg.MUTED,
    "axes.labelcolor": svg.INK,
    "axes.facecolor": "none",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "grid.color": svg.FAINT,
    "grid.linewidth": 0.6,
    "text.color": svg.INK,
    "xtick.color": svg.MUTED,
    "ytick.color": svg.MUTED,
    "xtick.labelcolor": svg.INK,
    "ytick.labelcolor": svg.INK,
    "figure.facecolor": "none",
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "path.simplify_threshold": 0.2,
}


@contextmanager
def style(**more: Any) -> Iterator[None]:
    """Hold the page's style for the time of drawing one figure, whatever settings this machine has."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        chosen: Any = {**_STYLE, **more}
        matplotlib.rcParams.update(chosen)
        yield


def new_figure(width: float, height: float) -> tuple["Figure", "Axes"]:
    """Open a figure of a size in points, with axes that fill most of it; call it within `style`."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / 72, height / 72))
    axes = figure.add_axes((0.135, 0.145, 0.85, 0.825))
    axes.grid(True)
    axes.set_axisbelow(True)
    return figure, axes


def note(
    axes: "Axes",
    text: str,
    place: tuple[float, float],
    offset: tuple[float, float],
    colour: str = svg.INK,
    *,
    backed: float | None = None,
    **more: Any,
) -> None:
    """Write small words beside a place of the data, `offset` in points; `backed` clears so much around them."""
    if backed is not None:
        more["bbox"] = {"facecolor": svg.PANEL, "edgecolor": "none", "pad": backed}
    axes.annotate(text, place, offset, textcoords="offset points", fontsize=SMALL, color=colour, **more)


def level_axes(axes: "Axes", ends: tuple[float, float], bottom: float, base: float) -> None:
    """Lay out levels over frequency [MHz], ticks at multiples of the working frequency."""
    axes.set_xlim(ends[0], ends[1] * 1.06)
    axes.set_ylim(bottom, TOP_LEVEL)
    axes.set_xlabel("frequency / MHz")
    axes.set_ylabel("antenna, dB to carrier")
    places = [order * base for order in (0.5, 1, 2, 3, 5, 7, 10)]
    axes.set_xticks(places, [f"{place:.3g}" for place in places])
    axes.minorticks_off()


def lowest_level(levels: Iterable[float]) -> float:
    """Choose the lower end of an axis of levels [dB], a multiple of ten."""
    return max(10 * (min([*levels, -80.0]) // 10) - 10, _LOWEST_LEVEL)


def to_svg(
    figure: "Figure", prefix: str, title: str, description: str, *, underlay: Markup = NOTHING
) -> Markup:
    """Write a figure, drawn in the colours of `svg`, for the page; `underlay` goes behind it."""
    drawn = StringIO()
    # The salt makes ids the same on every run and different in every figure.
    with style(**{"svg.hashsalt": prefix}):
        nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
        figure.savefig(drawn, format="svg", metadata=nothing)
    return svg.finish(drawn.getvalue(), prefix, title, description, "plot", underlay=underlay)
