"""The plate supply over time: laws of circuits, the limits of rectifiers, and ngspice against the integration."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from netsim.circuit.box.plate_supply import PlateSupply
from netsim.solvers.supply import integration, over_time

BRIDGE = PlateSupply(50.0, 3000.0, 45.0, "bridge", 35e-6, 8, 150e3, 800e3, 1800.0, 0.6, 25.0, 0.0)
KINDS = ("bridge", "full-wave", "doubler")


def of(kind: str, **changed: float) -> PlateSupply:
    peak = BRIDGE.peak / 2 if kind == "doubler" else BRIDGE.peak
    return replace(BRIDGE, rectifier=kind, peak=peak, **changed)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=8)
@given(st.floats(0.02, 1.0), st.floats(10, 300), st.floats(5e-6, 100e-6))
def test_what_the_mains_give_is_what_the_load_and_the_losses_take(kind, load, resistance, capacitance):
    # Derived: power is conserved. A load of constant current takes its mean voltage times it; the bleeder v^2 / R,
    # whose mean square exceeds the squared mean by at most ripple^2 / 4.
    supply = of(kind, resistance=resistance, capacitance=capacitance)
    found = integration.steady(supply, load)
    if found.mean < 0.3 * supply.highest:
        return  # collapsed: the load lets go
    taken = found.mean * load + found.mean**2 * supply.conductance + found.winding
    more = found.ripple**2 / 4 * supply.conductance
    assert taken * (1 - 1e-4) <= found.mains <= (taken + more) * (1 + 1e-4)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("load", [0.0, 0.05, 0.6])
def test_ngspice_agrees(kind, load):
    supply = of(kind)
    one = integration.steady(supply, load)
    other = over_time.steady(supply, load, one.start)
    assert other.mean == pytest.approx(one.mean, rel=1e-4)
    assert other.highest == pytest.approx(one.highest, rel=1e-4)
    assert other.ripple == pytest.approx(one.ripple, abs=1e-3 * one.highest)
    for name in ("secondary_rms", "secondary_peak", "mains", "winding"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=5e-3)


def test_ngspice_agrees_where_capacitors_follow_within_microseconds():
    """Cross-solver: with a step of the mains alone the first current through the diodes came out 4 % too high."""
    small = replace(BRIDGE, peak=738.0, resistance=3.2, capacitance=2.4e-6, frequency=60.0)
    supply = replace(small, rectifier="full-wave")
    one = integration.steady(supply, 0.08)
    other = over_time.steady(supply, 0.08, one.start)
    assert other.secondary_peak == pytest.approx(one.secondary_peak, rel=2e-3)


def test_ngspice_from_empty_capacitors_ends_at_the_same_steady_state():
    # A cold start shares nothing with the integration's own periodic state.
    supply = replace(BRIDGE, bleeder=20e3)
    one = integration.steady(supply, 0.3)
    other = over_time.steady(supply, 0.3, (0.0,), cycles=40)
    assert other.mean == pytest.approx(one.mean, rel=2e-4)


def test_without_any_load_it_stands_at_the_crest():
    for kind in KINDS:
        found = integration.steady(of(kind, bleeder=math.inf, equalizer=math.inf), 0.0)
        assert found.mean == pytest.approx(3000.0, rel=1e-9)
        assert found.ripple == 0.0


def test_limits_of_the_capacitor_input_rectifier():
    # Schade, Proc. IRE 31 (1943) 341, from memory and for its shape alone: with large omega C R and no source
    # resistance the output is the crest; it falls with source resistance over load resistance; with omega C R far
    # below 1 a full-wave output is the mean of the rectified sine, 2 / pi of the crest.
    load = 10e3
    plain = replace(BRIDGE, bleeder=load, equalizer=math.inf, resistance=0.1, capacitance=1e-3)
    assert integration.steady(plain, 0.0).mean == pytest.approx(3000.0, rel=2e-3)
    falling = [integration.steady(replace(plain, resistance=r), 0.0).mean for r in (1, 10, 100, 1000)]
    assert falling == sorted(falling, reverse=True)
    small = replace(plain, capacitance=3e-9)
    assert integration.steady(small, 0.0).mean == pytest.approx(3000.0 * 2 / math.pi, rel=0.01)


def test_ripple_of_large_capacitors_is_charge_over_capacitance():
    # Derived bound: between two crests at 100 Hz the load takes at most I / 100 of charge, and conduction is short.
    found = integration.steady(replace(BRIDGE, resistance=0.5, capacitance=2e-3), 0.5)
    most = 0.5 / 100 / 2e-3
    assert 0.75 * most < found.ripple < most * 1.05


@pytest.mark.parametrize("kind", KINDS)
def test_switching_on_at_the_crest(kind):
    # Derived: from empty capacitors the first current is the crest over all resistance in its way.
    supply = of(kind)
    without = integration.switch_on(supply, through_resistor=False)
    assert without.peak == pytest.approx(supply.peak / 45.0, rel=1e-6)
    found = integration.switch_on(supply, through_resistor=True)
    assert found.peak == pytest.approx(supply.peak / (45.0 + 1800.0), rel=1e-6)
    other = over_time.switch_on(supply, found.bridged)
    assert other.joule == pytest.approx(found.joule, rel=5e-3)
    assert other.charged == pytest.approx(found.charged, rel=5e-3)
    assert other.peak == pytest.approx(found.peak, rel=5e-3)


def test_a_resistor_that_charges_a_capacitor_takes_about_what_is_stored():
    # Derived: half of what a stiff source gives goes into the resistor, here less, for the source is a
    # sine that follows the capacitor's voltage up; never more than is stored, with most of the resistance in it.
    supply = replace(BRIDGE, resistance=1.0, bleeder=math.inf, equalizer=math.inf, inrush_time=None)
    found = integration.switch_on(supply, through_resistor=True)
    stored = supply.stored(found.charged)
    assert found.charged > 0.97 * supply.peak
    assert 0.3 * stored < found.joule < stored


@given(st.floats(100, 6000), st.floats(1e4, 1e7), st.floats(1e-6, 1e-3), st.floats(5, 90))
@settings(max_examples=20)
def test_discharge_is_exponential(start, resistance, capacitance, touch):
    # Derived: t = R C ln(V / V_touch).
    supply = replace(BRIDGE, capacitance=capacitance)
    wanted = resistance * capacitance * math.log(start / touch)
    assert integration.discharge(supply, start, resistance, touch) == pytest.approx(wanted, rel=1e-7)


def test_discharge_in_ngspice_and_its_ends():
    found = integration.discharge(BRIDGE, 3000.0, 150e3, 50.0)
    assert over_time.discharge(BRIDGE, 3000.0, 150e3, 50.0) == pytest.approx(found, rel=1e-3)
    assert integration.discharge(BRIDGE, 3000.0, math.inf, 50.0) is None
    assert integration.discharge(BRIDGE, 40.0, 150e3, 50.0) == 0.0


@given(st.floats(500, 6000), st.floats(0.5, 100), st.floats(0, 20), st.floats(1e-6, 1e-3))
@settings(max_examples=20)
def test_an_arc_splits_the_stored_energy(start, glitch, loss, capacitance):
    # Derived: Q = C (V - V_a); the arc takes V_a Q, all resistance C (V - V_a)^2 / 2, each its share.
    supply = replace(BRIDGE, glitch=glitch, capacitor_resistance=loss, capacitance=capacitance)
    found = integration.arc(supply, start)
    swing, total = start - 50.0, glitch + loss
    assert found.peak == pytest.approx(swing / total, rel=1e-9)
    assert found.charge == pytest.approx(capacitance * swing, rel=1e-5)
    assert found.tube_joule == pytest.approx(50 * capacitance * swing, rel=1e-5)
    assert found.glitch_joule == pytest.approx(capacitance * swing**2 / 2 * glitch / total, rel=1e-5)
    assert found.duration == pytest.approx(math.log(100) * total * capacitance, rel=1e-3)
    whole = found.glitch_joule + found.tube_joule + found.capacitor_joule
    assert whole == pytest.approx(supply.stored(start) - supply.stored(50.0), rel=1e-5)


def test_an_arc_in_ngspice_and_when_a_fuse_melts():
    supply = replace(BRIDGE, capacitor_resistance=2.0)
    one, other = integration.arc(supply, 3000.0), over_time.arc(supply, 3000.0)
    for name in ("peak", "charge", "integral", "glitch_joule", "tube_joule", "duration"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=2e-3)
    # Derived: the integral is I^2 tau / 2 (1 - exp(-2 t / tau)).
    time = 27.0 * 35e-6
    whole = one.peak**2 * time / 2
    assert one.integral == pytest.approx(whole, rel=1e-5)
    assert one.time_to(whole / 2) == pytest.approx(time * math.log(2) / 2, rel=1e-3)
    assert one.time_to(whole * 1.01) is None


def test_halves_of_a_doubler_take_turns():
    found = integration.steady(of("doubler"), 0.5)
    assert len(found.start) == 2
    assert not np.isclose(*found.start)
    assert found.ripple < found.highest / 5


def test_half_a_winding_carries_half_of_the_heat():
    # Derived: the halves of a centre-tapped winding conduct in turns, so each has 1 / sqrt 2 of the rms.
    whole, half = (integration.steady(of(kind), 0.5) for kind in ("bridge", "full-wave"))
    assert half.secondary_rms == pytest.approx(whole.secondary_rms / math.sqrt(2), rel=1e-6)
    assert half.secondary_peak == pytest.approx(whole.secondary_peak, rel=1e-9)
