"""The tube: what plate and grid take of the cathode's current, as functions of the voltages to the cathode."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

import numpy as np

from netsim.circuit.elements import FloatArray, Index

Connection = Literal["grounded grid", "grounded cathode"]
Value = FloatArray | float
"""A number for all networks, or an array with one for each, shape ``(networks,)``."""

LEAST_PLATE = 1e-3
"""Plate voltage [V] below which the ratio of grid to plate voltage grows no further."""


@dataclass(frozen=True)
class TubeConstants:
    r"""Constants of the tubes in use. All tubes stand in parallel and share the current evenly.

    Attributes
    ----------
    connection : {"grounded grid", "grounded cathode"}
        What is at radio-frequency ground.
    count : int
        How many tubes.
    amplification_factor : float or ndarray
        Volts at the plate that do as much as one volt at the grid.
    perveance : float or ndarray
        Of each tube's cathode [A/V^1.5].
    knee_voltage : float or ndarray
        Plate voltage [V] at which the plate takes three quarters of what the grid leaves; above 0.
    grid_perveance : float, ndarray or None
        Of each tube [A/V^1.5], below `perveance`: over `perveance`, the grid's share of the current where
        grid and plate (screen, if there is one) stand at the same voltage. None where the grid's current is
        not known: the plate then takes what the knee leaves.
    bias_voltage : float or ndarray
        Grid to cathode without signal [V].
    drive_voltage_peak : float or ndarray
        Peak of the drive between grid and cathode [V].
    screen_voltage : float, ndarray or None
        DC, screen to cathode [V]; None for a triode.
    screen_amplification_factor : float, ndarray or None
        Volts at the screen that do as much as one volt at the grid.

    Notes
    -----
    Cathode current is limited by space charge (Child, Phys. Rev. 32 (1911) 492, Langmuir, Phys. Rev. 2 (1913)
    450; the equivalent voltage of a triode by Barkhausen and others; from memory)::

        I_k = K max(v_g + v_s / mu_s + v_p / mu, 0)^1.5

    A positive grid and the plate divide it by Tank's law (F. Tank, Jahrb. d. drahtl. Telegr. 20 (1922) 82;
    Spangenberg, Vacuum Tubes, 1948, on current division; from memory), ``I_p / I_g = d sqrt(v_p / v_g)``,
    here with the division factor ``d = K / K_g - 1``. It is for plates that attract. Near the knee
    electrons turn back before the plate, which a factor ``tanh(v_p / V_k)`` describes by practice, and a
    positive grid takes them instead::

        I_p = I_k tanh(max(v_p, 0) / V_k) / (1 + sqrt(v_g / v_p) / d),   I_g = I_k - I_p   where v_g > 0
        I_p = I_k tanh(max(v_p, 0) / V_k),                               I_g = 0           where v_g <= 0

    With a screen, grid and screen divide by the same law, so that the grid does not know the plate, and
    what the plate leaves goes to the screen; secondary emission and the screen's own share are not in the
    law, so that no figure is given for the screen. Its voltage counts as constant to the cathode. Without
    transit time, lead inductance, initial velocities and limits of the cathode's emission.
    """

    connection: Connection
    count: int
    amplification_factor: Value
    perveance: Value
    knee_voltage: Value
    grid_perveance: Value | None
    bias_voltage: Value
    drive_voltage_peak: Value
    screen_voltage: Value | None = None
    screen_amplification_factor: Value | None = None

    @property
    def series_drive(self) -> Value:
        """Peak drive voltage that stands in series with the plate circuit [V]: all of it in grounded grid."""
        return self.drive_voltage_peak if self.connection == "grounded grid" else 0.0

    @property
    def screen_lift(self) -> Value:
        """Volts at the grid that the screen is worth, ``v_s / mu_s`` [V]; zero without one."""
        if self.screen_voltage is None or self.screen_amplification_factor is None:
            return 0.0
        return self.screen_voltage / self.screen_amplification_factor

    @property
    def grid_share(self) -> Value:
        """Ratio ``1 / d`` of grid to plate current at equal voltages; zero where the grid is not known."""
        if self.grid_perveance is None:
            return 0.0
        return self.grid_perveance / (self.perveance - self.grid_perveance)

    @property
    def column(self) -> "TubeConstants":
        """Return the tube with constants of shape ``(networks, 1)``, to meet waves ``(networks, samples)``."""
        return self._each(lambda value: np.atleast_1d(np.asarray(value, dtype=np.float64))[:, np.newaxis])

    @classmethod
    def stack(cls, tubes: Sequence["TubeConstants"]) -> "TubeConstants":
        """Put tubes that differ in their constants alone after each other, as arrays of shape ``(tubes,)``."""
        first = tubes[0]
        if any((t.connection, t.count) != (first.connection, first.count) for t in tubes):
            raise ValueError("tubes of one stack have one connection and one count")
        names = (f.name for f in fields(cls) if f.name not in ("connection", "count"))
        columns = {name: [getattr(tube, name) for tube in tubes] for name in names}
        stacked: dict[str, Any] = {
            name: None if values[0] is None else np.concatenate([np.atleast_1d(v) for v in values])
            for name, values in columns.items()
        }
        return replace(first, **stacked)

    def take(self, index: Index | slice) -> "TubeConstants":
        """Choose some networks by index, mask or slice; what is one number for all stays so."""
        return self._each(lambda value: value if np.ndim(value) == 0 else np.asarray(value)[index])

    def single(self, row: int) -> "TubeConstants":
        """Return the tube of one network, its constants numbers."""
        return self._each(lambda value: float(value if np.ndim(value) == 0 else np.asarray(value)[row]))

    def lift(self, plate: FloatArray, grid: FloatArray) -> FloatArray:
        """Return the equivalent grid voltage above cutoff [V] for voltages to the cathode [V], any shape."""
        return np.maximum(grid + self.screen_lift + plate / self.amplification_factor, 0.0)

    def plate_current(self, plate: FloatArray, grid: FloatArray) -> FloatArray:
        """Return the plate current of all tubes [A] for voltages to the cathode [V], any shape."""
        forward = np.maximum(plate, 0.0)
        left = 1 / (1 + self._beside(forward, grid))
        return np.asarray(self._space(plate, grid) * np.tanh(forward / self.knee_voltage) * left)

    def plate_current_and_slope(self, plate: FloatArray, grid: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the plate current of all tubes [A] and its slope in the plate voltage [S]."""
        lift = self.lift(plate, grid)
        stiffness = self.count * self.perveance * np.sqrt(lift)
        forward = np.maximum(plate, 0.0)
        beside = self._beside(forward, grid)
        left = 1 / (1 + beside)
        bend = np.tanh(forward / self.knee_voltage)
        taken = bend * left
        bending = np.where(plate > 0, (1 - bend**2) / self.knee_voltage, 0.0) * left
        if self.grid_perveance is not None and self.screen_voltage is None:
            away = np.maximum(2 * forward, LEAST_PLATE)
            bending = bending + np.where(plate > LEAST_PLATE, taken * left * beside / away, 0.0)
        space = stiffness * lift
        return space * taken, 1.5 * stiffness / self.amplification_factor * taken + space * bending

    def grid_current(self, plate: FloatArray, grid: FloatArray) -> FloatArray | None:
        """Return the grid current of all tubes [A] for voltages to the cathode [V]; None if not known."""
        if self.grid_perveance is None:
            return None
        forward = np.maximum(plate, 0.0)
        left = 1 / (1 + self._beside(forward, grid))
        taken = left if self.screen_voltage is not None else left * np.tanh(forward / self.knee_voltage)
        return np.where(grid > 0, self._space(plate, grid) * (1 - taken), 0.0)

    def drive(self, angle: FloatArray) -> FloatArray:
        """Return the grid to cathode voltage [V] at angles of the drive [rad], crest at zero."""
        return np.asarray(self.bias_voltage + self.drive_voltage_peak * np.cos(angle))

    def opens_at(self, plate_voltage: Value) -> FloatArray:
        """Return the lift above cutoff at the crest of the drive with the plate at rest [V].

        Parameters
        ----------
        plate_voltage : float or ndarray
            DC [V]. In grounded grid the drive adds to it.

        Returns
        -------
        ndarray
            Not above zero if no plate current ever flows.
        """
        plate = plate_voltage + self.series_drive
        crest = self.bias_voltage + self.drive_voltage_peak + self.screen_lift
        return np.asarray(crest + plate / self.amplification_factor)

    def _space(self, plate: FloatArray, grid: FloatArray) -> FloatArray:
        """Cathode current of all tubes [A] if none turned back."""
        lift = self.lift(plate, grid)
        return np.asarray(self.count * self.perveance * lift * np.sqrt(lift))

    def _beside(self, forward: FloatArray, grid: FloatArray) -> FloatArray:
        """Ratio of the grid's current to what goes past it, by Tank's law."""
        if self.grid_perveance is None:
            return np.zeros(1)
        past = np.maximum(forward, LEAST_PLATE) if self.screen_voltage is None else self.screen_voltage
        return np.asarray(self.grid_share * np.sqrt(np.maximum(grid, 0.0) / past))

    def _each(self, change: Callable[[Value], Value]) -> "TubeConstants":
        constants = (f.name for f in fields(self) if f.name not in ("connection", "count"))
        values = {name: getattr(self, name) for name in constants}
        changed: dict[str, Any] = {name: change(v) for name, v in values.items() if v is not None}
        return replace(self, **changed)
