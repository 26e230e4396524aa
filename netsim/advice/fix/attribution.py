"""Which of a set of changes each finding needs: the set without each of them, solved in batch."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from netsim.advice.band_networks import BandNetworks
from netsim.advice.change import Change, applied, edits_of, with_contacts, without_contacts
from netsim.advice.fix.fix import Fix, fix
from netsim.advice.outcome import NOTICEABLE, check_of
from netsim.analysis import Analysis, Engine
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError
from netsim.verdict.findings import Identity, identity
from netsim.verdict.judged import Check
from netsim.verdict.result import Finding

CheckInBand = tuple[Check, str, str | None]
"""A check in one band at one operating point."""

Used = Mapping[CheckInBand, float]


@dataclass(frozen=True)
class ExplainedFix:
    """A fix, and which of its changes betters which finding; see `causes`."""

    fix: Fix
    causes: Mapping[Identity, tuple[Change, ...]]


def explained_fix(
    amplifier: Amplifier, *, engine: Engine = "both", before: Analysis | None = None
) -> ExplainedFix:
    """Search the smallest set of changes as `fix` does, and tell what each of them is for."""
    found = fix(amplifier, engine=engine, before=before)
    return ExplainedFix(found, causes(found))


def causes(found: Fix) -> Mapping[Identity, tuple[Change, ...]]:
    """Tell for every finding that a fix betters which of its changes do that, in the order of the changes.

    Those without which it would still be over; where any one can be spared, those that alone bring it within; else
    those that lower it at all. What no network decides, such as a resonance of the choke, is given the changes to its
    part and band.
    """
    helped = [e for e in found.effects if e.before is not None and e.outcome in ("cleared", "better")]
    if not found.changes or not helped:
        return {}
    amplifier = found.before.amplifier
    changes = [without_contacts(change) for change in found.changes]
    present, after = used_fractions(amplifier, []), used_fractions(amplifier, changes)
    without = [used_fractions(amplifier, [c for c in changes if c is not left]) for left in changes]
    alone: list[Used] = []  # takes as long again, and is seldom needed
    verdict = {}
    for effect in helped:
        assert effect.before is not None
        place = place_of(effect.before)
        if place is None or place not in present or place not in after:
            chosen = _by_place(effect.before, found.changes)
        else:
            was, now = present[place], after[place]
            # To come below: the limit, or the present value where it was only close.
            bar = 1.0 if effect.before.state == "over" and was > 1 else was / NOTICEABLE
            left = [table.get(place, np.inf) for table in without]
            chosen = [n for n, used in enumerate(left) if used > bar >= now]  # those that cannot be spared
            if not chosen:
                alone = alone or [used_fractions(amplifier, [change]) for change in changes]
                chosen = _sufficient(bar, was, now, left, [table.get(place, np.inf) for table in alone])
        verdict[identity(effect.before)] = tuple(found.changes[n] for n in chosen)
    return verdict


def _sufficient(
    bar: float, present: float, after: float, without: Sequence[float], alone: Sequence[float]
) -> list[int]:
    """Choose among changes of which any one can be spared."""
    enough = [n for n, used in enumerate(alone) if used <= bar < present]
    lowering = [n for n, used in enumerate(without) if used > after * NOTICEABLE]
    return enough or lowering or [n for n, used in enumerate(alone) if used * NOTICEABLE < present]


def place_of(finding: Finding) -> CheckInBand | None:
    """Return where a finding stands in the table of used fractions; None for one of no band."""
    return None if finding.band is None else (check_of(finding), finding.band, finding.operating_point)


def _by_place(finding: Finding, changes: Sequence[Change]) -> list[int]:
    """Name the changes to a finding's part, and those to its band."""
    part = f"network.{finding.part}"
    return [
        n
        for n, change in enumerate(changes)
        if change.place.startswith(part) or (change.band is not None and change.band == finding.band)
    ]


def used_fractions(amplifier: Amplifier, changes: Sequence[Change]) -> Used:
    """Return the strain of every check in every band; nothing where the amplifier cannot run so."""
    description = amplifier.description
    try:
        changed = applied(description, edits_of(with_contacts(description, changes)))
        networks = BandNetworks.standing(amplifier, changed)
    except (DescriptionError, AttributeError):  # a change to a part that another change brings in
        return {}
    outcome = networks.outcome()
    names = (None, *(point.name for point in changed.operating_points))
    return {
        (check, band.name, name): max(float(outcome.strain[place, point, column]), 0.0)
        for place, check in enumerate(outcome.checks)
        for point, name in enumerate(names)
        for column, band in enumerate(changed.bands)
        if outcome.strain[place, point, column] > -np.inf
    }
