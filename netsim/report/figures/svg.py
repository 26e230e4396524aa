"""The last touches on a drawn figure before it goes into the page.

Drawing libraries fix colours, fonts and ids; a page wants colours that follow light and dark, the page's
own font, ids that are unique across all figures, and a title and a description for those who listen.
"""

import re

from markupsafe import Markup, escape

INK, MUTED, FAINT, PANEL = "#010203", "#040506", "#070809", "#0a0b0c"
OVER, CLOSE, ACCENT, SECOND = "#0d0e0f", "#101112", "#131415", "#161718"

VARIABLES = {
    INK: "var(--ink)",
    MUTED: "var(--muted)",
    FAINT: "var(--rule)",
    PANEL: "var(--panel)",
    OVER: "var(--over)",
    CLOSE: "var(--close)",
    ACCENT: "var(--accent)",
    SECOND: "var(--second)",
    "fill:white": "fill:var(--panel)",
}
"""Colours to draw in, none of which is ever seen, and what the page replaces them with."""

_TAG = re.compile(r"<[^>]*>")
_NUMBER = re.compile(r"-?\d+\.\d{2,}(?:e-?\d+)?")
_UNWANTED = re.compile(
    r"<\?xml.*?\?>|<!DOCTYPE.*?>|<!--.*?-->|<metadata>.*?</metadata>|<style.*?</style>"
    r"|\s*stroke-dasharray:-;|\s*stroke-line(?:cap|join): ?[a-z]+;?"
    r"|\s*font-family: [^;\"]*;?|\sfont-family=\"[^\"]*\"| transform=\"rotate\(-0 [^\"]*\"",
    re.DOTALL,
)
_FONT = re.compile(r"(font:[^;\"]*?px )[^;\"]*")
_IDENTIFIER = re.compile(r"\sid=\"([^\"]*)\"")
_REFERENCE = re.compile(r"(url\(#|href=\"#)([^\")]*)")
_DEFAULT_STROKE = f' style="stroke:{VARIABLES[INK]};fill:none;stroke-width:1.5;"'
"""Of most lines of a schematic; the page gives it to all of them at once."""

_GRID_LINE = re.compile(
    rf' clip-path="[^"]*" style="fill: none; stroke: {re.escape(VARIABLES[FAINT])}; stroke-width: 0.6;"'
)
"""Of the many lines of a grid, none of which leaves the field; the page gives it to all of them at once."""

_POINTS = re.compile(r'(?<= points=")[^"]*')
_MOST_POINTS = 64
"""Enough to make a circle round; libraries write it out ten times as fine."""

_POLYLINE = re.compile(r"L ([^A-Za-z\"]+(?:L [^A-Za-z\"]+)+)")
_BARE_GROUP = re.compile(r"<g>\s*(<(?:path|text|use)\b[^>]*(?:/>|>[^<]*</text>))\s*</g>")


_SMALLEST = 9.5
"""Size of the smallest text in what is drawn with axes."""

NOTHING = Markup("")
"""No shapes."""

Rows = tuple[tuple[str, ...], ...]
"""The numbers of a figure, written out: cells by row."""


def finish(
    drawn: str,
    prefix: str,
    title: str,
    description: str,
    css_class: str,
    *,
    view_box: str | None = None,
    underlay: Markup = NOTHING,
    overlay: Markup = NOTHING,
) -> Markup:
    """Make an SVG, as a library drew it, fit for the page; it is trusted to hold no user text.

    The prefix goes before every id: it is unique on the page, of letters, digits and hyphens. Title and description
    may hold user text and are escaped. A view box replaces the library's where that cuts text off. What lies under
    and over the drawing is fit for the page already.
    """
    text = _UNWANTED.sub("", drawn)
    text = _TAG.sub(lambda tag: _NUMBER.sub(_shortened, tag[0]), text)
    text = _own_identifiers(text, prefix)
    text = _FONT.sub(r"\1var(--sans)", text)
    for colour, variable in VARIABLES.items():
        text = text.replace(colour, variable)
    start, end = text.index("<svg"), text.index("</svg>")
    opening_end = text.index(">", start)
    if view_box is None:
        found = re.search(r"viewBox=\"([^\"]*)\"", text[start:opening_end])
        assert found is not None  # the libraries write one
        view_box = found[1]
    body = re.sub(r"\s+", " ", text[opening_end + 1 : end]).replace("> <", "><").strip()
    body = _POLYLINE.sub(lambda run: "L " + run[1].replace("L ", ""), body)
    body = _POINTS.sub(_thinned, body).replace(_DEFAULT_STROKE, "")
    body = _GRID_LINE.sub(' class="line"', body)
    body = _BARE_GROUP.sub(r"\1", body.replace("<defs></defs>", ""))
    attributes = (
        f'class="{css_class}"{least_width(view_box, _SMALLEST)} xmlns="http://www.w3.org/2000/svg" '
        'xmlns:xlink="http://www.w3.org/1999/xlink"'
    )
    return framed(attributes, view_box, prefix, title, description, f"{underlay}{body}{overlay}")


def framed(attributes: str, view_box: str, prefix: str, title: str, description: str, shapes: str) -> Markup:
    """Put shapes that are fit for the page into an ``svg`` element; title and description are escaped here."""
    return Markup(
        f'<svg {attributes} viewBox="{view_box}" role="img" aria-labelledby="{prefix}-title {prefix}-desc">'
        f'<title id="{prefix}-title">{escape(title)}</title>'
        f'<desc id="{prefix}-desc">{escape(description)}</desc>{shapes}</svg>'
    )


def cut(name: str, most: int) -> str:
    """Cut a name to the letters that there is room for."""
    return name if len(name) <= most else f"{name[: most - 1]}…"


def least_width(view_box: str, smallest: float) -> str:
    """Write the width attribute at which text of a size in user units is 11 pixels high, as phones need it."""
    return f' width="{float(view_box.split()[2]) * 11 / smallest:.0f}"'


def _own_identifiers(text: str, prefix: str) -> str:
    """Put the prefix before every id that is referred to, and take the others away."""
    wanted = {reference[2] for reference in _REFERENCE.finditer(text)}

    def renamed(match: re.Match[str]) -> str:
        return f' id="{prefix}-{match[1]}"' if match[1] in wanted else ""

    text = _IDENTIFIER.sub(renamed, text)
    return _REFERENCE.sub(rf"\1{prefix}-\2", text)


def _thinned(match: re.Match[str]) -> str:
    """Leave out most points of a finely written outline, evenly."""
    points = match[0].split()
    step = max(len(points) // _MOST_POINTS, 1)
    return " ".join(points[::step])


def _shortened(match: re.Match[str]) -> str:
    """Round to a tenth of a pixel, as no eye sees more."""
    text = f"{float(match[0]):.1f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
