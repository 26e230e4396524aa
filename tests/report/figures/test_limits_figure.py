"""Limits before and after a fit, drawn."""

import re
from dataclasses import replace
from math import radians
from xml.etree import ElementTree

import pytest

from netsim.advice.fit.fit import Unknown
from netsim.report.figures.limits_figure import limits_figure

STRAY = Unknown(
    "network.tune_capacitor.stray", 45, "F", "file", 8e-12, 4e-12, 12e-12, 7e-12, 6e-12, 9e-12, True
)
QUALITY = Unknown("network.coil.q", 60, "1", "assumed", 200, 100, 400, 220, 110, 380, False)


def test_bars_stand_where_the_limits_are() -> None:
    """Derived: along one axis places go evenly with values; before 4 to 12 pF, after 6 to 9 pF, best fit 7 pF."""
    drawing = limits_figure([STRAY], "x").drawing
    edges = {
        colour: (float(left), float(right))
        for left, right, colour in re.findall(
            r'd="M ([\d.]+) [-\d.]+ L [\d.]+ [-\d.]+ ([\d.]+) [^"]*z "[^>]*?stroke: var\(--(muted|accent)\)',
            drawing,
        )
    }
    (low, high), (after_low, after_high) = edges["muted"], edges["accent"]
    assert (after_low - low) / (high - low) == pytest.approx((6 - 4) / 8, abs=0.005)
    assert (after_high - low) / (high - low) == pytest.approx((9 - 4) / 8, abs=0.005)
    dot = float(re.findall(r'<use [^>]*\bx="([\d.]+)"[^>]*fill: var\(--ink\)', drawing)[-1])
    assert (dot - low) / (high - low) == pytest.approx((7 - 4) / 8, abs=0.005)


def test_it_is_told_in_words_too() -> None:
    figure = limits_figure([STRAY, QUALITY], "x")
    root = ElementTree.fromstring(figure.drawing)
    spoken = next(element.text or "" for element in root if element.tag.endswith("desc"))
    for key, _, before, after, told in figure.rows:
        assert f"{key}: before {before}, after {after}, {told}" in spoken
    _, _, *columns = zip(*figure.rows, strict=True)
    assert columns == [
        ("8 pF (4 pF to 12 pF)", "200 (100 to 400)"),
        ("7 pF (6 pF to 9 pF)", "220 (110 to 380)"),
        ("told apart", "not told apart"),
    ]
    texts = [element.text for element in root.iter() if element.tag.endswith("text")]
    assert {"network.tune_capacitor.stray / pF", "network.coil.q", "told apart", "not told apart"} <= set(
        texts
    )
    assert {"4", "8", "12"} <= set(texts)  # in the unit beside the name


def test_names_of_the_user_are_text_and_cut_where_there_is_no_room() -> None:
    key = "bands[$x^2$ <script>&'\" " + "W" * 80 + "].coil"
    root = ElementTree.fromstring(limits_figure([replace(STRAY, key=key, unit="H")], "x").drawing)
    texts = [element.text or "" for element in root.iter() if element.tag.endswith("text")]
    (name,) = (text for text in texts if text.startswith("bands["))
    assert name.startswith("bands[$x^2$ <script>&'\" W")
    assert name.endswith("… / pH")
    assert len(name) <= 42


def test_angles_are_in_degrees() -> None:
    angle = replace(
        STRAY,
        key="stage.conduction_angle",
        unit="rad",
        nominal=radians(200),
        low=radians(190),
        high=radians(210),
        fitted=radians(201),
        fitted_low=radians(195),
        fitted_high=radians(207),
    )
    figure = limits_figure([angle], "x")
    assert figure.rows[0][2] == "200° (190° to 210°)"
    assert ">190<" in figure.drawing


def test_the_same_bytes_every_time() -> None:
    assert limits_figure([STRAY, QUALITY], "x").drawing == limits_figure([STRAY, QUALITY], "x").drawing
