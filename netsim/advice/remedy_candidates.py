"""Which single changes may mend which finding: all that the parts, the bands and the stage allow."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.advice.band_networks import BandNetworks, Picks
from netsim.advice.box.insulator import insulators
from netsim.advice.change import Change, plain_edit
from netsim.advice.outcome import Outcome
from netsim.advice.part_changes import (
    LESS,
    blocking,
    capacitor,
    coil_quality,
    larger_choke,
    less_power,
    less_stray,
    plate_leads,
    quieter_choke,
    suppressors,
    thicker_wall,
    told_of_tube,
)
from netsim.description.models.amplifier import Band, Description
from netsim.verdict.checks.box import CODES as BOX_CODES
from netsim.verdict.result import Finding
from netsim.verdict.solved import Solved

_MOST_PADDINGS = 6
_MOST_COILS, _MOST_OTHERS = 6, 2
_FURTHER = 0.6
"""How much further a capacitor is to reach where it is not known how far it has to."""

_MATCHING = ("tuning_range", "plate_match", "loaded_q", "second_match")
_FED = ("tuning_range", "plate_match", "antenna_dc")
"""What a blocking capacitor that is missing or of high reactance spoils."""


@dataclass(frozen=True)
class OpenFinding:
    """A finding over or close, its band, operating point and network, by index as in an `Outcome`."""

    finding: Finding
    band: int
    point: int
    row: int


def open_findings(solved: Solved, findings: Sequence[Finding]) -> Iterator[OpenFinding]:
    """Find where findings that are over or close stand."""
    names = [band.name for band in solved.description.bands]
    for finding in findings:
        if finding.state in ("over", "close") and finding.band is not None and finding.code not in BOX_CODES:
            band, point = names.index(finding.band), solved.point_names.index(finding.operating_point)
            here = (solved.assembly.band_index == band) & (solved.assembly.point_index == point)
            rows = np.flatnonzero(here)
            frequency = finding.frequency_hertz or 0.0
            row = int(rows[np.argmin(np.abs(solved.frequency[rows] - frequency))])
            yield OpenFinding(finding, band, point, row)


def part_candidates(solved: Solved, before: Outcome, to_mend: Sequence[OpenFinding]) -> list[Change]:
    """Return changes to the amplifier as a whole that may mend some findings, each once.

    To mend is what is over or close on the matched antenna or while tuning; `before` is the amplifier as it stands.
    """
    groups: dict[tuple[str, str, str], list[OpenFinding]] = {}
    for one in sorted(to_mend, key=lambda one: -(one.finding.used_fraction or 0.0)):
        finding = one.finding
        groups.setdefault((finding.code, finding.part, finding.quantity), []).append(one)
    found: list[Change] = []
    for some in groups.values():
        # One value for all bands, if one can be had: an owner buys one part.
        found += next((changes for one in some if (changes := _of_one_part(solved, one))), [])
    found += _ranges(solved, before, [one for one in to_mend if one.finding.code in _MATCHING])
    if any(one.finding.code in _MATCHING for one in to_mend):
        found += insulators(solved)
    if any(one.finding.code in _FED or one.finding.part == "blocking_capacitor" for one in to_mend):
        found += blocking(solved.description, solved.assembly.parts)
    return list({change.key: change for change in reversed(found)}.values())[::-1]


def _of_one_part(solved: Solved, one: OpenFinding) -> list[Change]:
    """Return changes to the part, or the stage, that a finding is about."""
    description, finding, used = solved.description, one.finding, one.finding.used_fraction or 0.0
    match finding.code, finding.part:
        case "part_power", "suppressor":
            return suppressors(description, used)
        case "part_power", "coil":
            parts = solved.assembly.parts.take(np.array([one.row]))
            return coil_quality(description, used, parts, _own_q(solved, one.row))
        case "plate_dissipation", _:
            return _less_power(solved, used)
        case "tube_disagrees", _:
            return told_of_tube(description, finding.quantity, finding.value or 0.0)
        case "choke_reactance", _:
            return larger_choke(description, used)
        case "choke_resonance", _:
            return quieter_choke(description)
        case "tube_wall", part:
            section = int(finding.quantity.rpartition("_")[2]) - 1
            return thicker_wall(description, part, section, finding.limit or 0.0)
        case "self_resonance", part if finding.quantity == "open_turns_resonance":
            edit = plain_edit(("network", part, "unused_turns"), "strap")
            title = f"the unused turns of the {part.replace('_', ' ')} shorted instead of open"
            return [Change("part", f"network.{part}.unused_turns", None, title, (edit,))]
    return []


def _ranges(solved: Solved, before: Outcome, matching: Sequence[OpenFinding]) -> Iterator[Change]:
    """Yield capacitors of wider range, less stray, and a longer plate lead for the highest band."""
    description = solved.description
    close = description.limits.close_to_rating
    for side in ("tune", "load"):
        part = getattr(description.network, f"{side}_capacitor")
        low, high = before.needed[side].reshape(2, -1)
        # What it serves now is to be served by another one as well.
        served = (low >= part.minimum) & (high <= part.maximum)
        here = np.unique([one.point * before.strain.shape[2] + one.band for one in matching]).astype(np.intp)
        wanting = here[(low[here] * close < part.minimum) | (high[here] > part.maximum * close)]
        if not wanting.size:
            continue
        for some in (wanting, *np.split(wanting, len(wanting))):
            wanted = np.concatenate([np.flatnonzero(served), some])
            change = capacitor(
                description, side, float(low[wanted].min()), float(high[wanted].max()), clear=True
            )
            if change is not None:
                yield change
                if some is wanting:  # one for all of them
                    break
        if (low[wanting] * close < part.minimum).any():
            yield from less_stray(description, side)
    top = max(range(len(description.bands)), key=lambda n: max(description.bands[n].frequencies))
    if any(one.band == top for one in matching):
        yield from plate_leads(description)


def _less_power(solved: Solved, used: float) -> list[Change]:
    """Return the steps of plate current and voltage that heat in proportion, or by its square, asks for."""
    share = solved.description.limits.close_to_rating / max(used, 1e-9)
    shares = [next((s for s in LESS if s <= wanted), LESS[-1]) for wanted in (share, math.sqrt(share))]
    return less_power(solved.description.stage, tuple(dict.fromkeys(shares)))


def _own_q(solved: Solved, row: int) -> float:
    """Unloaded Q that the wire of the tank coil's winding gives in one network; infinite where it is not wound."""
    coil = solved.assembly.coil
    if coil is None or row not in coil.rows:
        return math.inf
    turns = coil.spread(coil.tapped.turns)[[row]]
    return float(replace(coil, measured_q=None).at(turns, solved.frequency[[row]]).q[0])


def band_picks(networks: BandNetworks, before: Outcome) -> Picks:
    """Pick the single changes of bands that are worth solving.

    Parameters
    ----------
    networks : BandNetworks
        Of the amplifier as it stands, with all that can be done to the bands in question.
    before : Outcome
        The same as it stands, a column for each band of the file.

    Notes
    -----
    Every other coil, tap or output coil that matches. A padding leaves the match as it is, so that of those that
    bring the settings into range the nearest to the present one and the largest are taken.
    """
    rows: list[tuple[int, int, int, int]] = []
    for number, (choice, matched) in enumerate(zip(networks.choices, networks.matched(), strict=True)):
        rows += [
            (number, v, 0, 0) for v, one in enumerate(choice.variants) if len(one.changes) == 1 and matched[v]
        ]
        for side, shape in ((choice.tune, (1, 0)), (choice.load, (0, 1))):
            values = side.values
            least, most = padding_window(networks.description, before, choice.index, side.side)
            away = np.abs(values - values[0])
            fitting = np.flatnonzero((values >= least) & (values <= most) & (away > 0))
            nearest = fitting[np.argsort(away[fitting], kind="stable")][:_MOST_PADDINGS]
            largest = fitting[np.argsort(values[fitting])][-1:]
            chosen = dict.fromkeys([*nearest.tolist(), *largest.tolist()])
            rows += [(number, 0, k * shape[0], k * shape[1]) for k in chosen]
    return Picks(*np.array(rows, dtype=np.intp).reshape(-1, 4).T)


def nearest_picks(networks: BandNetworks, before: Outcome) -> Picks:
    """Pick the few coils, taps or paddings nearest to what one band has, for what takes long to solve."""
    picks = band_picks(networks, before)
    (choice,) = networks.choices
    variants = np.flatnonzero(picks.variant > 0)
    distance = [
        abs(_size(choice.variants[picks.variant[p]].band) - _size(choice.variants[0].band)) for p in variants
    ]
    near = variants[np.argsort(distance, kind="stable")][:_MOST_COILS]
    return picks.take(np.concatenate([near, np.flatnonzero(picks.variant == 0)[:_MOST_OTHERS]]))


def _size(band: Band) -> float:
    """Return turns, or the logarithm of the inductance, of both coils: how far a change is from what is there."""
    plain = [math.log(value) for value in (band.coil, band.output_coil) if value is not None]
    return sum(plain) + sum(turns for turns in (band.coil_turns, band.output_coil_turns) if turns is not None)


def range_candidates(solved: Solved) -> Iterator[Change]:
    """Yield capacitors that reach a step further either way, and less stray."""
    description = solved.description
    close = description.limits.close_to_rating
    for side in ("tune", "load"):
        part = getattr(description.network, f"{side}_capacitor")
        lower, higher = part.minimum * _FURTHER / close, part.maximum / _FURTHER * close
        for low, high in ((lower, higher), (part.minimum / close, part.maximum / _FURTHER)):
            change = capacitor(description, side, low, high, clear=True)
            if change is not None:
                yield change
        yield from less_stray(description, side)


def padding_window(description: Description, before: Outcome, band: int, side: str) -> tuple[float, float]:
    """Return the least and the most padding [F] with which all settings of a band are within range.

    Of the outcome of the description as it stands, with a column for each of its bands. Nothing lies between them
    where nothing matches, or no padding reaches all settings.
    """
    part = getattr(description.network, f"{side}_capacitor")
    present = getattr(description.bands[band], f"{side}_padding") or 0.0
    low, high = before.needed[side][:, :, band]
    if np.isnan(low).all():
        return math.inf, -math.inf
    return float(np.nanmax(high)) + present - part.maximum, float(np.nanmin(low)) + present - part.minimum
