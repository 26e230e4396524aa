"""Bars that show how much of a limit is used: drawn as shapes, so that they also print."""

from markupsafe import Markup

FULL = 1.5
"""Used fraction at the right end of the scale; beyond it an arrow head."""

_LENGTH = 90.0
_LIMIT = _LENGTH / FULL


def used_bar(used: float | None, state: str, spoken: str) -> Markup:
    """Draw one bar on a scale from 0 to 150 % with a mark at the limit.

    Parameters
    ----------
    used : float or None
        Fraction of the limit; None draws a full bar where the state is over, an empty one otherwise.
    state : str
        State of the finding; chooses the fill.
    spoken : str
        The same in words, for the title. The number stands beside the bar, so the bar itself is hidden
        from screen readers.
    """
    fraction = used if used is not None else (FULL if state == "over" else 0.0)
    length = min(max(fraction, 0.0), FULL) / FULL * _LENGTH
    beyond = fraction > FULL
    body = length - 6 if beyond else length
    shape = f"M0 2H{body:.1f}V10H0Z"
    if beyond:
        shape += f"M{body:.1f} 0L{_LENGTH:g} 6L{body:.1f} 12Z"
    shapes = (
        f'<path class="track" d="M0 2H{_LENGTH:g}V10H0Z"/><path class="fill-{state}" d="{shape}"/>'
        f'<path class="limit" d="M{_LIMIT:g} 0V12"/>'
    )
    title = Markup("<title>{}</title><desc>{}</desc>").format(spoken, "Scale to 150 %, mark at 100 %")
    return Markup('<svg class="bar" viewBox="0 0 {} 12" aria-hidden="true">{}{}</svg>').format(
        f"{_LENGTH:g}", title, Markup(shapes)
    )
