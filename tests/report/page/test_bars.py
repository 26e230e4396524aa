import re
from xml.etree import ElementTree

import pytest

from netsim.report.page.bars import amount_bar, used_bar


def length(used: float | None, state: str = "pass") -> float:
    """End of the filled part on a scale whose limit stands at 60."""
    found = re.search(rf'class="fill-{state}" d="M0 2H([\d.]+)V', used_bar(used, state, "words"))
    assert found is not None
    return float(found[1])


@pytest.mark.parametrize(("used", "end"), [(0.0, 0), (0.5, 30), (1.0, 60), (1.5, 90)])
def test_the_limit_stands_at_two_thirds(used: float, end: float) -> None:
    """Derived: 90 units show 150 %."""
    assert length(used) == pytest.approx(end)


def test_beyond_the_scale_there_is_an_arrow() -> None:
    assert "L90 6" in used_bar(1.51, "over", "words")
    assert "L90 6" not in used_bar(1.49, "over", "words")


def test_what_has_no_fraction_is_full_where_it_is_over_and_else_empty() -> None:
    assert length(None, "over") == 90
    assert length(None, "close") == 0


def test_it_is_one_element_whose_words_are_escaped() -> None:
    drawn = used_bar(0.7, "pass", "<b>80 m</b> & more")
    root = ElementTree.fromstring(drawn)
    assert root.findtext("title") == "<b>80 m</b> & more"
    assert root.findtext("desc")


@pytest.mark.parametrize(("share", "end"), [(0.0, 0), (0.5, 45), (1.0, 90), (1.2, 90)])
def test_an_amount_fills_its_share_and_never_more(share: float, end: float) -> None:
    """Derived: 90 units show the largest."""
    drawn = amount_bar(share, "coil: 27 W & more")
    found = re.search(r'class="amount" d="M0 2H([\d.]+)V', drawn)
    assert found is not None
    assert float(found[1]) == end
    assert ElementTree.fromstring(drawn).findtext("title") == "coil: 27 W & more"
