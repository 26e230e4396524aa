from pathlib import Path

from report_cases import without

from netsim.report.page.unknowns import assumed, not_rated


def test_a_missing_rating_comes_with_the_line_to_add(plain: Path, tmp_path: Path) -> None:
    solved = without(plain, tmp_path, r"voltage_rating = \"7.5 kV\"\n")
    (gap,) = not_rated(solved.verdict)
    assert gap.title == "Blocking capacitor: peak voltage"
    assert 'voltage_rating = "..." under [network.blocking_capacitor]' in gap.add
    assert "highest value found" in gap.what
    assert gap.hangs_on_it == "this verdict on every band"
    assert gap.line == plain.read_text(encoding="utf-8").split("\n").index("[network.blocking_capacitor]") + 1


def test_what_was_supposed_comes_with_what_hangs_on_it(plain: Path, tmp_path: Path) -> None:
    solved = without(plain, tmp_path, r"no_load_plate_voltage.*?\n", r"q = 300\n")
    found = {entry.title: entry for entry in assumed(solved.verdict)}
    supply, coil = found["Stage: no load plate voltage"], found["Coil: unloaded Q"]
    assert 'no_load_plate_voltage = "..."' in supply.add
    assert "peak" in supply.hangs_on_it
    assert "efficiency" in coil.hangs_on_it
    assert len({entry.anchor for entry in found.values()}) == len(found)


def test_absent_parts_are_named_once(plain: Path, tmp_path: Path) -> None:
    solved = without(plain, tmp_path, r"\[network\.band_switch\].*?\n\n")
    assert "Band switch" in [entry.title for entry in assumed(solved.verdict)]
