"""What a change does to a finding, told from its states before and after."""

from types import SimpleNamespace

import pytest

from netsim.advice.fix.effects import compared


def finding(state, used):
    named = dict.fromkeys(("band", "part", "quantity", "case", "operating_point"), "x")
    return SimpleNamespace(code="part_current", state=state, used_fraction=used, **named)


def result(*findings):
    return SimpleNamespace(verdict=SimpleNamespace(findings=findings))


@pytest.mark.parametrize(
    ("before", "after", "outcome"),
    [
        (("over", 1.4), ("pass", 0.6), "cleared"),
        (("close", 0.95), ("pass", 0.6), "cleared"),
        (("close", 0.95), ("not_rated", None), "cleared"),
        (("over", 1.4), ("close", 0.95), "better"),
        (("close", 0.95), ("over", 1.4), "worse"),
        (("over", 1.4), ("over", 1.2), "better"),
        (("over", 1.2), ("over", 1.4), "worse"),
        (("over", 1.2), ("over", 1.2001), "same"),
        (("over", 1.2), None, "gone"),
        (None, ("close", 0.95), "new"),
    ],
)
def test_what_becomes_of_a_finding(before, after, outcome):
    """Derived: over is worse than close, close than what nobody rates, and that than a pass."""
    old, new = (result(*(finding(*f) for f in [one] if f is not None)) for one in (before, after))
    (effect,) = compared(old, new)
    assert effect.outcome == outcome


def test_what_passes_in_both_is_left_out():
    assert compared(result(finding("pass", 0.6)), result(finding("pass", 0.2))) == ()
