"""The drive: what the tube asks for at every network, and what the exciter sees through the input network."""

import math
from dataclasses import replace
from itertools import product
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from netsim.analysis.networks import Engine, demand_agreement
from netsim.circuit.box.input_network import EXCITER, InputParts, input_ladder, pi_for
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.preferred_values import E24, around
from netsim.circuit.tuning import BoolArray
from netsim.description.assumed import completed
from netsim.description.models.box import InputNetwork
from netsim.solvers import batch, two_port
from netsim.solvers.agreement import worst_relative
from netsim.solvers.solution import Solution
from netsim.verdict.box.state import InputState
from netsim.verdict.solved import Solved, standing_wave_ratio

_Number = TypeVar("_Number", np.float64, np.complex128)
_ONE = np.ones(1)
_HIGHEST_Q = 20.0


def drive_of(solved: Solved, engine: Engine) -> InputState | None:
    """Solve the input network of every network; None without a table, a tube, or any drive that is known.

    Parameters
    ----------
    solved : Solved
        With its tube settled.
    engine : {"both", "two-port"}
        Whether ngspice takes part.

    Raises
    ------
    SolveError
        If an engine is missing or fails, or the two differ by more than 1e-6.

    Notes
    -----
    The tube is fundamental drive over the fundamental current that the drive supplies (`Balance.input_impedance`), a
    swamping resistor beside it. Voltages are scaled from 1 A of the exciter to the tube's drive. The available power
    is ``P / (1 - |r|^2)`` with r the reflection against the source resistance.
    """
    described = completed(solved.description).input
    impedance = _tube_impedance(solved, described) if described is not None else None
    if described is None or impedance is None or solved.tube_state is None:
        return None
    every = len(solved.assembly)
    parts = _parts(solved, described, impedance)
    designed = np.zeros(every, dtype=np.bool_)
    if described.topology == "pi":
        parts, designed = _designed(solved, described, parts)
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((impedance.real > 0) & np.isfinite(impedance) & ~np.isnan(parts.coil))
    drive = np.broadcast_to(np.asarray(solved.tube_state.tube.drive_voltage_peak, dtype=np.float64), (every,))
    if not rows.size:
        return None
    found = _solve(take(parts, rows), engine)
    ladder = input_ladder(take(parts, rows))
    scale = drive[rows] / np.abs(found.node_voltage[ladder.nodes[-1]][:, 0])
    seen = found.node_voltage[ladder.nodes[0]][:, 0]
    source = described.source_resistance
    swr = standing_wave_ratio(seen, np.full(len(rows), source))
    input_power = scale**2 * seen.real / 2
    reflected = np.abs((seen - source) / (seen + source)) ** 2
    current = {name: scale * np.abs(values[:, 0]) for name, values in found.branch_current.items()}

    def spread(values: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
        whole = np.full(every, np.nan, dtype=values.dtype)
        whole[rows] = values
        return whole

    stress = {}
    for branch in ladder.branches:
        start = found.node_voltage[branch.node][:, 0]
        across = start if branch.to is None else start - found.node_voltage[branch.to][:, 0]
        name = "tube" if branch.name == "antenna" else branch.name
        stress[name] = (spread(scale * np.abs(across)), spread(current[branch.name] / math.sqrt(2)))
    omega = 2 * np.pi * parts.frequency
    with np.errstate(invalid="ignore"):
        loaded_q = np.where(parts.coil > 0, omega * parts.source_capacitor * source, np.nan)
    return InputState(
        parts=parts,
        drive=drive,
        impedance=spread(seen),
        swr=spread(swr),
        drive_power=spread(drive[rows] ** 2 * (1 / impedance[rows]).real / 2),
        input_power=spread(input_power),
        exciter_power=spread(input_power / (1 - reflected)),
        loaded_q=loaded_q,
        stress=stress,
        designed=designed,
        tube_resistance=spread(1 / (1 / impedance[rows]).real),
    )


def take(parts: InputParts, rows: np.ndarray) -> InputParts:
    """Choose some rows of the input parts by index."""
    return InputParts(**{name: value[rows] for name, value in vars(parts).items()})


def design(
    described: InputNetwork, parts: InputParts, *, rounded: bool = True
) -> tuple[float, float, float] | None:
    """Choose coil, source capacitor and tube capacitor of one band.

    Parameters
    ----------
    described : InputNetwork
        Gives source resistance and the loaded Q aimed at.
    parts : InputParts
        Of all rows of the band, for their loads.
    rounded : bool
        Whether to preferred values (IEC 60063, E24), those of the lowest SWR.

    Returns
    -------
    tuple of float or None
        [H], [F], [F]; None where no Q up to 20 matches with a capacitor that is not negative.

    Notes
    -----
    In the middle of the band. Where the Q aimed at matches no such load, or its capacitor would have to be negative,
    the next higher that does.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        load = np.nanmean(parts.load_admittance)
    middle = math.sqrt(float(parts.frequency.min() * parts.frequency.max()))
    q = np.geomspace(described.target_loaded_q, max(_HIGHEST_Q, described.target_loaded_q), 200)
    found = pi_for(described.source_resistance, np.full(len(q), load), np.full(len(q), middle), q)
    fits = np.flatnonzero(np.all([values > 0 for values in found], axis=0))
    if not fits.size:
        return None
    coil, source, tube = (float(column[fits[0]]) for column in found)
    return _preferred(described, parts, (coil, source, tube)) if rounded else (coil, source, tube)


def _preferred(
    described: InputNetwork, parts: InputParts, exact: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Choose of the preferred values around the exact ones those with the lowest SWR anywhere in the band."""
    choices = np.array(list(product(*(around(value, E24) for value in exact))))
    count = len(parts.frequency)
    every = take(parts, np.tile(np.arange(count), len(choices)))
    coil, source, tube = np.repeat(choices, count, axis=0).T
    ladder = input_ladder(replace(every, coil=coil, source_capacitor=source, tube_capacitor=tube))
    seen = batch.solve(ladder, _ONE).node_voltage[EXCITER][:, 0]
    swr = standing_wave_ratio(seen, np.full(len(seen), described.source_resistance))
    worst = np.nanmax(swr.reshape(len(choices), count), axis=1)
    chosen = choices[int(np.argmin(worst))]
    return float(chosen[0]), float(chosen[1]), float(chosen[2])


def _tube_impedance(solved: Solved, described: InputNetwork) -> ComplexArray | None:
    state = solved.tube_state
    if state is None:
        return None
    alone = state.balance.input_impedance
    swamping = described.swamping_resistance
    if swamping is None:
        return alone
    if alone is None:
        return np.full(len(solved.assembly), swamping, dtype=np.complex128)
    with np.errstate(divide="ignore", invalid="ignore"):
        admittance = np.where(np.isfinite(alone), 1 / alone, 0)
    return np.asarray(1 / (admittance + 1 / swamping))


def _parts(solved: Solved, described: InputNetwork, impedance: ComplexArray) -> InputParts:
    bands = [solved.description.bands[index] for index in solved.assembly.band_index]
    every = len(bands)

    def column(key: str) -> FloatArray:
        absent = np.nan if described.topology == "pi" else 0.0
        values = [getattr(band, key) for band in bands]
        return np.array([absent if value is None else value for value in values], dtype=np.float64)

    # The choke of the heater stands across the cathode's drive; a driven grid has none.
    cathode = solved.tube_state is not None and solved.tube_state.tube.connection == "grounded grid"
    choke = described.heater_choke if cathode else None
    return InputParts(
        frequency=solved.frequency,
        tube_impedance=impedance,
        input_capacitance=np.full(every, described.input_capacitance or 0.0),
        heater_choke=np.full(every, np.inf if choke is None else choke),
        coil=column("input_coil"),
        coil_q=np.full(every, np.inf if described.coil_q is None else described.coil_q),
        source_capacitor=column("input_source_capacitor"),
        tube_capacitor=column("input_tube_capacitor"),
    )


def _designed(solved: Solved, described: InputNetwork, parts: InputParts) -> tuple[InputParts, BoolArray]:
    """Fill in what the file leaves out, band by band; designed for the stage as it stands."""
    missing = np.isnan(parts.coil)
    coil, source, tube = parts.coil.copy(), parts.source_capacitor.copy(), parts.tube_capacitor.copy()
    for index, _, rows in solved.bands():
        if missing[rows].any() and (found := design(described, take(parts, rows))) is not None:
            every = solved.assembly.band_index == index
            coil[every], source[every], tube[every] = found
    filled = replace(parts, coil=coil, source_capacitor=source, tube_capacitor=tube)
    return filled, missing & ~np.isnan(coil)


def _solve(parts: InputParts, engine: Engine) -> Solution:
    ladder = input_ladder(parts)
    found = batch.solve(ladder, _ONE)
    other = two_port.solve(ladder, _ONE)
    if engine == "both":
        from netsim.solvers import spice

        other = spice.solve(ladder, _ONE)
    demand_agreement(worst_relative(found, other), ladder.frequency)
    return found
