"""For each finding over or close, single changes that clear it: each solved, with what else it does."""

from collections.abc import Mapping

from netsim.advice.fix.change import Kind
from netsim.advice.fix.fix import Identity, identity
from netsim.advice.fix.single_changes import Bench, Option
from netsim.analysis import Result
from netsim.description.reader import Amplifier
from netsim.verdict.result import Finding

_ORDER: tuple[Kind, ...] = ("setting", "padding", "tap", "part", "output", "topology")


def options(amplifier: Amplifier, before: Result) -> Mapping[Identity, tuple[Option, ...]]:
    """List the owner's options for every finding over or close.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    before : Result
        Of it.

    Returns
    -------
    mapping of Identity to tuple of Option
        By finding, see `identity`; of each kind of change the smallest that leaves the finding neither over
        nor close, else the smallest that leaves it not over. In the order of weights; empty where no single
        change does.

    Notes
    -----
    All single changes of all bands are solved in one batch, and each change of a part in one more.
    """
    pressing = [f for f in before.verdict.findings if f.state in ("over", "close")]
    if not pressing:
        return {}
    bench = Bench(amplifier, pressing)
    return {
        identity(f): tuple(sorted((o for o in bench.options(f) if _helps(o, f)), key=_rank)) for f in pressing
    }


def _helps(option: Option, finding: Finding) -> bool:
    """Leave out what clears one finding at the price of others, such as a padding that ends the match."""
    if finding.code in ("choke_resonance", "antenna_dc"):  # not among the limits that are counted
        return option.over_after <= option.over_before
    return option.over_after < option.over_before + (finding.state == "close")


def _rank(option: Option) -> tuple[int, int]:
    return _ORDER.index(option.move.kind), option.over_after
