"""Several conditions of one stage: each solved like a file of its own, with the same network."""

import json

import pytest

from netsim.analysis import analyse
from netsim.description.reader import loads, read
from netsim.errors import DescriptionError
from netsim.report.export import json_text

CARRIER = """
[[operating_points]]
name = "carrier"
bands = ["80 m", "20 m"]
plate_voltage = "1.6 kV"
no_load_plate_voltage = "1.8 kV"
plate_current = "400 mA"
"""


@pytest.fixture(scope="module")
def old(circuits):
    return read(circuits / "old-tubes.toml")


@pytest.fixture(scope="module")
def both(old):
    return analyse(loads(old.text + CARRIER, "both.toml"), engine="two-port").verdict


def test_a_point_is_what_a_file_with_that_stage_gives(old, both):
    """Derived: the same numbers as if the point's values stood under [stage]."""
    text = old.text
    for line in CARRIER.splitlines():
        key = line.partition(" =")[0]
        if key in ("plate_voltage", "no_load_plate_voltage", "plate_current"):
            text = "\n".join(line if row.startswith(f"{key} =") else row for row in text.splitlines())
    alone = analyse(loads(text, "alone.toml"), engine="two-port").verdict
    (point,) = both.operating_points
    assert point.stage == alone.stage
    assert point.bands == tuple(band for band in alone.bands if band.name in ("80 m", "20 m"))


def test_the_base_stage_is_untouched(old, both):
    alone = analyse(old, engine="two-port").verdict
    assert both.bands == alone.bands
    assert both.stage == alone.stage
    base = [f for f in both.findings if f.operating_point is None]
    assert sorted(f.message for f in base) == sorted(f.message for f in alone.findings)


def test_only_the_bands_it_serves_are_solved_and_judged(both):
    (point,) = both.operating_points
    assert [band.name for band in point.bands] == ["80 m", "20 m"]
    assert {f.band for f in both.findings if f.operating_point == "carrier"} == {"80 m", "20 m"}


def test_what_no_point_changes_is_told_once(both):
    codes = {f.code for f in both.findings if f.operating_point == "carrier"}
    assert "choke_resonance" not in codes
    assert "loaded_q" in codes


def test_one_band_alone_leaves_out_points_that_do_not_serve_it(old):
    amplifier = loads(old.text + CARRIER, "both.toml")
    assert analyse(amplifier, band="40 m", engine="two-port").verdict.operating_points == ()
    one = analyse(amplifier, band="20 m", engine="two-port")
    assert [band.name for band in one.verdict.operating_points[0].bands] == ["20 m"]
    assert [p.name for p in one.verdict.operating_points] == ["carrier"]


def test_the_key_stands_in_the_json_only_where_the_file_has_points(old, both):
    without = json.loads(json_text.dump(analyse(old, engine="two-port").verdict))
    told = json.loads(json_text.dump(both))
    assert "operating_points" not in without
    assert set(told["operating_points"][0]) == {"name", "stage", "bands"}
    assert set(told["operating_points"][0]["bands"][0]["points"][0]) == set(told["bands"][0]["points"][0])
    assert all(finding["operating_point"] is None for finding in without["findings"])


def test_an_impossible_point_is_told_at_its_own_line(old):
    text = old.text + '\n[[operating_points]]\nname = "hot"\nplate_load = "9 kohm"\n'
    with pytest.raises(DescriptionError, match="operating point 'hot'") as caught:
        analyse(loads(text, "hot.toml"), engine="two-port")
    (problem,) = caught.value.problems
    assert text.splitlines()[problem.line - 1] == "[[operating_points]]"
    assert problem.key == "operating_points[0]"


def test_ngspice_agrees_at_every_point(old):
    verdict = analyse(loads(old.text + CARRIER, "both.toml")).verdict
    points = [p for o in verdict.operating_points for band in o.bands for p in band.points]
    assert max(p.agreement.worst_relative for p in points) < 1e-9
