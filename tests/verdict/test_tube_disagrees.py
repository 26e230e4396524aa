"""The tube against the stage: settled figures, and what both tables say of one thing."""

import numpy as np
import pytest
from samples import TUBE, amplifier_from, edited

from netsim.analysis import analyse
from netsim.description.reader import read


@pytest.fixture
def matched(plain):
    return edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"))


def judged(text, folder):
    result = analyse(amplifier_from(text, folder), engine="two-port", samples=1)
    found = {(f.quantity, f.band): f for f in result.verdict.findings if f.code == "tube_disagrees"}
    return result, found


def without(*starts):
    return "".join(line for line in TUBE.splitlines(keepends=True) if not line.startswith(starts))


def test_a_tube_without_a_table_is_not_asked(matched, tmp_path):
    _, found = judged(matched, tmp_path)
    assert not found


def test_settled_figures_against_what_the_stage_implies(matched, tmp_path):
    """Derived: the file's 520 mA; heat and output by the powers of the nominal stage."""
    result, found = judged(matched + TUBE, tmp_path)
    stage = result.verdict.stage
    for band in result.verdict.bands:
        for quantity, implied in (
            ("plate_current", lambda _: 0.52),
            ("output", lambda p: p.efficiency * stage.plate_power_watt),
            ("plate_dissipation", lambda _: stage.dc_input_watt - stage.plate_power_watt),
        ):
            finding = found[quantity, band.name]
            point = next(p for p in band.points if p.frequency_hertz == finding.frequency_hertz)
            settled = {
                "plate_current": point.large_signal.plate_current_dc_ampere,
                "output": point.output_watt,
                "plate_dissipation": point.plate_dissipation_watt,
            }[quantity]
            assert finding.value == settled
            assert finding.limit == pytest.approx(implied(point), rel=2e-3)
            apart = abs(settled / finding.limit - 1)
            assert finding.used_fraction == pytest.approx(apart / 0.15)
            assert finding.state == ("over" if apart > 0.15 else "close" if apart > 0.05 else "pass")


def test_bias_and_drive_left_out_agree(matched, tmp_path):
    """Derived: they are set so that the stage's current and angle come about."""
    _, found = judged(matched + without("bias", "drive"), tmp_path)
    assert {f.state for (quantity, _), f in found.items() if quantity == "plate_current"} <= {"pass", "close"}
    assert not [quantity for quantity, _ in found if quantity in ("conduction_angle", "connection")]


def test_more_current_than_a_choke_takes_is_over(matched, tmp_path):
    """A tube that settles at another current than the stage says: every part is judged on the tube's."""
    hot = matched + TUBE.replace('bias_voltage = "-6 V"', 'bias_voltage = "0 V"').replace("95 V", "140 V")
    result, found = judged(hot, tmp_path)
    assert result.verdict.judged_on == "tube"
    assert found["plate_current", "40 m"].state == "over"
    point = result.verdict.bands[1].points[0]
    choke = next(
        f
        for f in result.verdict.findings
        if (f.code, f.part, f.band) == ("part_current", "plate_choke", "40 m")
    )
    direct = max(p.large_signal.plate_current_dc_ampere for p in result.verdict.bands[1].points)
    assert choke.value > direct > 0.6
    assert point.plate_dissipation_watt == point.large_signal.plate_dissipation_watt


def test_the_same_drive_said_twice(matched, tmp_path):
    text = matched.replace('drive_voltage_peak = "0 V"', 'drive_voltage_peak = "40 V"')
    _, found = judged(text + TUBE, tmp_path)
    finding = next(f for (quantity, _), f in found.items() if quantity == "drive_voltage_peak")
    assert finding.value == 95
    assert finding.state == "over"
    assert np.isclose(finding.used_fraction, abs(95 / finding.limit - 1) / 0.15)


def test_a_grounded_cathode_has_no_drive_in_series(matched, tmp_path):
    text = matched.replace('drive_voltage_peak = "0 V"', 'drive_voltage_peak = "40 V"')
    tube = TUBE.replace("grounded grid", "grounded cathode")
    _, found = judged(text + tube, tmp_path)
    finding = next(f for (quantity, _), f in found.items() if quantity == "connection")
    assert finding.state == "close"
    assert "grounded cathode" in finding.message


def test_the_reason_of_the_unloaded_voltage_is_the_tubes_own(circuits):
    """Derived: a swing below the cathode is more than the supply, so that no reason may call it the smaller."""
    result = analyse(read(circuits / "new-tube-on-the-air.toml"), engine="two-port", samples=1, swr=1.0)
    told = [f for f in result.verdict.findings if f.code == "part_unloaded_voltage"]
    assert told
    for finding in told:
        assert "steady state" in finding.why
        assert "smaller of" not in finding.why
    assert any(f.part == "tune_capacitor" and (f.value or 0.0) > 1.2 * 3100 for f in told)
