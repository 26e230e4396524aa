"""What the plate draws at given impedances: the pulse, or the tube in its steady state where the file has one."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.stage import PlateCurrent
from netsim.circuit.tube.curve_fit import Fit
from netsim.circuit.tube.triode import TubeConstants
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.solvers import batch
from netsim.verdict.tube_state import TubeState, drawn_by

_NEAR = 0.1
"""Relative distance of a plate impedance from a known one up to which the state of that is a good start."""

_MOST_IMPEDANCE = 1e4
"""Of the plate, over the plate load: beyond that a dip without losses draws no current that matters."""


@dataclass(frozen=True)
class PlateSource:
    """The stage of an amplifier's networks.

    Attributes
    ----------
    amplifier : Amplifier
        Whose tube it is.
    assembly : Assembly
        Of ``networks`` networks.
    description : Description
        The file's, or what a search tries.
    state : TubeState, optional
        Steady states of these networks if they are known: what is near them is then found from them.
    """

    amplifier: Amplifier
    assembly: Assembly
    description: Description
    state: TubeState | None = None

    @cached_property
    def tube(self) -> tuple[TubeConstants, Fit | None] | None:
        """The tube with bias and drive of every network, and how it was read; None for the pulse."""
        if self.state is not None:
            return self.state.tube, self.state.fit
        if self.description.tube is None:
            return None
        # Imported here: a file without a tube does without all of it.
        from netsim.analysis.tube_assembly import assemble_tube

        return assemble_tube(self.amplifier, self.assembly, self.description)

    def drawn(self, impedance: ComplexArray, owner: IndexArray | None = None) -> PlateCurrent:
        """Return the plate current at impedances of orders 1 to 10.

        Parameters
        ----------
        impedance : ndarray
            [ohm], shape ``(n, 10)``.
        owner : ndarray of int, optional
            Which network each belongs to, shape ``(n,)``; its own by default.
        """
        stage = self.assembly.stage if owner is None else self.assembly.stage.take(owner)
        if self.tube is None:
            return stage.plate_current(impedance[:, 0])
        from netsim.solvers import harmonic_balance

        tube = self.tube[0] if owner is None else self.tube[0].take(owner)
        start = None
        if self.state is not None:
            balance, at = self.state.balance, slice(None) if owner is None else owner
            seen = (-balance.plate_voltage[:, 0] / balance.plate_current[:, 0])[at]
            near = np.abs(impedance[:, 0] - seen) <= _NEAR * np.abs(seen)
            known = balance.plate_voltage[at, : impedance.shape[1]]
            start = np.where(near[:, np.newaxis], known, np.nan)
        return drawn_by(harmonic_balance.solve(impedance, tube, stage.plate_voltage, start))

    def settled(self, ladder: Ladder, *, strict: bool = True) -> TubeState | None:
        """Return the steady states of all networks, all orders; None for the pulse.

        Raises
        ------
        BalanceError
            If a network has none, and `strict`; else it has NaN.
        """
        if self.tube is None:
            return None
        from netsim.solvers import harmonic_balance

        tube, fit = self.tube
        orders = np.arange(1.0, harmonic_balance.ORDERS + 1)
        impedance = batch.solve(ladder, orders).plate_impedance
        balance = harmonic_balance.solve(impedance, tube, self.assembly.stage.plate_voltage)
        return TubeState(fit, balance.require_converged() if strict else balance)

    def unloaded(self, impedance: ComplexArray, *, strict: bool = True) -> PlateCurrent | None:
        """Return the plate current with the antenna off and the supply without load; None for the pulse.

        Parameters
        ----------
        impedance : ndarray
            Of the plate with its nominal load across it, orders 1 to 10 [ohm], shape ``(networks, 10)``.
        strict : bool
            Whether a network without a steady state is an error; else it has NaN.
        """
        if self.tube is None:
            return None
        from netsim.solvers import harmonic_balance

        load: FloatArray = self.assembly.parts.plate_load[:, np.newaxis]
        with np.errstate(divide="ignore", invalid="ignore"):
            alone = 1 / (1 / impedance - 1 / load)
        alone = np.where(np.abs(alone) < _MOST_IMPEDANCE * load, alone, _MOST_IMPEDANCE * load)
        supply = self.assembly.stage.supply_voltage
        balance = harmonic_balance.solve(alone, self.tube[0], supply)
        if strict:
            balance.require_converged()
        found = drawn_by(balance)
        # Into the ladder as it was solved: what flows in the load across the plate is sent in as well.
        voltage = balance.plate_voltage[:, : impedance.shape[1]]
        return PlateCurrent(found.direct, -voltage / impedance, found.dissipation)
