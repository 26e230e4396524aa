"""Findings while tuning with the real tube: the highest voltage of every part on the way to the match."""

from collections.abc import Iterator

from netsim.description.formatting import format_quantity
from netsim.verdict.judgement import state_of
from netsim.verdict.meters import Meters
from netsim.verdict.ratings import effective_rating, ratings_of
from netsim.verdict.result import PART_NAMES, Finding
from netsim.verdict.solved import Evidence

_WORDS = {
    "tune": "tune capacitor off the dip",
    "load": "load capacitor turned, tune capacitor dipped again",
    "antenna_gone": "antenna gone, settings as they were",
    "antenna_gone_redipped": "antenna gone, tune capacitor dipped again",
}


def findings(evidence: Evidence) -> Iterator[Finding]:
    """Hold the peak voltages over all settings against the ratings that the file gives.

    Yields
    ------
    Finding
        ``part_tuning_voltage`` of case ``while_tuning``, one for each band and part.
    """
    if evidence.full_output is None:
        return
    network = evidence.amplifier.description.network
    for meters in evidence.full_output.meters:
        for name in PART_NAMES:
            if name not in meters.peaks or "voltage_rating" not in ratings_of(name):
                continue
            part = getattr(network, name)
            rating = effective_rating(part, "voltage_rating")
            if rating is not None and evidence.stress[name].present[meters.row]:
                yield _judge(evidence, meters, name, rating)


def _judge(evidence: Evidence, meters: Meters, name: str, rating: float) -> Finding:
    worst = meters.peaks[name]
    used = worst.voltage_peak / rating
    limits = evidence.amplifier.description.limits
    state = state_of(used, limits.close_to_rating)
    value = format_quantity(worst.voltage_peak, "V")
    at = format_quantity(meters.frequency, "Hz")
    supply = evidence.assembly.stage.supply_voltage
    return Finding(
        code="part_tuning_voltage",
        state=state,
        case="while_tuning",
        band=meters.band,
        frequency_hertz=meters.frequency,
        part=name,
        quantity="tuning_voltage_peak",
        value=worst.voltage_peak,
        limit=rating,
        unit="V",
        used_fraction=used,
        message=f"{name.replace('_', ' ')}: {value} pk at {at} while tuning ({_WORDS[worst.situation]}), "
        f"rated {format_quantity(rating, 'V')} pk ({used:.0%})",
        why=f"highest of the tube's steady states over both settings and with the antenna gone, drive unchanged: "
        f"tune {format_quantity(worst.tune, 'F')}, load {format_quantity(worst.load, 'F')}; "
        f"DC counted as {format_quantity(supply, 'V')} where it stands across the part",
        fix=""
        if state == "pass"
        else f"tune at reduced drive, and never without an antenna; or a part rated "
        f"{format_quantity(worst.voltage_peak / limits.close_to_rating, 'V')} pk or more",
        line=evidence.line("network", name, "voltage_rating"),
    )
