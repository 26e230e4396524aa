"""How networks come out against every limit: the worst of each band at each operating point, in arrays."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.tuning import BoolArray
from netsim.verdict.checks import checks
from netsim.verdict.checks.every import Rule
from netsim.verdict.findings import WHATEVER_THE_STAGE
from netsim.verdict.judged import Check, Judged
from netsim.verdict.result import Finding, State
from netsim.verdict.solved import Solved

NOTHING, PASS, CLOSE, OVER = -1, 0, 1, 2
"""States as numbers, the worse the higher; nothing to judge is the least."""

NUMBER_OF: Mapping[State, int] = {"not_rated": NOTHING, "pass": PASS, "close": CLOSE, "over": OVER}

RISE = 1 + 1e-6
"""What rises by less is the same, by another way of rounding."""

NOTICEABLE = 1.005
"""What rises by less is not worth words."""


def check_of(finding: Finding) -> Check:
    """Return the check that a finding is of."""
    return Check(finding.code, finding.part, finding.quantity, finding.case)


@dataclass(frozen=True)
class Outcome:
    """All checks of some columns: bands as they stand, or what is tried in their place.

    Arrays have the shape ``(checks, points, columns)`` unless said otherwise; point 0 is the stage as it stands.

    Attributes
    ----------
    checks : tuple of Check
        What was held against its limit.
    strain : ndarray
        Of the worst network, above 1 is over; minus infinity where there is nothing to judge.
    used, value, limit : ndarray
        Used fraction as reported, value and limit of the same network, in SI; NaN where there is none.
    close : ndarray
        Strain above which each check counts as close, shape ``(checks,)``.
    only_close : ndarray of bool
        Checks that are close at the worst, shape ``(checks,)``.
    rating : tuple of str or None
        Of each check the key of the rating that is its limit, if another part could have a higher one.
    tuned : ndarray of bool
        Shape ``(points, columns, frequencies)``; true beyond the frequencies that a band has.
    off_target : ndarray
        ``|ln(loaded Q / target)|`` at the first frequency, the stage as it stands, shape ``(columns,)``.
    output : ndarray
        Most that reaches the antenna in each band [W], shape ``(points, columns)``.
    needed : mapping of str to ndarray
        For ``tune`` and ``load`` lowest and highest setting that matches [F], shape ``(2, points, columns)``.
    networks : int
        How many were solved.
    """

    checks: tuple[Check, ...]
    strain: FloatArray
    used: FloatArray
    value: FloatArray
    limit: FloatArray
    close: FloatArray
    only_close: BoolArray
    rating: tuple[str | None, ...]
    tuned: BoolArray
    off_target: FloatArray
    output: FloatArray
    needed: Mapping[str, FloatArray]
    networks: int

    @cached_property
    def index(self) -> Mapping[Check, int]:
        """Place of each check."""
        return {check: place for place, check in enumerate(self.checks)}

    @cached_property
    def state(self) -> IndexArray:
        """States as numbers: `NOTHING`, `PASS`, `CLOSE` or `OVER`."""
        over = (self.strain > 1) & ~self.only_close[:, None, None]
        near = self.strain > self.close[:, None, None]
        there = self.strain > -np.inf
        return np.where(over, OVER, np.where(near, CLOSE, np.where(there, PASS, NOTHING)))

    def take(self, columns: Sequence[int]) -> "Outcome":
        """Return some of the columns."""
        arrays: dict[str, Any] = {
            name: getattr(self, name)[..., columns]
            for name in ("strain", "used", "value", "limit", "off_target", "output")
        }
        needed = {side: ends[..., columns] for side, ends in self.needed.items()}
        return replace(self, **arrays, tuned=self.tuned[:, columns], needed=needed)

    def only(self, wanted: Sequence[Check]) -> "Outcome":
        """Return the outcome of some checks, in that order; of those that are missing, nothing to judge."""
        rows = [self.index.get(check, len(self.checks)) for check in wanted]
        pad = ((0, 1), (0, 0), (0, 0))
        nothing = {"strain": -np.inf, "used": np.nan, "value": np.nan, "limit": np.nan}
        arrays: dict[str, Any] = {
            name: np.pad(getattr(self, name), pad, constant_values=absent)[rows]
            for name, absent in nothing.items()
        }
        return replace(
            self,
            checks=tuple(wanted),
            **arrays,
            close=np.append(self.close, 1.0)[rows],
            only_close=np.append(self.only_close, False)[rows],
            rating=tuple((*self.rating, None)[row] for row in rows),
        )

    def count(self, state: int) -> IndexArray:
        """Return how many checks of each column have a state, over all operating points."""
        return np.asarray((self.state == state).sum(axis=(0, 1)))

    def rated(self, ratings: Mapping[tuple[str, str], float]) -> "Outcome":
        """Return the outcome with other ratings by part and key [SI]: what a part carries does not depend on them."""
        used, strain, limit = self.used.copy(), self.strain.copy(), self.limit.copy()
        for place, check in enumerate(self.checks):
            wanted = ratings.get((check.part, self.rating[place] or ""))
            if wanted is not None:
                share = self.limit[place] / wanted
                used[place], strain[place], limit[place] = used[place] * share, strain[place] * share, wanted
        strain = np.where(np.isnan(strain), -np.inf, strain)
        return replace(self, used=used, strain=strain, limit=limit)


def outcome_of(solved: Solved, rules: tuple[Rule, ...], columns: int) -> Outcome:
    """Return how solved networks come out by some rules.

    The band index numbers the columns; the networks of one column at one point stand together, each point after the
    one before.
    """
    assembly = solved.assembly
    points = len(solved.description.operating_points) + 1
    group = assembly.point_index * columns + assembly.band_index
    starts = np.flatnonzero(np.diff(group, prepend=-1))
    groups = _Groups(starts, group[starts], (points, columns))
    judged = [check for check in checks(solved, rules) if isinstance(check, Judged) and not check.whole]
    arrays = [groups.worst(check) for check in judged]
    strain, used, value, limit = (
        np.stack([array[k] for array in arrays]) if arrays else np.empty((0, points, columns))
        for k in range(4)
    )
    for place, check in enumerate(judged):
        if check.check.code in WHATEVER_THE_STAGE:
            strain[place, 1:] = -np.inf
    target = solved.description.limits.target_loaded_q
    first = np.full((points, columns), np.nan)
    first.flat[groups.place] = solved.loaded_q[starts]
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.abs(np.log(np.maximum(first[0], 1e-6) / target))
    return Outcome(
        checks=tuple(check.check for check in judged),
        strain=strain,
        used=used,
        value=value,
        limit=limit,
        close=np.array([check.close for check in judged]),
        only_close=np.array([check.at_most != "over" for check in judged], dtype=np.bool_),
        rating=tuple(check.rating for check in judged),
        tuned=groups.padded(solved.tuned),
        off_target=np.where(np.isnan(off), np.inf, off),
        output=groups.span(solved.output_power)[1],
        needed={side: groups.span(getattr(solved.settings, f"{side}_needed")) for side in ("tune", "load")},
        networks=len(assembly),
    )


@dataclass(frozen=True)
class _Groups:
    """Networks that stand together: where each group starts, and its place in ``shape``."""

    starts: IndexArray
    place: IndexArray
    shape: tuple[int, int]

    def worst(self, check: Judged) -> tuple[FloatArray, ...]:
        """Strain, used fraction, value and limit of the worst network of each group."""
        strain = np.where(check.applies, check.strain, -np.inf)
        highest = np.maximum.reduceat(strain, self.starts)
        lengths = np.diff(np.append(self.starts, len(strain)))
        rows = np.where(strain == np.repeat(highest, lengths), np.arange(len(strain)), len(strain))
        first = np.minimum.reduceat(rows, self.starts)
        found = []
        for values, absent in (
            (strain, -np.inf),
            (check.used, np.nan),
            (check.value, np.nan),
            (check.limit, np.nan),
        ):
            spread = np.full(self.shape, absent)
            # Of a check that applies to none of a group there is no figure, whatever stands in its arrays.
            spread.flat[self.place] = np.where(highest > -np.inf, values[first], absent)
            found.append(spread)
        return tuple(found)

    def span(self, values: FloatArray) -> FloatArray:
        """Lowest and highest of each group, NaN left out."""
        spread = np.full((2, *self.shape), np.nan)
        for end, function in enumerate((np.fmin, np.fmax)):
            spread[end].flat[self.place] = function.reduceat(values, self.starts)
        return spread

    def padded(self, values: BoolArray) -> BoolArray:
        """One value after the other of each group, true beyond its end."""
        lengths = np.diff(np.append(self.starts, len(values)))
        spread = np.ones((self.shape[0] * self.shape[1], int(lengths.max(initial=1))), dtype=np.bool_)
        within = np.arange(len(values)) - np.repeat(self.starts, lengths)
        spread[np.repeat(self.place, lengths), within] = values
        return spread.reshape(*self.shape, -1)


@dataclass(frozen=True)
class Difference:
    """What a change makes of all checks of some columns; arrays of shape ``(checks, points, columns)``.

    Attributes
    ----------
    after, was : Outcome, ndarray of int
        With the change, and the states without it.
    worse, noticed : ndarray of bool
        What becomes over or close and was not, and what is over and rises: at all, and by half a percent at least.
    untuned : bool
        Whether a frequency that was tuned is so no longer.
    """

    after: Outcome
    was: IndexArray
    worse: BoolArray
    noticed: BoolArray
    untuned: bool

    @property
    def new_over(self) -> int:
        """How many checks become over."""
        return int(((self.after.state == OVER) & (self.was < OVER)).sum())

    @property
    def harm(self) -> int:
        """How many checks get noticeably worse otherwise."""
        return int(self.noticed.sum()) - self.new_over

    @property
    def cleared(self) -> int:
        """How many checks are over no longer."""
        return int(((self.was == OVER) & (self.after.state < OVER)).sum())


def difference(before: Outcome, after: Outcome, columns: Sequence[int]) -> Difference:
    """Hold what comes of a change against some columns of what was, at the same operating points."""
    known = before.only(after.checks)
    was, strained, state = known.state[..., columns], known.strain[..., columns], after.state
    fell = (state >= CLOSE) & (state > was)
    with np.errstate(invalid="ignore"):
        worse, noticed = (
            fell | ((state == OVER) & (after.strain > strained * by)) for by in (RISE, NOTICEABLE)
        )
    length = min(before.tuned.shape[2], after.tuned.shape[2])
    lost = before.tuned[:, columns, :length] & ~after.tuned[..., :length]
    return Difference(after, was, worse, noticed, bool(lost.any()))
