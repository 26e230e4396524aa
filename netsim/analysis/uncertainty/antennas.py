"""Amplifiers drawn from within the limits of what is known, on the antennas that are worst for the one as it stands."""

from collections import defaultdict
from dataclasses import replace

import numpy as np

from netsim.analysis.antenna_files import antenna_at_orders, filtered, resistance_of
from netsim.analysis.networks import solve_samples
from netsim.analysis.uncertainty.draws import variants
from netsim.analysis.uncertainty.sampling import Draws, Sampled, joined, rated_peaks
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray, Termination
from netsim.circuit.parts import Parts
from netsim.circuit.stage import ORDERS
from netsim.circuit.tuning import BoolArray
from netsim.description.assumed import completed
from netsim.description.reader import Amplifier
from netsim.description.touchstone import load
from netsim.verdict.checks import antennas, checks, network, parts
from netsim.verdict.checks.every import Rule
from netsim.verdict.judged import Judged
from netsim.verdict.solved import Solved
from netsim.verdict.spread import Place

_ASSEMBLED = 57344
"""Networks put together in one go: some 30 MB."""

MOST = 1024
"""Amplifiers drawn on other antennas, where every finding has an antenna of its own: the first of all drawn."""


def sample_antennas(amplifier: Amplifier, solved: Solved, draws: Draws) -> Sampled:
    """Tune, solve and judge amplifiers drawn, each finding at the network and antenna that is worst as it stands.

    Parameters
    ----------
    amplifier : Amplifier
        What they were drawn from.
    solved : Solved
        Of it as it stands, on other antennas too.
    draws : Draws
        At least one quantity must have limits.

    Returns
    -------
    Sampled
        Of the first `MOST` amplifiers. With a tube only of the match, which does not depend on the plate current;
        never of harmonics into terminations that nobody knows.
    """
    draws = replace(draws, places=draws.places[:MOST])
    found, nominal = solved.any_antenna, solved.assembly
    if found is None:
        return Sampled(draws)
    has_tube = amplifier.description.tube is not None
    wanted = _worst_antennas(solved, has_tube)
    used: dict[Place, FloatArray] = {}
    over: dict[Place, BoolArray] = {}
    for band in np.unique(nominal.band_index).tolist():
        there = np.flatnonzero(nominal.band_index == band)
        like, step = nominal.take(there), max(1, _ASSEMBLED // len(there))
        pieces: list[dict[Place, tuple[FloatArray, BoolArray]]] = []
        sizes = []
        for start in range(0, len(draws), step):
            some = replace(draws, places=draws.places[start : start + step])
            whole = assemble(amplifier, variants=variants(some.inputs, some.values), bands=[band], like=like)
            pieces.append({})
            sizes.append(len(some))
            for row, antenna in wanted:
                if row not in there:
                    continue
                at = int(np.searchsorted(there, row))
                judged = _judged_at(amplifier, whole, some, at, found.impedance[row, antenna], has_tube)
                for place in wanted[row, antenna]:
                    check, _, _ = place
                    key = check.code, check.part, check.quantity
                    if key in judged:
                        pieces[-1][place] = judged[key]
        of_band = joined(pieces, sizes)
        used, over = used | of_band[0], over | of_band[1]
    return Sampled(draws, used, over)


def _worst_antennas(solved: Solved, has_tube: bool) -> dict[tuple[int, int], list[Place]]:
    """Give the findings that are worst in a network and at one of its antennas, by both."""
    rules: tuple[Rule, ...] = (antennas.plate_match,)
    if not has_tube:
        rules += (antennas.ratings, antennas.dissipation)
    wanted: dict[tuple[int, int], list[Place]] = defaultdict(list)
    for judged in checks(solved, rules):
        if not isinstance(judged, Judged) or judged.load is None:
            continue
        for point in solved.points():
            for band, _, rows in solved.bands(point):
                rows = rows[judged.applies[rows]]
                if rows.size:
                    row = judged.worst(rows)
                    wanted[row, int(judged.load[row])].append((judged.check, band, point))
    return wanted


def _judged_at(
    amplifier: Amplifier, whole: Assembly, draws: Draws, row: int, antenna: complex, has_tube: bool
) -> dict[tuple[str, str, str], tuple[FloatArray, BoolArray]]:
    """Judge all amplifiers drawn in one network on one antenna [ohm], by code, part and quantity."""
    samples = len(draws)
    here = whole.take(row * samples + np.arange(samples))
    here = replace(here, parts=replace(here.parts, termination=_termination(amplifier, here.parts, antenna)))
    description = completed(amplifier.description)
    differing = variants(draws.inputs, draws.values).of(description, 1)
    solved = solve_samples(amplifier, differing, here, rated_peaks(description))
    rules: tuple[Rule, ...] = (network.plate_match,)
    if not has_tube:
        rules += (parts.ratings, network.dissipation)
    return {
        (judged.check.code, judged.check.part, judged.check.quantity): (
            np.where(np.isnan(judged.used), np.inf, judged.used),
            judged.over,
        )
        for judged in checks(solved, rules)
        if isinstance(judged, Judged)
    }


def _termination(amplifier: Amplifier, some: Parts, antenna: complex) -> Termination:
    """Put an antenna, known at the fundamental or measured at all orders, behind networks, with the file's filter."""
    resistance = resistance_of(some)
    impedance = np.full((len(some), ORDERS), resistance[:, np.newaxis], dtype=np.complex128)
    impedance[:, 0] = antenna
    hung = Termination(impedance, resistance)
    if amplifier.description.antenna.measured is not None:
        measured = antenna_at_orders(amplifier, some)
        if np.allclose(measured.impedance[:, 0], antenna):  # not where an SWR was asked for instead
            hung = measured
    return (
        hung
        if amplifier.description.antenna.filter is None
        else filtered(load(amplifier, "filter"), some, hung)
    )
