"""Which change does what: held against whole studies of the amplifier without it."""

import pytest

from netsim.advice.change import changed, edits_of, with_contacts, without_contacts
from netsim.advice.fix.attribution import causes, place_of, used_fractions
from netsim.advice.fix.fix import fix
from netsim.analysis import analyse
from netsim.description.reader import loads, read
from netsim.verdict.findings import identity


@pytest.fixture(scope="module")
def refitted(root):
    return fix(read(root / "tests" / "examples" / "refitted.toml"), engine="two-port")


@pytest.fixture(scope="module")
def named(refitted):
    return causes(refitted)


def test_every_finding_that_is_bettered_has_a_cause_and_no_other(refitted, named):
    helped = {identity(e.before) for e in refitted.effects if e.before and e.outcome in ("cleared", "better")}
    assert set(named) == helped
    assert all(named.values())


def test_without_a_named_change_the_finding_is_over_again(refitted, named):
    """Derived: the amplifier with all changes but one, solved in full by another way than the attribution."""
    over = {identity(f) for f in refitted.before.verdict.findings if f.state == "over"}
    seen = 0
    for change in refitted.changes:
        kept = [other for other in refitted.changes if other is not change]
        without = analyse(changed(refitted.before.amplifier, edits_of(kept)), engine="two-port", samples=1)
        still = {identity(f) for f in without.verdict.findings if f.state == "over"}
        told = {key for key, changes in named.items() if change in changes and key in over}
        assert told
        # What any one of several changes would clear has none that is needed.
        assert told <= still or all(len(named[key]) > 1 for key in told - still)
        seen += len(told & still)
        assert still & over <= told
    assert seen > 15


def test_a_change_to_one_band_is_never_named_for_another(named):
    for (_, band, *_), changes in named.items():
        assert {change.band for change in changes} <= {None, band}


def test_what_no_network_decides_is_given_the_change_to_its_part(circuits):
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8").replace('"17.3 MHz"', '"14.1 MHz"')
    found = fix(loads(text, "choke.toml"), engine="two-port")
    ((key, changes),) = [(k, m) for k, m in causes(found).items() if k[0] == "choke_resonance"]
    assert key[2] == "plate_choke"
    assert [change.place for change in changes] == ["network.plate_choke"]


def test_at_an_operating_point_too(circuits):
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8") + (
        '\n[[operating_points]]\nname = "carrier"\nplate_voltage = "1.6 kV"\n'
        'no_load_plate_voltage = "1.8 kV"\nplate_current = "400 mA"\n'
    )
    found = fix(loads(text, "points.toml"), engine="two-port")
    named = causes(found)
    at_point = [key for key in named if key[5] == "carrier"]
    assert at_point
    assert all(named[key] for key in at_point)


def test_taps_of_a_switch_are_left_out_and_put_back(circuits):
    found = fix(read(circuits / "new-tube.toml"), engine="two-port")
    named = causes(found)
    taps = [without_contacts(m) for m in found.changes if m.kind == "tap"]
    assert taps
    assert edits_of(with_contacts(found.before.amplifier.description, taps))[-1].path[-1] == "taps"
    cleared = {identity(f) for f in found.before.verdict.findings if f.state == "over"}
    for key, changes in named.items():
        if key in cleared and key[0] == "loaded_q" and key[1] != "10 m":
            assert ("tap", key[1]) in [(m.kind, m.band) for m in changes]


@pytest.mark.slow
def test_the_contacts_of_the_switch_follow_the_taps(circuits):
    """Cross-solver: with loops between every two contacts, both ways of solving have to have the same contacts."""
    text = (circuits / "new-tube.toml").read_text(encoding="utf-8")
    for old, new in (
        ("strap", "progressive"),
        ("9.75, 11.5, 13.5, 19.5]", "9, 9.75, 11.5, 19.5]"),
        ("coil_turns = 13.5", "coil_turns = 9"),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    found = fix(loads(text, "p.toml"), engine="two-port")
    assert [m for m in found.changes if m.kind == "tap"]
    used = used_fractions(found.before.amplifier, [without_contacts(change) for change in found.changes])
    compared = 0
    for finding in found.after.verdict.findings:
        place = place_of(finding)
        # The search holds a self-resonance against itself, the finding against a third of it.
        if place in used and finding.used_fraction and finding.code != "self_resonance":
            assert used[place] == pytest.approx(finding.used_fraction, rel=1e-3)
            compared += 1
    assert compared > 100


def test_nothing_is_named_where_nothing_is_changed(circuits):
    assert causes(fix(read(circuits / "old-tubes.toml"), engine="two-port")) == {}
