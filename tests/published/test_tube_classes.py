"""The balance of tube and network against what is known of ideal classes, and the thirteen-point analysis."""

from dataclasses import dataclass

import numpy as np
import pytest

from netsim.circuit.elements import FloatArray
from netsim.circuit.stage import pulse_spectrum
from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers.harmonic_balance import solve

SUPPLY = 2000.0


@dataclass(frozen=True)
class StraightTube(TubeConstants):
    """A tube whose current is a straight line above cutoff and which the plate does not influence."""

    def plate_current(self, plate: FloatArray, grid: FloatArray) -> FloatArray:
        return self.plate_current_and_slope(plate, grid)[0]

    def plate_current_and_slope(self, plate: FloatArray, grid: FloatArray) -> tuple[FloatArray, FloatArray]:
        current = self.perveance * np.maximum(grid, 0.0) + 0.0 * plate
        return current, np.zeros_like(current)


def resonant(load: float, orders: int = 60) -> np.ndarray:
    """Resistance at the fundamental, a short circuit at all harmonics."""
    impedance = np.zeros((1, orders), dtype=complex)
    impedance[0, 0] = load
    return impedance


def at_full_swing(angle_degrees: float):
    """Straight tube of a conduction angle, on the load that makes the plate swing by the whole supply."""
    half = np.radians(angle_degrees / 2)
    bias = -100.0 * np.cos(half)
    tube = StraightTube("grounded cathode", 1, 1e9, 1e-3, 1.0, None, bias, 100.0)
    first = solve(resonant(1.0), tube, SUPPLY, samples=4096, neglect=0.0).plate_current[0, 0].real
    return solve(resonant(SUPPLY / first), tube, SUPPLY, samples=4096, neglect=0.0)


@pytest.mark.parametrize(
    ("angle", "first", "second", "third", "efficiency"),
    [
        # Class A and B: Ludwig and Bretchko, RF Circuit Design, ex. 8.11 (50 and 78.5 %); currents derived.
        (360, 1.0, 0.0, 0.0, 50.0),
        (180, 1.5708, 0.6667, 0.0, 78.5),
        # From memory: Kazimierczuk, RF Power Amplifiers, 120 degrees: 1.7936 and 89.68 %; the rest derived.
        (120, 1.7936, 1.2645, 0.6323, 89.68),
    ],
)
def test_classes(angle, first, second, third, efficiency):
    """Published, from memory and derived as marked; printed digits set the tolerance."""
    found = at_full_swing(angle)
    share = found.plate_current[0].real / found.plate_current_dc[0]
    assert share[:3] == pytest.approx([first, second, third], abs=6e-5)
    power = -(found.plate_voltage[0, 0] * np.conj(found.plate_current[0, 0])).real / 2
    assert 100 * power / found.input_power[0] == pytest.approx(efficiency, abs=0.05)


@pytest.mark.parametrize("angle", [100.0, 160.0, 195.0, 240.0, 320.0])
def test_the_exact_pulse(angle):
    """Derived: the simple stage's closed-form spectrum is that of the straight tube, all ten orders."""
    found = at_full_swing(angle)
    share = found.plate_current[0, :10].real / found.plate_current_dc[0]
    np.testing.assert_allclose(share, pulse_spectrum(np.radians(angle)), atol=2e-6)


REAL = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, -6.0, 95.0)


@pytest.mark.parametrize("bias", [-45.0, -38.0, -32.0, -27.0, -23.7])
def test_thirteen_points(bias):
    """From memory: thirteen-point graphical analysis of power-tube manuals, ordinates every 15 degrees.

    I_dc = (A/2 + B + C + D + E + F) / 12 and I_1 = (A + 1.93 B + 1.73 C + 1.41 D + E + 0.52 F) / 12; the
    weights are 2 cos of 15 to 75 degrees. Its ordinates end before 90 degrees, so it is for pulses of up to
    half a cycle; on an exact half-sine it is within one per cent.
    """
    tube = TubeConstants("grounded grid", 2, 110.0, 1.1e-3, 90.0, 3e-4, bias, 95.0)
    found = solve(resonant(2500.0), tube, 2600.0, samples=240, neglect=0.0)
    wave = found.waves(240).current[0]
    assert not wave[60:180].any()
    a, b, c, d, e, f = wave[[0, 10, 20, 30, 40, 50]]
    direct = (a / 2 + b + c + d + e + f) / 12
    first = (a + 1.93 * b + 1.73 * c + 1.41 * d + e + 0.52 * f) / 12
    assert direct == pytest.approx(found.plate_current_dc[0], rel=0.01)
    assert first == pytest.approx(found.plate_current[0, 0].real, rel=0.01)
