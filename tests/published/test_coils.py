"""Coils against published tables. The printed digits set the tolerance unless a remark says why not."""

import numpy as np
import pytest

from netsim.circuit.coil.conductor import resistivity, skin_depth, skin_effect_ratio
from netsim.circuit.coil.rings import HELIX, coaxial_circles, turn_matrices
from netsim.circuit.coil.self_capacitance import self_capacitance
from netsim.circuit.coil.winding import Solenoid

MU0 = 4e-7 * np.pi


def rings(turns, diameter, pitch, conductor):
    """Inductance of a coil as rings, without what a helix has more: what the tables speak of."""
    section = Solenoid(turns, diameter, pitch, conductor)
    return float(turn_matrices((section,)).inductance.sum()) / HELIX


def sheet(turns, diameter, length, coefficient):
    """Nagaoka's formula: an endless sheet's inductance times his coefficient."""
    return MU0 * np.pi * diameter**2 * turns**2 * coefficient / (4 * length)


def at_the_surface(turns, diameter, sheet, size, number):
    """Rosa's coil of round wire, its current moved from the whole section to the surface.

    ``Ls - mu0 a n (A + B)``; each turn's own inductance falls by mu0 a / 4 (Maxwell, Rosa: 8R/a - 1.75 to - 2).
    """
    return sheet - MU0 * 0.5 * diameter * turns * (size + number + 0.25)


# Published: F. W. Grover, Inductance Calculations, Table 36, by length/diameter. From memory: E. B. Rosa, Bulletin
# of the Bureau of Standards 2 (1906), A = -1.7457 at wire/pitch .1, B towards .33788, less ln(n) / (6 n).
@pytest.mark.parametrize(
    ("length_to_diameter", "printed"),
    [
        (0.10, 0.203324),
        (0.30, 0.405269),
        (0.50, 0.525510),
        (0.70, 0.606689),
        (0.90, 0.665054),
        (1.0, 0.688423),
    ],
)
def test_nagaokas_coefficient_by_many_thin_turns(length_to_diameter, printed):
    turns, diameter = 100, 0.1
    length = length_to_diameter * diameter
    found = rings(turns, diameter, length / turns, 0.1 * length / turns)
    of_sheet = sheet(turns, diameter, length, printed)
    number = 0.33788 - np.log(turns) / (6 * turns)
    # What is left is of second order in pitch over radius.
    assert found == pytest.approx(at_the_surface(turns, diameter, of_sheet, -1.7457, number), rel=2e-4)
    assert found == pytest.approx(of_sheet, rel=0.012)


# From memory: H. Nagaoka's table of 1909, by diameter/length; pitch over radius is not small here.
@pytest.mark.parametrize(
    ("diameter_to_length", "printed"), [(0.1, 0.958807), (0.2, 0.920093), (0.5, 0.818136)]
)
def test_nagaokas_own_table(diameter_to_length, printed):
    turns, diameter = 150, 0.1
    length = diameter / diameter_to_length
    found = rings(turns, diameter, length / turns, 0.1 * length / turns)
    number = 0.33788 - np.log(turns) / (6 * turns)
    expected = at_the_surface(turns, diameter, sheet(turns, diameter, length, printed), -1.7457, number)
    assert found == pytest.approx(expected, rel=2e-3)


# From memory: Rosa's A by wire/pitch and B by the number of turns, the same tables.
@pytest.mark.parametrize(
    ("turns", "number"), [(1, 0.0), (2, 0.1137), (5, 0.2180), (10, 0.2664), (15, 0.2857)]
)
def test_rosa_by_the_number_of_turns(turns, number):
    diameter, pitch = 0.2, 0.002
    length = turns * pitch
    # Derived: a short sheet's inductance is mu0 a n^2 [ln(8a/l) - 1/2 + (l/a)^2 / 32 (ln(8a/l) + 1/4)] (Rayleigh
    # and Niven, from memory).
    log, square = np.log(4 * diameter / length), (2 * length / diameter) ** 2
    of_sheet = MU0 * 0.5 * diameter * turns**2 * (log - 0.5 + square / 32 * (log + 0.25))
    expected = at_the_surface(turns, diameter, of_sheet, -1.7457, number)
    assert rings(turns, diameter, pitch, 0.1 * pitch) == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize(("conductor_to_pitch", "size"), [(0.9, 0.4515), (0.5, -0.1363), (0.1, -1.7457)])
def test_rosa_by_the_size_of_the_wire(conductor_to_pitch, size):
    turns, diameter, pitch = 10, 0.2, 0.002
    log, square = np.log(4 * diameter / (turns * pitch)), (2 * turns * pitch / diameter) ** 2
    of_sheet = MU0 * 0.5 * diameter * turns**2 * (log - 0.5 + square / 32 * (log + 0.25))
    expected = at_the_surface(turns, diameter, of_sheet, size, 0.2664)
    found = rings(turns, diameter, pitch, conductor_to_pitch * pitch)
    # Rosa's current keeps to each wire's middle, whereas at high frequency neighbours push it aside, which takes
    # inductance away: nothing for thin wire, more the closer the turns.
    below = {0.9: (0.005, 0.03), 0.5: (0.002, 0.008), 0.1: (-3e-4, 3e-4)}[conductor_to_pitch]
    assert below[0] < 1 - found / expected < below[1]


def test_wheeler_within_one_per_cent():
    # From memory: H. A. Wheeler, Proc. IRE 16 (1928), L = a^2 n^2 / (9 a + 10 b) uH in inches, within 1 % for
    # b > 0.8 a: of a current sheet, which thin turns at high frequency miss by A + B + 1/4 = -0.01 at d/p = .44.
    for ratio in (0.5, 1.0, 3.0):
        turns, diameter = 100, 2 * 0.0254
        length = ratio * diameter
        wheeler = turns**2 / (9.0 + 10.0 * 2.0 * ratio) * 1e-6
        found = rings(turns, diameter, length / turns, 0.44 * length / turns)
        assert found == pytest.approx(wheeler, rel=0.013)


def test_one_ring():
    # Derived (Maxwell, Rosa): mu0 R (ln(8R/a) - 2) for a thin wire, current at the surface.
    for radius in (0.1, 1.0):
        assert rings(1, 2 * radius, 0.01, 0.002) == pytest.approx(
            MU0 * radius * (np.log(8 * radius / 0.001) - 2), rel=2e-4
        )


@pytest.mark.parametrize(
    ("spacing", "inductance_digit", "loss_digit"),
    [(1.1, 0.012, 0.004), (1.2, 1e-3, 4e-3), (1.5, 1e-3, 4e-3), (2.0, 1e-4, 5e-4), (5.0, 1e-5, 1e-5)],
)
def test_two_wires_of_a_line(spacing, inductance_digit, loss_digit):
    # Derived, exact: L' = mu0 / pi arccosh(s/d). From memory: of the same line, R' is that of both wires alone
    # times (s/d) / sqrt((s/d)^2 - 1). Two rings of 20 m with opposite currents are such a line.
    diameter, conductor = 20.0, 0.002
    matrices = turn_matrices((Solenoid(2, diameter, spacing * conductor, conductor),))
    there_and_back = np.array([1.0, -1.0])
    inductance = there_and_back @ matrices.inductance @ there_and_back / HELIX / (np.pi * diameter)
    assert inductance == pytest.approx(MU0 / np.pi * np.arccosh(spacing), rel=inductance_digit)
    loss = there_and_back @ matrices.loss[0] @ there_and_back / (2 * diameter / conductor)
    assert loss == pytest.approx(spacing / np.sqrt(spacing**2 - 1), rel=loss_digit)


# From memory: Grover's f by k'^2, M = f sqrt(A a) uH with radii in cm.
@pytest.mark.parametrize(("squared", "printed"), [(0.02, 0.017315), (0.04, 0.013284), (0.08, 0.009464)])
def test_maxwell_is_grovers_f(squared, printed):
    first, second = 0.040, 0.046
    # k'^2 = ((A - a)^2 + d^2) / ((A + a)^2 + d^2), solved for d.
    apart = np.sqrt((squared * (first + second) ** 2 - (first - second) ** 2) / (1.0 - squared))
    factor = coaxial_circles(first, second, apart) * 1e6 / (np.sqrt(first * second) * 100.0)
    assert factor == pytest.approx(printed, abs=6e-7)


def test_maxwell_is_the_first_form():
    # Published: NIST DLMF 19.34, M = 4 pi sqrt(A a) [(2/k - k) K - (2/k) E] nH, centimetres.
    from scipy.special import ellipe, ellipk

    first, second, apart = np.array([2.0, 5.0, 1.0]), np.array([3.0, 5.0, 6.0]), np.array([1.0, 0.5, 4.0])
    squared = 4.0 * first * second / ((first + second) ** 2 + apart**2)
    k = np.sqrt(squared)
    nanohenry = (2.0 / k - k) * ellipk(squared) - 2.0 / k * ellipe(squared)
    nanohenry *= 4.0 * np.pi * np.sqrt(first * second)
    ours = coaxial_circles(first / 100, second / 100, apart / 100)
    np.testing.assert_allclose(ours * 1e9, nanohenry, rtol=1e-12)


# Published: R. G. Medhurst, Wireless Engineer 24 (1947), pp. 35 and 80. Columns by pitch over wire diameter.
SPACINGS = (1.0, 1.111, 1.25, 1.429, 1.667, 2.0, 2.5, 3.333, 5.0, 10.0)
FACTORS = {
    0.0: (5.31, 3.73, 2.74, 2.12, 1.74, 1.44, 1.20, 1.16, 1.07, 1.02),
    0.2: (5.45, 3.84, 2.83, 2.20, 1.77, 1.48, 1.29, 1.19, 1.08, 1.02),
    0.4: (5.65, 3.99, 2.97, 2.28, 1.83, 1.54, 1.33, 1.21, 1.08, 1.03),
    0.6: (5.80, 4.11, 3.10, 2.38, 1.89, 1.60, 1.38, 1.22, 1.10, 1.03),
    0.8: (5.80, 4.17, 3.20, 2.44, 1.92, 1.64, 1.42, 1.23, 1.10, 1.03),
    1.0: (5.55, 4.10, 3.17, 2.47, 1.94, 1.67, 1.45, 1.24, 1.10, 1.03),
    2.0: (4.10, 3.36, 2.74, 2.32, 1.98, 1.74, 1.50, 1.28, 1.13, 1.04),
    4.0: (3.54, 3.05, 2.60, 2.27, 2.01, 1.78, 1.54, 1.32, 1.15, 1.04),
    6.0: (3.31, 2.92, 2.60, 2.29, 2.03, 1.80, 1.56, 1.34, 1.16, 1.04),
    8.0: (3.20, 2.90, 2.62, 2.34, 2.08, 1.81, 1.57, 1.34, 1.165, 1.04),
    10.0: (3.23, 2.93, 2.65, 2.37, 2.10, 1.83, 1.58, 1.35, 1.17, 1.04),
    np.inf: (3.41, 3.11, 2.815, 2.51, 2.22, 1.93, 1.65, 1.395, 1.19, 1.05),
}


def factor(length_to_diameter, spacing, turns=40):
    """How much more a coil loses than its wire stretched out, at high frequency."""
    pitch = length_to_diameter / turns
    loss = turn_matrices((Solenoid(turns, 1.0, pitch, pitch / spacing),)).loss.sum()
    wire = turns * np.hypot(1.0, pitch / np.pi) * spacing / pitch
    return loss / wire


@pytest.mark.parametrize("length_to_diameter", [0.6, 0.8, 1.0, 2.0, 4.0, 6.0])
def test_medhursts_factor_where_turns_are_apart(length_to_diameter):
    # His measurements and his way between them are good to some per cent; forty turns stand for his many.
    found = [factor(length_to_diameter, spacing) for spacing in SPACINGS[4:]]
    np.testing.assert_allclose(found, FACTORS[length_to_diameter][4:], rtol=0.065)


def test_medhursts_factor_of_close_turns():
    # Short coils of close turns lose more by ideal surface currents than he measured, long ones do not; his own
    # first row, turns that touch, is between three and six, and so is ours for coils as long as wide or longer.
    assert factor(1.0, 1.429) == pytest.approx(2.47, rel=0.02)
    assert factor(4.0, 1.25) == pytest.approx(2.60, rel=0.03)
    assert factor(4.0, 1.111) == pytest.approx(3.05, rel=0.05)
    assert 3.0 < factor(4.0, 1.0) < 3.54
    assert 4.0 < factor(1.0, 1.0, 20) < 5.55 * 1.2


@pytest.mark.parametrize(
    ("length_to_diameter", "printed"),
    [
        (10, 1.32),
        (5, 0.81),
        (3, 0.61),
        (2, 0.50),
        (1, 0.46),
        (0.7, 0.47),
        (0.5, 0.50),
        (0.3, 0.60),
        (0.2, 0.70),
        (0.1, 0.96),
    ],
)
def test_medhursts_self_capacitance_at_his_nodes(length_to_diameter, printed):
    diameter_cm = 5.5
    picofarad = self_capacitance(diameter_cm / 100, length_to_diameter * diameter_cm / 100) * 1e12
    assert picofarad == pytest.approx(printed * diameter_cm, rel=1e-12)


def test_copper_is_the_international_standard():
    # Published: IACS, annealed copper, 17.241 nohm m at 20 degC and 0.00393/K.
    assert resistivity("copper", 20.0) == pytest.approx(17.241e-9, rel=1e-12)
    assert resistivity("copper", 120.0) == pytest.approx(17.241e-9 * 1.393, rel=1e-12)


@pytest.mark.parametrize(("frequency", "micrometre"), [(1e6, 66.09), (7e6, 24.98)])
def test_skin_depth_of_copper(frequency, micrometre):
    # Derived: sqrt(17.241e-9 / (pi f 4e-7 pi)); 66.085 and 24.978 um, rounded.
    assert skin_depth(17.241e-9, frequency) * 1e6 == pytest.approx(micrometre, abs=0.006)


# From memory: NBS Circular 74, resistance ratio of a round wire by x = sqrt(2) r / delta.
@pytest.mark.parametrize(
    ("x", "printed", "digit"), [(1, 1.0052, 6e-5), (2, 1.0782, 6e-5), (3, 1.318, 6e-4), (5, 2.043, 6e-4)]
)
def test_skin_effect_of_a_round_wire(x, printed, digit):
    assert skin_effect_ratio(2.0 * x / np.sqrt(2.0), 1.0) == pytest.approx(printed, abs=digit)
