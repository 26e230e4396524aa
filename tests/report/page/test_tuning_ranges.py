import re
from pathlib import Path

from report_cases import variant

from netsim.analysis import Analysis
from netsim.report.page.tuning_ranges import tuning_ranges


def places(drawing: str, kind: str) -> list[float]:
    """Left edges of the strokes of a kind."""
    return [float(x) for x in re.findall(rf'<rect class="{kind}" x="([\d.-]+)"', drawing)]


def test_every_frequency_has_a_stroke_and_what_lies_outside_is_marked(solved: Analysis) -> None:
    reach = tuning_ranges(solved)
    network = solved.amplifier.description.network
    for row, band in zip(reach.rows, solved.verdict.bands, strict=True):
        for side, capacitor in (("tune", network.tune_capacitor), ("load", network.load_capacitor)):
            drawn = getattr(row, side)
            needed = [getattr(point, f"{side}_needed_farad") for point in band.points]
            outside = [not capacitor.minimum <= value <= capacitor.maximum for value in needed if value]
            assert len(places(drawn.drawing, "fill-over")) == sum(outside)
            assert drawn.drawing.count("<rect") == 1 + len(outside)
            assert (drawn.state == "over") == any(outside)


def test_strokes_outside_lie_beside_the_trough(plain: Path, tmp_path: Path) -> None:
    reach = tuning_ranges(variant(plain, tmp_path, maximum='"45 pF"'))
    drawing = reach.rows[0].tune.drawing
    trough = re.search(r'class="trough" x="([\d.]+)" width="([\d.]+)"', drawing)
    assert trough is not None
    end = float(trough[1]) + float(trough[2])
    assert all(x + 1.5 > end for x in places(drawing, "fill-over"))
    assert places(drawing, "fill-over")


def test_a_coil_that_cannot_match_is_told(plain: Path, tmp_path: Path) -> None:
    row = tuning_ranges(variant(plain, tmp_path, coil='"60 uH"')).rows[-1]
    assert (row.tune.needed, row.tune.state) == ("no match", "over")
    assert "<rect" in row.tune.drawing


def test_the_scale_stays_finite_with_negative_settings(plain: Path, tmp_path: Path) -> None:
    reach = tuning_ranges(variant(plain, tmp_path, stray='"400 pF"'))
    for row in reach.rows:
        for x in re.findall(r'x="([\d.-]+)"', row.tune.drawing):
            assert 0 <= float(x) <= 220
