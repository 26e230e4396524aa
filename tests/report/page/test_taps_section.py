from pathlib import Path

import pytest

from netsim.advice.taps.taps import taps
from netsim.analysis import Analysis
from netsim.description.formatting import format_quantity
from netsim.report.page.page import render
from netsim.report.page.taps_section import taps_section


def test_without_advice_and_winding_there_is_no_section(solved_plain: Analysis) -> None:
    assert taps_section(solved_plain, None) is None
    assert 'id="taps"' not in render(solved_plain)


def test_rows_say_what_the_advice_says(solved: Analysis) -> None:
    advice = taps(solved.amplifier)
    section = taps_section(solved, advice)
    assert section is not None
    for row, band in zip(section.rows, advice.bands, strict=True):
        assert (row.band, row.message) == (band.name, band.message)
        assert ("not tuned" in row.match) != band.present.tuned
        assert float(row.present.loaded_q) == pytest.approx(band.present.loaded_q, rel=5e-3)
        if band.proposed is not None and band.proposed.coil_turns is not None:
            assert row.proposed.place.startswith(f"{band.proposed.coil_turns:g} turns")
            for state, shown in (
                (band.present, row.present.settings),
                (band.proposed, row.proposed.settings),
            ):
                tune, load = shown
                assert tune == f"tune {format_quantity(state.tune_farad, 'F')}"
                assert load == f"load {format_quantity(state.load_farad, 'F')}"
    page = render(solved, advice)
    assert all(band.message in page.replace("&#39;", "'") for band in advice.bands)


def test_an_inductance_is_a_tap_without_turns(solved_plain: Analysis) -> None:
    section = taps_section(solved_plain, taps(solved_plain.amplifier, engine="two-port"))
    assert section is not None
    assert section.coils == ()
    assert section.without_turns
    assert "[[network.coil.winding]]" in render(solved_plain, taps(solved_plain.amplifier, engine="two-port"))
    assert section.rows[0].present.place == "11.2 µH"
    assert section.rows[0].proposed.place == "–"


def test_a_winding_is_drawn_with_its_present_taps_even_without_advice(circuits: Path) -> None:
    from netsim.analysis import analyse
    from netsim.description.reader import read

    solved = analyse(read(circuits / "new-tube.toml"), engine="two-port")
    section = taps_section(solved, None)
    assert section is not None
    assert section.rows == ()
    (coil,) = section.coils
    assert (coil.name, coil.end, coil.moves) == ("tank coil", "plate", False)
    for band in solved.amplifier.description.bands:
        assert band.coil_turns is not None
        assert f"{band.name} · {band.coil_turns:g}" in coil.drawing
    assert 'class="proposed"' not in coil.drawing


@pytest.mark.slow
def test_both_coils_of_a_wound_pi_l_are_drawn(wound: Path) -> None:
    from netsim.analysis import analyse
    from netsim.description.reader import read

    solved = analyse(read(wound), engine="two-port")
    advice = taps(solved.amplifier, engine="two-port")
    section = taps_section(solved, advice)
    assert section is not None
    assert not section.without_turns
    assert [(c.name, c.end, c.moves, c.to_scale, c.contacts) for c in section.coils] == [
        ("tank coil", "plate", True, True, True),
        ("output coil", "network", False, False, False),
    ]
    page = render(solved, advice)
    assert all(page.count(f'id="{name}-picture-title"') == 1 for name in ("coil", "output-coil"))
