"""Every single change of an amplifier, solved: what each does to one finding and to all limits."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.fix.array_verdict import Check
from netsim.advice.fix.band_changes import Variant, paddings
from netsim.advice.fix.change import Kind, Move, applied, quantity_edit, written
from netsim.advice.fix.fix import choices_of, suppressor_use
from netsim.advice.fix.networks import Choices, IntArray, Picks, Trial, Verdict
from netsim.advice.fix.part_changes import higher_rating, new_choke, replacements
from netsim.advice.fix.preferred_values import HIGHEST_RATING, step_up
from netsim.advice.topology_change import topology_move
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError
from netsim.verdict.checks.parts import RATINGS
from netsim.verdict.result import Finding

_RATING_OF = {rating.code: (rating.key, rating.unit) for rating in RATINGS}


@dataclass(frozen=True)
class Option:
    """One change and what it does.

    Attributes
    ----------
    move : Move
        The change.
    before, after : float or None
        Used fraction of the finding; None where it has none.
    over_before, over_after : int
        Limits of network and parts that are over in the whole amplifier.
    """

    move: Move
    before: float | None
    after: float | None
    over_before: int
    over_after: int


@dataclass(frozen=True)
class _Tried:
    """Changes of one amplifier, their outcome, and which picks they are."""

    moves: list[Move | None]
    verdict: Verdict
    band: IntArray


class Bench:
    """Everything that is solved to answer for all findings."""

    def __init__(self, amplifier: Amplifier, pressing: Sequence[Finding]) -> None:
        self.description = amplifier.description
        self.choices = choices_of(self.description)
        self.names = [band.name for band in self.description.bands]
        base = Trial(amplifier, self.description, self.choices)
        picks = Picks.joined([_singles(n, choice) for n, choice in enumerate(self.choices)])
        moves = [_move(self.choices[b], v, t, k) for b, v, t, k in _quadruples(picks)]
        self.by_band = _Tried(moves, base.judge(picks), picks.band)
        self.present = np.array([move is None for move in moves])
        stand = _as_it_stands(len(self.choices))
        self.by_part: list[tuple[Move, Verdict]] = []
        for group in replacements(self.description, suppressor_use(pressing)):
            for replacement in group:
                changed = applied(self.description, replacement.move.edits)
                try:
                    verdict = Trial(amplifier, changed, self.choices, base).judge(stand)
                except DescriptionError:
                    continue  # the stage cannot run so
                self.by_part.append((replacement.move, verdict))
        if any(f.code == "harmonic_level" for f in pressing):
            self.by_part += _other_topology(amplifier)
        self.over: IntArray = _over(self.by_band.verdict)
        self.over_now = int(self.over[self.present].sum())

    def options(self, finding: Finding) -> Iterator[Option]:
        """Give the options for one finding."""
        check = Check(finding.code, finding.part, finding.quantity, finding.case)
        yield from self._ratings(finding)
        yield from self._choke(finding)
        if check in self.by_band.verdict.used and finding.band is not None:
            band = self.names.index(finding.band)
            yield from self._band_moves(finding, check, band)
            yield from self._part_moves(finding, check, band)

    def _band_moves(self, finding: Finding, check: Check, band: int) -> Iterator[Option]:
        used = self.by_band.verdict.used[check]
        close = self.by_band.verdict.columns[check].close
        here = np.flatnonzero((self.by_band.band == band) & ~self.present)
        now = int(self.over[(self.by_band.band == band) & self.present].sum())
        best: dict[Kind, tuple[tuple[bool, bool, float], int]] = {}
        for place in here:
            move = self.by_band.moves[place]
            assert move is not None
            if used[place] > 1 or (used[place] > close and finding.state == "close"):
                continue
            key = (
                bool(self.over[place] > now),
                bool(used[place] > close),
                _distance(move, self.description.bands[band]),
            )
            if move.kind not in best or key < best[move.kind][0]:
                best[move.kind] = key, int(place)
        for _, found in best.values():
            chosen = self.by_band.moves[found]
            assert chosen is not None
            after = self.over_now - now + int(self.over[found])
            yield Option(chosen, finding.used_fraction, _number(used[found]), self.over_now, after)

    def _part_moves(self, finding: Finding, check: Check, band: int) -> Iterator[Option]:
        seen: set[str] = set()
        for move, verdict in self.by_part:
            column = verdict.columns.get(check)
            if column is None or move.place in seen:
                continue
            used = float(verdict.used[check][band])
            if used > (1 if finding.state == "over" else column.close):
                continue
            seen.add(move.place)
            over = int(_over(verdict).sum())
            yield Option(move, finding.used_fraction, _number(used), self.over_now, over)

    def _ratings(self, finding: Finding) -> Iterator[Option]:
        """Take a part of the next rating that leaves margin."""
        if finding.code not in _RATING_OF or finding.value is None or finding.limit is None:
            return
        rating, unit = _RATING_OF[finding.code]
        if getattr(self.description.network, finding.part, None) is None:
            return
        close = self.description.limits.close_to_rating
        asked = step_up(finding.value / close)
        if asked > HIGHEST_RATING * finding.limit:
            return
        move = higher_rating(self.description, finding.part, [(rating, unit, asked)])
        cleared = sum(
            int((self.by_band.verdict.used[check][self.present] > 1).sum())
            for check, column in self.by_band.verdict.columns.items()
            if check.part == finding.part
            and column.rating == rating
            and float(self.by_band.verdict.used[check][self.present].max()) * column.limit <= asked
        )
        after = self.over_now - cleared
        yield Option(move, finding.used_fraction, finding.value / asked, self.over_now, after)

    def _choke(self, finding: Finding) -> Iterator[Option]:
        choke = self.description.network.plate_choke
        if choke is None:
            return
        if finding.code == "choke_resonance" and (move := new_choke(self.description)) is not None:
            yield Option(move, None, None, self.over_now, self.over_now)
        if finding.code == "choke_reactance" and finding.frequency_hertz and finding.limit:
            needed = step_up(finding.limit / (2 * math.pi * finding.frequency_hertz))
            edit = quantity_edit(("network", "plate_choke", "inductance"), needed, "H")
            title = f"plate choke {edit.text} instead of {written(choke.inductance, 'H')}, resonances measured anew"
            move = Move("part", "network.plate_choke", None, title, (edit,))
            after = (finding.used_fraction or 0.0) * choke.inductance / needed
            yield Option(move, finding.used_fraction, after, self.over_now, self.over_now)


def _other_topology(amplifier: Amplifier) -> list[tuple[Move, Verdict]]:
    move = topology_move(amplifier)
    if move is None:
        return []
    description = applied(amplifier.description, move.edits)
    bands = enumerate(description.bands)
    alone = [
        Choices(n, [Variant(b, ())], *(paddings(description, n, s, ()) for s in ("tune", "load")))
        for n, b in bands
    ]
    return [(move, Trial(amplifier, description, alone).judge(_as_it_stands(len(alone))))]


def _singles(number: int, choice: Choices) -> Picks:
    """Pick the band as it stands, and every single change to it."""
    one = [n for n, variant in enumerate(choice.variants) if len(variant.moves) <= 1]
    tunes, loads = len(choice.tune.values), len(choice.load.values)
    rows = (
        [(v, 0, 0) for v in one] + [(0, t, 0) for t in range(1, tunes)] + [(0, 0, k) for k in range(1, loads)]
    )
    variant, tune, load = np.array(rows).T
    return Picks(np.full(len(rows), number), variant, tune, load)


def _as_it_stands(bands: int) -> Picks:
    zero = np.zeros(bands, dtype=np.intp)
    return Picks(np.arange(bands), zero, zero, zero)


def _quadruples(picks: Picks) -> Iterator[tuple[int, int, int, int]]:
    lists = (getattr(picks, name).tolist() for name in ("band", "variant", "tune", "load"))
    yield from zip(*lists, strict=True)


def _move(choice: Choices, variant: int, tune: int, load: int) -> Move | None:
    made = [*choice.variants[variant].moves, choice.tune.moves[tune], choice.load.moves[load]]
    return next((move for move in made if move is not None), None)


def _over(verdict: Verdict) -> IntArray:
    return np.asarray(sum((used > 1).astype(np.intp) for used in verdict.used.values()))


def _distance(move: Move, band: object) -> float:
    """How far a change goes from what is there."""
    edit = move.edits[0]
    present = getattr(band, str(edit.path[-1]), None)
    if not isinstance(edit.value, float) or not present:
        return float(edit.value or 0.0)
    return abs(math.log(edit.value / present))


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
