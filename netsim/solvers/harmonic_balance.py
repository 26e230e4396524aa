"""Tube and network at their common steady state: harmonic balance, many networks at once, in numpy."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.tube.triode import TubeConstants
from netsim.solvers.steady_state import SAMPLES, TOLERANCE, Balance, phasors, wave_of, waves_of

ORDERS = 32
"""How many orders of plate voltage to balance; above them the network counts as a short circuit."""

NEGLECT = 1e-4
"""What may be neglected, over the supply, so that output and heat are true to a thousandth."""

_Rows = npt.NDArray[np.intp]
_CHUNK = 256  # networks at once: their matrices take some tens of megabytes at most
_LOUD = 10  # orders that are always solved
_TOP = 8  # highest orders of the samples, from which their error is estimated
_COARSE = 32  # samples for the fundamental alone, from which the whole starts
_STEPS = 60
_HALVINGS = 10
_RAMP = (0.03, 0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0)


def solve(
    impedance: ComplexArray,
    tube: TubeConstants,
    supply: FloatArray | float,
    start: ComplexArray | None = None,
    *,
    neglect: float = NEGLECT,
    samples: int = SAMPLES,
) -> Balance:
    r"""Solve for the steady state of every network with the tube that drives it.

    Parameters
    ----------
    impedance : ndarray
        Complex, of the network at the plate at orders 1 to m of its frequency [ohm], shape
        ``(networks, m)``, m of `ORDERS` advised; zero above these orders and at DC, where the plate choke
        joins plate and supply.
    tube : TubeConstants
        With bias and drive; every constant a number, or an array of shape ``(networks,)``.
    supply : ndarray or float
        DC, plate to cathode [V], broadcastable to ``(networks,)``.
    start : ndarray, optional
        Plate voltage of networks near these, shape as the impedance's [V]; NaN where there is none.
    neglect : float
        Largest `Balance.neglected` up to which ten orders are enough; 0 solves all orders of all networks.
    samples : int
        Of one period where all orders are solved, more than twice as many; else half of it.

    Returns
    -------
    Balance
        With all m orders of current. Never raises for a network without a solution: see its `converged`.

    Raises
    ------
    ValueError
        If there are too few samples.

    Notes
    -----
    Unknown are the phasors V_n of the plate; ``V_n + Z_n I_n(v) = 0`` with the current's orders taken from
    its samples. The slope of the current against the voltage, in samples diagonal, becomes in orders the
    sum of a Toeplitz and a Hankel matrix of its own Fourier coefficients, so that one Newton step costs two
    transforms and one linear system. Plate current never falls as plate voltage rises and the network is
    passive, so there is one solution only, whatever the start: the fundamental alone, from it ten orders,
    and from them all orders of those networks in which the others count, which are those whose plate
    swings into the knee. Steps are halved while they do not reduce the sum of squares; what still does not
    arrive is led there by raising the impedance from a small share in steps. Rows are solved in chunks, so
    that memory hardly grows with their number.
    """
    count, orders = impedance.shape
    if 2 * orders >= samples:
        raise ValueError(f"{samples} samples hold fewer than {samples // 2} orders, not {orders}")
    usable = np.isfinite(impedance).all(axis=1, keepdims=True)
    known = np.where(usable, impedance, np.nan)
    volts = np.array(np.broadcast_to(supply, count), dtype=np.float64)
    with np.errstate(over="ignore", invalid="ignore"):  # what overflows is marked as not converged
        found = [
            _solve_chunk(
                _Problem(known[rows], tube.take(rows), volts[rows], samples),
                None if start is None else start[rows],
                neglect,
            )
            for rows in (slice(first, first + _CHUNK) for first in range(0, max(count, 1), _CHUNK))
        ]
    return Balance.join(found, tube)


def _solve_chunk(whole: "_Problem", start: ComplexArray | None, neglect: float) -> Balance:
    orders, samples = whole.impedance.shape[1], len(whole.angle)
    problem = whole.of(min(orders, _LOUD), max(samples // 2, 2 * _LOUD + 2))
    begin = np.zeros_like(problem.impedance)
    alone = np.arange(len(begin))
    if start is not None:
        near = np.isfinite(start).all(axis=1)
        begin[near], alone = start[near, : begin.shape[1]], np.flatnonzero(~near)
    if alone.size:
        begin[alone, :1] = whole.take(alone).of(1, _COARSE).solve()[0]
    found = _balance(problem, problem.solve(begin), whole.impedance)
    rows = np.flatnonzero(~(found.neglected <= neglect) & np.isfinite(whole.impedance[:, 0]))
    if not rows.size:
        return found
    some = whole.take(rows)
    sharp = _balance(some, some.solve(found.plate_voltage[rows]), some.impedance)
    for name, values in found.arrays().items():
        values[rows] = getattr(sharp, name)
    return replace(found, iterations=found.iterations + sharp.iterations)


def _balance(
    problem: "_Problem", solved: tuple[ComplexArray, FloatArray, int], impedance: ComplexArray
) -> Balance:
    """Draw currents of all orders of `impedance`, and powers, from the solution of as many or fewer."""
    unknown, residual, iterations = solved
    count, orders = impedance.shape
    converged = residual <= TOLERANCE
    voltage = np.zeros((count, orders), dtype=np.complex128)
    voltage[:, : problem.impedance.shape[1]] = unknown
    voltage[~converged] = np.nan
    waves = waves_of(voltage, problem.tube.column, problem.supply, problem.angle)
    grid, spectrum = waves.grid_current, phasors(waves.current, len(problem.angle) // 2)
    left_out = np.abs(spectrum)
    # The sampling adds orders near the number of samples to the lowest; a corner's fall as 1 / n^2, so that
    # they are a quarter of those at the top of this spectrum.
    added = np.abs(impedance[:, 0]) * np.sqrt(np.square(left_out[:, -_TOP:]).mean(axis=1)) / 4
    left_out[:, : min(orders, left_out.shape[1])] *= np.abs(impedance[:, : left_out.shape[1]])
    left_out[:, orders:] *= np.abs(impedance[:, -1:])
    short = np.square(left_out[:, problem.impedance.shape[1] :]).sum(axis=1)
    return Balance(
        tube=problem.tube,
        supply=problem.supply,
        plate_voltage=voltage,
        plate_current=spectrum[:, :orders],
        grid_current=None if grid is None else phasors(grid, orders),
        plate_current_dc=waves.current.mean(axis=1),
        grid_current_dc=None if grid is None else grid.mean(axis=1),
        plate_dissipation=(waves.plate * waves.current).mean(axis=1),
        grid_dissipation=None if grid is None else (waves.grid * grid).mean(axis=1),
        plate_voltage_minimum=waves.plate.min(axis=1),
        neglected=np.sqrt(short + np.square(added)) / problem.supply,
        residual=residual,
        converged=converged,
        iterations=iterations,
    )


class _Problem:
    """Equations of some networks; unknowns are the plate's phasors, shape as the impedance's."""

    def __init__(
        self, impedance: ComplexArray, tube: TubeConstants, supply: FloatArray, samples: int
    ) -> None:
        self.impedance, self.tube, self.supply = impedance, tube, supply
        self.angle = 2 * np.pi * np.arange(samples) / samples
        column = tube.column
        at_rest = supply[:, np.newaxis] + column.series_drive * np.cos(self.angle)
        self._at_rest = np.broadcast_to(at_rest, (len(impedance), samples))
        self._grid = np.broadcast_to(column.drive(self.angle), self._at_rest.shape)

    def take(self, rows: _Rows) -> "_Problem":
        """Choose some of the networks."""
        return _Problem(self.impedance[rows], self.tube.take(rows), self.supply[rows], len(self.angle))

    def of(self, orders: int, samples: int) -> "_Problem":
        """Keep the lowest orders alone."""
        return _Problem(self.impedance[:, :orders], self.tube, self.supply, samples)

    def solve(self, begin: ComplexArray | None = None) -> tuple[ComplexArray, FloatArray, int]:
        """Solve from a guess; gives phasors, residuals and how many steps the slowest took."""
        voltage, residual, steps = self.newton(self._guess() if begin is None else begin)
        lost = np.flatnonzero(~(residual <= TOLERANCE) & np.isfinite(self.impedance[:, 0]))
        if lost.size:
            some = self.take(lost)
            state = some._guess() * _RAMP[0]
            for share in _RAMP:
                raised = _Problem(share * some.impedance, some.tube, some.supply, len(self.angle))
                state, residual[lost], more = raised.newton(state)
                steps += more
            voltage[lost] = state
        return voltage, residual, steps

    def _guess(self) -> ComplexArray:
        """Take the fundamental of a plate at rest, through the impedance, within the supply."""
        first = -self._evaluate(np.zeros_like(self.impedance), slice(None))[0][:, 0]
        voltage = np.zeros_like(self.impedance)
        voltage[:, 0] = first * np.minimum(1, 0.8 * self.supply / np.maximum(np.abs(first), 1e-30))
        return voltage

    def newton(self, voltage: ComplexArray) -> tuple[ComplexArray, FloatArray, int]:
        """Iterate to the tolerance; gives phasors, residuals and how many steps the slowest took."""
        voltage = voltage.copy()
        residual = np.full(len(voltage), np.inf)
        active: _Rows = np.arange(len(voltage))
        error, slope = self._evaluate(voltage, active)
        for step in range(_STEPS):
            residual[active] = self._size(error, active)
            going = np.isfinite(residual[active]) & (residual[active] > TOLERANCE / 10)
            active, error, slope = active[going], error[going], slope[going]
            if not active.size:
                return voltage, residual, step
            change = self._step(error, slope, active)
            voltage[active], error, slope = self._search(voltage[active], change, error, active)
        residual[active] = self._size(error, active)
        return voltage, residual, _STEPS

    def _search(
        self, voltage: ComplexArray, change: ComplexArray, error: ComplexArray, rows: _Rows
    ) -> tuple[ComplexArray, ComplexArray, FloatArray]:
        """Take the longest of the halved steps that reduces the sum of squares, or the last one."""
        trial = voltage + change
        found, slope = self._evaluate(trial, rows)
        before = _squares(error)
        for halving in range(1, _HALVINGS + 1):
            worse = np.flatnonzero(~(_squares(found) < before))
            if not worse.size:
                break
            trial[worse] = voltage[worse] + 0.5**halving * change[worse]
            found[worse], slope[worse] = self._evaluate(trial[worse], rows[worse])
        return trial, found, slope

    def _evaluate(self, voltage: ComplexArray, rows: _Rows | slice) -> tuple[ComplexArray, FloatArray]:
        """Error ``V + Z I`` by order, and the current's slope by sample."""
        plate = self._at_rest[rows] + wave_of(voltage, len(self.angle))
        current, slope = self.tube.take(rows).column.plate_current_and_slope(plate, self._grid[rows])
        return voltage + self.impedance[rows] * phasors(current, voltage.shape[1]), slope

    def _step(self, error: ComplexArray, slope: FloatArray, rows: _Rows) -> ComplexArray:
        orders = error.shape[1]
        spectrum = np.fft.rfft(slope, axis=1)[:, : 2 * orders + 1] / len(self.angle)
        # Products of two orders fall on their differences, from 1 - m, and their sums, up to 2 m. Rows of
        # the Toeplitz matrix have order k - n, of the Hankel matrix k + n; both are views.
        spectrum = np.concatenate([spectrum[:, orders - 1 : 0 : -1].conj(), spectrum], axis=1)
        windows = sliding_window_view(spectrum, orders, axis=1)
        differences, sums = windows[:, :orders, ::-1], windows[:, orders + 1 :]
        # For V = a + j b the wave is a cos - b sin, and so is what multiplies the current in its orders.
        by_real = self.impedance[rows][:, :, np.newaxis] * (differences + sums)
        by_imaginary = self.impedance[rows][:, :, np.newaxis] * (differences - sums)
        jacobian = np.empty((len(slope), 2 * orders, 2 * orders))
        jacobian[:, :orders, :orders], jacobian[:, orders:, :orders] = by_real.real, by_real.imag
        jacobian[:, :orders, orders:], jacobian[:, orders:, orders:] = -by_imaginary.imag, by_imaginary.real
        jacobian += np.eye(2 * orders)
        wanted = np.concatenate([error.real, error.imag], axis=1)[:, :, np.newaxis]
        try:
            change = np.linalg.solve(jacobian, wanted)
        except np.linalg.LinAlgError:  # one singular network must not cost the others
            change = np.linalg.pinv(jacobian) @ wanted
        return np.asarray(-(change[:, :orders, 0] + 1j * change[:, orders:, 0]))

    def _size(self, error: ComplexArray, rows: _Rows) -> FloatArray:
        return np.asarray(np.abs(error).max(axis=1) / self.supply[rows])


def _squares(error: ComplexArray) -> FloatArray:
    return np.asarray((np.square(error.real) + np.square(error.imag)).sum(axis=1))
