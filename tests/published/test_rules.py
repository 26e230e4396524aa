"""Limits on spurious emissions as the rules print them."""

import math

import pytest
from samples import edited, judged

from netsim.description.models.amplifier import Limits


def test_default_limit_is_that_of_the_united_states():
    # Published: 47 CFR 97.307(d), below 30 MHz: at least 43 dB below the mean power of the fundamental.
    assert Limits().harmonic_level == -43.0


# From memory: ITU Radio Regulations, Appendix 3, stations below 30 MHz: 43 + 10 log P dB, at most 50 needed.
@pytest.mark.parametrize(("watt", "decibel"), [(1.0, 43.0), (5.01, 50.0), (1500.0, 50.0)])
def test_limit_of_the_radio_regulations(watt, decibel, plain, tmp_path):
    wanted = min(43 + 10 * math.log10(watt), 50.0)
    assert wanted == pytest.approx(decibel, abs=0.005)
    # Such a limit put into a file is the one the verdict holds the level against, to 3 dB for close.
    text = edited(plain, ('harmonic_level = "-43 dB"', f'harmonic_level = "{-wanted} dB"'))
    found = [f for f in judged(text, tmp_path).verdict.findings if f.code == "harmonic_level"]
    assert len(found) == 3
    for finding in found:
        assert finding.limit == pytest.approx(-wanted)
        above = finding.value + wanted
        assert finding.state == ("over" if above > 0 else "close" if above > -3 else "pass")
        assert finding.used_fraction == pytest.approx(10 ** (above / 20))
