"""Tube and network at their common steady state: harmonic balance, many settings at once, in numpy."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.tube.triode import Tube
from netsim.errors import BalanceError, Problem
from netsim.solvers import batch
from netsim.solvers.balance_equations import TOLERANCE, Equations

SAMPLES = 256
"""Of one period. The tube is evaluated at these."""

ORDERS = 32
"""How many orders of plate voltage the balance holds; above them the network counts as a short circuit."""

_RAMP = (0.03, 0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0)


@dataclass(frozen=True)
class Balance:
    """Steady state of each network with its tube; phasors are peak values, angle 0 at the drive's crest.

    Attributes
    ----------
    plate_voltage : ndarray
        Complex, plate to ground, orders 1 to m [V], shape ``(networks, m)``.
    plate_current : ndarray
        Complex, from the network into the tube, orders 1 to m [A], same shape.
    plate_current_dc, grid_current_dc, grid_current_peak : ndarray
        The last is the fundamental's peak [A]; shape ``(networks,)``.
    plate_wave, grid_wave, current_wave : ndarray
        Plate to cathode and grid to cathode [V], plate current [A], over one period from the drive's crest,
        shape ``(networks, samples)``.
    supply : ndarray
        DC plate to cathode [V], shape ``(networks,)``.
    residual : ndarray
        Largest difference between both sides of Ohm's law at the plate, over the supply; ``(networks,)``.
    iterations : int
        Newton steps of the slowest network.
    """

    tube: Tube
    plate_voltage: ComplexArray
    plate_current: ComplexArray
    plate_current_dc: FloatArray
    grid_current_dc: FloatArray
    grid_current_peak: FloatArray
    plate_wave: FloatArray
    grid_wave: FloatArray
    current_wave: FloatArray
    supply: FloatArray
    residual: FloatArray
    iterations: int

    @property
    def input_power(self) -> FloatArray:
        """DC power from the plate supply [W]."""
        return self.supply * self.plate_current_dc

    @property
    def drive_power(self) -> FloatArray:
        """Power that the drive gives to grid current and, in grounded grid, to the plate circuit [W]."""
        tube = self.tube
        through = tube.series_drive * self.plate_current[:, 0].real
        return np.asarray((tube.drive_voltage_peak * self.grid_current_peak + through) / 2)

    @property
    def plate_dissipation(self) -> FloatArray:
        """Mean of plate-to-cathode voltage times plate current [W]."""
        return np.asarray((self.plate_wave * self.current_wave).mean(axis=1))

    @property
    def grid_dissipation(self) -> FloatArray:
        """Mean of grid voltage times grid current [W]."""
        return np.asarray((self.grid_wave * self.tube.grid_current(self.grid_wave)).mean(axis=1))

    @property
    def bias_power(self) -> FloatArray:
        """Power that the bias supply gives [W]; negative where grid current feeds it."""
        return self.tube.bias_voltage * self.grid_current_dc


def solve(ladder: Ladder, tube: Tube, plate_voltage: FloatArray | float) -> Balance:
    """Find the steady state of every network of a ladder with the tube that drives it.

    Parameters
    ----------
    ladder : Ladder
        Of ``networks`` networks, mistuned or not.
    tube : Tube
        With bias and drive.
    plate_voltage : ndarray or float
        DC, plate to cathode [V], broadcastable to ``(networks,)``.

    Returns
    -------
    Balance
        Every residual below 1e-9.

    Raises
    ------
    BalanceError
        With the residual, if any network does not converge.
    """
    orders = np.arange(1.0, ORDERS + 1)
    impedance = batch.solve(ladder, orders).plate_impedance
    return balance(impedance, tube, np.broadcast_to(np.asarray(plate_voltage, dtype=float), len(ladder)))


def balance(
    impedance: ComplexArray, tube: Tube, plate_voltage: FloatArray, *, samples: int = SAMPLES
) -> Balance:
    r"""Do the same for plate impedances given by order.

    Parameters
    ----------
    impedance : ndarray
        Complex [ohm], shape ``(networks, orders)``; zero above these orders and at DC, where the plate
        choke joins plate and supply. Fewer orders than half the samples.
    tube : Tube
        With bias and drive.
    plate_voltage : ndarray
        DC, plate to cathode [V], shape ``(networks,)``.
    samples : int
        Of one period.

    Raises
    ------
    BalanceError
        If a network does not converge.

    Notes
    -----
    Unknown are the phasors V_n of the plate; ``V_n + Z_n I_n(v) = 0`` with the current's orders taken from
    its samples. The slope of the current against the voltage, in samples diagonal, becomes in orders the
    sum of a Toeplitz and a Hankel matrix of its own Fourier coefficients, so that one Newton step costs
    two transforms and one linear system. Steps are halved while they do not reduce the residual; what
    still does not arrive is led there by raising the impedance from a small share in steps.
    """
    problem = Equations(impedance, tube, plate_voltage, samples)
    unknown, residual, iterations = problem.newton(problem.start(), np.ones(len(impedance)))
    lost = np.flatnonzero(residual > TOLERANCE)
    if lost.size:
        some = Equations(impedance[lost], tube, plate_voltage[lost], samples)
        state = some.start() * _RAMP[0]
        for share in _RAMP:
            state, remaining, more = some.newton(state, np.full(lost.size, share))
            iterations += more
        unknown[lost], residual[lost] = state, remaining
    if not (residual <= TOLERANCE).all():
        _refuse(residual)
    return _result(problem, unknown, residual, iterations)


def _result(problem: Equations, unknown: FloatArray, residual: FloatArray, iterations: int) -> Balance:
    """Draw currents and waves from the solution."""
    tube, supply = problem.tube, problem.supply
    voltage = problem.unpack(unknown)
    wave = problem.wave(voltage)
    current = problem.current(wave, supply)[0]
    grid_current = tube.grid_current(problem.grid)
    everywhere = np.ones(len(unknown))
    return Balance(
        tube=tube,
        plate_voltage=voltage,
        plate_current=problem.orders(current),
        plate_current_dc=current.mean(axis=1),
        grid_current_dc=grid_current.mean() * everywhere,
        grid_current_peak=2 * (grid_current * np.cos(problem.angle)).mean() * everywhere,
        plate_wave=supply[:, np.newaxis] + wave + problem.series,
        grid_wave=np.broadcast_to(problem.grid, wave.shape),
        current_wave=current,
        supply=supply,
        residual=residual,
        iterations=iterations,
    )


def _refuse(residual: FloatArray) -> None:
    row = int(np.argmax(np.where(np.isnan(residual), np.inf, residual)))
    raise BalanceError(
        Problem(
            "balance_not_converged",
            f"the balance of tube and network does not converge: residual {residual[row]:.2g} of the plate "
            f"supply in network {row + 1} of {len(residual)}, more than {TOLERANCE:g}; no number is given. "
            "Check drive, bias and plate load of the tube, and report this with the file if they are sound",
        )
    )
