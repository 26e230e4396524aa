"""Fixes of files with a slip or much that is underrated: bounded by counts, and cleared where ratings do it."""

import re

import pytest

from netsim.advice import band_networks
from netsim.advice.fix import search
from netsim.advice.fix.fix import fix
from netsim.analysis import analyse
from netsim.description.reader import loads

BUDGET = 80_000
_RATING = re.compile(r'((?:current|voltage|power|reactive_power)_rating = ")([\d.]+)( )')

SLIPS = {
    # What is typed wrongly, and whether ratings clear it.
    "20 mA for 20 A": ([('current_rating = "20 A"\npower', 'current_rating = "20 mA"\npower')], True),
    "four underrated parts": (
        [
            ('power_rating = "10 W"', 'power_rating = "4 W"'),
            ('power_rating = "90 W"', 'power_rating = "30 W"'),
            ('voltage_rating = "2.6 kV"', 'voltage_rating = "1.2 kV"'),
            ('current_rating = "20 A"\npower', 'current_rating = "6 A"\npower'),
        ],
        True,
    ),
    "every rating a hundredth": (0.01, True),
    "every rating half": (0.5, True),
    "250 pF of output capacitance": (
        [('output_capacitance = "15 pF"', 'output_capacitance = "250 pF"')],
        False,
    ),
}


def slipped(text, slip):
    if isinstance(slip, float):
        return _RATING.sub(lambda m: f"{m[1]}{float(m[2]) * slip:.4g}{m[3]}", text)
    for old, new in slip:
        assert old in text, old
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_does_not_make_the_search_endless(circuits, monkeypatch, name):
    """Derived: every network that is solved is counted where it is solved, whoever asks for it."""
    slip, cleared = SLIPS[name]
    amplifier = loads(slipped((circuits / "old-tubes.toml").read_text(encoding="utf-8"), slip), "slip.toml")
    plain, solved = band_networks.solve_in_numpy, []

    def counted(amplifier, description, assembly, **how):
        solved.append(len(assembly))
        return plain(amplifier, description, assembly, **how)

    monkeypatch.setattr(band_networks, "solve_in_numpy", counted)
    found = fix(amplifier, engine="two-port", budget=BUDGET)
    # With either topology what was begun before the budget ended is finished, then remedies of the rest proven.
    assert sum(solved) < 6 * BUDGET
    assert found.clears is cleared
    assert found.after.verdict.counts["over"] <= found.before.verdict.counts["over"]
    whole = analyse(loads(found.text, "slip.toml"), engine="two-port", samples=1).verdict
    assert whole.counts == found.after.verdict.counts
    for finding in found.remaining:
        assert finding.fix
        assert finding.why


def test_a_budget_that_ends_is_told_and_gives_the_same_again(circuits, monkeypatch):
    monkeypatch.setattr(search, "MOST_NETWORKS", 300)
    text = slipped((circuits / "old-tubes.toml").read_text(encoding="utf-8"), 0.5)
    some = [fix(loads(text, "half.toml"), engine="two-port", budget=300) for _ in range(2)]
    assert some[0].ended_early
    assert some[0].text == some[1].text
