"""The plate choke: reactance of either sign, resonances measured and guessed."""

import math

import pytest
from samples import amplifier_from, edited

from netsim.analysis import analyse
from netsim.circuit.choke import first_series_resonance

MEASURED = 'series_resonances = ["24.6 MHz"]'


def judged(code, text, folder):
    found = analyse(amplifier_from(text, folder), engine="two-port", samples=1).verdict.findings
    return {f.band: f for f in found if f.code == code and f.part == "plate_choke"}


def test_a_choke_that_is_a_capacitance_on_the_highest_band(plain, tmp_path):
    """Kirchhoff: 220 uH with 12 pF across it is 1 / (1/wL - wC), on 20 m a capacitance of under 1 kohm."""
    found = judged(
        "choke_reactance",
        edited(plain, ('self_capacitance = "3 pF"', 'self_capacitance = "12 pF"')),
        tmp_path,
    )
    omega = 2 * math.pi * found["20 m"].frequency_hertz
    reactance = 1 / (1 / (omega * 220e-6) - omega * 12e-12)
    assert reactance < 0
    assert found["20 m"].value == pytest.approx(-reactance)
    assert found["20 m"].used_fraction == pytest.approx(found["20 m"].limit / -reactance)
    assert found["20 m"].state == "close"
    assert "capacitive" in found["20 m"].why
    assert found["20 m"].frequency_hertz == pytest.approx(14.3e6, rel=0.02)


@pytest.mark.parametrize(("share", "state"), [(0.93, "close"), (1.07, "close"), (0.8, "pass")])
def test_close_begins_where_it_does_everywhere(plain, tmp_path, share, state):
    """Contract: close above close_to_rating of the plate load, never over."""
    known = judged("choke_reactance", plain.read_text(), tmp_path)["80 m"]
    omega = 2 * math.pi * known.frequency_hertz
    wanted = 1 / (omega * (share / known.limit + omega * 3e-12))
    text = edited(plain, ('inductance = "220 uH"', f'inductance = "{wanted * 1e6:.6f} uH"'))
    found = judged("choke_reactance", text, tmp_path)["80 m"]
    assert found.used_fraction == pytest.approx(share, rel=1e-6)
    assert found.state == state


@pytest.mark.parametrize(
    ("resonance", "state"),
    [
        ("14.05 MHz", "over"),
        ("13.7 MHz", "over"),
        ("13.5 MHz", "close"),
        ("15.6 MHz", "close"),
        ("15.9 MHz", "pass"),
    ],
)
def test_a_listed_frequency_has_no_width_but_a_resonance_has(plain, tmp_path, resonance, state):
    """Contract: within 3 % of a listed frequency is over, within 10 % close; the band lists 14.05 and 14.3 MHz."""
    found = judged(
        "choke_resonance", edited(plain, (MEASURED, f'series_resonances = ["{resonance}"]')), tmp_path
    )
    assert found["20 m"].state == state


def test_a_guess_is_close_at_most(plain, tmp_path):
    winding = '[network.plate_choke.winding]\nturns = 160\ndiameter = "25 mm"\nlength = "90 mm"\n\n'
    after = "[network.blocking_capacitor]"
    text = edited(plain, (MEASURED + "\n", ""), (after, winding + after))
    found = judged("choke_resonance", text, tmp_path)
    estimate, low, high = (float(f) for f in first_series_resonance(160, 25e-3, 90e-3))
    for name, finding in found.items():
        highest = {"80 m": 3.8e6, "40 m": 7.15e6, "20 m": 14.3e6}[name]
        assert finding.value == pytest.approx(estimate)
        assert finding.state == ("close" if 1.1 * highest >= low else "pass")
        assert "guess" in finding.why
    assert {f.state for f in found.values()} == {"pass", "close"}
    assert high > estimate > low
