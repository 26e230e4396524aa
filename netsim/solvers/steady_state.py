"""The common steady state of tube and network: what flows, what stands where, what turns to heat."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray, Index
from netsim.circuit.tube.triode import TubeConstants
from netsim.errors import BalanceError, Problem

SAMPLES = 256
"""Of one period, at which the tube is evaluated where all orders are solved."""

TOLERANCE = 1e-9
"""Largest residual of a balance, relative to the plate supply."""


@dataclass(frozen=True)
class Waves:
    """One period from the drive's crest; every array of shape ``(networks, samples)``.

    Attributes
    ----------
    plate, grid : ndarray
        Voltages to the cathode [V].
    current : ndarray
        Of the plate [A].
    grid_current : ndarray or None
        [A]; None where the tube's is not known.
    """

    plate: FloatArray
    grid: FloatArray
    current: FloatArray
    grid_current: FloatArray | None


@dataclass(frozen=True)
class Balance:
    """Steady state of each network with its tube; phasors are peak values, angle 0 at the drive's crest.

    Attributes
    ----------
    tube : TubeConstants
        As solved; its constants are numbers or of shape ``(networks,)``.
    supply : ndarray
        DC plate to cathode [V], shape ``(networks,)``.
    plate_voltage : ndarray
        Complex, plate to ground, orders 1 to m [V], shape ``(networks, m)``.
    plate_current : ndarray
        Complex, from the network into the tube, orders 1 to m [A], same shape.
    grid_current : ndarray or None
        Complex, into the grid, orders 1 to m [A], same shape; None where the tube's is not known, as the two
        of the grid below.
    plate_current_dc, grid_current_dc : ndarray
        [A], shape ``(networks,)``.
    plate_dissipation, grid_dissipation : ndarray
        Mean of voltage to the cathode times current [W], shape ``(networks,)``.
    plate_voltage_minimum : ndarray
        Lowest sample of the plate to the cathode [V], shape ``(networks,)``.
    neglected : ndarray
        Estimate, over the supply: voltage of all orders that counted as short-circuited, with the impedance
        of the last order given where there is none for them, and what too few samples add to the
        fundamental; shape ``(networks,)``.
    residual : ndarray
        Largest difference between both sides of Ohm's law at the plate, over the supply; ``(networks,)``.
    converged : ndarray of bool
        Where the residual is below `TOLERANCE`. Everything else of the other networks is NaN.
    iterations : int
        Newton steps of the slowest network.
    """

    tube: TubeConstants
    supply: FloatArray
    plate_voltage: ComplexArray
    plate_current: ComplexArray
    grid_current: ComplexArray | None
    plate_current_dc: FloatArray
    grid_current_dc: FloatArray | None
    plate_dissipation: FloatArray
    grid_dissipation: FloatArray | None
    plate_voltage_minimum: FloatArray
    neglected: FloatArray
    residual: FloatArray
    converged: npt.NDArray[np.bool_]
    iterations: int

    @property
    def input_power(self) -> FloatArray:
        """DC power from the plate supply [W]."""
        return self.supply * self.plate_current_dc

    @property
    def plate_power(self) -> FloatArray:
        """Power that the plate gives to the network, all orders [W]."""
        return np.asarray(-(self.plate_voltage * self.plate_current.conj()).real.sum(axis=1) / 2)

    @property
    def feed_through_power(self) -> FloatArray:
        """Power of the drive that passes into the plate circuit, none in grounded cathode [W]."""
        return np.asarray(self.tube.series_drive * self.plate_current[:, 0].real / 2)

    @property
    def driven_current(self) -> ComplexArray | None:
        """Fundamental current that the drive supplies [A peak], to grid and, in grounded grid, to plate.

        Where the grid's is not known, the plate's alone in grounded grid, and None in grounded cathode.
        """
        through = self.plate_current[:, 0] if self.tube.connection == "grounded grid" else None
        if self.grid_current is None:
            return through
        grid = self.grid_current[:, 0]
        return np.asarray(grid if through is None else grid + through)

    @property
    def drive_power(self) -> FloatArray | None:
        """Power that the drive gives [W], to grid and plate circuit as `driven_current` says."""
        current = self.driven_current
        return None if current is None else np.asarray(self.tube.drive_voltage_peak * current.real / 2)

    @property
    def input_impedance(self) -> ComplexArray | None:
        """What cathode or grid shows the drive [ohm]: fundamental drive over `driven_current`."""
        current = self.driven_current
        if current is None:
            return None
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(self.tube.drive_voltage_peak / current)

    @property
    def cathode_current_dc(self) -> FloatArray:
        """DC of plate and, where it is known, grid [A]; without a screen's."""
        grid = 0.0 if self.grid_current_dc is None else self.grid_current_dc
        return self.plate_current_dc + grid

    @classmethod
    def join(cls, parts: Sequence["Balance"], tube: TubeConstants) -> "Balance":
        """Put the networks of several balances after each other; `tube` is that of all."""
        whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in parts[0].arrays()}
        return parts[0]._with(tube, whole, max(part.iterations for part in parts))

    def arrays(self) -> dict[str, npt.NDArray[Any]]:
        """Return all arrays by name; networks are their first axis."""
        return {name: value for name, value in vars(self).items() if isinstance(value, np.ndarray)}

    def take(self, index: Index | slice) -> "Balance":
        """Choose some networks by index, mask or slice."""
        some = {name: value[index] for name, value in self.arrays().items()}
        return self._with(self.tube.take(index), some, self.iterations)

    def _with(self, tube: TubeConstants, arrays: dict[str, npt.NDArray[Any]], iterations: int) -> "Balance":
        changed: dict[str, Any] = {**arrays, "tube": tube, "iterations": iterations}
        return replace(self, **changed)

    def waves(self, samples: int = SAMPLES) -> Waves:
        """Draw voltages and currents over one period, at more samples than twice the orders."""
        return waves_of(
            self.plate_voltage, self.tube.column, self.supply, 2 * np.pi * np.arange(samples) / samples
        )

    def require_converged(self) -> "Balance":
        """Return itself.

        Raises
        ------
        BalanceError
            ``balance_not_converged``, with the largest residual, if a network did not converge.
        """
        if not self.converged.all():
            worst = np.where(self.converged, -np.inf, np.nan_to_num(self.residual, nan=np.inf))
            row = int(np.argmax(worst))
            raise BalanceError(
                Problem(
                    "balance_not_converged",
                    f"the balance of tube and network does not converge: residual {self.residual[row]:.2g} of the "
                    f"plate supply in network {row + 1} of {len(worst)}, more than {TOLERANCE:g}; no number is "
                    "given. Check drive, bias and plate load of the tube, and report this with the file if they "
                    "are sound",
                )
            )
        return self


def waves_of(voltage: ComplexArray, column: TubeConstants, supply: FloatArray, angle: FloatArray) -> Waves:
    """Evaluate the tube over one period."""
    plate = supply[:, np.newaxis] + wave_of(voltage, len(angle)) + column.series_drive * np.cos(angle)
    grid = np.broadcast_to(column.drive(angle), plate.shape)
    return Waves(plate, grid, column.plate_current(plate, grid), column.grid_current(plate, grid))


def wave_of(voltage: ComplexArray, samples: int) -> FloatArray:
    """Return one period from phasors of orders 1 to m, shape ``(networks, samples)``."""
    spectrum = np.zeros((len(voltage), samples // 2 + 1), dtype=np.complex128)
    spectrum[:, 1 : voltage.shape[1] + 1] = voltage * (samples / 2)
    return np.fft.irfft(spectrum, samples, axis=1)


def phasors(wave: FloatArray, orders: int) -> ComplexArray:
    """Return peak phasors of orders 1 to m of one period, ``2 / N sum i exp(-j n x)``."""
    return np.asarray(np.fft.rfft(wave, axis=1)[:, 1 : orders + 1] * (2 / wave.shape[1]))
