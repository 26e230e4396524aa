"""Where the taps of the tank coil belong: the present ones, better ones, and what each serves."""

from collections.abc import Mapping, Sequence

from netsim.advice.change import as_told, changed, edits_of, removal
from netsim.advice.outcome import check_of
from netsim.advice.remedy_words import named
from netsim.advice.taps.tap_advice import BandTaps, TapsAdvice, TapState
from netsim.advice.taps.tap_choice import Choice, choices, shared
from netsim.advice.taps.tap_search import HIGHEST_LOAD, LOWEST_LOAD, plate_load_range
from netsim.advice.taps.tap_words import message, without_winding
from netsim.analysis import Analysis, Engine, analyse
from netsim.circuit.assembly import assemble
from netsim.circuit.stage import pulse_spectrum
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError, Problem, UsageError
from netsim.verdict.result import SCHEMA_VERSION, BandResult

_LEFT_OUT = ("operating_points", "antenna.worst_swr", "antenna.measured", "tube", "bias")


def taps(
    amplifier: Amplifier,
    *,
    plate_load: float | None = None,
    engine: Engine = "both",
    unplaced: frozenset[int] = frozenset(),
) -> TapsAdvice:
    """Say where the taps are and where they belong, for each band in file order.

    Parameters
    ----------
    amplifier, engine : Amplifier, {"both", "two-port"}
        And which solvers solve the present and the proposed taps.
    plate_load : float, optional
        Of another tube [ohm]; else that of the file.
    unplaced : frozenset of int
        Bands, by index, of which the file does not say where the tap is: what the amplifier says stands for it.

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
    worst band is nearest. Settings that the file prescribes are left to be found, and taken out of the file where
    they belong to another tap or do not tune. A tap must tune at every
    operating point of its bands as well; with another tube's plate load the file's points do not count. The
    contacts of the switch move with the taps.
    """
    base = _prepared(amplifier, plate_load)
    try:
        present = analyse(base, engine=engine, samples=1)
    except DescriptionError:
        assemble(amplifier)  # tells the same with the lines of the file itself
        raise
    points = amplifier.description.operating_points if plate_load is None else ()
    tried = base.description.model_copy(update={"operating_points": points})
    chosen, alone, changes = choices(base, tried, present.solved.assembly.wound, unplaced)
    names = [band.name for band in base.description.bands]
    freed = _freed(present, chosen)
    edits = [
        *(removal(("bands", index, key)) for index in freed for key in ("tune", "load")),
        *edits_of(changes),
    ]
    after = analyse(changed(base, edits), engine=engine, samples=1) if edits else present
    # Of another tube's plate load no voltage, current or power is told, nor of a tap that is not there yet.
    over = _becomes_over(present, after) if plate_load is None and not unplaced else {}
    bands = tuple(
        _band(
            present, after, index, chosen[index], alone[index], unplaced, index in freed, over.get(name, ())
        )
        for index, name in enumerate(names)
    )
    return TapsAdvice(
        SCHEMA_VERSION,
        present.verdict.title,
        present.verdict.stage.plate_load_ohm,
        base.description.limits.target_loaded_q,
        present.verdict.cross_checked and after.verdict.cross_checked,
        bands,
        as_told(amplifier, edits),
    )


def proposed_turns(amplifier: Amplifier) -> dict[int, float]:
    """Return where `taps` puts the tap of each band, by its index; nothing where no tap serves or none is counted."""
    base = _prepared(amplifier, None)
    points = amplifier.description.operating_points
    tried = base.description.model_copy(update={"operating_points": points})
    chosen, _, _ = choices(base, tried, assemble(base, base.description, points=False).wound)
    return {index: choice.turns for index, choice in chosen.items() if choice.turns is not None}


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


def _freed(present: Analysis, chosen: Mapping[int, Choice]) -> list[int]:
    """Return bands whose settings, as the file prescribes them, are for another tap or do not tune."""
    bands, verdicts = present.amplifier.description.bands, present.verdict.bands
    return [
        index
        for index, choice in chosen.items()
        if choice.turns is not None
        and bands[index].tune is not None
        and (choice.turns != bands[index].coil_turns or not all(p.tuned for p in verdicts[index].points))
    ]


def _becomes_over(present: Analysis, after: Analysis) -> dict[str, list[str]]:
    """Return by band what is over with the proposed taps and is not with the present ones, on a matched antenna."""
    before, found = (
        {(f.band, check_of(f)) for f in some.verdict.findings if f.state == "over"}
        for some in (present, after)
    )
    told: dict[str, list[str]] = {}
    for band, check in sorted(found - before, key=str):
        words = told.setdefault(band or "", [])
        if named(check) not in words:
            words.append(named(check))
    return told


def _band(
    present: Analysis,
    after: Analysis,
    index: int,
    choice: Choice,
    alone: Choice,
    unplaced: frozenset[int],
    freed: bool,
    over: Sequence[str],
) -> BandTaps:
    description = present.amplifier.description
    band, limits = description.bands[index], description.limits
    placed = index not in unplaced
    now = _state(present.verdict.bands[index]) if placed else None
    rows = next(rows for n, _, rows in present.solved.bands() if n == index)
    reach = plate_load_range(present.solved.assembly.parts.take(rows)) if placed else None
    if band.coil_turns is None:
        assert now is not None  # it gives an inductance
        words = without_winding(limits, now, choice)
        return BandTaps(band.name, now, None, reach, None, (), None, None, None, words)
    group = next(g for g in shared(description.bands, unplaced) if index in g)
    others = tuple(description.bands[n].name for n in group if n != index)
    proposed = None if choice.turns is None else _state(after.verdict.bands[index])
    move = None
    if proposed is not None and now is not None:
        move = (proposed.coil_turns or 0.0) - (now.coil_turns or 0.0)
    said = [message(limits, now, proposed, choice, alone, others)]
    if freed:
        said.append("the tune and load that the file gives do not belong to it, so leave them out")
    if over:
        said.append(f"then over: {', '.join(over)}")
    return BandTaps(
        name=band.name,
        present=now,
        proposed=proposed,
        plate_load_range_ohm=reach,
        move_turns=move,
        shared_with=others,
        alone=alone.turns,
        alone_loaded_q=None if alone.place is None else float(alone.found.loaded_q[alone.place, 0]),
        obstacle=choice.obstacle,
        message="; ".join(said),
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
