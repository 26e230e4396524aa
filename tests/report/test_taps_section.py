from pathlib import Path

import pytest

from netsim.advice.taps import taps
from netsim.report.page import render
from netsim.report.taps_section import taps_section
from netsim.study import Study


def test_without_advice_and_winding_there_is_no_section(solved_plain: Study) -> None:
    assert taps_section(solved_plain, None) is None
    assert 'id="taps"' not in render(solved_plain)


def test_rows_say_what_the_advice_says(solved: Study) -> None:
    advice = taps(solved.description)
    section = taps_section(solved, advice)
    assert section is not None
    for row, band in zip(section.rows, advice.bands, strict=True):
        assert (row.band, row.message, row.tuned) == (band.name, band.message, band.present.tuned)
        assert float(row.present_q) == pytest.approx(band.present.loaded_q, rel=5e-3)
        if band.proposed is not None and band.proposed.coil_turns is not None:
            assert row.proposed.startswith(f"{band.proposed.coil_turns:g} turns")
    page = render(solved, advice)
    assert all(band.message in page.replace("&#39;", "'") for band in advice.bands)


def test_an_inductance_is_a_tap_without_turns(solved_plain: Study) -> None:
    section = taps_section(solved_plain, taps(solved_plain.description, engine="two-port"))
    assert section is not None
    assert section.drawing is None
    assert section.rows[0].present == "11.2 µH"
    assert section.rows[0].proposed == "–"


def test_a_winding_is_drawn_with_its_present_taps_even_without_advice(circuits: Path) -> None:
    from netsim.description.reader import read
    from netsim.study import study

    solved = study(read(circuits / "new-tube.toml"), engine="two-port")
    section = taps_section(solved, None)
    assert section is not None
    assert section.rows == ()
    assert section.drawing is not None
    for band in solved.description.amplifier.bands:
        assert band.coil_turns is not None
        assert f"{band.name} · {band.coil_turns:g}" in section.drawing
    assert 'class="proposed"' not in section.drawing
