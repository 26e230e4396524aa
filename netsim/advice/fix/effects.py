"""What a set of changes does to every finding."""

from dataclasses import dataclass
from typing import Literal

from netsim.analysis import Analysis
from netsim.verdict.findings import STATES, by_identity
from netsim.verdict.result import Finding

EffectKind = Literal["cleared", "better", "worse", "new", "gone", "same"]

_NOTICEABLE = 0.005


@dataclass(frozen=True)
class Effect:
    """What a change does to one finding.

    Attributes
    ----------
    before, after : Finding or None
        None where the finding is not there.
    outcome : str
        ``cleared`` where nothing is over or close any more; ``better`` or ``worse`` by state, else by used
        fraction beyond half a percent; ``same``; ``new`` and ``gone`` where only one of the two is there.
    """

    before: Finding | None
    after: Finding | None
    outcome: EffectKind

    @property
    def shown(self) -> Finding:
        """The finding as it is after the change, or as it was where it is gone."""
        found = self.after or self.before
        assert found is not None  # one of the two is there
        return found


def compared(before: Analysis, after: Analysis) -> tuple[Effect, ...]:
    """Return the findings of two results side by side, worst first; what passes in both is left out."""
    old, new = (by_identity(one.verdict.findings) for one in (before, after))
    effects = []
    for key in {**old, **new}:
        was, now = old.get(key), new.get(key)
        states, kind = {f.state for f in (was, now) if f is not None}, _kind(was, now)
        if (kind != "same" and states != {"pass"}) or states & {"over", "close"}:
            effects.append(Effect(was, now, kind))
    return tuple(effects)


def _kind(before: Finding | None, after: Finding | None) -> EffectKind:
    if before is None:
        return "new"
    if after is None:
        return "gone"
    old, new = STATES.index(before.state), STATES.index(after.state)  # the worse the lower
    if old < 2 <= new:
        return "cleared"
    if old != new:
        return "better" if new > old else "worse"
    if before.used_fraction is None or after.used_fraction is None:
        return "same"
    step = after.used_fraction - before.used_fraction
    return "same" if abs(step) <= _NOTICEABLE else "better" if step < 0 else "worse"
