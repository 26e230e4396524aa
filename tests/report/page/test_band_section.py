from dataclasses import replace

import pytest

from netsim.analysis import Analysis
from netsim.report.page.band_section import BandSection, band_sections
from netsim.report.page.page import render
from netsim.verdict.result import Harmonic, LargeSignalResult

FOUND = LargeSignalResult(
    plate_current_dc_ampere=0.512,
    grid_current_dc_ampere=0.151,
    output_watt=880.0,
    drive_watt=61.0,
    feed_through_watt=40.0,
    plate_dissipation_watt=501.0,
    grid_dissipation_watt=9.5,
    efficiency=0.614,
    conduction_angle_degree=191.0,
    plate_voltage_minimum_volt=350.0,
    input_resistance_ohm=None,
    harmonics=(Harmonic(2, 40.0, -48.0),),
    worst_difference_to_spice_db=None,
)


@pytest.fixture(scope="module")
def sections(solved: Analysis) -> tuple[BandSection, ...]:
    """Write out and draw the bands once."""
    return band_sections(solved)


def test_every_band_has_its_points_figures_and_parts(
    solved: Analysis, sections: tuple[BandSection, ...]
) -> None:
    assert [section.name for section in sections] == [band.name for band in solved.verdict.bands]
    for section, band in zip(sections, solved.verdict.bands, strict=True):
        assert ["flag" not in match for _, match, *_ in section.points] == [
            point.tuned for point in band.points
        ]
        assert len(section.points) == len(band.points)
        assert section.parts
        for drawing in (
            section.schematic,
            section.response.drawing,
            section.smith.drawing,
            section.waveform.drawing,
        ):
            assert drawing.startswith("<svg")
            assert section.name in drawing
            assert section.drawn_at in drawing


def test_figures_are_drawn_where_the_worst_finding_is(
    solved: Analysis, sections: tuple[BandSection, ...]
) -> None:
    for section, band in zip(sections, solved.verdict.bands, strict=True):
        own = [f for f in solved.verdict.findings if f.band == band.name and f.state == "over"]
        if own and own[0].frequency_hertz is not None:
            megahertz = own[0].frequency_hertz * 1e-6
            assert abs(float(section.drawn_at.split(" ")[0]) - megahertz) < 0.006 * megahertz


def test_the_summary_counts(solved: Analysis, sections: tuple[BandSection, ...]) -> None:
    for section, band in zip(sections, solved.verdict.bands, strict=True):
        own = [f for f in solved.verdict.findings if f.band == band.name]
        over = sum(f.state == "over" for f in own)
        assert section.summary.startswith(f"{over} over, " if over else "")
        assert section.state == ("over" if over else section.state)


def test_ids_of_all_figures_differ(solved_plain: Analysis) -> None:
    drawings = [
        drawing
        for section in band_sections(solved_plain)
        for drawing in (section.response.drawing, section.smith.drawing, section.waveform.drawing)
    ]
    ids = [part.partition('"')[0] for drawing in drawings for part in drawing.split(' id="')[1:]]
    assert len(ids) > 30
    assert len(ids) == len(set(ids))


def test_wound_coils_tell_their_turns(solved: Analysis, sections: tuple[BandSection, ...]) -> None:
    for section, band in zip(sections, solved.verdict.bands, strict=True):
        turns = {point.coil_turns for point in band.points}
        assert bool(section.wound) == (turns != {None})
        if section.wound:
            assert "turns in use" in section.wound[0]


def with_tube(solved: Analysis) -> Analysis:
    """Give the first point of the first band what a tube's curves would."""
    band = solved.verdict.bands[0]
    changed = replace(band, points=(replace(band.points[0], large_signal=FOUND), *band.points[1:]))
    return replace(solved, verdict=replace(solved.verdict, bands=(changed, *solved.verdict.bands[1:])))


def test_only_points_with_a_tube_are_listed(solved_plain: Analysis) -> None:
    section, *_ = band_sections(with_tube(solved_plain))
    assert [row[1:] for row in section.large_signal] == [
        ("512 mA DC", "151 mA DC", "61.0 W", "9.50 W", "191°", "350 V", "–", "–")
    ]


def test_the_table_stands_where_there_is_a_tube(solved_plain: Analysis) -> None:
    words = "By the tube’s own curves"
    assert words not in render(solved_plain)
    page = render(with_tube(solved_plain))
    assert page.count(words) == 1
    assert "512 mA DC" in page
    # One output, one heat, one efficiency: those of the operating points.
    assert "880 W" not in page
    assert [bool(section.large_signal) for section in band_sections(with_tube(solved_plain))] == [
        True,
        False,
        False,
    ]
