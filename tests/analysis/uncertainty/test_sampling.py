"""Sampled amplifiers, against each of them written into a file and analysed alone. Cross-solver: the whole analysis."""

import dataclasses

import numpy as np
import pytest
from samples import TUBE, edited

import netsim
from netsim.analysis import analyse
from netsim.analysis.uncertainty.sampling import draw, sample
from netsim.circuit.assembly import assemble

LIMITS = (
    ('plate_voltage = "2.6 kV"', 'plate_voltage = "2.6 kV +- 4 %"'),
    ('plate_current = "520 mA"', 'plate_current = "520 mA +- 5 %"'),
    ('conduction_angle = "195 deg"', 'conduction_angle = "195 +- 5 deg"'),
    ('output_capacitance = "12 pF"', 'output_capacitance = "12 +- 3 pF"'),
    ('inductance = "60 nH"', 'inductance = "60 nH +- 20 %"'),
    ('stray = "8 pF"', 'stray = "8 +- 3 pF"'),
    ("q = 300", 'q = "300 +- 30 %"'),
    ('voltage_rating = "4.5 kV"', 'voltage_rating = "4.5 kV +- 5 %"'),
    ('minimum = "15 pF"', 'minimum = "15 +- 2 pF"'),
    ('coil = "5.8 uH"', 'coil = "5.8 uH +- 6 %"'),
    ('load_padding = "300 pF"', 'load_padding = "300 pF +- 5 %"'),
    ("worst_swr = 2.0", "worst_swr = 1.0"),
)


def limited(plain, *more):
    return netsim.loads(edited(plain, *LIMITS, *more))


def with_values(amplifier, values):
    """Write one drawn amplifier into the file: no limits, the drawn values."""
    units = {"rad": "deg", "1": ""}
    changes = {}
    for entry, value in zip(amplifier.inputs, values, strict=True):
        shown = np.rad2deg(value) if entry.unit == "rad" else value
        unit = units.get(entry.unit, entry.unit)
        changes[entry.key] = f"{shown:.12g} {unit}" if unit else float(f"{shown:.12g}")
    return amplifier.replace(changes)


def used_of(result):
    """Give the used fractions by what tells findings apart, infinite where there is none."""
    return {
        (f.code, f.part, f.quantity, f.case, f.band): np.inf if f.used_fraction is None else f.used_fraction
        for f in result.verdict.findings
        if f.band is not None
    }


def held_against_the_file(amplifier, count, tolerance):
    draws = draw(amplifier, count)
    (sampled,) = sample(amplifier, assemble(amplifier), draws)
    names = [band.name for band in amplifier.description.bands]
    compared = 0
    for number in range(count):
        alone = used_of(analyse(with_values(amplifier, draws.values[number]), engine="two-port", samples=1))
        for (check, band, _), used in sampled.used.items():
            key = (check.code, check.part, check.quantity, check.case, names[band])
            assert used[number] == pytest.approx(alone[key], rel=tolerance, abs=2e-5), key
            compared += 1
    return compared


def test_every_sample_is_the_amplifier_of_a_file_with_its_values(plain):
    assert held_against_the_file(limited(plain), 8, 3e-3) > 400


def test_also_of_a_winding_whose_sizes_are_known_within_limits(circuits):
    """The coil follows its sizes by sensitivities: how far they are off is measured here, at 1 % on the diameter."""
    text = (circuits / "new-tube.toml").read_text()
    for old, new in (
        ('mean_diameter = "66 mm"', 'mean_diameter = "66 mm +- 1 %"'),
        ('pitch = "5 mm"', 'pitch = "5 mm +- 2 %"'),
        ('lead_inductance = "30 nH"', 'lead_inductance = "30 +- 15 nH"'),
        ("coil_turns = 13.5", 'coil_turns = "13.5 +- 0.2"'),
    ):
        assert old in text
        text = text.replace(old, new)
    # Without the top band, which does not tune: there a percent of the coil is a quarter of what it carries.
    amplifier = netsim.loads(text[: text.index('[[bands]]\nname = "10 m"')])
    assert held_against_the_file(amplifier, 4, 1e-2) > 200


def test_the_verdict_tells_what_the_samples_show(plain):
    amplifier = limited(plain, ('power_rating = "120 W"', 'power_rating = "38 W"'))
    result = analyse(amplifier, engine="two-port", samples=512)
    (sampled,) = sample(amplifier, assemble(amplifier), draw(amplifier, 512))
    names = [band.name for band in amplifier.description.bands]
    told = {(f.code, f.part, f.quantity, f.case, f.band): f for f in result.verdict.findings}
    for (check, band, _), used in sampled.used.items():
        finding = told[check.code, check.part, check.quantity, check.case, names[band]]
        assert finding.share_over == pytest.approx((used > 1).mean()) or finding.code == "choke_reactance"
        if np.isfinite(used).all():
            # A share of the samples lies beyond each end, as JCGM 101:2008, 7.7 wants; less where many are equal.
            for beyond, reached in (
                (used < finding.used_low, used <= finding.used_low),
                (used > finding.used_high, used >= finding.used_high),
            ):
                assert beyond.mean() <= 0.027
                assert reached.mean() >= 0.023
        shares = [entry.share for entry in finding.settled_by]
        assert shares == sorted(shares, reverse=True)
        assert len(shares) <= 3
        assert sum(shares) <= 1.02
    unsure = [f for f in result.verdict.findings if f.unsure]
    assert unsure
    assert result.verdict.counts["unsure"] == len(unsure)
    assert sum(entry.findings for entry in result.verdict.known.measure) == len(unsure)


def test_what_settles_a_voltage_is_what_makes_it(plain):
    # Derived: matched, the tune capacitor carries the plate swing, V - V_min; its rating is the other input.
    result = analyse(limited(plain), engine="two-port", samples=1024)
    finding = next(
        f
        for f in result.verdict.findings
        if (f.code, f.part, f.band) == ("part_voltage", "tune_capacitor", "40 m")
    )
    first, second = (entry.key for entry in finding.settled_by[:2])
    assert {first, second} == {"stage.plate_voltage", "network.tune_capacitor.voltage_rating"}


def test_state_and_value_stay_those_of_the_file(plain):
    amplifier = limited(plain)
    with_limits = analyse(amplifier, engine="two-port", samples=256).verdict
    without = analyse(amplifier, engine="two-port", samples=1).verdict
    assert [(f.code, f.band, f.state, f.value) for f in with_limits.findings] == [
        (f.code, f.band, f.state, f.value) for f in without.findings
    ]
    assert without.counts["unsure"] == 0
    assert {f.share_over for f in without.findings} == {None}
    assert without.known.samples == 1


def test_nothing_is_sampled_without_limits(plain):
    verdict = analyse(netsim.read(plain), engine="two-port").verdict
    assert verdict.known.samples == 1
    assert verdict.known.inputs == ()
    assert all((f.used_low, f.used_high, f.share_over, f.settled_by) == (None,) * 4 for f in verdict.findings)


def test_what_the_file_leaves_out_is_assumed_within_limits(plain):
    amplifier = netsim.loads(edited(plain, ("q = 300\n", "")))
    verdict = analyse(amplifier, engine="two-port", samples=256).verdict
    (entry,) = verdict.known.inputs
    assert dataclasses.astuple(entry)[2:] == (200, 100, 400, "1", "assumed")
    power = next(f for f in verdict.findings if (f.code, f.part, f.band) == ("part_power", "coil", "40 m"))
    # Derived: nearly in inverse proportion to the Q, which is drawn evenly in the logarithm over a ratio of four.
    assert power.used_high / power.used_low == pytest.approx(4**0.95, rel=0.05)


def test_with_a_tube_only_the_network_is_sampled(plain):
    amplifier = netsim.loads(edited(plain, *LIMITS) + TUBE)
    verdict = analyse(amplifier, engine="two-port", samples=256).verdict
    sampled = {f.code for f in verdict.findings if f.share_over is not None}
    assert sampled == {"loaded_q", "plate_match", "tuning_range", "choke_reactance"}


def test_other_antennas_at_the_worst_one(plain):
    amplifier = limited(plain, ("worst_swr = 1.0", "worst_swr = 2.0"))
    verdict = analyse(amplifier, engine="two-port", samples=256).verdict
    found = [f for f in verdict.findings if f.case == "any_antenna" and f.share_over is not None]
    assert {f.code for f in found} >= {"part_voltage", "part_current", "plate_match", "plate_dissipation"}
    for finding in found:
        if (
            finding.used_fraction is not None
            and finding.used_high is not None
            and finding.used_fraction > 0.1
        ):
            assert finding.used_low * 0.99 <= finding.used_fraction <= finding.used_high * 1.01


def test_limits_of_a_plate_load_end_where_the_plate_would_swing_below_zero(plain):
    """Derived: of half a cosine the fundamental is pi / 2 of the mean (Fourier), and R I_1 is at most V."""
    amplifier = netsim.loads(
        edited(
            plain,
            ('conduction_angle = "195 deg"', 'conduction_angle = "180 deg"'),
            ('minimum_plate_voltage = "380 V"', 'plate_load = "2.9 kohm +- 20 %"'),
            ("worst_swr = 2.0", "worst_swr = 1.0"),
        )
    )
    verdict = analyse(amplifier, engine="two-port", samples=256).verdict
    largest = 2600 / (0.52 * np.pi / 2)
    (entry,) = [entry for entry in verdict.known.inputs if entry.key == "stage.plate_load"]
    assert (entry.low, entry.high) == pytest.approx((2320, largest), rel=1e-4)
    (said,) = [note for note in verdict.notes if note.key == "stage.plate_load"]
    assert said.code == "limits_cut"
    drawn = draw(amplifier, 256).values[:, [i.key for i in amplifier.inputs].index("stage.plate_load")]
    # Every value between is as likely: none is heaped up at the end.
    assert np.median(drawn) == pytest.approx((2320 + largest) / 2, rel=0.01)
