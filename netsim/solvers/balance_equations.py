"""The equations of harmonic balance and Newton's steps on them, for many networks at once."""

import numpy as np
import numpy.typing as npt

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.tube.triode import Tube

TOLERANCE = 1e-9
"""Largest residual of a balance, relative to the plate supply."""

_STEPS = 40
_HALVINGS = 8


class Equations:
    """Equations of many networks; unknowns are real then imaginary parts of all orders, per network."""

    def __init__(self, impedance: ComplexArray, tube: Tube, supply: FloatArray, samples: int) -> None:
        count = impedance.shape[1]
        if 2 * count >= samples:
            raise ValueError(f"{samples} samples hold fewer than {samples // 2} orders, not {count}")
        self.impedance, self.tube, self.supply, self.samples = impedance, tube, supply, samples
        self.angle = 2 * np.pi * np.arange(samples) / samples
        self.grid = tube.drive(self.angle)
        self.series = tube.series_drive * np.cos(self.angle)
        order = np.arange(1, count + 1)
        self._minus = (order[:, np.newaxis] - order) % samples
        self._plus = (order[:, np.newaxis] + order) % samples

    def start(self) -> FloatArray:
        """Guess: the current of a plate at rest, through the impedance, within the supply."""
        at_rest = self.current(np.zeros((len(self.supply), self.samples)), self.supply)[0]
        voltage = np.zeros_like(self.impedance)
        first = -self.impedance[:, 0] * self.orders(at_rest)[:, 0]
        voltage[:, 0] = first * np.minimum(1, 0.8 * self.supply / np.maximum(np.abs(first), 1e-30))
        return self._pack(voltage)

    def newton(self, unknown: FloatArray, share: FloatArray) -> tuple[FloatArray, FloatArray, int]:
        """Iterate to the tolerance; gives unknowns, residuals and how many steps the slowest took."""
        unknown = unknown.copy()
        residual = np.full(len(unknown), np.inf)
        active = np.arange(len(unknown))
        for step in range(_STEPS):
            error, slope = self._evaluate(unknown[active], active, share)
            residual[active] = self._size(error, active)
            going = residual[active] > TOLERANCE / 10
            active, error, slope = active[going], error[going], slope[going]
            if not active.size:
                return unknown, residual, step
            change = self._step(error, slope, active, share)
            unknown[active] = self._search(unknown[active], change, residual[active], active, share)
        residual[active] = self._size(self._evaluate(unknown[active], active, share)[0], active)
        return unknown, residual, _STEPS

    def _search(
        self,
        unknown: FloatArray,
        change: FloatArray,
        residual: FloatArray,
        active: npt.NDArray[np.intp],
        share: FloatArray,
    ) -> FloatArray:
        """Take the longest of the halved steps that reduces the residual, or the last one."""
        length = np.ones(len(active))
        for _ in range(_HALVINGS):
            trial = unknown + length[:, np.newaxis] * change
            worse = self._size(self._evaluate(trial, active, share)[0], active) > residual
            if not worse.any():
                break
            length[worse] /= 2
        return unknown + length[:, np.newaxis] * change

    def _evaluate(
        self, unknown: FloatArray, rows: npt.NDArray[np.intp], share: FloatArray
    ) -> tuple[ComplexArray, FloatArray]:
        """Error ``V + Z I`` by order, and the current's slope by sample."""
        voltage = self.unpack(unknown)
        current, slope = self.current(self.wave(voltage), self.supply[rows])
        impedance = share[rows, np.newaxis] * self.impedance[rows]
        return voltage + impedance * self.orders(current), slope

    def _step(
        self, error: ComplexArray, slope: FloatArray, rows: npt.NDArray[np.intp], share: FloatArray
    ) -> FloatArray:
        spectrum = np.fft.fft(slope, axis=1) / self.samples
        even, odd = spectrum.real, -spectrum.imag
        near, far = even[:, self._minus], even[:, self._plus]
        skew, sum_ = odd[:, self._minus], odd[:, self._plus]
        # The wave is a cos - b sin, and so is what multiplies the current in the sums for its orders.
        matrix = np.block([[near + far, skew - sum_], [-skew - sum_, near - far]])
        count = self.impedance.shape[1]
        impedance = share[rows, np.newaxis] * self.impedance[rows]
        resistance, reactance = impedance.real[:, :, np.newaxis], impedance.imag[:, :, np.newaxis]
        upper, lower = matrix[:, :count], matrix[:, count:]
        jacobian = np.concatenate(
            [resistance * upper - reactance * lower, reactance * upper + resistance * lower], axis=1
        )
        diagonal = np.arange(2 * count)
        jacobian[:, diagonal, diagonal] += 1
        return -np.linalg.solve(jacobian, self._pack(error)[:, :, np.newaxis])[:, :, 0]

    def current(self, wave: FloatArray, supply: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the plate current [A] and its slope [S] by sample, for a plate wave to ground [V]."""
        plate = supply[:, np.newaxis] + wave + self.series
        return self.tube.plate_current_and_slope(plate, np.broadcast_to(self.grid, plate.shape))

    def orders(self, wave: FloatArray) -> ComplexArray:
        """Peak phasors of orders 1 to m of a wave, ``2/N sum i exp(-j n x)``."""
        count = self.impedance.shape[1]
        return np.asarray(np.fft.rfft(wave, axis=1)[:, 1 : count + 1] * (2 / self.samples))

    def wave(self, voltage: ComplexArray) -> FloatArray:
        """Give samples of one period from phasors of orders 1 to m."""
        spectrum = np.zeros((len(voltage), self.samples // 2 + 1), dtype=np.complex128)
        spectrum[:, 1 : voltage.shape[1] + 1] = voltage * (self.samples / 2)
        return np.fft.irfft(spectrum, self.samples, axis=1)

    def _size(self, error: ComplexArray, rows: npt.NDArray[np.intp]) -> FloatArray:
        return np.asarray(np.abs(error).max(axis=1) / self.supply[rows])

    @staticmethod
    def _pack(voltage: ComplexArray) -> FloatArray:
        return np.concatenate([voltage.real, voltage.imag], axis=1)

    @staticmethod
    def unpack(unknown: FloatArray) -> ComplexArray:
        """Give phasors out of their real and imaginary parts."""
        count = unknown.shape[1] // 2
        return unknown[:, :count] + 1j * unknown[:, count:]
