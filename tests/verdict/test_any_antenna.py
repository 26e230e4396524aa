"""Every part on every antenna, and what is said about it."""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from, hung_on

from netsim.analysis import analyse
from netsim.circuit.elements import Termination
from netsim.circuit.reflection import impedance_of, loads_within
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch
from netsim.verdict.any_antenna import on_all_loads
from netsim.verdict.words.antennas import share_in_words
from tests.samples import edited


@pytest.fixture
def plain_study(plain, tmp_path):
    text = edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"))
    return analyse(amplifier_from(text, tmp_path), engine="two-port", samples=1)


def pulse(assembly):
    return lambda impedance, owner: assembly.stage.take(owner).plate_current(impedance[:, 0])


def circle(walked, swr):
    parts = walked.solved.assembly.parts
    reflection = loads_within(swr)
    loads = len(reflection)
    impedance = np.tile(impedance_of(reflection, 50.0), len(parts))[:, np.newaxis]
    termination = Termination(impedance, np.full(loads * len(parts), 50.0))
    hung = hung_on(termination, loads)
    return on_all_loads(walked.solved.assembly, hung, loads, swr, pulse(walked.solved.assembly))


def test_swr_1_is_the_plain_check(plain_study):
    """Cross-solver: the batch on a load of zero reflection gives what the plain walk gives."""
    found, solved = circle(plain_study, 1.0), plain_study.solved
    np.testing.assert_allclose(found.tune[:, 0], solved.settings.tune, rtol=1e-12)
    np.testing.assert_allclose(found.plate_impedance[:, 0], solved.plate_impedance, rtol=1e-9)
    np.testing.assert_allclose(found.output_power[:, 0], solved.output_power, rtol=1e-9)
    np.testing.assert_allclose(found.plate_dissipation[:, 0], solved.current.dissipation, rtol=1e-9)
    np.testing.assert_allclose(found.level[:, 1:], solved.level[:, 1:], atol=1e-6)
    for (name, quantity), worst in found.worst.items():
        plain = getattr(solved.stress[name], quantity)
        tolerance = 1e-3 if quantity == "voltage_peak" else 1e-9  # fewer samples of a period
        np.testing.assert_allclose(worst.value, plain, rtol=tolerance, atol=1e-12)


def test_swr_1_says_nothing_more(plain, plain_study, tmp_path):
    assert plain_study.solved.any_antenna is None
    asked = analyse(plain_study.amplifier, engine="two-port", swr=1.0)
    assert asked.verdict == plain_study.verdict


def test_worst_peaks_are_those_of_all_loads(plain_study):
    """Derived: what is ruled out by bounds could not have been the worst."""
    found = circle(plain_study, 3.0)
    parts = plain_study.solved.assembly.parts
    count = len(parts)
    for load in range(0, 576, 37):
        termination = Termination(found.impedance[:, load][:, np.newaxis], np.full(count, 50.0))
        assembly = plain_study.solved.assembly
        alone = on_all_loads(assembly, hung_on(termination, 1), 1, None, pulse(assembly))
        for key, worst in alone.worst.items():
            highest = found.worst[key]
            assert (np.isnan(worst.value) | (worst.value <= highest.value * (1 + 1e-9))).all(), key
            here = highest.load == load
            np.testing.assert_allclose(worst.value[here], highest.value[here], rtol=1e-9)


def test_the_share_is_one_of_area(plain_study):
    """Derived: the area of a ring between two radii, also for the outermost, of which only the inner half is there."""
    found = circle(plain_study, 3.0)
    size = np.abs(found.reflection) / 0.5
    # Rings matched up to half way to the next: the disc beyond is 1 - ((k + 1/2) / 8)^2 of all, exactly.
    for ring in (1, 4, 7):
        beyond = 1 - ((ring + 0.5) / 8) ** 2
        matched = size < (ring + 0.5) / 8
        assert replace(found, matched=matched).unmatched_share == pytest.approx(beyond, abs=0.004)
    assert (replace(found, matched=size < 0).unmatched_share == 1).all()


def test_the_spread_is_what_terminations_make_of_it(plain_study):
    """Cross-solver: the antenna solved anew at orders 2 and 3 with every phase of an SWR of 10."""
    walked = analyse(plain_study.amplifier, engine="two-port", swr=3.0)
    spread, parts = walked.solved.harmonic_spread, walked.solved.assembly.parts
    settings = walked.solved.settings
    phases = 360
    reflection = np.concatenate([loads_within(10.0, phases, 1), [0.0]])
    every = parts.take(np.repeat(np.arange(len(parts)), len(reflection)))
    other = np.tile(impedance_of(reflection, 50.0), len(parts))
    impedance = np.stack([np.full(len(every), 50.0 + 0j), other, other], axis=1)
    terminated = replace(every, termination=Termination(impedance, np.full(len(every), 50.0)))
    tune, load = (np.repeat(v, len(reflection)) for v in (settings.tune, settings.load))
    orders = np.arange(1.0, 4)
    current = np.abs(batch.solve(build_ladder(terminated, tune, load), orders).branch_current["antenna"])
    power = (current**2 * terminated.antenna_delivery(orders)).reshape(len(parts), -1, 3)
    change = 10 * np.log10(power / power[:, -1:])
    np.testing.assert_allclose(change[:, :-1, 1:].min(axis=1), spread[:, 1:3, 0], atol=0.01)
    # The highest may lie inside the circle.
    assert (change[:, :-1, 1:].max(axis=1) <= spread[:, 1:3, 1] + 1e-9).all()
    assert (change[:, :-1, 1:].max(axis=1) > 0).all()


def test_findings_stand_apart_from_matched(plain, tmp_path):
    """Same files, another SWR: what is said of the matched antenna does not change."""
    one, three = (
        analyse(
            amplifier_from(edited(plain, ("worst_swr = 2.0", f"worst_swr = {swr}")), tmp_path),
            engine="two-port",
        ).verdict
        for swr in (1.0, 3.0)
    )
    matched = [replace(f, line=None) for f in three.findings if f.case != "any_antenna"]
    assert matched == [replace(f, line=None) for f in one.findings]
    assert one.bands == three.bands
    other = [f for f in three.findings if f.case == "any_antenna"]
    keys = [(f.code, f.band, f.part, f.quantity) for f in other]
    assert len(keys) == len(set(keys))
    assert {f.code for f in other} == {
        "part_voltage",
        "part_current",
        "part_power",
        "part_reactive_power",
        "plate_dissipation",
        "plate_match",
        "harmonic_spread",
    }
    for finding in other:
        if finding.code.startswith("part_"):
            assert " on an antenna of SWR " in finding.message
            assert "degrees" in finding.message
            twin = next(
                f
                for f in one.findings
                if (f.code, f.band, f.part) == (finding.code, finding.band, finding.part)
                and f.case == "matched"
            )
            assert finding.limit == twin.limit
            assert finding.value > twin.value * 0.9


def test_another_swr_without_touching_the_file(plain, tmp_path):
    amplifier = amplifier_from(plain.read_text(), tmp_path)
    two, three = (analyse(amplifier, engine="two-port", swr=swr).verdict for swr in (None, 3.0))

    def worst(verdict):
        keys = ("any_antenna", "part_voltage", "load_capacitor")
        return max(f.value for f in verdict.findings if (f.case, f.code, f.part) == keys)

    assert worst(three) > 1.1 * worst(two)
    assert analyse(amplifier, engine="two-port", swr=2.0).verdict == two


def test_the_spread_of_a_harmonic_holds_its_level(plain_study, plain, tmp_path):
    walked = analyse(plain_study.amplifier, engine="two-port", swr=3.0)
    spread = walked.solved.harmonic_spread
    assert spread.shape == (len(walked.solved.ladder), 10, 2)
    assert (spread[:, 1:, 0] < 0).all()
    assert (spread[:, 1:, 1] >= 0).all()
    for finding in walked.verdict.findings:
        if finding.code == "harmonic_spread":
            assert finding.state in ("close", "pass")
            assert "cannot be known" in finding.why


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "none"),
        (0.005, "very few"),
        (0.25, "about a quarter"),
        (0.5, "about half"),
        (0.97, "nearly all"),
        (1.0, "all"),
    ],
)
def test_shares_in_words(share, words):
    assert share_in_words(share) == words


def test_the_switch_carries_what_its_coils_do_on_every_antenna(wound, tmp_path):
    """Derived: ratios of the windings, as with the matched antenna; cross-solver at the worst load alone."""
    amplifier = amplifier_from(wound.read_text(), tmp_path)
    walked = analyse(amplifier, engine="two-port", swr=3.0)
    solved = walked.solved
    found, coils = solved.any_antenna.worst, solved.assembly.wound
    ratios = [coil.switch_voltage_ratio * found[name, "voltage_peak"].value for name, coil in coils.items()]
    np.testing.assert_allclose(found["band_switch", "voltage_peak"].value, np.max(ratios, axis=0), rtol=1e-9)
    current = found["band_switch", "current_rms"].value
    assert (current >= found["coil", "current_rms"].value * (1 - 1e-12)).all()
    told = {(f.code, f.part) for f in walked.verdict.findings if f.case == "any_antenna"}
    assert {("part_voltage", "band_switch"), ("part_current", "band_switch")} <= told
