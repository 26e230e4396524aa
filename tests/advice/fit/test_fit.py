"""The fit, against closed forms, hidden amplifiers and faults that were put in."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from samples import edited
from scipy.stats import truncnorm

import netsim
from netsim.advice.fit.faults import suspects
from netsim.advice.fit.fit import fit
from netsim.advice.fit.least_squares import PRIOR_DEVIATION, LeastSquares, Linear
from netsim.advice.fit.next_reading import _correlation_after
from netsim.advice.fit.posterior import _within_limits, posterior
from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import readings
from netsim.analysis.uncertainty.draws import places_of, values_at, variants
from netsim.circuit.assembly import Variants
from netsim.description.dial import Dial
from netsim.description.inputs import Input
from netsim.errors import UsageError

LIMITS = (
    ('plate_voltage = "2.6 kV"', 'plate_voltage = "2.6 kV +- 4 %"'),
    ('output_capacitance = "12 pF"', 'output_capacitance = "12 +- 4 pF"'),
    ('stray = "8 pF"', 'stray = "8 +- 4 pF"'),
    ('stray = "10 pF"', 'stray = "15 +- 8 pF"'),
    ("q = 300", 'q = "300 +- 30 %"'),
    ('coil = "5.8 uH"', 'coil = "5.8 uH +- 8 %"'),
    ('coil = "2.9 uH"', 'coil = "2.9 uH +- 8 %"'),
    ('maximum = "250 pF"\n', 'maximum = "250 pF"\ndial = [[0, "15 pF"], [40, "90 pF"], [100, "250 pF"]]\n'),
)
COLD = """
[[measured]]
what = "cold match"
band = "{band}"
frequency = "{frequency}"
plate_resistor = "2.7 kohm"
{tune}
load = "{load}"
impedance = "{z.real:.4f} {sign} {size:.4f}j ohm"
uncertainty = "3 %"
"""
PLACES = (
    ("80 m", "3.7 MHz", 'tune = "110 pF"', "800 pF"),
    ("40 m", "7.1 MHz", "tune_dial = 33", "400 pF"),
    ("40 m", "7.1 MHz", "tune_dial = 41", "400 pF"),
    ("20 m", "14.1 MHz", "tune_dial = 10", "190 pF"),
    ("20 m", "14.1 MHz", "tune_dial = 14", "230 pF"),
)
OUTPUT = """
[[measured]]
what = "output"
band = "40 m"
frequency = "7.1 MHz"
output = "{watts:.6g} W +- 4 %"
"""
CAPACITANCE = """
[[measured]]
what = "capacitance"
part = "tune_capacitor"
dial = 50
capacitance = "{picofarads:.6g} pF +- 2 %"
"""


def cold(place, z):
    band, frequency, tune, load = place
    sign = "-" if z.imag < 0 else "+"
    return COLD.format(band=band, frequency=frequency, tune=tune, load=load, z=z, sign=sign, size=abs(z.imag))


def read_file(plain, text=""):
    return netsim.loads(edited(plain, *LIMITS) + text)


def bench_of(plain, amplifier_of_truth, noise=None):
    """Make the readings that a true amplifier shows, and the file with them; noise in half-widths, one number each."""
    blank = read_file(
        plain,
        "".join(cold(p, 50 + 1j) for p in PLACES)
        + OUTPUT.format(watts=700)
        + CAPACITANCE.format(picofarads=120),
    )
    shown = amplifier_of_truth(Forward.of(blank, readings(blank)))
    noise = np.zeros(2 * len(PLACES) + 2) if noise is None else noise
    text = ""
    for n, (place, value) in enumerate(zip(PLACES, shown, strict=False)):
        z = complex(value[0])
        z += 0.03 * abs(z) * complex(noise[2 * n], noise[2 * n + 1])
        text += cold(place, complex(max(z.real, 0.1), z.imag))
    text += OUTPUT.format(watts=float(np.real(shown[-2][0])) * (1 + 0.04 * noise[-2]))
    text += CAPACITANCE.format(picofarads=float(np.real(shown[-1][0])) * 1e12 * (1 + 0.02 * noise[-1]))
    return read_file(plain, text)


def hidden(places):
    """Return what turns the readings' forward model into those of an amplifier at places between the limits."""

    def shown(forward):
        inputs = forward.amplifier.inputs
        values = values_at(inputs, np.asarray(places)[np.newaxis])
        return forward.computed(variants(inputs, values))

    return shown


class Straight:
    """A forward model that is linear: one number read for each row of a matrix."""

    def __init__(self, matrix, read, deviation):
        self.matrix = matrix
        self.readings = tuple(
            SimpleNamespace(kind="output", value=value, deviation=deviation) for value in read
        )

    def computed(self, copies: Variants):
        values = np.stack(list(copies.values.values()), axis=-1)
        return list((values @ self.matrix.T).T)


def line_unknowns(count):
    return tuple(Input(f"x{n}", ("bands", n, "coil"), 1, 0.0, -1.0, 1.0, "1", "file") for n in range(count))


@pytest.fixture
def straight():
    generator = np.random.default_rng(3)
    matrix = generator.normal(size=(6, 3)) * 4
    read = matrix @ [0.2, -0.1, 0.15] + generator.normal(size=6) * 0.3
    return LeastSquares(line_unknowns(3), Straight(matrix, read, 0.3))


def test_a_linear_fit_is_the_closed_form(straight):
    """Derived: the best fit is (J'J + P)^-1 J'y, its chi-square that of numpy's own least squares."""
    slopes = straight.forward.matrix / 0.3
    read = np.array([r.value for r in straight.readings]) / 0.3
    precision = np.eye(3) * 3  # variance of even limits of -1 to 1: 1/3
    wanted = np.linalg.solve(slopes.T @ slopes + precision, slopes.T @ read)
    best = straight.fitted()
    assert values_at(straight.inputs, best.linear.places) == pytest.approx(wanted, abs=1e-6)
    stacked = np.concatenate([slopes, np.eye(3) * np.sqrt(3)])
    (left,) = np.linalg.lstsq(stacked, np.concatenate([read, np.zeros(3)]), rcond=None)[1]
    assert best.chi_square == pytest.approx(left, rel=1e-6)


def test_what_is_known_after_is_the_closed_form_far_from_the_limits(straight):
    """Derived: with readings far sharper than the limits the posterior covariance is (J'J)^-1."""
    slopes = straight.forward.matrix / 0.3
    known = posterior(straight, straight.fitted().linear, 8192)
    spread = np.cov(values_at(straight.inputs, known.places).T)
    assert spread == pytest.approx(np.linalg.inv(slopes.T @ slopes), abs=6e-4)
    assert known.share == pytest.approx(1, abs=1e-3)


def test_limits_cut_the_normal_distribution_off():
    """Against scipy's truncated normal distribution."""
    about = Linear(np.array([0.9]), np.array([0.0]), np.array([[4.0]]))
    found = _within_limits(about, 8192, np.random.default_rng(1))[:, 0]
    exact = truncnorm((0 - 0.9) * 4, (1 - 0.9) * 4, loc=0.9, scale=0.25)
    assert found.mean() == pytest.approx(exact.mean(), abs=0.01)
    assert np.quantile(found, [0.025, 0.5, 0.975]) == pytest.approx(exact.ppf([0.025, 0.5, 0.975]), abs=0.015)


class Bent(Straight):
    """One number read, of ``x + 0.8 x^2``."""

    def computed(self, copies: Variants):
        (x,) = copies.values.values()
        return [x + 0.8 * x**2]


def test_a_bent_reading_counts_as_it_is():
    """Against the distribution itself, summed on a grid: even limits times the reading's normal error."""
    problem = LeastSquares(line_unknowns(1), Bent(None, [-0.1], 0.25))
    known = posterior(problem, problem.fitted().linear, 8192)
    x = np.linspace(-1, 1, 20001)
    density = np.exp(-0.5 * ((x + 0.8 * x**2 + 0.1) / 0.25) ** 2)
    share = np.cumsum(density) / density.sum()
    exact = np.interp([0.025, 0.5, 0.975], share, x)
    found = np.quantile(values_at(problem.inputs, known.places), [0.025, 0.5, 0.975])
    assert found == pytest.approx(exact, abs=0.05)
    assert known.share < 0.9


def test_without_readings_of_it_an_unknown_stays_even():
    about = Linear(np.array([0.5, 0.5]), np.array([0.0]), np.array([[9.0, 0.0]]))
    found = _within_limits(about, 8192, np.random.default_rng(1))
    assert np.quantile(found[:, 1], [0.025, 0.5, 0.975]) == pytest.approx([0.025, 0.5, 0.975], abs=0.02)


def test_a_hidden_amplifier_is_found(plain):
    amplifier = read_file(plain)
    places = np.array([0.3, 0.8, 0.2, 0.6, 0.35, 0.7, 0.25])
    found = fit(bench_of(plain, hidden(places)), engine="two-port")
    truth = values_at(amplifier.inputs, places)
    assert found.explained
    assert found.chi_square < found.degrees
    assert found.after.verdict.counts["unsure"] <= found.before.verdict.counts["unsure"]
    for unknown, value in zip(found.unknowns, truth, strict=True):
        assert unknown.fitted_low <= value <= unknown.fitted_high, unknown.key
        assert unknown.low <= unknown.fitted_low < unknown.fitted_high <= unknown.high
    told = {unknown.key for unknown in found.unknowns if unknown.told_apart}
    assert told >= {"bands[40 m].coil", "bands[20 m].coil"}
    assert all(reading.compared.en < 1 for reading in found.readings)


def test_the_fitted_file_says_the_same(plain):
    found = fit(bench_of(plain, hidden([0.3, 0.8, 0.2, 0.6, 0.35, 0.7, 0.25])), engine="two-port")
    again = netsim.loads(found.text)
    written = {entry.key: entry for entry in again.inputs}
    for unknown in found.unknowns:
        if unknown.told_apart:
            entry = written[unknown.key]
            assert entry.low == pytest.approx(unknown.fitted_low, rel=0.02)
            assert entry.high == pytest.approx(unknown.fitted_high, rel=0.02)
    assert "# An invented amplifier" in found.text
    assert found.diff.startswith("--- ")


def test_correlated_unknowns_are_named():
    """Two unknowns of which only the sum was read."""
    matrix = np.array([[5.0, 5.0]])
    problem = LeastSquares(line_unknowns(2), Straight(matrix, [0.4], 0.05))
    places = posterior(problem, problem.fitted().linear).places
    assert np.corrcoef(places.T)[0, 1] < -0.9


@pytest.mark.slow
def test_limits_hold_the_truth_as_often_as_they_say(plain):
    """Two hundred hidden amplifiers, drawn evenly, read with even errors: 95 % limits hold 93 to 99 of a hundred."""
    generator = np.random.default_rng(20260303)
    amplifier = read_file(plain)
    count, held, told = 200, [], 0
    for _ in range(count):
        places = generator.random(len(amplifier.inputs))
        noise = generator.uniform(-1, 1, 2 * len(PLACES) + 2)
        hidden_one = bench_of(plain, hidden(places), noise)
        problem = LeastSquares(hidden_one.inputs, Forward.of(hidden_one, readings(hidden_one)))
        best = problem.fitted()
        known = posterior(problem, best.linear, 512)
        low, high = np.quantile(known.places, (0.025, 0.975), axis=0)
        held.append((low <= places) & (places <= high))
        told += int((known.places.std(axis=0) < 0.7 * PRIOR_DEVIATION).sum())
    share = float(np.mean(held))
    assert 0.93 <= share <= 0.99
    assert told > count  # it is no feat to hold what nothing was learnt of


def fault_found(plain, *changes, shown=None):
    """Read a true amplifier that differs from the file by a fault, and rank what may be wrong with it."""
    truth = netsim.loads(edited(plain, *LIMITS, *changes))

    def readings_of_truth(forward):
        there = Forward.of(truth, forward.readings)
        return there.computed(Variants())

    amplifier = bench_of(plain, shown or readings_of_truth)
    problem = LeastSquares(amplifier.inputs, Forward.of(amplifier, readings(amplifier)))
    assert problem.fitted().chi_square > problem.most_chi_square
    return suspects(problem)


def test_padding_that_was_left_out(plain):
    first, *_ = fault_found(plain, ('load_padding = "300 pF"\n', ""))
    assert (first.fault, first.band, first.explains) == ("padding_missing", "80 m", True)


def test_padding_that_is_always_in(plain):
    first, *_ = fault_found(
        plain,
        ('coil = "5.8 uH +- 8 %"', 'coil = "5.8 uH +- 8 %"\ntune_padding = "50 pF"'),
        ('coil = "2.9 uH +- 8 %"', 'coil = "2.9 uH +- 8 %"\ntune_padding = "50 pF"'),
    )
    assert (first.fault, first.explains) == ("padding_stuck", True)


def test_a_blocking_capacitor_of_a_tenth(plain):
    found = fault_found(plain, ('capacitance = "1 nF"', 'capacitance = "100 pF"'))
    assert (found[0].fault, found[0].explains) == ("blocking_low", True)


@pytest.mark.slow
def test_a_dial_read_from_the_other_end(plain):
    def shown(forward):
        dial = Dial(forward.amplifier.description.network.tune_capacitor.dial)

        def turned(reading):
            if reading.given.tune_dial is not None:
                return replace(reading, tune=float(dial.capacitance(100 - reading.given.tune_dial)))
            if reading.given.dial is not None:
                return replace(reading, alone=float(dial.capacitance(100 - reading.given.dial)))
            return reading

        return Forward.of(forward.amplifier, [turned(r) for r in forward.readings]).computed(Variants())

    first, *_ = fault_found(plain, shown=shown)
    assert (first.fault, first.explains) == ("dial_reversed", True)
    assert "tune" in first.words


@pytest.mark.slow
def test_a_gang_that_is_not_connected(plain):
    def shown(forward):
        halved = [replace(r, load=r.load / 2) if r.load is not None else r for r in forward.readings]
        return Forward.of(forward.amplifier, halved).computed(Variants())

    first, *_ = fault_found(plain, shown=shown)
    assert (first.fault, first.explains) == ("gang_open", True)
    assert "load" in first.words


@pytest.mark.slow
def test_a_shorted_turn(plain):
    """A turn that takes an eighth of the inductance, and as much again of loss: what the fault supposes is found."""

    def shown(forward):
        from netsim.analysis.bench.forward import SHORTED_TURN

        return forward.computed(Variants(1, {SHORTED_TURN: np.array([0.12])}))

    first, *_ = fault_found(plain, shown=shown)
    assert (first.fault, first.explains) == ("shorted_turn", True)


@pytest.mark.slow
def test_a_tap_two_steps_off(circuits):
    """Readings of an amplifier whose tap of 40 m stands half a turn further on."""
    amplifier = netsim.read(circuits / "on-the-bench.toml")
    truth = amplifier.replace({"bands[40 m].coil_turns": 14.0})
    read = readings(amplifier)
    there = [values[0] for values in Forward.of(truth, read).computed(Variants())]
    known = tuple(
        replace(reading, value=value if reading.kind == "impedance" else float(np.real(value)))
        for reading, value in zip(read, there, strict=True)
    )
    problem = LeastSquares(amplifier.inputs, Forward.of(amplifier, known))
    first, *_ = suspects(problem)
    assert (first.fault, first.band, first.explains) == ("tap_step", "40 m", True)
    assert "2 steps on" in first.words


def test_rms_taken_for_peak(plain):
    def shown(forward):
        values = forward.computed(Variants())
        return [*values[:-2], values[-2] / 2, values[-1]]

    first, *_ = fault_found(plain, shown=shown)
    assert (first.fault, first.explains) == ("rms_for_peak", True)


def test_a_reading_that_contradicts_the_rest_is_named_and_kept(plain):
    def shown(forward):
        values = forward.computed(Variants())
        return [*values[:-2], values[-2] * 1.4, values[-1]]

    found = fit(bench_of(plain, shown), engine="two-port")
    assert not found.explained
    assert found.after is None
    assert found.diff == ""
    worst = max(found.readings, key=lambda reading: reading.off)
    assert worst.contradicts
    assert worst.compared.what == "output"
    assert len(found.readings) == len(PLACES) + 2


def test_a_file_without_readings(plain):
    with pytest.raises(UsageError, match="no readings"):
        fit(read_file(plain), engine="two-port")


def test_places_and_values_are_inverse(plain):
    inputs = read_file(plain).inputs
    places = np.random.default_rng(1).random((5, len(inputs)))
    assert places_of(inputs, values_at(inputs, places)) == pytest.approx(places)


def test_a_reading_leaves_two_unknowns_correlated_as_regression_does():
    """Cross-solver: the correlation of what numpy's least squares leave of both unknowns."""
    generator = np.random.default_rng(4)
    places = generator.normal(size=(4000, 2)) @ np.array([[1.0, 0.9], [0.0, 0.4]])
    places -= places.mean(axis=0)
    read = (places @ np.array([1.0, 0.7]) + 0.2 * generator.normal(size=4000))[:, np.newaxis]
    centred = read - read.mean(axis=0)
    left = places - centred @ np.linalg.lstsq(centred, places)[0]
    wanted = np.corrcoef(left.T)[0, 1]
    assert abs(wanted - np.corrcoef(places.T)[0, 1]) > 0.1
    assert _correlation_after(places, read, 0.0) == pytest.approx(wanted)
