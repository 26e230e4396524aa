"""Bars that show how much of a limit is used, or of the largest of a kind: shapes, so that they also print."""

import math

from markupsafe import Markup

from netsim.verdict.result import Finding

FULL = 1.5
"""Used fraction at the right end of the scale; beyond it an arrow head."""

_LENGTH = 90.0
_LIMIT = _LENGTH / FULL


def whisker_of(finding: Finding) -> tuple[float, float] | None:
    """Give the range of a used fraction within what is known; None where it was not sampled, or had none."""
    if finding.share_over is None or finding.used_low is None:
        return None
    return finding.used_low, math.inf if finding.used_high is None else finding.used_high


def used_bar(
    used: float | None, state: str, spoken: str, whisker: tuple[float, float] | None = None
) -> Markup:
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
    whisker : tuple of float, optional
        Ends of the range of the fraction within what is known.
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
    if whisker is not None:
        low, high = (min(max(end, 0.0), FULL) / FULL * _LENGTH for end in whisker)
        shapes += f'<path class="whisker" d="M{low:.1f} 3V9M{low:.1f} 6H{high:.1f}M{high:.1f} 3V9"/>'
    title = Markup("<title>{}</title><desc>{}</desc>").format(spoken, "Scale to 150 %, mark at 100 %")
    return Markup('<svg class="bar" viewBox="0 0 {} 12" aria-hidden="true">{}{}</svg>').format(
        f"{_LENGTH:g}", title, Markup(shapes)
    )


def amount_bar(share: float, spoken: str) -> Markup:
    """Draw how much of the largest of its kind something is.

    Parameters
    ----------
    share : float
        0 to 1.
    spoken : str
        The amount in words; the number stands beside the bar, which is hidden from screen readers.
    """
    length = min(max(share, 0.0), 1.0) * _LENGTH
    title = Markup("<title>{}</title><desc>{}</desc>").format(spoken, "Full: the largest of all bands")
    return Markup(
        '<svg class="bar" viewBox="0 0 {} 12" aria-hidden="true">{}<path class="amount" d="M0 2H{}V10H0Z"/></svg>'
    ).format(f"{_LENGTH:g}", title, f"{length:.1f}")
