import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.circuit.coil.mutual_inductance import coaxial_circles, coaxial_solenoids
from netsim.circuit.coil.partial_inductance import cumulative_inductance, inductance_matrix
from netsim.circuit.coil.solenoid import solenoid_inductance
from netsim.circuit.coil.winding import Solenoid, Toroid, Winding

MU0 = 4e-7 * np.pi
TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)
RING = Toroid(turns=9.0, inductance_per_turn_squared=11e-9, unloaded_q=210.0)


def turn_by_turn(sections):
    """Inductances of every turn with every turn: circles of wire, by Maxwell, in the middle of their pitch."""
    places, radii, wires, start = [], [], [], 0.0
    for section in sections:
        start += section.gap
        count = round(section.turns)
        places += list(start + (np.arange(count) + 0.5) * section.pitch)
        radii += [section.mean_diameter / 2] * count
        wires += [section.conductor_diameter / 2] * count
        start += count * section.pitch
    places, radii, wires = np.array(places), np.array(radii), np.array(wires)
    self_made = MU0 * radii * (np.log(8.0 * radii / wires) - 1.75)
    apart = np.subtract.outer(places, places) + np.diag(np.ones(places.size))
    return np.where(
        np.eye(places.size, dtype=bool), np.diag(self_made), coaxial_circles(radii[:, None], radii, apart)
    )


@pytest.mark.parametrize(
    ("sections", "tap"),
    [
        ((Solenoid(12, 0.055, 0.005, 0.003),), 5),
        ((TUBING, WIRE), 5),
        ((TUBING, WIRE), 9),
        ((TUBING, Solenoid(14, 0.048, 0.0035, 0.002)), 9),
        ((TUBING, Solenoid(14, 0.070, 0.0035, 0.002)), 5),
    ],
)
def test_matrix_against_turn_by_turn(sections, tap):
    # Derived: wire circles and Maxwell's formula for every pair, added up over the active and the shorted
    # turns. The difference is second order in pitch over radius: 0.3 % for five turns at a third of it.
    every = turn_by_turn(sections)
    cut = [slice(0, tap), slice(tap, None)]
    expected = [[every[one, two].sum() for two in cut] for one in cut]
    np.testing.assert_allclose(inductance_matrix(Winding(sections), [tap])[0], expected, rtol=4e-3)


@pytest.mark.parametrize("gap", [0.0, 0.012, 0.1, 0.3])
def test_two_runs_couple_as_their_turns(gap):
    # Derived: whole turns of two runs are Maxwell's circles, added up. The bare sheets are 1.7 % higher when
    # touching, and nearer the further apart.
    wire = Solenoid(14.0, 0.052, 0.0035, 0.002, gap=gap)
    mutual = inductance_matrix(Winding((TUBING, wire)), [5.0])[0, 0, 1]
    assert mutual == pytest.approx(turn_by_turn((TUBING, wire))[:5, 5:].sum(), rel=1e-8)
    assert mutual == pytest.approx(coaxial_solenoids(5.0, 0.048, 0.040, 14.0, 0.052, 0.049, gap), rel=0.02)


@given(taps=st.lists(st.floats(0.1, 18.9), min_size=1, max_size=6, unique_by=lambda tap: round(tap, 2)))
def test_all_stretches_add_up_to_the_coil(taps):
    # Derived: the sum over a full inductance matrix of a series connection is its inductance.
    winding = Winding((TUBING, WIRE), "progressive", tuple(sorted(taps)))
    matrix = inductance_matrix(winding, np.linspace(0.1, 19.0, 20))
    whole = inductance_matrix(Winding((TUBING, WIRE), "open"), [19.0])[0, 0, 0]
    np.testing.assert_allclose(matrix.sum(axis=(1, 2)), whole, rtol=1e-9)
    np.testing.assert_allclose(matrix, matrix.transpose(0, 2, 1), rtol=1e-12, atol=1e-18)


def test_inductance_of_any_active_length():
    turns = np.array([0.4, 1.0, 2.75, 5.0])
    own = inductance_matrix(Winding((TUBING, WIRE), "open"), turns)[:, 0, 0]
    np.testing.assert_allclose(own, solenoid_inductance(turns, 0.048, 0.008, 0.005), rtol=1e-12)


def test_a_section_cut_into_two_is_the_same_coil():
    half = Solenoid(turns=2.5, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
    np.testing.assert_allclose(
        inductance_matrix(Winding((half, half, WIRE)), [1.0, 4.2, 11.0]),
        inductance_matrix(Winding((TUBING, WIRE)), [1.0, 4.2, 11.0]),
        rtol=1e-12,
    )


def test_a_hairbreadth_of_gap_hardly_matters():
    # Derived: inside a section Rosa, between sections Maxwell's circles. They part at second order in pitch
    # over radius (here a third), so two descriptions that differ by 1 um may differ by a few thousandths of
    # the mutual inductance and less of the whole. Bare sheets between the sections would be 2 % off.
    close = Solenoid(7.0, 0.048, 0.008, 0.005, gap=1e-6)
    apart = inductance_matrix(Winding((TUBING, close)), [3.0, 5.0, 8.0])
    together = inductance_matrix(Winding((Solenoid(12.0, 0.048, 0.008, 0.005),)), [3.0, 5.0, 8.0])
    np.testing.assert_allclose(apart, together, rtol=5e-3)
    np.testing.assert_allclose(apart.sum(axis=(1, 2)), together.sum(axis=(1, 2)), rtol=1e-3)


def test_perpendicular_sections_do_not_couple():
    across = Solenoid(14.0, 0.052, 0.0035, 0.002, perpendicular=True)
    matrix = inductance_matrix(Winding((TUBING, across)), [5.0])[0]
    assert matrix[0, 1] == 0.0
    assert matrix[1, 1] == pytest.approx(solenoid_inductance(14.0, 0.052, 0.0035, 0.002))


def test_a_ring_is_turns_squared_and_couples_all_its_turns():
    # Derived: A_L n^2, and A_L n m between n and m turns of one core.
    matrix = inductance_matrix(Winding((RING,)), [4.0])[0]
    np.testing.assert_allclose(matrix, 11e-9 * np.array([[16.0, 20.0], [20.0, 25.0]]), rtol=1e-12)


def test_leads_are_in_series_with_the_active_turns():
    bare = inductance_matrix(Winding((TUBING, WIRE)), [4.0])[0]
    led = inductance_matrix(Winding((TUBING, WIRE), lead_inductance=40e-9), [4.0])[0]
    np.testing.assert_allclose(led - bare, [[40e-9, 0.0], [0.0, 0.0]], atol=1e-20)


def test_order_of_the_sections_turned_round():
    # Derived: the same coil seen from its other end.
    turned = (
        Solenoid(14.0, 0.052, 0.0035, 0.002),
        Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005, gap=0.012),
    )
    forth = inductance_matrix(Winding((TUBING, WIRE)), [7.3])[0]
    back = inductance_matrix(Winding(turned), [19.0 - 7.3])[0]
    np.testing.assert_allclose(back[::-1, ::-1], forth, rtol=2e-4)


def test_cumulative_inductance_is_symmetric():
    marks = np.array([0.0, 2.2, 5.0, 8.1, 19.0])
    itself, against = cumulative_inductance(Winding((TUBING, WIRE)), marks, tuple(marks))
    np.testing.assert_allclose(against, against.T, rtol=1e-12, atol=1e-20)
    np.testing.assert_allclose(itself, np.diag(against), rtol=1e-12, atol=1e-20)
