"""Where the taps of the tank coil belong: the present ones, better ones, and what each serves."""

from collections.abc import Sequence
from dataclasses import replace

from netsim.advice.taps.tap_advice import BandTaps, TapsAdvice, TapState
from netsim.advice.taps.tap_choice import Choice, choices, choose, shared
from netsim.advice.taps.tap_obstacle import Rows
from netsim.advice.taps.tap_search import HIGHEST_LOAD, LOWEST_LOAD, TapSearch, plate_load_range, search
from netsim.advice.taps.tap_words import message, without_winding
from netsim.analysis import Engine, Result, analyse
from netsim.circuit.assembly import assemble
from netsim.circuit.stage import pulse_spectrum
from netsim.circuit.tuning import BoolArray
from netsim.description.models.operating_point import OperatingPoint
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError, Problem, UsageError
from netsim.verdict.result import SCHEMA_VERSION, BandResult

_LEFT_OUT = ("operating_points", "antenna.worst_swr", "antenna.measured", "tube", "bias")
_FREED = (("tune", None), ("load", None))


def taps(amplifier: Amplifier, *, plate_load: float | None = None, engine: Engine = "both") -> TapsAdvice:
    """Say where the taps are and where they belong.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    plate_load : float, optional
        Of another tube [ohm]; else that of the file.
    engine : {"both", "two-port"}
        Which solvers solve the present and the proposed taps.

    Returns
    -------
    TapsAdvice
        One entry for each band, in file order.

    Raises
    ------
    UsageError
        If the plate load is beyond 50 ohm to 50 kohm.
    DescriptionError, SolveError
        As in `analyse`.

    Notes
    -----
    Every place on the winding, in steps of ``tap_step``, is tried at every frequency in one go. Of those
    at which the whole band tunes within the capacitors' ranges the one is proposed whose loaded Q at the
    band's first frequency is nearest to the target (by ratio); for a tap that bands share, the one whose
    worst band is nearest. Settings that the file prescribes are left to be found. A tap must tune at every
    operating point of its bands as well; with another tube's plate load the file's points do not count.
    """
    base = _prepared(amplifier, plate_load)
    try:
        present = analyse(base, engine=engine, samples=1)
    except DescriptionError:
        assemble(amplifier)  # tells the same with the lines of the file itself
        raise
    wound = present.solved.assembly.coil
    step = base.description.network.coil.tap_step
    found = search(present.solved.assembly, wound, step) if wound is not None else None
    if found is not None and plate_load is None:
        found = replace(found, at_points=_tuned_at_points(base, amplifier.description.operating_points))
    chosen = choices(present, found) if found is not None else {}
    moved = _moved(
        base, {i: float(found.turns[c.place]) for i, c in chosen.items() if found and c.place is not None}
    )
    after = analyse(moved, engine=engine, samples=1) if moved is not base else present
    bands = tuple(
        _band(present, after, position, index, rows, found, chosen)
        for position, (index, _, rows) in enumerate(present.solved.bands())
    )
    return TapsAdvice(
        SCHEMA_VERSION,
        present.verdict.title,
        present.verdict.stage.plate_load_ohm,
        base.description.limits.target_loaded_q,
        present.verdict.cross_checked and after.verdict.cross_checked,
        bands,
    )


def _prepared(amplifier: Amplifier, plate_load: float | None) -> Amplifier:
    """Leave out operating points, other antennas and the tube's own law; give the stage another plate load.

    What of the present tube's current the supply cannot swing into that load is taken off; no power,
    voltage or current is told of it.
    """
    changes: dict[str, object] = dict.fromkeys(_LEFT_OUT)
    if plate_load is not None:
        if not LOWEST_LOAD <= plate_load <= HIGHEST_LOAD:
            raise UsageError(
                Problem(
                    "plate_load_out_of_range",
                    f"a plate load must be {LOWEST_LOAD:g} to {HIGHEST_LOAD:g} ohm; found {plate_load:g} ohm: "
                    "give the tube's, (plate voltage - least plate voltage) / peak fundamental current",
                )
            )
        stage = amplifier.description.stage
        peak = stage.plate_current * float(pulse_spectrum(stage.conduction_angle, pulse=stage.pulse)[0])
        share = min(1.0, (stage.plate_voltage + stage.drive_voltage_peak) / peak / plate_load)
        current = stage.plate_current * share * (1.0 if share == 1.0 else 1.0 - 1e-9)
        changes |= {
            "stage.plate_load": f"{plate_load!r} ohm",
            "stage.minimum_plate_voltage": None,
            "stage.plate_current": f"{current!r} A",
        }
    return amplifier.replace(changes)


def _tuned_at_points(base: Amplifier, points: Sequence[OperatingPoint]) -> dict[str, BoolArray]:
    """Tell of each place and network whether it tunes at an operating point that serves its band."""
    names = [band.name for band in base.description.bands]
    found = {}
    for point in points:
        there = base.description.model_copy(update={"stage": point.of(base.description.stage)})
        assembly = assemble(base, there, points=False)
        assert assembly.coil is not None  # as in the stage as it stands, whose places are tried
        tuned = search(assembly, assembly.coil, base.description.network.coil.tap_step).tuned
        found[point.name] = tuned | [not point.serves(names[index]) for index in assembly.band_index]
    return found


def _moved(base: Amplifier, turns: dict[int, float]) -> Amplifier:
    """Write the proposed turns into the bands, and leave their settings to be found."""
    changes: dict[str, object] = {}
    for index, wanted in turns.items():
        changes |= {f"bands[{index}].{key}": value for key, value in (("coil_turns", wanted), *_FREED)}
    return base.replace(changes)


def _band(
    present: Result,
    after: Result,
    position: int,
    index: int,
    rows: Rows,
    found: TapSearch | None,
    chosen: dict[int, Choice],
) -> BandTaps:
    band = present.amplifier.description.bands[index]
    now = _state(present.verdict.bands[position])
    reach = plate_load_range(present.solved.assembly.parts.take(rows))
    if found is None or index not in chosen:
        return BandTaps(
            band.name, now, None, reach, None, (), None, None, None, without_winding(present, rows, now)
        )
    choice = chosen[index]
    group = next(g for g in shared(present) if index in g)
    others = tuple(present.amplifier.description.bands[i].name for i in group if i != index)
    alone = choose(present, found, [index]) if others else choice
    proposed = None if choice.place is None else _state(after.verdict.bands[position])
    return BandTaps(
        name=band.name,
        present=now,
        proposed=proposed,
        plate_load_range_ohm=reach,
        move_turns=None if proposed is None else (proposed.coil_turns or 0.0) - (now.coil_turns or 0.0),
        shared_with=others,
        alone=None if alone.place is None else float(found.turns[alone.place]),
        alone_loaded_q=None if alone.place is None else float(found.loaded_q[alone.place, rows[0]]),
        obstacle=choice.obstacle,
        message=message(present, now, proposed, choice, alone, found, others, int(rows[0])),
    )


def _state(band: BandResult) -> TapState:
    first = band.points[0]
    return TapState(
        first.coil_turns,
        first.loaded_q,
        all(point.tuned for point in band.points),
        first.coil_henry,
        first.tune_farad,
        first.load_farad,
        first.frequency_hertz,
    )
