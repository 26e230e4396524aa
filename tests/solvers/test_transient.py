"""Two steady states compared. Expected values: 20 log10 of the ratio, by hand; gates from the project's contract."""

from dataclasses import replace

import numpy as np
import pytest

from netsim.circuit.elements import Branch, Capacitor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers.transient import GATES, Spectrum, difference, fourier, solve

LEVELS = np.array([0.0, -35.0, -45.0, -69.0, -75.0])
"""Of five orders [dBc]."""

BASE = Spectrum(300.0 * 10 ** (LEVELS / 20), 2500.0, 0.8, 0.5)


@pytest.mark.parametrize("ohm", [0.0, 25.0])
def test_a_coil_without_inductance_is_a_wire_or_a_resistor(ohm):
    """Derived: the plate current's fundamental through 50 ohm, with and without more in series with it."""
    none, frequency = np.zeros(1), np.array([7e6])
    branches = (
        Branch("plate_choke", Inductor(np.array([1e-3]), none), "plate"),
        Branch("blocking_capacitor", Capacitor(np.array([1e-6]), none), "plate", "tank"),
        Branch("coil", Inductor(none, np.array([ohm])), "tank", "output"),
        Branch("antenna", Resistor(np.array([50.0])), "output"),
    )
    tube = TubeConstants("grounded cathode", 1, 110.0, 1.1e-3, 90.0, None, -6.0, 60.0)
    found = solve(Ladder(frequency, branches), tube, 2600.0, None, cycles=60)
    assert found.antenna_voltage[0] == pytest.approx(50.0 * found.plate_current, rel=2e-3)
    assert found.plate_voltage == pytest.approx((50.0 + ohm) * found.plate_current, rel=2e-3)


def test_the_gates_of_the_contract():
    assert GATES == ((-40.0, 0.1), (-70.0, 0.3))


def test_the_same_does_not_differ():
    found = difference(BASE, BASE)
    assert (found.decibel, found.excess) == (0.0, 0.0)


def louder(order: int, decibel: float) -> Spectrum:
    """Return the base with one order of the antenna's voltage higher."""
    voltage = BASE.antenna_voltage.copy()
    voltage[order - 1] *= 10 ** (decibel / 20)
    return replace(BASE, antenna_voltage=voltage)


@pytest.mark.parametrize(
    ("other", "decibel", "excess", "quantity"),
    [
        (replace(BASE, plate_current_dc=0.75), 3.5218, 35.218, "plate current at DC"),  # 20 log10 1.5
        (replace(BASE, plate_current_dc=0.505), 0.0864, 0.864, "plate current at DC"),  # 20 log10 1.01
        (replace(BASE, plate_current=0.8 * 1.05), 0.4238, 4.238, "plate current"),
        (replace(BASE, plate_voltage=2500.0 / 1.05), 0.4238, 4.238, "plate voltage"),
        (louder(1, 0.05), 0.05, 0.5, "order 1 of the antenna's voltage"),
        (louder(2, 0.11), 0.11, 1.1, "order 2 of the antenna's voltage"),
        (louder(3, -0.29), 0.29, 0.29 / 0.3, "order 3 of the antenna's voltage"),
        (louder(4, 0.31), 0.31, 0.31 / 0.3, "order 4 of the antenna's voltage"),
        (louder(5, 4.0), 0.0, 0.0, None),  # at -71 still too weak to count
        (louder(5, 6.0), 6.0, 20.0, "order 5 of the antenna's voltage"),  # at -69 no longer
        (louder(3, 6.0), 6.0, 60.0, "order 3 of the antenna's voltage"),  # from -45 to -39
    ],
)
def test_each_quantity_and_its_gate(other, decibel, excess, quantity):
    for one, two in ((BASE, other), (other, BASE)):
        found = difference(one, two)
        assert found.decibel == pytest.approx(decibel, abs=2e-4)
        assert found.excess == pytest.approx(excess, rel=1e-3)
        if quantity is not None:
            assert found.quantity == quantity


def test_the_largest_difference_is_not_always_the_worst():
    """0.25 dB of a weak harmonic is allowed, 0.2 dB of the plate's voltage is not."""
    other = replace(louder(4, 0.25), plate_voltage=2500.0 * 10 ** (0.2 / 20))
    found = difference(BASE, other)
    assert found.decibel == pytest.approx(0.25)
    assert (found.excess, found.quantity) == (pytest.approx(2.0), "plate voltage")


@pytest.mark.parametrize("value", [0.0, np.nan, np.inf])
@pytest.mark.parametrize("where", ["plate_current_dc", "plate_current", "plate_voltage", "antenna_voltage"])
def test_what_is_no_number_differs_infinitely(value, where):
    changed = value if where != "antenna_voltage" else np.append(value, BASE.antenna_voltage[1:])
    for one, two in ((BASE, replace(BASE, **{where: changed})), (replace(BASE, **{where: changed}), BASE)):
        found = difference(one, two)
        assert found.excess == np.inf
        assert found.decibel == np.inf


def test_no_harmonic_on_one_side():
    """A lossless trap in the balance, and -50 dBc over time."""
    voltage = BASE.antenna_voltage.copy()
    voltage[2] = 0.0
    assert difference(BASE, replace(BASE, antenna_voltage=voltage)).excess == np.inf
    weak = voltage.copy()
    weak[2] = 1e-5
    assert (
        difference(replace(BASE, antenna_voltage=voltage), replace(BASE, antenna_voltage=weak)).excess == 0.0
    )


@pytest.mark.parametrize(("level", "counts"), [(-29.0, True), (-31.0, True), (-69.0, True), (-71.0, False)])
def test_orders_are_compared_down_to_70_db_below_the_fundamental(level, counts):
    """Contract: every order that either has above -70 dBc. Derived: one twice as large is 6.02 dB off."""
    size = 10 ** (level / 20)
    one, other = (Spectrum(np.array([300, 300 * size * factor]), 2500.0, 0.9, 0.5) for factor in (1.0, 0.5))
    # 0.5 of what lies near the limit may fall below it: the larger of the two counts.
    assert difference(one, other).decibel == (pytest.approx(6.0206, abs=1e-4) if counts else 0.0)


def test_harmonics_of_a_wave_at_uneven_times():
    """Derived: amplitudes put in; cross-solver: numpy's own least squares on the same samples, noise included."""
    rng = np.random.default_rng(7)
    time = np.sort(np.concatenate([np.linspace(8, 12, 1600), rng.uniform(8, 12, 200)]))
    phase = 2 * np.pi * time[:, np.newaxis] * np.arange(1, 25)
    sizes, angles = 10.0 ** -np.arange(24)[:, np.newaxis] * [3.0, 1.0], rng.uniform(0, 6, (24, 2))
    waves = np.stack(
        [0.7 + (sizes[:, k] * np.cos(phase + angles[:, k])).sum(axis=1) for k in range(2)], axis=1
    )
    mean, peaks = fourier(time, waves)
    np.testing.assert_allclose(mean, 0.7, rtol=1e-12)
    np.testing.assert_allclose(peaks, sizes, rtol=1e-9, atol=1e-12)
    waves = waves + 1e-3 * rng.normal(size=waves.shape)
    basis = np.concatenate([np.ones((len(time), 1)), np.cos(phase), np.sin(phase)], axis=1)
    expected = np.linalg.lstsq(basis, waves, rcond=None)[0]
    np.testing.assert_allclose(fourier(time, waves)[1], np.hypot(expected[1:25], expected[25:]), atol=1e-12)
