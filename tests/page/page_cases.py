"""What the tests of the page have in common and is no fixture."""

from netsim.advice.coverage_maps import coverage_maps
from netsim.advice.fix.attribution import explained_fix
from netsim.advice.taps.taps import taps
from netsim.analysis import Analysis
from netsim.report.page.page import render

HOSTILE = (
    """<script>document.title='hit'</script>"><img src=x onerror="document.title='hit'">'{{ 7*7 }}</style>"""
)
"""A text that tries every way out."""

WIDTHS = (390, 1280)
"""A telephone held upright, and a small screen [px]."""

SCHEMES = ("light", "dark")


def whole_page(solved: Analysis) -> str:
    """Render everything that the command puts on a page."""
    amplifier = solved.amplifier
    engine = "both" if solved.verdict.cross_checked else "two-port"
    return render(
        solved,
        taps(amplifier, engine=engine),
        explained_fix(amplifier, engine=engine),
        coverage_maps(amplifier),
    )
