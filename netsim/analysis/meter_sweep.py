"""Turns both capacitors through their settings with the real tube, and takes the antenna away."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tube.triode import TubeConstants
from netsim.circuit.tuning import BoolArray, dip
from netsim.solvers import batch, harmonic_balance
from netsim.verdict.meters import Meters, Readings, Situation, WhileTuning
from netsim.verdict.solved import Solved
from netsim.verdict.stress import across, peak, placements

POINTS = 41
"""Settings of each curve, the solved one among them."""

TUNE_SPAN = 1.35
"""Largest total tune capacitance of the curve over the solved one, and the inverse of the smallest."""

LOAD_SPAN = 2.0
LIGHT, HEAVY = 1.5, 1 / 1.5
"""Load capacitance over the solved one at which loading counts as light and heavy."""


def sweep(solved: Solved, tube: TubeConstants) -> tuple[Meters, ...]:
    """Work out the meters of every band at its first frequency.

    Parameters
    ----------
    solved : Solved
        Gives networks and settings.
    tube : TubeConstants
        With bias and drive of every network, which stay as they are.

    Returns
    -------
    tuple of Meters
        One for each band of each operating point, save those in which a setting has no steady state.

    Notes
    -----
    The load curve dips the tune capacitor again at each setting, as an operator does. The antenna goes
    first with both settings as they are; then the tune capacitor is dipped once more. With the antenna
    gone the tube draws less, so the supply counts as unloaded.
    """
    firsts = [(name, int(rows[0])) for point in solved.points() for _, name, rows in solved.bands(point)]
    rows = np.array([row for _, row in firsts])
    parts, tube = solved.assembly.parts.take(rows), tube.take(rows)
    tune, load = solved.settings.tune[rows], solved.settings.load[rows]
    plate_side = (
        parts.output_capacitance + parts.plate_choke_capacitance + parts.tune_stray + parts.tune_padding
    )
    tunes = _around(tune, plate_side, (parts.tune_minimum, parts.tune_maximum), TUNE_SPAN)
    loads = _around(
        load, parts.load_stray + parts.load_padding, (parts.load_minimum, parts.load_maximum), LOAD_SPAN
    )
    dipped = _dipped(parts, tune, load, loads)
    gone = replace(parts, antenna_resistance=np.full(len(rows), np.inf), termination=None)
    again = np.clip(dip(gone, load, antenna_connected=False), gone.tune_minimum, gone.tune_maximum)
    stage = solved.assembly.stage.take(rows)
    supply, direct = stage.plate_voltage, stage.supply_voltage
    by_tune = _turned(parts, tube, (tunes, _across_settings(load)), supply, direct)
    by_load = _turned(parts, tube, (dipped, loads), supply, direct)
    open_ = _turned(gone, tube, (np.stack([tune, again], axis=1), _across_settings(load, 2)), direct, direct)
    turned = (by_tune, by_load, open_)
    return tuple(
        _meters(
            name,
            row,
            (float(parts.frequency[k]), tune[k], load[k]),
            [t.of(k) for t in turned],
            tuned=bool(solved.tuned[row]),
        )
        for k, (name, row) in enumerate(firsts)
        if all(t.settled[k] for t in turned)
    )


def _around(
    setting: FloatArray, fixed: FloatArray, ends: tuple[FloatArray, FloatArray], span: float
) -> FloatArray:
    """Spread settings evenly by ratio of total capacitance, within range, the solved one among them."""
    low, high = (np.broadcast_to(end, setting.shape) for end in ends)
    total = setting + fixed
    first = np.clip(total / span - fixed, low, high)
    last = np.clip(total * span - fixed, low, high)
    share = np.linspace(0, 1, POINTS)
    values = (
        np.exp(
            np.log(first + fixed)[:, np.newaxis] * (1 - share) + np.log(last + fixed)[:, np.newaxis] * share
        )
        - np.broadcast_to(fixed, setting.shape)[:, np.newaxis]
    )
    values = np.clip(values, first[:, np.newaxis], last[:, np.newaxis])
    nearest = np.argmin(np.abs(values - setting[:, np.newaxis]), axis=1)
    values[np.arange(len(setting)), nearest] = setting
    return values


def _across_settings(value: FloatArray, points: int = POINTS) -> FloatArray:
    return np.repeat(value[:, np.newaxis], points, axis=1)


def _dipped(parts: Parts, tune: FloatArray, load: FloatArray, loads: FloatArray) -> FloatArray:
    """Tune setting at the dip for each load setting, within range; at the solved one as it was solved."""
    every = parts.take(np.repeat(np.arange(len(parts)), loads.shape[1]))
    found = np.clip(dip(every, loads.ravel()), every.tune_minimum, every.tune_maximum).reshape(loads.shape)
    return np.where(loads == load[:, np.newaxis], tune[:, np.newaxis], found)


@dataclass(frozen=True)
class _Turned:
    """Readings and peak voltages at many settings; every array of shape ``(bands, settings)``."""

    readings: Readings
    peaks: Mapping[str, FloatArray]
    settled: BoolArray
    """Whether every setting has a steady state, shape ``(bands,)``."""

    def of(self, band: int) -> "_Turned":
        known: dict[str, Any] = {
            name: None if v is None else v[band] for name, v in vars(self.readings).items()
        }
        readings = Readings(**known)
        peaks = {name: value[band] for name, value in self.peaks.items()}
        return _Turned(readings, peaks, np.asarray(self.settled[band]))


def _turned(
    parts: Parts,
    tube: TubeConstants,
    settings: tuple[FloatArray, FloatArray],
    supply: FloatArray,
    direct: FloatArray,
) -> _Turned:
    """Balance every band at each of its settings."""
    tune, load = settings
    owner = np.repeat(np.arange(len(parts)), tune.shape[1])
    each = parts.take(owner)
    ladder = build_ladder(each, tune.ravel(), load.ravel())
    impedance = batch.solve(ladder, np.arange(1.0, harmonic_balance.ORDERS + 1)).plate_impedance
    balance = harmonic_balance.solve(impedance, tube.take(owner), supply[owner])
    solution = batch.solve(ladder, np.arange(1.0, ORDERS + 1))
    drive = -balance.plate_current[:, :ORDERS]
    delivery = each.antenna_delivery(np.ones(1))[:, 0]
    antenna = np.abs(solution.branch_current["antenna"][:, 0] * drive[:, 0])
    grid, grid_heat = balance.grid_current_dc, balance.grid_dissipation
    readings = Readings(
        tune=tune,
        load=load,
        plate_current_dc=balance.plate_current_dc.reshape(tune.shape),
        grid_current_dc=None if grid is None else grid.reshape(tune.shape),
        output_power=(antenna**2 * np.where(np.isinf(delivery), 0.0, delivery) / 2).reshape(tune.shape),
        plate_dissipation=balance.plate_dissipation.reshape(tune.shape),
        grid_dissipation=None if grid_heat is None else grid_heat.reshape(tune.shape),
        plate_voltage_minimum=balance.plate_voltage_minimum.reshape(tune.shape),
    )
    peaks = {
        name: peak(
            across(ladder[place.branch], solution) * drive,
            direct[owner] if place.holds_supply else np.zeros(tune.size),
        ).reshape(tune.shape)
        for name, place in placements(parts).items()
    }
    return _Turned(readings, peaks, np.asarray(balance.converged.reshape(tune.shape).all(axis=1)))


def _meters(
    band: str, row: int, solved: tuple[float, float, float], turned: list[_Turned], *, tuned: bool
) -> Meters:
    by_tune, by_load, gone = turned
    frequency, tune, load = solved
    total = by_load.readings.load
    return Meters(
        band=band,
        row=row,
        frequency=frequency,
        tuned=tuned,
        by_tune=by_tune.readings,
        by_load=by_load.readings,
        matched_tune=int(np.argmin(np.abs(by_tune.readings.tune - tune))),
        matched_load=int(np.argmin(np.abs(total - load))),
        light=int(np.argmin(np.abs(total - load * LIGHT))),
        heavy=int(np.argmin(np.abs(total - load * HEAVY))),
        antenna_gone=gone.readings,
        peaks={
            # The tune capacitor dipped again without the antenna is the event of the unloaded voltage.
            part: _highest(
                (by_tune.peaks[part], by_load.peaks[part], gone.peaks[part][:1]), (by_tune, by_load, gone)
            )
            for part in by_tune.peaks
        },
        heat=_highest([run.readings.plate_dissipation for run in turned], turned),
        grid_current=_highest_known([run.readings.grid_current_dc for run in turned], turned),
        grid_heat=_highest_known([run.readings.grid_dissipation for run in turned], turned),
    )


def _highest_known(values: Sequence[FloatArray | None], turned: Sequence[_Turned]) -> WhileTuning | None:
    known = [of_run for of_run in values if of_run is not None]
    return _highest(known, turned) if len(known) == len(turned) else None


def _highest(values: Sequence[FloatArray], turned: Sequence[_Turned]) -> WhileTuning:
    situations: tuple[Situation, ...] = ("tune", "load", "antenna_gone")
    run = int(np.argmax([of_run.max() for of_run in values]))
    point, readings = int(np.argmax(values[run])), turned[run].readings
    situation: Situation = "dipped_again" if situations[run] == "antenna_gone" and point else situations[run]
    return WhileTuning(
        float(values[run][point]), situation, float(readings.tune[point]), float(readings.load[point])
    )
