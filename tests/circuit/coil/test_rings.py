"""Turns as rings. Derived, or against integrals and plain solutions written out here."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from netsim.circuit.coil.rings import HELIX, coaxial_circles, turn_matrices
from netsim.circuit.coil.winding import Solenoid, Toroid

MU0 = 4e-7 * np.pi
TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)
RING = Toroid(turns=9.0, inductance_per_turn_squared=11e-9, unloaded_q=210.0)


def segment(matrices, which, begin, end):
    """Sum of one matrix over one segment of turns."""
    ends = np.array([[begin]]), np.array([[end]])
    return matrices.between(which[np.newaxis], ends, ends)[0, 0, 0, 0]


@given(first=st.floats(0.01, 0.1), second=st.floats(0.01, 0.1), apart=st.floats(0.002, 0.5))
def test_circles_are_neumanns_integral(first, second, apart):
    def kernel(angle):
        distance = np.sqrt(first**2 + second**2 - 2 * first * second * np.cos(angle) + apart**2)
        return np.cos(angle) / distance

    # Neumann's formula: mu0 / 4 pi times the double integral of ds ds' / r; one of them is 2 pi.
    whole = 2 * integrate.quad(kernel, 0, np.pi, epsabs=0, epsrel=1e-10)[0]
    assert coaxial_circles(first, second, apart) == pytest.approx(
        0.5 * MU0 * first * second * whole, rel=1e-7
    )


def test_circles_far_apart_are_dipoles():
    # Derived: mu0 pi a^2 b^2 / (2 z^3).
    found = coaxial_circles(0.03, 0.02, 3.0)
    assert found == pytest.approx(MU0 * np.pi * 0.03**2 * 0.02**2 / (2 * 3.0**3), rel=1e-3)
    assert coaxial_circles(0.03, 0.03, 0.0) == np.inf


def plain_rings(radius, wire, place, filaments):
    """Solve rings by many filaments with nothing refined: inductance and loss over surface resistance."""
    angle = 2 * np.pi * np.arange(filaments) / filaments
    r = (radius[:, None] + wire[:, None] * np.cos(angle)).ravel()
    z = (place[:, None] + wire[:, None] * np.sin(angle)).ravel()
    a = np.repeat(wire, filaments)
    with np.errstate(divide="ignore"):
        every = coaxial_circles(r[:, None], r, z[:, None] - z)
    # A filament stands for a strip of the circumference: round filaments of its geometric mean distance.
    np.fill_diagonal(every, MU0 * r * (np.log(8 * r / (a / filaments)) - 2))
    of_ring = np.repeat(np.eye(radius.size), filaments, axis=0)
    flux = np.linalg.solve(every, of_ring)
    inductance = np.linalg.inv(of_ring.T @ flux)
    current = flux @ inductance
    return inductance, current.T @ ((r / a * filaments)[:, None] * current)


@pytest.mark.parametrize("spacing", [1.15, 1.3, 1.6, 2.5])
def test_few_filaments_against_many(spacing):
    # Cross-solver: 64 filaments a ring, without the exact logarithm, on two sections side by side.
    one = Solenoid(4.0, 0.05, 0.006 * spacing, 0.006)
    two = Solenoid(6.0, 0.06, 0.003 * spacing, 0.003, gap=0.004)
    matrices = turn_matrices((one, two))
    place = np.concatenate(
        [(np.arange(4) + 0.5) * one.pitch, 4 * one.pitch + 0.004 + (np.arange(6) + 0.5) * two.pitch]
    )
    radius, wire = np.repeat([0.025, 0.03], [4, 6]), np.repeat([0.003, 0.0015], [4, 6])
    inductance, loss = plain_rings(radius, wire, place, 64)
    np.testing.assert_allclose(matrices.inductance / HELIX, inductance, rtol=3e-3)
    helix = np.sqrt(1 + (one.pitch / (np.pi * 0.05)) ** 2)
    assert matrices.loss.sum() == pytest.approx(loss.sum() * helix, rel=8e-3)
    # Loss is told where it arises: a current in the tubing alone heats the wire too.
    assert matrices.loss[1, 0, 0] > 0.0
    np.testing.assert_allclose(np.diag(matrices.loss.sum(axis=0)), np.diag(loss), rtol=1.5e-2)


def test_one_ring_loses_as_its_wire():
    # Derived: length over circumference of the wire, the length that of a turn of the helix; a bent wire's current
    # crowds a little to the inside.
    section = Solenoid(1.0, 0.2, 0.4, 0.002)
    length = np.hypot(np.pi * 0.2, 0.4)
    assert turn_matrices((section,)).loss[0, 0, 0] == pytest.approx(length / (np.pi * 0.002), rel=3e-3)


def test_matrices_are_symmetric_and_cost_energy():
    matrices = turn_matrices((TUBING, WIRE, RING))
    for matrix in (matrices.inductance, *matrices.loss):
        np.testing.assert_allclose(matrix, matrix.T, rtol=1e-12, atol=1e-20)
        assert np.linalg.eigvalsh(matrix).min() > -1e-12 * np.abs(matrix).max()


@given(
    diameter=st.floats(0.01, 0.2),
    conductor=st.floats(0.05, 0.6),
    spacing=st.floats(1.0, 6.0),
    turns=st.floats(0.2, 6.0),
    other=st.floats(0.3, 2.0),
    gap=st.sampled_from([0.0, 0.001, 0.02]),
)
def test_whatever_can_be_wound_is_solved(diameter, conductor, spacing, turns, other, gap):
    wire = conductor * diameter
    one = Solenoid(turns, diameter, wire * spacing, wire)
    two = Solenoid(3.0, diameter * other, 0.5 * wire * other * spacing, 0.5 * wire * other, gap=gap)
    matrices = turn_matrices((one, two))
    assert np.all(matrices.inductance > 0.0)
    own = np.diag(matrices.inductance)
    off = matrices.inductance - np.diag(own)
    assert np.all(off < np.sqrt(np.outer(own, own)))
    assert np.all(np.linalg.eigvalsh(matrices.inductance) > 0.0)
    assert np.isfinite(matrices.loss).all()


def test_a_right_angle_couples_nothing():
    across = Solenoid(4.0, 0.05, 0.004, 0.002, perpendicular=True)
    matrices = turn_matrices((TUBING, across, RING))
    assert not matrices.inductance[:5, 5:].any()
    assert not matrices.inductance[5:9, 9:].any()
    assert not matrices.loss[0, 5:, 5:].any()


def test_cut_anywhere_the_pieces_are_the_whole():
    matrices = turn_matrices((TUBING, WIRE))
    edges = np.array([0.0, 1.3, 4.75, 5.2, 5.6, 5.7, 12.5, 19.0])
    ends = edges[np.newaxis, :-1], edges[np.newaxis, 1:]
    for which in (matrices.inductance, *matrices.loss):
        pieces = matrices.between(which[np.newaxis], ends, ends)[0, 0]
        assert pieces.sum() == pytest.approx(which.sum(), rel=1e-12)
        zero = 1e-12 * np.abs(pieces).max()
        np.testing.assert_allclose(pieces, pieces.T, rtol=1e-9, atol=zero)
        backwards = matrices.between(which[np.newaxis], (ends[1], ends[0]), ends)[0, 0]
        np.testing.assert_allclose(backwards, -pieces, rtol=1e-9, atol=zero)


def test_an_arc_has_its_share():
    # Derived: by symmetry an arc couples to other rings as its length, and so does its own near field.
    matrices = turn_matrices((TUBING,))
    itself, others = matrices.inductance[2, 2], matrices.inductance[2, [0, 1]].sum()
    assert segment(matrices, matrices.inductance, 2.0, 2.4) == pytest.approx(0.4 * itself)
    whole = segment(matrices, matrices.inductance, 0.0, 2.0)
    assert segment(matrices, matrices.inductance, 0.0, 2.4) == pytest.approx(
        whole + 0.4 * itself + 0.8 * others
    )


def test_a_ring_core_goes_with_the_square_of_its_turns():
    matrices = turn_matrices((RING,))
    assert segment(matrices, matrices.inductance, 0.0, 6.0) == pytest.approx(11e-9 * 36)
    assert segment(matrices, matrices.inductance, 0.0, 9.0) == pytest.approx(11e-9 * 81)
    # Derived: half of the loss, A n^2 / Q per radian, with the square of the turns, half with the turns.
    loss = matrices.loss[0]
    assert segment(matrices, loss, 0.0, 9.0) == pytest.approx(11e-9 * 81 / 210)
    assert segment(matrices, loss, 0.0, 6.0) == pytest.approx(11e-9 * (0.5 * 36 + 0.5 * 54) / 210)
    wire = Toroid(9.0, 11e-9, 210.0, core_loss_share=0.0)
    assert segment(turn_matrices((wire,)), turn_matrices((wire,)).loss[0], 3.0, 6.0) == pytest.approx(
        11e-9 * 27 / 210
    )


def test_a_begun_turn_counts_by_its_share():
    half = turn_matrices((Solenoid(4.5, 0.048, 0.008, 0.005),))
    whole = turn_matrices((Solenoid(5.0, 0.048, 0.008, 0.005),))
    assert half.spans.tolist() == [1, 1, 1, 1, 0.5]
    assert segment(half, half.inductance, 0.0, 4.5) == pytest.approx(
        segment(whole, whole.inductance, 0.0, 4.5), rel=1e-12
    )
