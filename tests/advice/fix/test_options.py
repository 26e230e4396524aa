"""Single changes: each one made for good and judged again has to do what was promised."""

import pytest

from netsim.advice.fix.change import rewritten
from netsim.advice.fix.fix import identity
from netsim.advice.fix.options import options
from netsim.analysis import analyse
from netsim.description.reader import loads, read


@pytest.fixture(scope="module")
def refitted(root):
    amplifier = read(root / "tests" / "examples" / "refitted.toml")
    before = analyse(amplifier, engine="two-port")
    return amplifier, before, options(amplifier, before)


def test_every_finding_over_or_close_has_its_options(refitted):
    _, before, found = refitted
    pressing = [f for f in before.verdict.findings if f.state in ("over", "close")]
    assert set(found) == {identity(f) for f in pressing}
    assert sum(bool(listed) for listed in found.values()) >= len(pressing) - 2


def test_an_option_made_for_good_does_what_it_says(refitted):
    """Cross-check: the batch's promise against a study of the changed file."""
    amplifier, before, found = refitted
    checked = 0
    for finding in before.verdict.findings:
        for option in found.get(identity(finding), ())[:2]:
            text = rewritten(amplifier.text, option.move.edits)
            verdict = analyse(loads(text, "x.toml"), engine="two-port").verdict
            after = next(f for f in verdict.findings if identity(f) == identity(finding))
            if option.after is not None:
                assert after.used_fraction == pytest.approx(option.after, rel=2e-3, abs=1e-6)
            assert after.state != "over"
            assert verdict.counts["over"] == option.over_after, option.move.title
            checked += 1
        if checked > 30:
            break
    assert checked > 20


def test_no_option_makes_things_worse(refitted):
    _, _, found = refitted
    for listed in found.values():
        assert all(option.over_after <= option.over_before for option in listed)


def test_the_suppressor_can_be_made_smaller_or_stronger(refitted):
    _, before, found = refitted
    finding = next(f for f in before.verdict.findings if (f.part, f.band) == ("suppressor", "10 m"))
    titles = [option.move.title for option in found[identity(finding)]]
    assert any(title.startswith("suppressor coil 22 nH") for title in titles)
    assert any("power rating" in title for title in titles)


def test_nothing_pressing_needs_no_option(plain, tmp_path):
    amplifier = read(plain)
    before = analyse(amplifier, engine="two-port")
    pressing = any(f.state in ("over", "close") for f in before.verdict.findings)
    assert bool(options(amplifier, before)) == pressing
