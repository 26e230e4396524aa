"""The coil laid out. Derived: by hand, from the sizes in the file."""

import pytest

from netsim.advice.taps.coil_picture import coil_picture
from netsim.advice.taps.taps import taps
from netsim.analysis import analyse
from netsim.description.reader import read


def test_runs_and_marks_to_scale(wound):
    walked = analyse(read(wound), engine="two-port", samples=1)
    advice = taps(read(wound), engine="two-port")
    picture = coil_picture(walked, advice)
    tubing, wire = picture.runs
    assert (tubing.place, tubing.length, tubing.mean_diameter) == pytest.approx((0.0, 0.07, 0.052))
    assert (wire.place, wire.length, wire.begin_turns) == pytest.approx((0.085, 0.105, 7.0))
    assert tubing.axis == wire.axis
    present = [mark for mark in picture.marks if mark.kind == "present"]
    # 25 turns: 7 of tubing, then 18 of wire at 5 mm.
    assert [(m.bands, m.turns) for m in present] == [
        (("17 m", "15 m"), 8.0),
        (("20 m",), 12.0),
        (("40 m",), 17.0),
        (("80 m",), 25.0),
    ]
    assert present[-1].place == pytest.approx(0.085 + 18 * 0.005)
    proposed = {m.bands: m.turns for m in picture.marks if m.kind == "proposed"}
    assert proposed["17 m", "15 m"] == advice.bands[3].proposed.coil_turns
    assert [m.turns for m in picture.marks if m.kind == "segment"] == [6, 8, 12, 17]
    assert [m.turns for m in picture.marks] == sorted(m.turns for m in picture.marks)


def test_a_toroid_has_an_axis_of_its_own(wound):
    walked = analyse(read(wound), engine="two-port", samples=1)
    picture = coil_picture(walked, name="output_coil")
    assert [run.kind for run in picture.runs] == ["solenoid", "toroid"]
    assert picture.runs[0].axis != picture.runs[1].axis


def test_a_plain_file_has_no_picture(plain):
    assert coil_picture(analyse(read(plain), engine="two-port", samples=1)) is None
