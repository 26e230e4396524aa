"""Questions about what looks mistyped: neither findings nor errors."""

import pytest
from samples import TUBE, amplifier_from, edited

from netsim.analysis import analyse
from netsim.description.reader import loads


def asked(text, folder):
    return {
        note.code: note
        for note in analyse(amplifier_from(text, folder), engine="two-port", samples=1).verdict.notes
    }


@pytest.fixture
def matched(plain):
    return edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"))


def test_nothing_to_ask(matched, tmp_path):
    assert not asked(matched, tmp_path)


def test_a_coil_and_an_air_gap_wider_than_made(wound, tmp_path):
    text = edited(
        wound,
        ('mean_diameter = "52 mm"', 'mean_diameter = "520 mm"'),
        ('air_gap = "4 mm"', 'air_gap = "14 mm"'),
    )
    found = asked(text, tmp_path)
    assert "is it 52.0 mm?" in found["wide_coil"].message
    assert "is it 1.40 mm?" in found["wide_air_gap"].message


def test_a_grounded_grid_without_series_drive(matched, tmp_path):
    found = asked(
        "\n".join(x for x in matched.splitlines() if "drive_voltage" not in x) + "\n" + TUBE, tmp_path
    )
    assert found["no_series_drive"].key == "stage"


def test_count_against_perveance(matched, tmp_path):
    """Many tubes of a perveance that would carry the crest without any grid voltage: perveance is of all."""
    lines = TUBE.replace("1.1e-3", "2e-1").splitlines()
    tube = "\n".join(x for x in lines if not x.startswith(("bias", "drive")))
    found = asked(matched + tube + "\n", tmp_path)
    assert "are these of all together?" in found["count_or_perveance"].message


def test_limits_that_were_cut_are_told(plain):
    text = edited(plain, ("q = 300", 'q = "8 +- 90 %"'))
    notes = analyse(loads(text), engine="two-port", samples=1).verdict.notes
    (cut,) = [note for note in notes if note.code == "limits_cut"]
    assert cut.key == "network.coil.q"
    assert "the limits end at the plausible range" in cut.message
