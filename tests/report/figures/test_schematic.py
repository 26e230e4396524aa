import re
from pathlib import Path

from report_cases import NO_CHOKES_NO_GUARDS, without

from netsim.analysis import Analysis
from netsim.report.figures.schematic import schematic_figure
from netsim.report.page.part_table import worst_by_part


def drawn(solved: Analysis, band: str) -> str:
    """Draw a band at its first frequency."""
    worst = worst_by_part(solved, band)
    return str(schematic_figure(solved, solved.row(band), "x-schematic", band, worst))


def labels(drawing: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawing)


def test_every_part_that_is_there_is_named_with_its_value(solved_plain: Analysis) -> None:
    shown = labels(drawn(solved_plain, "80 m"))
    for words in (
        "Suppressor",
        "60.0 nH ∥ 47.0 Ω",
        "Plate choke",
        "220 µH",
        "Blocking capacitor",
        "1.00 nF",
        "Tune capacitor",
        "Tune padding",
        "50.0 pF",
        "Coil",
        "11.2 µH",
        "Band switch",
        "Load capacitor",
        "Load padding",
        "300 pF",
        "Output choke",
        "2.50 mH",
        "Antenna",
        "50.0 Ω",
        "Output C",
        "12.0 pF",
    ):
        assert words in shown
    assert "Output coil" not in shown
    assert "Load padding" not in labels(drawn(solved_plain, "40 m"))


def test_settings_are_those_of_the_frequency_drawn(solved_plain: Analysis) -> None:
    point = solved_plain.verdict.bands[0].points[0]
    shown = labels(drawn(solved_plain, "80 m"))
    assert f"{point.tune_farad * 1e12:.0f} pF" in shown
    stress = point.parts["coil"]
    assert stress is not None
    assert (
        f"{stress.current_rms_ampere:.1f} A rms" in shown or f"{stress.current_rms_ampere:.2f} A rms" in shown
    )


def test_failing_parts_and_no_others_are_marked(solved: Analysis) -> None:
    for band in solved.verdict.bands:
        drawing = drawn(solved, band.name)
        worst = worst_by_part(solved, band.name)
        over = [name for name, f in worst.items() if f.state == "over" and name != "network"]
        marks = [text for text in labels(drawing) if text.startswith("▲ over")]
        assert len(marks) == len(over)
        assert ("var(--over)" in drawing) == bool(over)
        spoken = drawing.partition("<desc")[2].partition("</desc>")[0]
        for name in over:
            assert name.replace("_", " ") in spoken


def test_what_is_absent_is_not_drawn(plain: Path, tmp_path: Path) -> None:
    bare = without(plain, tmp_path, *NO_CHOKES_NO_GUARDS)
    shown = labels(drawn(bare, "40 m"))
    for words in (
        "Suppressor",
        "Plate choke",
        "Blocking capacitor",
        "Output choke",
        "Band switch",
        "Output C",
    ):
        assert words not in shown
    assert {"Tube", "Tune capacitor", "Coil", "Load capacitor", "Antenna"} <= set(shown)


def test_notes_lie_inside_the_view_box(solved: Analysis) -> None:
    for band in solved.verdict.bands:
        drawing = drawn(solved, band.name)
        left, top, width, height = map(float, re.findall(r'viewBox="([^"]*)"', drawing)[0].split(" "))
        for x, y in re.findall(r'<text x="(-?\d+)" y="(-?\d+)"', drawing):
            assert left < float(x) < left + width
            assert top + 8 < float(y) < top + height - 4


def test_no_traps_of_the_library_are_left(solved_plain: Analysis) -> None:
    drawing = drawn(solved_plain, "80 m")
    assert "stroke-dasharray:-" not in drawing
    assert "white" not in drawing
    assert "<title" in drawing
    assert "<desc" in drawing
