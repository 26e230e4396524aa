"""Every remedy of a finding of the box, applied to the file and solved again by the whole analysis."""

from pathlib import Path

import pytest

from netsim.advice.remedies import with_remedies
from netsim.analysis import analyse
from netsim.description.reader import read

PRESSED = [
    {},
    {
        "supply.bleeder_power_rating": "60 W",
        "supply.capacitor_voltage_rating": "350 V",
        "bias.power_rating": "6 W",
    },
    {"supply.equalizing_resistance": None, "meters[0].diodes": None, "input.available_power": "40 W"},
    {"supply.equalizing_resistance": None, "supply.bleeder": None, "supply.bleeder_power_rating": None},
    {
        "cooling.ambient": "70 degC",
        "cooling.anode_temperature_limit": "150 degC",
        "meters[0].shunt": "0.3 ohm",
    },
    {"input.topology": "none", "input.coil_q": None, "stage.no_load_plate_voltage": "3.4 kV"},
]


@pytest.mark.parametrize("edits", PRESSED)
def test_a_remedy_does_what_it_says(circuits: Path, edits: dict[str, object]) -> None:
    amplifier = read(circuits / "whole-box.toml").replace(edits)
    before = with_remedies(analyse(amplifier, band="80 m", engine="two-port", samples=1)).verdict
    to_mend = [f for f in before.findings if f.state in ("over", "close")]
    assert to_mend
    known = {key(f): f for f in before.findings}
    tried = set()
    for finding in to_mend:
        assert finding.fix
        for remedy in finding.remedies[:1]:
            asked = {edit.key: edit.value for edit in remedy.edits}
            if str(asked) in tried:
                continue
            tried.add(str(asked))
            after = analyse(
                amplifier.replace(asked), band="80 m", engine="two-port", samples=1
            ).verdict.findings
            then = {key(f): f for f in after}
            mended = then.get(key(finding))
            assert mended is None or mended.state not in ("over", finding.state)
            if mended is not None and mended.used_fraction is not None:
                assert remedy.used_after == pytest.approx(mended.used_fraction, rel=1e-3)
            fell = {
                k for k, f in then.items() if level(f) < level(known.get(k)) and f.state in ("over", "close")
            }
            assert fell <= {
                (w.code, w.band, w.part, w.quantity, w.case, w.operating_point) for w in remedy.worse
            }


def test_each_has_one_where_the_file_can_say_it(circuits: Path) -> None:
    amplifier = read(circuits / "whole-box.toml").replace({**PRESSED[1], **PRESSED[2]})
    found = with_remedies(analyse(amplifier, band="80 m", engine="two-port", samples=1)).verdict.findings
    lacking = {f.code for f in found if f.state in ("over", "close") and not f.remedies}
    assert not lacking


def key(finding):
    return (
        finding.code,
        finding.band,
        finding.part,
        finding.quantity,
        finding.case,
        finding.operating_point,
    )


def level(finding):
    return 2 if finding is None else ("over", "close", "not_rated", "pass").index(finding.state)
