"""Settings of most output where no match is within reach and the tube itself is the stage."""

from dataclasses import replace

import numpy as np

from netsim.analysis.plate_source import PlateSource
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import BoolArray
from netsim.solvers import batch
from netsim.verdict.solved import Settings

_SPAN, _ROUNDS = 1.4, 8
"""First step of the total capacitance either way, as a ratio; how often it is halved: the last is below 0.3 %."""

_STEPS = np.linspace(-1, 1, 5)
_MOST = 2000
"""Settings of all networks that are balanced in one go."""


def peaked(source: PlateSource, stand: Settings) -> Settings:
    """Turn both capacitors on from where a pulse has most output to where the tube has.

    Parameters
    ----------
    source : PlateSource
        With a tube.
    stand : Settings
        As the pulse peaks them; matches and settings given in the file stay.

    Returns
    -------
    Settings
        Within the parts' ranges.

    Notes
    -----
    The tube draws more off the match than a pulse of fixed size, and its swing ends softly, so that its output
    peaks elsewhere along the same ridge. A grid of five by five settings about the best so far, in the logarithm
    of the total capacitance at each node, is halved in width round by round. Settings without a steady state are
    passed over.
    """
    parts = source.assembly.parts
    stuck = np.flatnonzero(~stand.found.within(parts).any(axis=0) & np.isnan(source.assembly.tune_given))
    if not stuck.size:
        return stand
    some = parts.take(stuck)
    sides = (
        (stand.tune[stuck], some.tune_stray + some.tune_padding + some.output_capacitance, "tune"),
        (stand.load[stuck], some.load_stray + some.load_padding, "load"),
    )
    centre = [setting for setting, _, _ in sides]
    best = _output(source, stuck, centre[0][:, np.newaxis], centre[1][:, np.newaxis])[:, 0]
    width = np.log(_SPAN)
    for _ in range(_ROUNDS):
        tune, load = (
            _around(value, fixed, width, getattr(some, f"{side}_minimum"), getattr(some, f"{side}_maximum"))
            for value, (_, fixed, side) in zip(centre, sides, strict=True)
        )
        grid = (
            np.repeat(tune, len(_STEPS), axis=1),
            np.tile(load, (1, len(_STEPS))),
        )
        output = _output(source, stuck, *grid)
        place = np.argmax(output, axis=1)
        rows = np.arange(len(stuck))
        better = output[rows, place] > best
        best = np.where(better, output[rows, place], best)
        centre = [
            np.where(better, values[rows, place], value) for values, value in zip(grid, centre, strict=True)
        ]
        width /= 2
    tune, load = stand.tune.copy(), stand.load.copy()
    tune[stuck], load[stuck] = centre
    return replace(stand, tune=tune, load=load)


def _around(
    value: FloatArray, fixed: FloatArray, width: float, low: FloatArray, high: FloatArray
) -> FloatArray:
    total = (value + fixed)[:, np.newaxis] * np.exp(width * _STEPS)
    ends = (np.broadcast_to(end, value.shape)[:, np.newaxis] for end in (low, high))
    return np.asarray(np.clip(total - np.broadcast_to(fixed, value.shape)[:, np.newaxis], *ends))


def _output(source: PlateSource, rows: IndexArray, tune: FloatArray, load: FloatArray) -> FloatArray:
    """Power in the antenna at settings of shape ``(rows, settings)``; minus infinity without a steady state."""
    parts = source.assembly.parts
    owner = np.repeat(rows, tune.shape[1])
    found = np.empty(owner.size)
    for start in range(0, owner.size, _MOST):
        here = slice(start, start + _MOST)
        each = parts.take(owner[here])
        ladder = build_ladder(each, tune.ravel()[here], load.ravel()[here])
        solution = batch.solve(ladder, np.arange(1.0, ORDERS + 1))
        current = source.drawn(solution.plate_impedance, owner[here])
        antenna = np.abs(solution.branch_current["antenna"][:, 0] * current.drive[:, 0])
        found[here] = antenna**2 * each.antenna_delivery(np.ones(1))[:, 0]
    settled: BoolArray = np.isfinite(found)
    return np.where(settled, found, -np.inf).reshape(tune.shape)
