"""Chokes and small coils by what is known of them."""

import numpy as np
import pytest
from scipy.constants import epsilon_0, mu_0
from scipy.linalg import eigh
from scipy.special import ellipe, ellipk

from netsim.circuit.choke import choke_reactance, first_series_resonance, short_coil_inductance
from netsim.circuit.coil.self_capacitance import self_capacitance

# Turns, diameter, length and wire [m]: from a short thick choke to a long thin one.
SHAPES = [
    (90, 25e-3, 100e-3, 0.6e-3),
    (160, 19e-3, 120e-3, 0.5e-3),
    (200, 25e-3, 160e-3, 0.5e-3),
    (60, 40e-3, 60e-3, 0.8e-3),
    (150, 25e-3, 200e-3, 1.0e-3),
    (90, 50e-3, 100e-3, 0.8e-3),
]


def test_reactance_has_both_signs():
    # Derived: 100 uH and 2.5 pF resonate at 10.07 MHz; at half of it X is 4/3 of w L, at twice of it -w L / 3.
    resonance = 1 / (2 * np.pi * np.sqrt(100e-6 * 2.5e-12))
    own = 2 * np.pi * 100e-6
    found = choke_reactance(100e-6, 2.5e-12, np.array([resonance / 2, resonance * 2]))
    assert found == pytest.approx([own * resonance / 2 * 4 / 3, -own * resonance * 2 / 3])
    assert choke_reactance(100e-6, 0.0, 1e6) == pytest.approx(own * 1e6)
    assert choke_reactance(np.inf, 0.0, 1e6) == np.inf
    assert choke_reactance(np.inf, 1e-12, 1e6) == pytest.approx(-1 / (2 * np.pi * 1e6 * 1e-12))


def lowest_resonance(turns, diameter, length, wire, grounded):
    """First resonance [Hz] of rings with their mutual inductances, and charges with their potentials.

    One end is at ground; the other is too, which makes half a wave of it, or it is open.
    """

    def nearby(count, offset):
        along = (np.arange(count) + offset) * length / turns
        apart = np.abs(along[:, np.newaxis] - along)
        return np.where(apart == 0, wire / 2, apart)

    def modulus(apart):
        return diameter**2 / (diameter**2 + apart**2)

    m = modulus(nearby(turns, 0.5))
    inductance = (
        mu_0 * diameter / 2 * ((2 / np.sqrt(m) - np.sqrt(m)) * ellipk(m) - 2 / np.sqrt(m) * ellipe(m))
    )
    apart = nearby(turns + 1, 0.0)
    potential = ellipk(modulus(apart)) / (2 * np.pi**2 * epsilon_0 * np.hypot(diameter, apart))
    steps = np.eye(turns, turns + 1) - np.eye(turns, turns + 1, 1)
    stiffness = steps.T @ np.linalg.solve(inductance, steps)
    free = np.arange(1, turns if grounded else turns + 1)
    inside = np.ix_(free, free)
    squares = eigh(stiffness[inside], np.linalg.inv(potential)[inside], eigvals_only=True)
    return np.sqrt(squares[0]) / (2 * np.pi), inductance.sum()


@pytest.mark.parametrize("shape", SHAPES)
def test_series_resonance_lies_within_its_spread(shape):
    # Cross-solver: a helix alone in space, without former and chassis, which only lower it.
    *outline, _ = shape
    estimate, low, high = first_series_resonance(*outline)
    alone, _ = lowest_resonance(*shape, grounded=True)
    assert low < estimate < alone < high
    # Common practice: half a wave of wire.
    assert low == pytest.approx(299792458 / 2 / np.hypot(np.pi * outline[0] * outline[1], outline[2]))


@pytest.mark.parametrize("shape", SHAPES)
def test_self_capacitance_puts_the_parallel_resonance_where_the_rings_do(shape):
    # Cross-solver, and a check of the rings: Medhurst's measurements with one end at ground.
    _, diameter, length, _ = shape
    alone, inductance = lowest_resonance(*shape, grounded=False)
    own = 1 / (2 * np.pi * np.sqrt(inductance * self_capacitance(diameter, length)))
    assert own == pytest.approx(alone, rel=0.13)


def test_velocity_by_hand():
    # Derived: at the estimate the winding is half a wave long at the velocity of the formula.
    for turns, diameter, length, _ in SHAPES:
        estimate, *_ = first_series_resonance(turns, diameter, length)
        wave = 299792458 / estimate
        share = 1 / np.sqrt(1 + 20 * (turns * diameter / length) ** 2.5 * np.sqrt(diameter / wave))
        assert share * wave / 2 == pytest.approx(length)


def test_arrays_in_arrays_out():
    turns, diameter, length = (np.array(values) for values in list(zip(*SHAPES, strict=True))[:3])
    for many, alone in zip(
        first_series_resonance(turns, diameter, length),
        zip(*(first_series_resonance(*shape[:3]) for shape in SHAPES), strict=True),
        strict=True,
    ):
        assert many == pytest.approx(alone)


# Published: F. W. Grover, Inductance Calculations, Table 36: Nagaoka's coefficient by length over diameter.
@pytest.mark.parametrize(
    ("ratio", "coefficient"), [(0.5, 0.525510), (0.7, 0.606689), (0.9, 0.665054), (1.0, 0.688423)]
)
def test_short_coils_against_the_current_sheet(ratio, coefficient):
    diameter, turns = 12e-3, 3
    sheet = mu_0 * np.pi * diameter**2 * turns**2 * coefficient / (4 * ratio * diameter)
    assert short_coil_inductance(turns, diameter, ratio * diameter) == pytest.approx(sheet, rel=0.01)
