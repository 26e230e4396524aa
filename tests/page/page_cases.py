"""What the tests of the page have in common and is no fixture."""

from netsim.analysis import Analysis
from netsim.api.result import page_of

HOSTILE = (
    """<script>document.title='hit'</script>"><img src=x onerror="document.title='hit'">'{{ 7*7 }}</style>"""
)
"""A text that tries every way out."""

WIDTHS = (390, 1280)
"""A telephone held upright, and a small screen [px]."""

SCHEMES = ("light", "dark")


def whole_page(solved: Analysis) -> str:
    """Render everything that the command puts on a page."""
    return page_of(solved)
