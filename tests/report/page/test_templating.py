"""The policy of a page, and what it asks of the page's styles."""

import base64
import hashlib

from netsim.report.page.templating import POLICY, finished

PAGE = (
    f'<meta content="{POLICY}"><style>a{{}}</style><svg><path style="fill: none; stroke: var(--ink);"/>'
    '<path class="x" d="M0 0" style="fill:none;stroke:var(--ink)"/></svg><script>1 < 2</script>'
)


def digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def test_style_attributes_become_one_class_each() -> None:
    made = finished(PAGE)
    assert " style=" not in made
    assert '<path class="s1"/>' in made
    assert '<path class="s1 x" d="M0 0"/>' in made
    assert made.count(".s1.s1.s1{fill:none;stroke:var(--ink)}") == 1


def test_style_and_script_are_named_by_their_hashes_and_nothing_else_is() -> None:
    made = finished(PAGE)
    style = made.partition("<style>")[2].partition("</style>")[0]
    assert f"style-src 'sha256-{digest(style)}'" in made
    assert f"script-src 'sha256-{digest('1 < 2')}'" in made
    assert "default-src 'none'" in made
    assert "script-src 'none'" in finished(PAGE.replace("<script>1 < 2</script>", ""))


def test_data_is_no_script() -> None:
    made = finished(PAGE.replace("<script>", '<script type="application/json">'))
    assert "script-src 'none'" in made
