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
    """Draw the used fraction of a limit on a scale from 0 to 150 % with a mark at the limit, in words for its title.

    None draws a full bar where the state is over, an empty one otherwise. The whisker is the range of the fraction
    within what is known.
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
    return silent("bar", (_LENGTH, 12), spoken, "Scale to 150 %, mark at 100 %", shapes)


def amount_bar(share: float, spoken: str) -> Markup:
    """Draw what share of the largest of its kind something is, in words for its title."""
    shape = f'<path class="amount" d="M0 2H{min(max(share, 0.0), 1.0) * _LENGTH:.1f}V10H0Z"/>'
    return silent("bar", (_LENGTH, 12), spoken, "Full: the largest of all bands", shape)


def silent(css_class: str, size: tuple[float, float], title: str, scale: str, shapes: str) -> Markup:
    """Put shapes into an SVG that screen readers pass over, because its number stands beside it."""
    return Markup(
        '<svg class="{}" viewBox="0 0 {:g} {:g}" aria-hidden="true"><title>{}</title><desc>{}</desc>{}</svg>'
    ).format(css_class, *size, title, scale, Markup(shapes))
