"""The two demonstration files of the bench, and the invented amplifiers that their readings were made of.

Cross-solver: what the true amplifier shows is worked out by scikit-rf's two-port analysis from the antenna's side.
"""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from
from turned_round import turned_round

import netsim
from netsim.advice.fit.fit import changes, fit
from netsim.analysis.bench.readings import readings
from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Branch, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.solvers import two_port

TRUTH = {
    "stage.plate_voltage": "2.025 kV",
    "stage.plate_current": "653 mA",
    "stage.output_capacitance": "13.2 pF",
    "network.suppressor.inductance": "42 nH",
    "network.tune_capacitor.stray": "6.9 pF",
    "network.coil.unloaded_q": 216,
    "network.coil.winding[0].mean_diameter": "53.1 mm",
}
"""The hidden amplifier of both files."""

WITHOUT_PADDING = {**TRUTH, "bands[80 m].load_padding": None}


def shown(truth, reading):
    """Return what an analyser shows of a cold match, from the socket to the resistor and its lead."""
    band = truth.description.bands[reading.band]
    there = band.model_copy(update={"frequencies": (reading.frequency,)})
    bands = (*truth.description.bands[: reading.band], there, *truth.description.bands[reading.band + 1 :])
    description = truth.description.model_copy(update={"bands": bands})
    parts = assemble(truth, description, bands=[reading.band], points=False).parts
    ladder = turned_round(parts, np.array([reading.tune]), np.array([reading.load]), 1800.0)
    lead = Branch(
        "lead",
        Inductor.of_quality(np.array([30e-9]), np.array(np.inf), parts.frequency),
        "far_end",
        "resistor",
    )
    end = Branch("antenna", Resistor(np.array([1800.0])), "resistor")
    whole = Ladder(ladder.frequency, (*ladder.branches[:-1], lead, end), ladder.couplings)
    return complex(two_port.solve(whole, np.ones(1)).plate_impedance[0, 0])


@pytest.mark.parametrize(("name", "truth"), [("on-the-bench", TRUTH), ("padding-left-out", WITHOUT_PADDING)])
def test_the_readings_are_those_of_the_hidden_amplifier(circuits, name, truth):
    amplifier = netsim.read(circuits / f"{name}.toml")
    there = amplifier.replace(truth)
    cold = [reading for reading in readings(amplifier) if reading.kind == "impedance"]
    assert cold
    for reading in cold:
        assert abs(shown(there, reading) - reading.value) < np.sqrt(2) * reading.half_width


@pytest.fixture(scope="module")
def fitted(circuits):
    return fit(netsim.read(circuits / "on-the-bench.toml"), engine="two-port")


def test_the_limits_after_hold_the_hidden_values(fitted, circuits):
    truth = netsim.read(circuits / "on-the-bench.toml").replace(TRUTH)
    from netsim.description.models.tables import value_at

    paths = {entry.key: entry.path for entry in fitted.amplifier.inputs}
    assert len(fitted.unknowns) == 7
    assert len(fitted.amplifier.description.measured) == 12
    for unknown in fitted.unknowns:
        value = value_at(truth.description, paths[unknown.key])
        assert unknown.fitted_low <= value <= unknown.fitted_high, unknown.key


def test_one_verdict_becomes_over_and_one_pass(fitted):
    moved = {
        (was.code, was.part, was.band): now
        for was, now in changes(fitted)
        if now is not None and was.unsure and not now.unsure
    }
    assert moved["part_power", "coil", "40 m"].state == "over"
    assert moved["tuning_range", "tune_capacitor", "10 m"].state == "pass"


def test_what_stands_before_is_what_check_tells(fitted, circuits):
    """One figure for one thing: the same samples."""
    checked = netsim.analyse(netsim.read(circuits / "on-the-bench.toml"), engine="two-port")
    without = tuple(replace(f, remedies=(), fix="") for f in checked.findings)
    assert tuple(replace(f, fix="") for f in fitted.before.verdict.findings) == without
    assert fitted.before.verdict.known == checked.verdict.known
    again = fit(fitted.amplifier, engine="two-port", before=checked.analysis)
    assert again.before is checked.analysis
    assert again.after.verdict.findings == fitted.after.verdict.findings


def test_the_fitted_file_can_be_checked(fitted, tmp_path):
    again = netsim.analyse(amplifier_from(fitted.text, tmp_path), engine="two-port", samples=256)
    assert again.counts["over"] == fitted.after.verdict.counts["over"]


def test_the_first_suspect_is_the_padding(circuits):
    found = fit(netsim.read(circuits / "padding-left-out.toml"), engine="two-port")
    assert not found.explained
    first, second, *_ = found.suspects
    assert (first.fault, first.band, first.explains) == ("padding_missing", "80 m", True)
    assert second.chi_square > 10 * first.chi_square
    assert not second.explains
