"""The tube by its own law, and antennas that are not matched: only where the file or the command asks for it."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from netsim.analysis.antenna_files import antenna_at_orders, filtered, resistance_of, source_at
from netsim.analysis.plate_source import PlateSource
from netsim.analysis.worst_antennas import against_ngspice
from netsim.circuit.assembly import measured_orders
from netsim.circuit.elements import FloatArray, IndexArray, Termination
from netsim.circuit.reflection import (
    impedance_of,
    loads_within,
    power_spread,
    reflection_of,
    through_filter,
)
from netsim.circuit.stage import ORDERS
from netsim.description.reader import Amplifier
from netsim.description.touchstone import load
from netsim.verdict.any_antenna import HARMONIC_SWR, AnyAntenna, TerminationOf, on_all_loads
from netsim.verdict.solved import Solved
from netsim.verdict.tube_state import TubeState

if TYPE_CHECKING:
    from netsim.analysis.networks import Engine


def with_tube_and_antennas(
    amplifier: Amplifier, solved: Solved, engine: "Engine", swr: float | None
) -> Solved:
    """Work out the meters while tuning, and the amplifier on any antenna.

    Parameters
    ----------
    amplifier : Amplifier
        May have a tube, a measured antenna or a worst SWR above 1.
    solved : Solved
        Its networks at their settings.
    engine : {"both", "two-port"}
        Whether ngspice takes part.
    swr : float, optional
        Instead of the file's worst SWR and measured antenna.

    Returns
    -------
    Solved
        With what of it is asked for.

    Raises
    ------
    DescriptionError, SolveError
        If tube or measurements are unusable; if a balance does not converge or ngspice contradicts it.
    """
    antenna = solved.description.antenna
    measured = antenna.measured is not None and swr is None
    worst = antenna.worst_swr if swr is None else swr
    state, both = solved.tube_state, engine == "both"
    with ThreadPoolExecutor(1) as beside:  # ngspice works in its own process while the rest does in this one
        run = None
        if state is not None and both and solved.assembly.parts.termination is None:
            run = beside.submit(_against_transient, solved, state)
        if state is not None:
            from netsim.analysis.meter_sweep import sweep

            solved = replace(solved, meters=sweep(solved, state.tube))
        if measured or worst > 1:
            solved = _with_antennas(amplifier, solved, None if measured else worst, both=both)
        if run is not None:
            solved = replace(solved, tube_state=run.result())
    return solved


def _with_antennas(amplifier: Amplifier, solved: Solved, swr: float | None, *, both: bool) -> Solved:
    """Solve all networks on all antennas up to an SWR, or on the measured one; the worst by ngspice too."""
    source = PlateSource(amplifier, solved.assembly, solved.description, solved.tube_state)
    if swr is None:
        found, termination = _measured(amplifier, solved, source)
        solved = replace(solved, any_antenna=found)
    else:
        found, termination = _circle(amplifier, solved, swr, source)
        solved = replace(solved, any_antenna=found, harmonic_spread=_spread(amplifier, solved))
    return replace(solved, any_antenna=against_ngspice(solved, termination)) if both else solved


def _against_transient(solved: Solved, state: TubeState) -> TubeState:
    """Compare every network with ngspice over time, begun from the balance's own state."""
    from netsim.solvers import transient

    ladder = solved.ladder
    apart = [transient.check(ladder, state.balance, row) for row in range(len(ladder))]
    return replace(state, difference=np.array(apart))


def _circle(
    amplifier: Amplifier, solved: Solved, swr: float, source: PlateSource
) -> tuple[AnyAntenna, TerminationOf]:
    parts, reflection = solved.assembly.parts, loads_within(swr)
    resistance, loads = resistance_of(parts), len(reflection)
    measurement = None if solved.description.antenna.filter is None else load(amplifier, "filter")

    def termination(rows: IndexArray) -> Termination:
        matched = np.repeat(resistance[rows], loads)
        impedance = impedance_of(np.tile(reflection, len(rows)), matched)[:, np.newaxis]
        if measurement is None:
            return Termination(impedance, matched)
        rest = np.broadcast_to(matched[:, np.newaxis], (len(matched), ORDERS - 1))
        every = Termination(np.concatenate([impedance, rest], axis=1), matched)
        return filtered(measurement, parts.take(rows), every, np.repeat(np.arange(len(rows)), loads))

    found = on_all_loads(solved.assembly, termination, loads, swr, source.drawn)
    impedance = impedance_of(reflection, resistance[:, np.newaxis])
    found = replace(
        found, impedance=impedance, reflection=reflection_of(impedance, resistance[:, np.newaxis])
    )
    return found, termination


def _measured(amplifier: Amplifier, solved: Solved, source: PlateSource) -> tuple[AnyAntenna, TerminationOf]:
    parts = solved.assembly.parts
    resistance = resistance_of(parts)
    antenna = antenna_at_orders(amplifier, parts)
    has_filter = solved.description.antenna.filter is not None
    termination = filtered(load(amplifier, "filter"), parts, antenna) if has_filter else antenna

    def termination_of(rows: IndexArray) -> Termination:
        return termination.take(rows, len(parts))

    found = on_all_loads(solved.assembly, termination_of, 1, None, source.drawn)
    first = antenna.impedance[:, :1]
    found = replace(found, impedance=first, reflection=reflection_of(first, resistance[:, np.newaxis]))
    return found, termination_of


def _spread(amplifier: Amplifier, solved: Solved) -> FloatArray:
    """Find how far each order's level can lie from that into the matched resistance, ``(networks, 10, 2)``.

    NaN at orders of which the filter was not measured.
    """
    parts = solved.assembly.parts
    resistance, orders = resistance_of(parts), np.arange(1.0, ORDERS + 1)
    _, source = source_at(solved.ladder, resistance, orders)
    back = reflection_of(source, resistance[:, np.newaxis])
    if solved.description.antenna.filter is not None:
        measurement = load(amplifier, "filter")
        s = measured_orders(measurement, parts.frequency)
        unknown = np.asarray(np.isnan(s).any(axis=(-2, -1)))
        s = np.where(unknown[..., np.newaxis, np.newaxis], 0.0, s)
        into = reflection_of(source, measurement.reference)
        seen = impedance_of(through_filter(s, into), measurement.reference)
        back = reflection_of(seen, resistance[:, np.newaxis])
        back = np.where(unknown, np.nan, back)
    return np.stack(power_spread(np.minimum(np.abs(back), 1.0), HARMONIC_SWR), axis=-1)
