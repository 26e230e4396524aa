"""Each band's worst antenna, solved by ngspice too."""

from dataclasses import replace

import numpy as np

from netsim.analysis.networks import demand_agreement
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch
from netsim.solvers.agreement import worst_relative
from netsim.verdict.any_antenna import AnyAntenna, CheckedAntenna, TerminationOf
from netsim.verdict.checks import antennas, checks
from netsim.verdict.judged import Judged
from netsim.verdict.solved import Solved

_RULES = (antennas.ratings, antennas.dissipation, antennas.plate_match)


def worst_antennas(solved: Solved) -> tuple[tuple[int, int], ...]:
    """Choose of each band the network and the antenna at which any limit is used most.

    Parameters
    ----------
    solved : Solved
        On other antennas too.

    Returns
    -------
    tuple of (int, int)
        Network and antenna, one for each band, operating points among its networks.
    """
    judged = [j for j in checks(solved, _RULES) if isinstance(j, Judged) and j.load is not None]
    chosen = []
    for band in np.unique(solved.assembly.band_index).tolist():
        rows = np.flatnonzero(solved.assembly.band_index == band)
        found = []
        for one in judged:
            here = rows[one.applies[rows]]
            if here.size and one.load is not None:
                row = one.worst(here)
                found.append((float(one.strain[row]), row, int(one.load[row])))
        _, row, load = max(found, key=lambda entry: entry[0])
        chosen.append((row, load))
    return tuple(chosen)


def against_ngspice(solved: Solved, termination: TerminationOf) -> AnyAntenna:
    """Solve each band's worst antenna by ngspice too, and compare.

    Parameters
    ----------
    solved : Solved
        On other antennas too.
    termination : callable
        What the networks end in, as for `on_all_loads`.

    Returns
    -------
    AnyAntenna
        With how far both are apart.

    Raises
    ------
    SolveError
        If ngspice is missing or fails, or the two differ by more than 1e-6.
    """
    from netsim.solvers import spice

    assert solved.any_antenna is not None
    found, chosen = solved.any_antenna, worst_antennas(solved)
    row, load = (np.array(index, dtype=np.intp) for index in zip(*chosen, strict=True))
    loads = found.impedance.shape[1]
    some = termination(row).take(np.arange(len(row)) * loads + load, len(row) * loads)
    parts = replace(solved.assembly.parts.take(row), termination=some)
    ladder = build_ladder(parts, found.tune[row, load], found.load[row, load])
    orders = np.arange(1.0, ORDERS + 1)
    apart = worst_relative(spice.solve(ladder, orders), batch.solve(ladder, orders))
    demand_agreement(apart, ladder.frequency, "the ladder solver of other antennas")
    checked = tuple(
        CheckedAntenna(*place, float(difference)) for place, difference in zip(chosen, apart, strict=True)
    )
    return replace(found, checked=checked)
