"""Typical values where the file is silent. Derived: the same amplifier with the typical values written out."""

import pytest

from netsim.analysis import analyse
from netsim.description.reader import loads

BARE = """
[stage]
plate_voltage = "2.5 kV"
plate_current = "500 mA"
conduction_angle = "180 deg"
plate_load = "2 kohm"
[network]
topology = "pi"
[network.plate_choke]
inductance = "200 uH"
[network.blocking_capacitor]
capacitance = "1 nF"
[network.tune_capacitor]
minimum = "10 pF"
maximum = "500 pF"
[network.load_capacitor]
minimum = "10 pF"
maximum = "2 nF"
[network.coil]
[network.output_choke]
inductance = "2 mH"
[[bands]]
name = "40 m"
frequencies = ["7.0 MHz"]
coil = "5 uH"
load_padding = "100 pF"
"""
WRITTEN = {
    "network.plate_choke.q": 100,
    "network.blocking_capacitor.q": 1000,
    "network.tune_capacitor.q": 1500,
    "network.tune_capacitor.stray": "8 pF",
    "network.coil.q": 200,
    "network.load_capacitor.q": 1500,
    "network.load_capacitor.stray": "15 pF",
    "network.load_padding.q": 1000,
    "network.output_choke.q": 100,
}


@pytest.fixture(scope="module")
def bare():
    return loads(BARE)


def assumed(result):
    keys = {".".join(key.split(".")[1:]) for key in WRITTEN}
    return {f"{a.part}.{a.key}": a.assumed for a in result.verdict.assumptions if f"{a.part}.{a.key}" in keys}


def test_silence_counts_as_the_typical_values_written_out(bare):
    silent, told = (analyse(a, engine="two-port", samples=1).verdict for a in (bare, bare.replace(WRITTEN)))
    # The losses of a band have ranges where something is typical only.
    assert [band.points for band in silent.bands] == [band.points for band in told.bands]
    losses = silent.bands[0].points[0].parts
    assert all(
        losses[name].loss_watt > 0 for name in ("coil", "tune_capacitor", "load_padding", "output_choke")
    )


def test_each_is_listed_with_its_limits_and_none_that_is_written(bare):
    found = assumed(analyse(bare, engine="two-port", samples=1))
    assert len(found) == len(WRITTEN)
    assert found["coil.q"] == "typical: 200, 100 to 400 (common practice)"
    assert found["tune_capacitor.stray"] == "typical: 8 pF, 4 pF to 16 pF (common practice)"
    assert assumed(analyse(bare.replace(WRITTEN), engine="two-port", samples=1)) == {}


def test_the_ideal_is_written_as_such(bare):
    """Derived: without loss all of the plate power comes out."""
    ideal = {key: "0 pF" if key.endswith("stray") else "inf" for key in WRITTEN}
    result = analyse(bare.replace(ideal), engine="two-port", samples=1)
    assert assumed(result) == {}
    assert result.verdict.bands[0].points[0].efficiency == pytest.approx(1, abs=1e-9)
    assert analyse(bare, engine="two-port", samples=1).verdict.bands[0].points[0].efficiency < 0.97
