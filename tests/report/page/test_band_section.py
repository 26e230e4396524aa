import pytest

from netsim.analysis import Analysis
from netsim.report.page.band_section import BandSection, band_sections


@pytest.fixture(scope="module")
def sections(solved: Analysis) -> tuple[BandSection, ...]:
    """Write out and draw the bands once."""
    return band_sections(solved)


def test_every_band_has_its_points_figures_and_parts(
    solved: Analysis, sections: tuple[BandSection, ...]
) -> None:
    assert [section.name for section in sections] == [band.name for band in solved.verdict.bands]
    for section, band in zip(sections, solved.verdict.bands, strict=True):
        assert [point.tuned for point in section.points] == [point.tuned for point in band.points]
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
