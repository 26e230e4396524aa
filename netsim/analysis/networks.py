"""All networks of an amplifier: tuned, solved by both engines or in numpy alone, compared."""

from collections.abc import Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Literal

import numpy as np

from netsim.analysis.plate_source import PlateSource
from netsim.analysis.tube_peaking import peaked
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.peaking import COARSE, FINE, settings
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip, match
from netsim.description.models.amplifier import Description
from netsim.description.reader import Amplifier
from netsim.errors import DisagreementError, Problem, UsageError
from netsim.solvers import batch, two_port
from netsim.solvers.agreement import TOLERANCE, worst_relative, worst_voltage
from netsim.solvers.solution import Solution
from netsim.verdict.solved import Settings, Solved, gather, unloaded_by
from netsim.verdict.stress import SAMPLES
from netsim.verdict.tube_state import drawn_by

Engine = Literal["both", "two-port"]

_SEARCH_SAMPLES = 128
"""Of a period, in searches: enough for peaks within 1e-3; whatever is proposed is solved again in full."""

_ORDERS, _FUNDAMENTAL = np.arange(1.0, ORDERS + 1), np.ones(1)


def solve(amplifier: Amplifier, assembly: Assembly, engine: Engine) -> tuple[Solved, FloatArray | None]:
    """Tune and solve all networks of an amplifier.

    Parameters
    ----------
    amplifier : Amplifier
        The file.
    assembly : Assembly
        Of it.
    engine : {"both", "two-port"}
        Whether ngspice takes part.

    Returns
    -------
    solved : Solved
        From ngspice if it ran.
    apart : ndarray or None
        Difference between the solvers, shape ``(networks,)``; None if only one ran.

    Raises
    ------
    SolveError
        If an engine is missing or fails, or the two differ by more than 1e-6.
    """
    source = PlateSource(amplifier, assembly, amplifier.description)
    stand, ladder, open_ladder = _tuned(assembly, capacitor_settings(assembly), source)
    off = _FUNDAMENTAL if source.tube is None else _ORDERS
    apart: FloatArray | None = None
    if engine == "both":
        loaded, unloaded, apart = _solve_twice(ladder, open_ladder, off)
    else:
        loaded, unloaded = two_port.solve(ladder, _ORDERS), two_port.solve(open_ladder, off)
    return _gathered(source, (stand, ladder), (loaded, unloaded)), apart


def _solve_twice(
    ladder: Ladder, open_ladder: Ladder, off: FloatArray
) -> tuple[Solution, Solution, FloatArray]:
    """Solve with and without the antenna by both engines, compare, and return what ngspice gives."""
    # Imported here so that a run without ngspice does not need it.
    from netsim.solvers import spice

    with ThreadPoolExecutor(1) as beside:  # ngspice works in its own process while scikit-rf does in this one
        asked = [beside.submit(spice.solve, *job) for job in ((ladder, _ORDERS), (open_ladder, off))]
        loaded, unloaded = two_port.solve(ladder, _ORDERS), two_port.solve(open_ladder, off)
        by_spice = [job.result() for job in asked]
    apart = worst_relative(by_spice[0], loaded)
    demand_agreement(np.maximum(apart, worst_voltage(by_spice[1], unloaded)), ladder.frequency)
    return by_spice[0], by_spice[1], apart


def solve_in_numpy(
    amplifier: Amplifier,
    description: Description,
    assembly: Assembly,
    *,
    whole: bool = False,
    stand: Settings | None = None,
) -> Solved:
    """Tune and solve networks in numpy alone: the same numbers, without their cross-check.

    Parameters
    ----------
    amplifier : Amplifier
        The file, for its lines.
    description : Description
        What a search tries: gives ratings and limits.
    assembly : Assembly
        Of any number of networks; its parts may differ from the description's.
    whole : bool
        With all samples of a period and all orders of the tube, as `solve` has them; by default as many as a
        search needs.
    stand : Settings, optional
        Where the capacitors stand on the pulse, where the caller knows it.

    Notes
    -----
    A network in which the tube has no steady state has NaN, and counts as over every limit.
    """
    source = PlateSource(amplifier, assembly, description)
    stand = stand or capacitor_settings(assembly)
    stand, ladder, open_ladder = _tuned(assembly, stand, source if whole else None)
    off = _FUNDAMENTAL if source.tube is None else _ORDERS
    loaded, unloaded = batch.solve(ladder, _ORDERS), batch.solve(open_ladder, off)
    return _gathered(source, (stand, ladder), (loaded, unloaded), strict=False, whole=whole)


def _gathered(
    source: PlateSource,
    tuned: tuple[Settings, Ladder],
    solutions: tuple[Solution, Solution],
    *,
    strict: bool = True,
    whole: bool = True,
) -> Solved:
    """Let the plate drive what was solved for 1 A, with the antenna on and with it off, and draw on it."""
    (stand, ladder), (loaded, unloaded), assembly = tuned, solutions, source.assembly
    state = source.settled(ladder, strict=strict) if whole else None
    current = source.drawn(loaded.plate_impedance) if state is None else drawn_by(state.balance)
    gone = unloaded_by(assembly, unloaded, source.unloaded(unloaded.plate_impedance, strict=strict))
    samples = SAMPLES if whole else _SEARCH_SAMPLES
    found = source.amplifier, source.description, assembly, stand, ladder, loaded, gone, current
    return replace(gather(*found, samples), tube_state=state)


def solve_at_settings(
    amplifier: Amplifier, band: str, tune: FloatArray, load: FloatArray, frequency: FloatArray | None = None
) -> tuple[Solved, tuple[int, ...]]:
    """Solve one band at any settings and frequencies, in numpy alone, the operating points left out.

    Parameters
    ----------
    amplifier : Amplifier
        Whose parts they are.
    band : str
        Its name.
    tune, load, frequency : ndarray
        [F] and [Hz], of shapes that broadcast; frequency is the band's first by default.

    Returns
    -------
    solved : Solved
        The settings in a row.
    shape : tuple of int
        That of all three together.

    Raises
    ------
    UsageError
        ``unknown_band``, or ``bad_setting`` for what is negative or not finite.
    """
    index = amplifier.band_index(band)
    described = amplifier.description.bands[index]
    wanted = np.asarray(described.frequencies[0] if frequency is None else frequency)
    *given, wanted = np.broadcast_arrays(tune, load, wanted)
    for name, values in (("tune", given[0]), ("load", given[1]), ("frequency", wanted)):
        wrong = values[~(np.isfinite(values) & (values > 0 if name == "frequency" else values >= 0))]
        if wrong.size:
            message = f"{name} must be finite and not negative; found {wrong[0]:g}: give SI values"
            raise UsageError(Problem("bad_setting", message, amplifier.path))
    each, row = np.unique(wanted, return_inverse=True)
    there = described.model_copy(update={"frequencies": tuple(each.tolist()), "tune": None, "load": None})
    bands = tuple(there if n == index else other for n, other in enumerate(amplifier.description.bands))
    description = amplifier.description.model_copy(update={"bands": bands})
    assembly = assemble(amplifier, description, bands=[index], points=False).take(row.ravel())
    assembly = replace(assembly, tune_given=given[0].ravel(), load_given=given[1].ravel())
    return solve_in_numpy(amplifier, description, assembly), wanted.shape


def solve_samples(
    amplifier: Amplifier, description: Description, assembly: Assembly, peaks: Collection[str]
) -> Solved:
    """Tune and solve very many networks on the pulse of the stage, no more of them than their checks ask.

    Parameters
    ----------
    amplifier : Amplifier
        The file, for its lines.
    description : Description
        Of what is known; its numbers may be arrays of shape ``(networks,)``.
    assembly : Assembly
        Of it.
    peaks : collection of str
        The parts whose peak voltages are wanted; true to 1e-3, as is where an output peaks that has no match.
    """
    stand, ladder, open_ladder = _tuned(assembly, capacitor_settings(assembly, COARSE))
    loaded, unloaded = batch.solve(ladder, _ORDERS), batch.solve(open_ladder, _FUNDAMENTAL)
    current = assembly.stage.plate_current(loaded.plate_impedance[:, 0])
    gone = unloaded_by(assembly, unloaded, None)
    return gather(amplifier, description, assembly, stand, ladder, loaded, gone, current, peaks=peaks)


def _tuned(
    assembly: Assembly, stand: Settings, on_tube: PlateSource | None = None
) -> tuple[Settings, Ladder, Ladder]:
    """Set both capacitors, with the antenna on, and with it off and the tune capacitor dipped again."""
    parts = assembly.parts
    if on_tube is not None and on_tube.tube is not None:
        stand = peaked(on_tube, stand)
    dipped = dip(parts, stand.load, antenna_connected=False)
    return (
        stand,
        build_ladder(parts, stand.tune, stand.load),
        build_ladder(parts, dipped, stand.load, antenna_connected=False),
    )


def capacitor_settings(assembly: Assembly, search: tuple[int, int] = FINE) -> Settings:
    """Decide where both capacitors stand: as given in the file, else as an operator would tune them."""
    (found,) = settings_together([assembly], search)
    return found


def settings_together(assemblies: Sequence[Assembly], search: tuple[int, int] = FINE) -> list[Settings]:
    """Decide the same for several assemblies of one topology at once; a search takes as long for few as for many."""
    if not assemblies:
        return []
    parts = assemblies[0].parts if len(assemblies) == 1 else Parts.joined([one.parts for one in assemblies])
    tune_given, load_given = (
        np.concatenate([getattr(one, f"{side}_given") for one in assemblies]) for side in ("tune", "load")
    )
    found, given = match(parts), np.isfinite(tune_given)
    tune, load, *needed = settings(parts, found, ~given, search)
    tune, load = np.where(given, tune_given, tune), np.where(given, load_given, load)
    ends = np.cumsum([len(one) for one in assemblies])
    return [
        Settings(tune[rows], load[rows], needed[0][rows], needed[1][rows], found.take(rows))
        for rows in (slice(end - len(one), end) for end, one in zip(ends, assemblies, strict=True))
    ]


def demand_agreement(apart: FloatArray, frequency: FloatArray, other: str = "the two-port analysis") -> None:
    """Raise where ngspice and another solver are further apart than rounding explains.

    Parameters
    ----------
    apart, frequency : ndarray
        Relative difference and frequency [Hz] of each network, shape ``(networks,)``.
    other : str
        The other solver, for the message.

    Raises
    ------
    DisagreementError
        If a difference is above 1e-6, or no number.
    """
    row = int(np.argmax(np.where(np.isnan(apart), np.inf, apart)))
    if not apart[row] <= TOLERANCE:
        raise DisagreementError(
            Problem(
                "disagreement",
                f"ngspice and {other} differ by {apart[row]:.2g} at {frequency[row] / 1e6:g} MHz, "
                f"more than {TOLERANCE:g}: neither is to be believed; please report this with the file",
            )
        )
