"""How well the amplifier is known, in words: ranges, what is unsure, what to measure."""

from netsim.description.formatting import percent
from netsim.verdict.result import Finding, Known, Verdict

UNSURE_MARK = "≈"
"""A shape of its own, beside those of the states."""

UNSURE = "unsure"


def used_range(finding: Finding) -> str:
    """Write the range of a used fraction, such as ``78% to 230%``; nothing where it was not sampled."""
    if finding.share_over is None:
        return ""
    if finding.used_low is None:
        return "none"
    high = "beyond any" if finding.used_high is None else percent(finding.used_high)
    return f"{percent(finding.used_low)} to {high}"


def over_words(finding: Finding) -> str:
    """Write in how many of the amplifiers sampled a finding is over; nothing where it was not sampled."""
    share = finding.share_over
    if share is None:
        return ""
    if share in (0, 1):
        return "over in none" if share == 0 else "over in all"
    return f"over in {share:.1%}" if min(share, 1 - share) < 0.01 else f"over in {share:.0%}"


def settled_words(finding: Finding) -> str:
    """Name what would settle a finding, with its share of the variance."""
    return ", ".join(f"{entry.key} ({entry.share:.0%})" for entry in finding.settled_by or ())


def sureness_words(finding: Finding) -> str:
    """Write all of it in a line; nothing where it was not sampled."""
    if finding.share_over is None:
        return ""
    words = f"{used_range(finding)}, {over_words(finding)}"
    if not finding.unsure:
        return words
    return f"{UNSURE_MARK} {UNSURE}: {words}; depends on {settled_words(finding)}"


def measure_words(verdict: Verdict, most: int = 3) -> str:
    """Write what to measure to be sure; nothing where nothing is unsure."""
    ranked = verdict.known.measure[:most]
    return ", ".join(
        f"{entry.key} (line {entry.line}; {entry.findings} finding{'s' * (entry.findings > 1)})"
        for entry in ranked
    )


def sampled_words(known: Known) -> str:
    """Write what was sampled; nothing without limits."""
    if not known.inputs:
        return ""
    assumed = sum(entry.source == "assumed" for entry in known.inputs)
    return (
        f"{known.samples} amplifiers within the limits of {len(known.inputs)} quantities "
        f"({len(known.inputs) - assumed} of the file, {assumed} assumed); ranges hold 95 % of them"
    )
