"""The templates of the pages, their one style, and the policy that lets nothing else in."""

import base64
import hashlib
import re
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from markupsafe import Markup

from netsim.description.formatting import percent
from netsim.report.known_words import UNSURE_MARK
from netsim.report.notation import MARKS, WORDS, line_anchor, place_of, rule_anchor

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def environment() -> "Environment":
    """Give the templates; whatever goes into one is escaped unless it is markup already."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("netsim.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(marks=MARKS, words=WORDS, unsure_mark=UNSURE_MARK)
    made.globals.update(percent=percent, place_of=place_of, line_anchor=line_anchor, rule_anchor=rule_anchor)
    return made


def style(*more: str) -> Markup:
    """Read the style sheet, and those of sections that only some pages have, to go into the page as they are."""
    return _read(f"{name}.css" for name in ("style", *more))


def script(*names: str) -> Markup:
    """Read scripts to go into the page as they are, one behind the other."""
    return _read(f"{name}.js" for name in names)


def _read(names: Iterable[str]) -> Markup:
    folder = files("netsim.report.page").joinpath("templates")
    return Markup("".join(folder.joinpath(name).read_text(encoding="utf-8") for name in names))


_TAG_WITH_STYLE = re.compile(r'<([a-z]+)([^<>]*?) style="([^"]*)"([^<>]*)>')
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
POLICY = "@policy@"
"""What stands in a template where the policy comes."""


def finished(text: str) -> str:
    """Make a page, with `POLICY` in it, obey one that names its own style and script by their hashes and no other.

    What its figures wrote into style attributes, which no hash can name, comes to stand in its style.
    """
    known: dict[str, str] = {}

    def classed(match: re.Match[str]) -> str:
        tag, before, declared, after = match.groups()
        name = known.setdefault(re.sub(r"\s+", "", declared).rstrip(";"), f"s{len(known) + 1}")
        rest = f"{before}{after}"
        if ' class="' in rest:
            joined = rest.replace(' class="', ' class="' + name + " ", 1)
            return f"<{tag}{joined}>"
        return f'<{tag} class="{name}"{rest}>'

    text = _TAG_WITH_STYLE.sub(classed, text)
    # Thrice the class, so that it outweighs the rules that style attributes outweighed; no ancestor is named,
    # because what a figure uses by reference has none.
    rules = "".join(f".{name}.{name}.{name}{{{declared}}}" for declared, name in known.items())
    text = text.replace("</style>", f"{rules}</style>", 1)
    sources = {
        kind: " ".join(f"'sha256-{_digest(found)}'" for found in pattern.findall(text)) or "'none'"
        for kind, pattern in (("style", _STYLE), ("script", _SCRIPT))
    }
    policy = (
        f"default-src 'none'; script-src {sources['script']}; style-src {sources['style']}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return text.replace(POLICY, policy, 1)


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
