"""The names of ``import netsim``: what they return, and that their examples are true."""

import doctest
import importlib
import json
import subprocess
import sys

import numpy as np
import pytest
from samples import TUBE, edited

import netsim
from netsim.public_names import HOMES


@pytest.fixture(scope="module")
def amplifier(root):
    return netsim.read(root / "circuits" / "new-tube.toml")


@pytest.fixture(scope="module")
def result(amplifier):
    return netsim.analyse(amplifier, engine="two-port")


@pytest.mark.parametrize("name", ["advice", "networks", "result"])
def test_examples(name, root, monkeypatch):
    monkeypatch.chdir(root)
    tried = doctest.testmod(importlib.import_module(f"netsim.api.{name}"))
    assert tried.attempted >= 3
    assert not tried.failed


@pytest.mark.parametrize("name", HOMES)
def test_every_name_is_there_and_typed(name, root):
    assert getattr(netsim, name).__name__ == name
    assert f" as {name}\n" in (root / "netsim" / "__init__.pyi").read_text()
    assert name in dir(netsim)


def test_importing_brings_in_nothing_heavy():
    loaded = (
        "import sys, netsim; print([m for m in ('numpy', 'skrf', 'PySpice', 'pydantic') if m in sys.modules])"
    )
    assert subprocess.check_output([sys.executable, "-c", loaded], text=True).strip() == "[]"


def test_no_other_name():
    with pytest.raises(AttributeError, match="watt"):
        netsim.watt  # noqa: B018


def test_a_result_is_its_json(result, amplifier):
    told = json.loads(result.to_json())
    assert told["counts"] == result.counts
    assert [band["name"] for band in told["bands"]] == [band.name for band in result.bands]
    assert len(told["findings"]) == len(result.findings)
    assert result.amplifier is amplifier


def test_a_frame_has_a_row_for_each_band_and_frequency(result):
    frame, points = result.frame(), [(b.name, p) for b in result.bands for p in b.points]
    assert list(zip(frame["band"], frame["frequency_hertz"], strict=True)) == [
        (name, p.frequency_hertz) for name, p in points
    ]
    assert frame["output_watt"].tolist() == [p.output_watt for _, p in points]
    assert frame["plate_impedance_ohm"].iloc[0] == complex(*points[0][1].plate_impedance_ohm)
    over = {f.band for f in result.findings if f.state == "over"}
    assert {
        band for band, state in zip(frame["band"], frame["state"], strict=True) if state == "over"
    } == over


def test_tables_in_a_notebook_escape_what_a_file_says(root):
    text = (root / "circuits" / "old-tubes.toml").read_text().replace('name = "80 m"', 'name = "<b>80</b>"')
    shown = netsim.analyse(netsim.loads(text), engine="two-port")._repr_html_()
    assert "&lt;b&gt;80" in shown
    assert "<b>80" not in shown


def test_a_page_is_written_whole_or_not_at_all(root, tmp_path):
    result = netsim.analyse(netsim.read(root / "circuits" / "old-tubes.toml"), engine="two-port")
    result.page(tmp_path / "page.html")
    assert (tmp_path / "page.html").read_text().rstrip().endswith("</html>")
    with pytest.raises(netsim.OutputError):
        result.page(tmp_path / "none" / "page.html")


def test_a_changed_amplifier_gives_another_result(amplifier, result):
    """The text, the hash and the values of a changed amplifier are those of the change."""
    other = amplifier.replace({"network.tune_capacitor.minimum": "2 pF"})
    changed = netsim.analyse(other, engine="two-port")
    assert changed.verdict.provenance.input_sha256 == other.sha256 != amplifier.sha256
    points = [band.points[-1].tune_farad for band in (result.bands[-1], changed.bands[-1])]
    assert points == pytest.approx([10e-12, 2.52e-12], rel=1e-2)


def test_settings_in_arrays_are_the_points_of_the_result(amplifier, result):
    """Cross-solver: at the result's settings arrays give the result; broadcasting gives the grid."""
    band = result.bands[1]
    tune, load, frequency = (
        [getattr(p, name) for p in band.points] for name in ("tune_farad", "load_farad", "frequency_hertz")
    )
    found = netsim.networks(amplifier, "40 m", tune=tune, load=load, frequency=frequency)
    assert found.output == pytest.approx([p.output_watt for p in band.points], rel=1e-9)
    assert found.tuned.all()
    for name, values in found.voltage_peak.items():
        if name != "band_switch":
            expected = [p.parts[name].voltage_peak_volt for p in band.points]
            assert values == pytest.approx(expected, rel=2e-3)
    grid = netsim.networks(amplifier, "40m", tune=np.array(tune)[:, None], load=["1 nF", "1100 pF", 1.2e-9])
    assert grid.plate_impedance.shape == (2, 3)
    assert grid.attenuation.shape == (2, 3, 10)
    assert grid.load[1].tolist() == pytest.approx([1e-9, 1.1e-9, 1.2e-9])
    assert not grid.tuned.any()


def test_settings_with_a_tube(plain, tmp_path):
    """The tube's steady state is what arrays give too."""
    amplifier = netsim.loads(edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0")) + TUBE)
    point = netsim.analyse(amplifier, engine="two-port").bands[0].points[0]
    found = netsim.networks(amplifier, "80 m", tune=point.tune_farad, load=point.load_farad)
    assert found.output == pytest.approx(point.output_watt, rel=1e-6)
    assert found.plate_dissipation == pytest.approx(point.plate_dissipation_watt, rel=1e-6)


@pytest.mark.parametrize("wrong", [-1e-12, np.nan, np.inf])
def test_settings_that_cannot_be(amplifier, wrong):
    with pytest.raises(netsim.UsageError, match="tune must be finite"):
        netsim.networks(amplifier, "40 m", tune=wrong, load=1e-9)


def test_advice_shows_and_writes_itself(amplifier):
    advice = netsim.taps(amplifier, plate_load="2 kohm", engine="two-port")
    assert [band["name"] for band in json.loads(advice.to_json())["bands"]] == [b.name for b in advice.bands]
    assert "40 m" in repr(advice)
    assert advice._repr_html_().startswith("<pre>")
    with pytest.raises(AttributeError, match="nothing"):
        advice.nothing  # noqa: B018


def test_two_results_side_by_side(amplifier, result, root):
    found = netsim.compare(netsim.read(root / "circuits" / "old-tubes.toml"), result, engine="two-port")
    assert found.worse
    assert "40 m" in json.loads(found.to_json())["bands"][1]["name"]
