"""The tube: plate and grid current as functions of voltages to the cathode, and its constants from curves."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from netsim.circuit.elements import FloatArray

Connection = Literal["grounded grid", "grounded cathode"]


@dataclass(frozen=True)
class Tube:
    """Constants of the tubes in use. All tubes stand in parallel and share the current evenly.

    Attributes
    ----------
    connection : {"grounded grid", "grounded cathode"}
        What is at radio-frequency ground.
    count : int
        How many tubes.
    amplification_factor : float
        Volts at the plate that do as much as one volt at the grid.
    perveance : float
        Of each tube [A/V^1.5].
    knee_voltage : float
        Plate voltage [V] around which the plate stops taking the whole current; above 0.
    grid_perveance : float
        Of each tube's grid as a diode [A/V^1.5].
    bias_voltage : float
        Grid to cathode without signal [V].
    drive_voltage_peak : float
        Peak of the drive between grid and cathode [V].
    """

    connection: Connection
    count: int
    amplification_factor: float
    perveance: float
    knee_voltage: float
    grid_perveance: float
    bias_voltage: float
    drive_voltage_peak: float

    @property
    def series_drive(self) -> float:
        """Peak drive voltage that stands in series with the plate circuit [V]: all of it in grounded grid."""
        return self.drive_voltage_peak if self.connection == "grounded grid" else 0.0

    def plate_current(self, plate: FloatArray, grid: FloatArray) -> FloatArray:
        """Give the plate current of all tubes [A] for voltages to the cathode [V], any shape."""
        return self.count * plate_law(
            plate, grid, self.amplification_factor, self.perveance, self.knee_voltage
        )

    def plate_current_and_slope(self, plate: FloatArray, grid: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the plate current of all tubes [A] and its slope in the plate voltage [S]."""
        forward = np.maximum(plate, 0.0)
        lift = np.maximum(grid + plate / self.amplification_factor, 0.0)
        root = np.sqrt(lift)
        space = self.count * self.perveance * lift * root
        bend = np.tanh(forward / self.knee_voltage)
        lifting = 1.5 * self.count * self.perveance * root / self.amplification_factor * bend
        bending = np.where(plate > 0, space * (1 - bend**2) / self.knee_voltage, 0.0)
        return space * bend, lifting + bending

    def grid_current(self, grid: FloatArray) -> FloatArray:
        """Give the grid current of all tubes [A] for grid to cathode voltages [V], any shape."""
        return self.count * self.grid_perveance * np.maximum(grid, 0.0) ** 1.5

    def drive(self, angle: FloatArray) -> FloatArray:
        """Give the grid to cathode voltage [V] at angles of the drive [rad], crest at zero."""
        return self.bias_voltage + self.drive_voltage_peak * np.cos(angle)

    def opens_at(self, plate_voltage: float) -> float:
        """Give the lift above cutoff at the crest of the drive with the plate at rest [V].

        Parameters
        ----------
        plate_voltage : float
            DC [V]. In grounded grid the drive adds to it.

        Returns
        -------
        float
            Not above zero if no plate current ever flows.
        """
        plate = plate_voltage + self.series_drive
        return self.bias_voltage + self.drive_voltage_peak + plate / self.amplification_factor


def plate_law(
    plate: FloatArray, grid: FloatArray, amplification_factor: float, perveance: float, knee_voltage: float
) -> FloatArray:
    r"""Give the plate current of one tube.

    Parameters
    ----------
    plate, grid : ndarray
        Voltages to the cathode [V], broadcastable to each other.
    amplification_factor, perveance, knee_voltage : float
        Constants; perveance in [A/V^1.5].

    Returns
    -------
    ndarray
        ``K max(v_g + v_p / mu, 0)^1.5 tanh(max(v_p, 0) / V_k)`` [A].

    Notes
    -----
    The three-halves power law of a space-charge limited triode, with a factor that takes the current away
    where the plate swings down to the knee: below it the current goes to grid or screen instead. Without
    transit time, lead inductance and secondary emission; a tetrode's screen counts as part of the grid.
    """
    lift = np.maximum(grid + plate / amplification_factor, 0.0)
    forward = np.maximum(plate, 0.0)
    return np.asarray(perveance * lift**1.5 * np.tanh(forward / knee_voltage))


@dataclass(frozen=True)
class Fit:
    """Constants read out of curves.

    Attributes
    ----------
    amplification_factor, perveance, knee_voltage : float
        As in `plate_law`.
    residual : float
        Root mean square of the differences over that of the currents.
    worst : int
        Index of the point that lies farthest off.
    """

    amplification_factor: float
    perveance: float
    knee_voltage: float
    residual: float
    worst: int


def fit(plate: FloatArray, grid: FloatArray, current: FloatArray) -> Fit:
    """Fit the plate law's three constants to points of published curves.

    Parameters
    ----------
    plate, grid, current : ndarray
        Of one tube, voltages to the cathode [V] and plate current [A]; shape ``(points,)``, four at least.

    Returns
    -------
    Fit
        Least squares of the currents, best of several starts.

    Notes
    -----
    The logarithms of the constants are the unknowns, so all stay positive. Perveance starts at the linear
    least-squares value for each start of the other two.
    """
    from scipy.optimize import least_squares

    scale = float(np.sqrt(np.mean(current**2)))

    def off(unknown: FloatArray) -> FloatArray:
        return (plate_law(plate, grid, *(float(v) for v in np.exp(unknown))) - current) / scale

    best = None
    for factor in (5.0, 20.0, 80.0, 250.0):
        for knee in (30.0, 150.0, 500.0):
            shape = plate_law(plate, grid, factor, 1.0, knee)
            if not shape.any():
                continue
            start = np.log([factor, max(float(shape @ current / (shape @ shape)), 1e-9), knee])
            found = least_squares(off, start, bounds=(np.log([1, 1e-9, 0.1]), np.log([1e4, 10, 2e4])))
            if best is None or found.cost < best.cost:
                best = found
    if best is None:
        raise ValueError("at every start no current flows at any of the points")
    factor, perveance, knee = (float(v) for v in np.exp(best.x))
    misses = np.abs(best.fun)
    return Fit(factor, perveance, knee, float(np.sqrt(np.mean(misses**2))), int(np.argmax(misses)))
