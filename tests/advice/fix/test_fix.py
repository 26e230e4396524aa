"""Fixes: the known single remedy, nothing for a clean file, the diff that gives the file, what remains."""

import io
import json
import shutil
import subprocess

import pytest
from rich.console import Console

from netsim.advice.change import WEIGHTS
from netsim.advice.fix.fix import fix
from netsim.advice.taps.taps import taps
from netsim.analysis import analyse
from netsim.description.reader import loads, read
from netsim.report.export.advice_json import dump_fix
from netsim.report.terminal import fix_text


@pytest.fixture(scope="module")
def refitted(root):
    path = root / "tests" / "examples" / "refitted.toml"
    return path, fix(read(path))


@pytest.fixture(scope="module")
def old_text(circuits):
    return (circuits / "old-tubes.toml").read_text(encoding="utf-8")


def only_over(amplifier):
    return {
        (f.code, f.band, f.part)
        for f in analyse(amplifier, engine="two-port", samples=1).verdict.findings
        if f.state == "over"
    }


def test_the_refitted_amplifier_is_cleared_and_cross_checked(refitted):
    _, found = refitted
    assert found.before.verdict.counts["over"] > 20
    assert found.after.verdict.counts["over"] == 0
    assert found.clears
    assert found.after.verdict.cross_checked
    assert found.weight == sum(WEIGHTS[m.kind] * m.times for m in found.changes) > 0


def test_the_diff_applied_with_patch_gives_the_written_file(refitted, tmp_path):
    path, found = refitted
    copy = tmp_path / "copy.toml"
    shutil.copy(path, copy)
    subprocess.run(["patch", "-s", str(copy)], input=found.diff, text=True, check=True)
    assert copy.read_text(encoding="utf-8") == found.text
    assert analyse(read(copy)).verdict.counts["over"] == 0


def test_comments_and_order_stay(refitted):
    path, found = refitted
    before, after = path.read_text(encoding="utf-8").splitlines(), found.text.splitlines()
    kept = [line.partition("#")[2] for line in before if "#" in line]
    assert kept == [line.partition("#")[2] for line in after if "#" in line]
    assert [line for line in before if line.startswith("[")] == [
        line for line in after if line.startswith("[")
    ]


def test_every_finding_over_is_told_what_becomes_of_it(refitted):
    _, found = refitted
    told = [e.before for e in found.effects if e.before is not None]
    assert {id(f) for f in found.before.verdict.findings if f.state == "over"} <= {id(f) for f in told}
    was_over = [e for e in found.effects if e.before and e.before.state == "over"]
    assert all(e.outcome == "cleared" or (e.after and e.after.state == "close") for e in was_over)


def test_a_clean_file_gets_none(circuits):
    found = fix(read(circuits / "old-tubes.toml"), engine="two-port")
    assert found.before.verdict.counts["over"] == 0
    assert (found.changes, found.diff, found.weight) == ((), "", 0)
    assert found.text == found.before.amplifier.text


SINGLES = {
    # The load capacitor is short of 570 pF or so at 3.5 MHz: the stock's next value that keeps the upper end in
    # range. Derived: 1692 pF needed without padding, 1300 pF there, and 390 pF leaves it just short.
    "padding": (('load_padding = "470 pF"\n', ""), "bands[0].load_padding", "padding"),
    # A rating somebody set too low; every band is below the next preferred number.
    "part": (('voltage_rating = "2.6 kV"', 'voltage_rating = "2.2 kV"'), "network.tune_capacitor", "part"),
    # A suppressor's resistor that is too small: its coil or its rating, one part.
    "suppressor": (('power_rating = "10 W"', 'power_rating = "6 W"'), "network.suppressor", "part"),
    # Settings written down wrongly: free them.
    "setting": (
        ('coil = "1.95 uH"', 'coil = "1.95 uH"\ntune = "100 pF"\nload = "300 pF"'),
        "bands[3].tune",
        "setting",
    ),
    # A resonance of the choke in a band.
    "choke": (('"17.3 MHz"', '"14.1 MHz"'), "network.plate_choke", "part"),
}


@pytest.mark.parametrize("case", SINGLES)
def test_a_known_single_remedy_is_exactly_what_is_proposed(old_text, case):
    (old, new), place, kind = SINGLES[case]
    assert old in old_text
    amplifier = loads(old_text.replace(old, new, 1), "single.toml")
    assert only_over(amplifier)
    found = fix(amplifier, engine="two-port")
    assert found.clears
    assert [(move.place, move.kind) for move in found.changes] == [(place, kind)]


def test_a_wrong_tap_is_put_back_where_it_belongs(old_text):
    amplifier = loads(old_text.replace('coil = "2.7 uH"', 'coil = "1.4 uH"'), "tap.toml")
    assert ("loaded_q", "30 m", "network") in only_over(amplifier)
    (move,) = fix(amplifier, engine="two-port").changes
    assert (move.place, move.kind) == ("bands[2].coil", "tap")
    # The nearest to the target loaded Q among its steps; the original is within one step of it.
    assert move.edits[0].value == pytest.approx(2.7e-6, rel=0.06)


def test_without_a_blocking_capacitor_one_is_asked_for(old_text):
    start = old_text.index("[network.blocking_capacitor]")
    end = old_text.index("[network.tune_capacitor]")
    found = fix(loads(old_text[:start] + old_text[end:], "dc.toml"), engine="two-port")
    assert found.clears
    assert "network.blocking_capacitor" in [move.place for move in found.changes]
    assert "[network.blocking_capacitor]" in found.text


@pytest.mark.slow
def test_what_nothing_clears_is_said(old_text):
    """A tube whose capacitance alone is too much on the highest band: nothing the owner can do clears that."""
    text = old_text.replace('output_capacitance = "15 pF"', 'output_capacitance = "250 pF"')
    found = fix(loads(text, "hopeless.toml"), engine="two-port")
    assert not found.clears
    bands = {f.band for f in found.remaining}
    assert "10 m" in bands
    assert "80 m" not in bands
    assert all(f.why for f in found.remaining)
    assert found.after.verdict.counts["over"] < found.before.verdict.counts["over"]


def test_one_set_of_taps_serves_every_operating_point(old_text):
    text = old_text + (
        '\n[[operating_points]]\nname = "carrier"\nplate_voltage = "1.6 kV"\n'
        'no_load_plate_voltage = "1.8 kV"\nplate_current = "400 mA"\n'
    )
    amplifier = loads(text, "points.toml")
    before = analyse(amplifier, engine="two-port", samples=1).verdict
    assert {f.operating_point for f in before.findings if f.state == "over"} == {"carrier"}
    found = fix(amplifier, engine="two-port")
    assert found.clears
    assert found.after.verdict.operating_points


def test_a_wound_coil_is_tapped_anew_and_the_switch_follows(circuits):
    found = fix(read(circuits / "new-tube.toml"))
    assert found.clears
    description = loads(found.text, "new.toml").description
    assert {band.coil_turns for band in description.bands} == set(description.network.coil.taps)


def test_a_tap_elsewhere_than_taps_has_it_says_why(circuits):
    amplifier = read(circuits / "new-tube.toml")
    found = fix(amplifier, engine="two-port")
    advised = {band.name: band.proposed.coil_turns for band in taps(amplifier, engine="two-port").bands}
    moved = {
        change.band: edit.value
        for change in found.changes
        for edit in change.edits
        if edit.path[-1] == "coil_turns"
    }
    other = {band for band, turns in moved.items() if turns != advised[band]}
    assert other
    assert set(found.elsewhere) == other
    console = Console(file=io.StringIO(), width=400)
    console.print(fix_text.render(found))
    told = {
        move["band"]: move["why"] for move in json.loads(dump_fix(found))["moves"] if move["kind"] == "tap"
    }
    for band, turns in moved.items():
        assert (told[band] is not None) == (band in other)
        if band in other:
            assert f"{advised[band]:g} turns" in told[band]
            assert f"{turns:g} turns" in told[band]
            assert told[band] in console.file.getvalue()


def test_what_a_rating_for_other_antennas_makes_needless_is_not_proposed(circuits):
    """Derived: the load capacitor's rating alone, raised by hand, leaves nothing over, so that no more is asked for."""
    kept = {"bands[80 m]": None, "bands[40 m]": None, "bands[30 m]": None, "antenna.worst_swr": 1.5}
    rating = "network.load_capacitor.reactive_power_rating"
    amplifier = read(circuits / "new-tube-pi-l.toml").replace(
        kept
        | {"network.load_capacitor.voltage_rating": "2 kV", "network.load_capacitor.current_rating": "30 A"}
    )
    by_hand = amplifier.replace({rating: "16 kVA"})
    assert not analyse(by_hand, engine="two-port", samples=1).verdict.counts["over"]
    found = fix(amplifier.replace({rating: "5 kVA"}), engine="two-port")
    assert found.clears
    assert [change.place for change in found.changes] == ["network.load_capacitor"]


@pytest.mark.slow
def test_a_change_is_proven_on_the_antennas_that_were_asked_for(circuits):
    """Found over on an SWR that the file does not name, it may not be told cleared on the matched antenna."""
    amplifier = read(circuits / "old-tubes.toml")
    before = analyse(amplifier, engine="two-port", swr=6.0)
    assert before.verdict.counts["over"]
    found = fix(amplifier, engine="two-port", before=before)
    assert found.after.swr == 6.0
    assert any(f.case == "any_antenna" for f in found.after.verdict.findings)
    assert not any(
        effect.outcome == "gone" and effect.before.case == "any_antenna" for effect in found.effects
    )
