import re
from xml.etree import ElementTree

import pytest

from netsim.advice.taps.coil_picture import CoilPicture, PictureMark, PictureRun
from netsim.report.figures.coil_figure import coil_figure

WIRE = PictureRun("solenoid", 0, 0.0, 10.0, 0.0, 0.1, 0.05, 0.01, 0.002)
FLAT = PictureRun("solenoid", 1, 10.0, 5.0, 0.0, 0.05, 0.03, 0.01, 0.004)
CORE = PictureRun("toroid", 0, 0.0, 20.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def mark(kind: str, turns: float, *bands: str, axis: int = 0, place: float = 0.0) -> PictureMark:
    return PictureMark(kind, bands, turns, axis, place)  # type: ignore[arg-type]


def drawn(*runs: PictureRun, marks: tuple[PictureMark, ...] = ()) -> str:
    return str(coil_figure(CoilPicture(runs, marks, "open"), "coil-picture", "tank coil", "plate"))


def strokes(drawing: str) -> list[list[tuple[float, float, float, float]]]:
    """Both ends of each turn drawn, run by run."""
    paths = re.findall(r'class="wire"[^>]* d="([^"]*)"', drawing)
    ends = re.compile(r"M([\d.]+) (-?[\d.]+)L([\d.]+) (-?[\d.]+)")
    return [[tuple(map(float, numbers)) for numbers in ends.findall(path)] for path in paths]  # type: ignore[misc]


def test_every_turn_is_drawn_at_its_pitch_and_diameter() -> None:
    """Derived: length to diameter of the drawing as 0.1 m to 0.05 m, conductor a fifth of the pitch."""
    drawing = drawn(WIRE)
    (turns,) = strokes(drawing)
    assert len(turns) == 10
    pitch = turns[1][0] - turns[0][0]
    assert (turns[0][3] - turns[0][1]) / (10 * pitch) == pytest.approx(0.5, abs=2e-3)
    thickness = re.search(r'stroke-width="([\d.]+)"', drawing)
    assert thickness is not None
    assert abs(float(thickness[1]) - pitch / 5) < 0.1


def test_axes_stand_beside_each_other_at_one_scale() -> None:
    first, second = strokes(drawn(WIRE, FLAT))
    assert second[0][0] > max(turn[2] for turn in first)
    assert (second[0][3] - second[0][1]) / (first[0][3] - first[0][1]) == pytest.approx(0.6, abs=2e-3)


def test_taps_stand_where_they_are_with_the_bands_that_use_them() -> None:
    marks = (mark("present", 5.0, "80 m", "40 m", place=0.05), mark("proposed", 2.5, "20 m", place=0.025))
    drawing = drawn(WIRE, marks=marks)
    (turns,) = strokes(drawing)
    pitch, start = turns[1][0] - turns[0][0], turns[0][0] - 0.25 * (turns[1][0] - turns[0][0])
    present = re.search(r'class="present" d="M([\d.]+) (-?[\d.]+)V', drawing)
    proposed = re.search(r'class="proposed" d="M([\d.]+) (-?[\d.]+)V', drawing)
    assert present is not None
    assert proposed is not None
    assert abs(float(present[1]) - (start + 5 * pitch)) < 0.3
    assert abs(float(proposed[1]) - (start + 2.5 * pitch)) < 0.3
    assert float(proposed[2]) < 0 < float(present[2])
    assert ">80 m, 40 m · 5<" in drawing
    assert ">20 m · 2.5<" in drawing


def test_no_leader_crosses_a_label() -> None:
    marks = tuple(
        mark("present", float(n), f"band {n}", place=0.01 * n + 0.002 * (n % 3)) for n in range(2, 10)
    )
    drawing = drawn(WIRE, marks=marks)
    leaders = [
        tuple(map(float, found)) for found in re.findall(r'd="M([\d.]+) ([\d.]+)V([\d.]+)"/><text', drawing)
    ]
    labels = [
        (float(x) - 6.9 * len(text), float(x), float(y))
        for x, y, text in re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="present">([^<]*)', drawing)
    ]
    assert len(leaders) == len(labels) == 8
    for number, (x, _, end) in enumerate(leaders):
        for other, (left, right, y) in enumerate(labels):
            assert number == other or not (left < x < right - 3 and end > y - 8)
    for number, (left, right, y) in enumerate(labels):
        for first, last, height in labels[number + 1 :]:
            assert height != y or right < first or last < left


def test_a_core_without_size_is_drawn_along_its_turns() -> None:
    drawing = drawn(CORE, marks=(mark("present", 5.0, "80 m"), mark("present", 20.0, "160 m")))
    places = [float(x) for x in re.findall(r'class="present" d="M([\d.]+)', drawing)]
    assert places[1] - 80 == pytest.approx(4 * (places[0] - 80))
    assert "along its turns" in drawing


def test_contacts_are_ticks_and_names_are_escaped_and_short() -> None:
    marks = (mark("segment", 3.0, place=0.03), mark("present", 3.0, "<b>" + "x" * 100, place=0.03))
    drawing = drawn(WIRE, marks=marks)
    assert drawing.count("v6") == 1
    assert "&lt;b&gt;xxxxxxxxxx…" in drawing
    root = ElementTree.fromstring(drawing)
    assert root.findtext("{http://www.w3.org/2000/svg}title") or root.findtext("title")


def test_the_ruler_is_a_round_length_in_the_scale_of_the_turns() -> None:
    drawing = drawn(WIRE)
    (turns,) = strokes(drawing)
    found = re.search(r'ruler" d="M[\d.]+ [\d.]+v8m0 -4h([\d.]+)m0 -4v8"/><text[^>]*>(\d+) mm<', drawing)
    assert found is not None
    millimetre = (turns[1][0] - turns[0][0]) / 10
    assert float(found[1]) == pytest.approx(float(found[2]) * millimetre, rel=5e-3)
    assert found[2].strip("0") in ("1", "2", "5")
    assert "ruler" not in drawn(CORE)
