"""Circuits over time: closed forms worked out beside each, and scipy's integration of Kirchhoff's equations."""

import doctest
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp, trapezoid

from netsim.errors import EngineFailedError
from netsim.solvers import time_domain
from netsim.solvers.time_domain import GROUND, Circuit, Diode, run_transient

THERMAL_VOLT = 1.380649e-23 * 300.15 / 1.602176634e-19
"""k T / q at 27 degC, the engine's own temperature (constants: SI, exact)."""


def test_the_example_of_the_docstring():
    tried = doctest.testmod(time_domain)
    assert tried.attempted >= 5
    assert tried.failed == 0


def test_capacitor_through_a_resistor():
    """Derived: v = V exp(-t / RC), i = v / R; the charge that flows is C times the voltage lost."""
    circuit = Circuit()
    top = circuit.node()
    circuit.capacitor(top, GROUND, 30e-6, initial_volt=3000.0)
    bleeder = circuit.resistor(top, GROUND, 100e3)
    waves = run_transient(circuit, 0.01, 6.0, [top, bleeder, GROUND])
    expected = 3000.0 * np.exp(-waves.time / 3.0)
    np.testing.assert_allclose(waves[top], expected, rtol=1e-4)
    np.testing.assert_allclose(waves[bleeder], expected / 100e3, rtol=1e-4)
    assert not waves[GROUND].any()
    charge = trapezoid(waves[bleeder], waves.time)
    assert charge == pytest.approx(30e-6 * (3000.0 - expected[-1]), rel=1e-4)


def test_ring_of_coil_and_capacitor():
    """Derived: a charged C on L with R in series; i = V / (w L) exp(-a t) sin(w t), a = R / 2L, w^2 = 1/LC - a^2."""
    henry, farad, ohm, volt = 1e-3, 1e-6, 5.0, 100.0
    circuit = Circuit()
    top, middle = circuit.node(), circuit.node()
    circuit.capacitor(top, GROUND, farad, initial_volt=volt)
    coil = circuit.inductor(top, middle, henry)
    circuit.resistor(middle, GROUND, ohm)
    waves = run_transient(circuit, 2e-7, 1e-3, [coil])
    damping = ohm / (2 * henry)
    omega = math.sqrt(1 / (henry * farad) - damping**2)
    expected = volt / (omega * henry) * np.exp(-damping * waves.time) * np.sin(omega * waves.time)
    np.testing.assert_allclose(waves[coil], expected, atol=1e-4 * volt * math.sqrt(farad / henry))


def test_current_of_a_coil_to_start_from():
    """Derived: i = I exp(-t R / L)."""
    circuit = Circuit()
    top = circuit.node()
    coil = circuit.inductor(GROUND, top, 0.2, initial_ampere=1.5)
    circuit.resistor(top, GROUND, 40.0)
    waves = run_transient(circuit, 1e-5, 0.02, [coil])
    np.testing.assert_allclose(waves[coil], 1.5 * np.exp(-waves.time * 200.0), rtol=1e-4)


def test_half_wave_rectifier():
    """Cross-solver: a diode's exponential law behind the winding's resistance into C and R, by scipy.

    With the current i through winding and diode as the one unknown of ``e - v = i R_s + n V_T ln(1 + i / I_s)``,
    found by Newton at each instant, the capacitor's voltage is one differential equation.
    """
    kind, ohm, farad, load = Diode(1e-9, 1.8), 8.0, 50e-6, 2e3
    peak, hertz = 500.0, 50.0
    circuit = Circuit()
    source, plate, top = (circuit.node() for _ in range(3))
    circuit.sine(source, GROUND, peak, hertz)
    winding = circuit.resistor(source, plate, ohm)
    circuit.diode(plate, top, kind)
    circuit.capacitor(top, GROUND, farad)
    circuit.resistor(top, GROUND, load)
    waves = run_transient(circuit, 2e-5, 0.1, [top, winding])

    def current(drop: float) -> float:
        if drop <= 0:
            return 0.0
        nvt, found = kind.emission_coefficient * THERMAL_VOLT, max(drop - 1.0, 1e-6) / ohm
        for _ in range(60):
            miss = found * ohm + nvt * math.log1p(found / kind.saturation_current) - drop
            slope = ohm + nvt / (found + kind.saturation_current)
            found = max(found - miss / slope, found / 10)
        return found

    def slope(time: float, state: np.ndarray) -> list[float]:
        drive = peak * math.sin(2 * math.pi * hertz * time)
        return [(current(drive - state[0]) - state[0] / load) / farad]

    solved = solve_ivp(slope, (0, 0.1), [0.0], t_eval=waves.time, max_step=2e-5, rtol=1e-7, atol=1e-5)
    np.testing.assert_allclose(waves[top], solved.y[0], atol=0.03)
    inrush = max(
        current(peak * math.sin(2 * math.pi * hertz * t) - v)
        for t, v in zip(solved.t, solved.y[0], strict=True)
    )
    assert waves[winding].max() == pytest.approx(inrush, rel=2e-3)
    assert waves[top][-1] > 400.0


@pytest.mark.parametrize("coefficient", [0.9, -0.9])
def test_coupled_coils(coefficient):
    """Derived: an open secondary shows M / L1 times the primary's voltage, its sense that of the coupling."""
    circuit = Circuit()
    primary, secondary = circuit.node(), circuit.node()
    circuit.sine(primary, GROUND, 10.0, 1e3, phase_degree=90.0)
    one = circuit.inductor(primary, GROUND, 4e-3)
    other = circuit.inductor(secondary, GROUND, 1e-3)
    circuit.couple(one, other, coefficient)
    circuit.resistor(secondary, GROUND, 1e9)
    waves = run_transient(circuit, 1e-6, 2e-3, [primary, secondary])
    np.testing.assert_allclose(waves[secondary][5:], coefficient / 2 * waves[primary][5:], atol=1e-6)


def test_timed_switch_closes_and_opens():
    """Derived: C is charged through R between the two instants and keeps its voltage afterwards."""
    circuit = Circuit()
    supply, before, top = (circuit.node() for _ in range(3))
    circuit.voltage(supply, GROUND, 100.0)
    circuit.timed_switch(supply, before, closes=1e-3, opens=3e-3, on=1e-3, off=1e12)
    circuit.resistor(before, top, 1e3)
    circuit.capacitor(top, GROUND, 2e-6)
    waves = run_transient(circuit, 1e-5, 5e-3, [top])
    charging = np.clip(waves.time, 1e-3, 3e-3) - 1e-3
    np.testing.assert_allclose(waves[top], 100.0 * -np.expm1(-charging / 2e-3), atol=0.02)


def test_switch_by_a_voltage():
    """Derived: closed while the pulse is above half, so the divider shows half the supply then, else nothing."""
    circuit = Circuit()
    supply, out, control = (circuit.node() for _ in range(3))
    circuit.voltage(supply, GROUND, 10.0)
    circuit.pulse(control, GROUND, 0.0, 2.0, delay=1e-3, edge=1e-6, width=1e-3, period=4e-3)
    circuit.switch(supply, out, (control, GROUND), closes_at=1.0, on=1.0, off=1e9)
    circuit.resistor(out, GROUND, 1.0)
    waves = run_transient(circuit, 1e-5, 8e-3, [out, control], begin=4e-3)
    assert waves.time[0] >= 4e-3 - 1e-5
    high, low = waves[control] > 1.9, waves[control] < 0.1
    np.testing.assert_allclose(waves[out][high], 5.0, rtol=1e-6)
    np.testing.assert_allclose(waves[out][low], 0.0, atol=1e-6)
    assert high.any()
    assert low.any()


def test_arc_empties_a_capacitor_to_its_drop():
    """Derived: charge C (V - U), of which the arc takes U each and the resistor C (V - U)^2 / 2; then it is out."""
    farad, volt, drop, ohm = 30e-6, 3100.0, 50.0, 25.0
    circuit = Circuit()
    top, plate = circuit.node(), circuit.node()
    circuit.capacitor(top, GROUND, farad, initial_volt=volt)
    glitch = circuit.resistor(top, plate, ohm)
    arc = circuit.arc(plate, GROUND, strikes=1e-4, drop_volt=drop, ohm=1e-3)
    waves = run_transient(circuit, 2e-6, 12e-3, [top, plate, glitch, arc])
    current = waves[arc]
    np.testing.assert_allclose(current, waves[glitch], atol=1e-3)
    assert np.abs(current[waves.time < 0.99e-4]).max() < 1e-4
    assert current.max() == pytest.approx((volt - drop) / ohm, rel=1e-3)
    assert trapezoid(current, waves.time) == pytest.approx(farad * (volt - drop), rel=1e-3)
    assert trapezoid(current**2 * ohm, waves.time) == pytest.approx(farad * (volt - drop) ** 2 / 2, rel=1e-3)
    assert trapezoid(current * waves[plate], waves.time) == pytest.approx(
        farad * (volt - drop) * drop, rel=2e-3
    )
    assert waves[top][-1] == pytest.approx(drop, abs=0.5)
    assert abs(current[-1]) < 1e-3
    assert current.min() > -1e-3


def test_without_initial_conditions_from_the_operating_point():
    """Derived: a divider's capacitor starts at half the supply, whatever it was said to hold."""
    circuit = Circuit()
    supply, middle = circuit.node(), circuit.node()
    circuit.voltage(supply, GROUND, 12.0)
    circuit.resistor(supply, middle, 1e3)
    circuit.resistor(middle, GROUND, 1e3)
    circuit.capacitor(middle, GROUND, 1e-6, initial_volt=1.0)
    settled = run_transient(circuit, 1e-5, 1e-3, [middle], use_initial_conditions=False)
    np.testing.assert_allclose(settled[middle], 6.0, rtol=1e-6)
    given = run_transient(circuit, 1e-5, 1e-3, [middle])
    assert given[middle][0] == pytest.approx(1.0, abs=0.2)


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_parts_that_cannot_be(value):
    circuit = Circuit()
    top = circuit.node()
    for build in (circuit.resistor, circuit.capacitor, circuit.inductor):
        with pytest.raises(EngineFailedError, match=r"finite and above zero"):
            build(top, GROUND, value)


def test_values_that_are_no_numbers_and_times_out_of_order():
    circuit = Circuit()
    top = circuit.node()
    with pytest.raises(EngineFailedError, match="not a finite number"):
        circuit.voltage(top, GROUND, math.nan)
    with pytest.raises(EngineFailedError, match="between -1 and 1"):
        circuit.couple(circuit.inductor(top, GROUND, 1e-3), circuit.inductor(top, GROUND, 1e-3), 1.5)
    with pytest.raises(EngineFailedError, match="closes at"):
        circuit.timed_switch(top, GROUND, closes=2e-3, opens=1e-3, on=1.0, off=1e9)
    for times in ((1e-3, 1e-4, 0.0), (1e-5, 1e-3, 2e-3), (0.0, 1e-3, 0.0), (1e-5, math.inf, 0.0)):
        with pytest.raises(EngineFailedError):
            run_transient(circuit, times[0], times[1], [top], begin=times[2])


def test_names_are_made_here():
    """Every line holds generated names, numbers and the engine's own words; a brace in none of them."""
    circuit = Circuit()
    top = circuit.node()
    branch = circuit.resistor(top, GROUND, 1e3)
    lines = circuit.render(1e-5, 1e-3, 0.0, [top, branch], True).splitlines()
    assert lines[1:5] == ["vsense0 n1 sense0 0", "r0 sense0 0 1000.0", ".save v(n1)", ".save i(vsense0)"]
