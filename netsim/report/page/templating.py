"""The templates of the pages, and their one style."""

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from markupsafe import Markup

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def environment() -> "Environment":
    """Give the templates; whatever goes into one is escaped unless it is markup already."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("netsim.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def style(*more: str) -> Markup:
    """Read the style sheet, and those of sections that only some pages have, to go into the page as they are."""
    folder = files("netsim.report.page").joinpath("templates")
    names = ("style", *more)
    return Markup("".join(folder.joinpath(f"{name}.css").read_text(encoding="utf-8") for name in names))
