"""What the meters show while both capacitors are turned, and the voltages on the way."""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from

from netsim.analysis import analyse
from netsim.analysis.meter_sweep import POINTS
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch, harmonic_balance
from tests.samples import TUBE, edited


@pytest.fixture
def walked(plain, tmp_path):
    text = edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0")) + TUBE
    return analyse(amplifier_from(text, tmp_path), engine="two-port")


def test_the_dip(walked):
    """Common practice: plate current is least, and output most, close to the solved tune setting."""
    for meters in walked.solved.meters:
        readings = meters.by_tune
        assert readings.tune.shape == (POINTS,)
        at = meters.matched_tune
        assert readings.tune[at] == walked.solved.settings.tune[meters.row]
        assert abs(int(np.argmin(readings.plate_current_dc)) - at) <= 1
        assert abs(int(np.argmax(readings.output_power)) - at) <= 1
        assert readings.plate_current_dc[0] > 1.15 * readings.plate_current_dc[at]
        assert (np.diff(readings.tune) >= 0).all()


def test_loading(walked):
    """Common practice: lightly loaded the plate current dips lower and the plate swings further."""
    for meters in walked.solved.meters:
        readings, at = meters.by_load, meters.matched_load
        assert meters.heavy < at < meters.light
        current, least = readings.plate_current_dc, readings.plate_voltage_minimum
        assert current[meters.light] < current[at] < current[meters.heavy]
        assert least[meters.light] < least[at] < least[meters.heavy]
        assert readings.output_power[at] > readings.output_power[meters.light]
        assert readings.output_power[at] > readings.output_power[meters.heavy]


def test_the_matched_point_is_the_result(walked):
    """Cross-solver: the middle of each curve is the large signal of the band's first frequency."""
    for meters, band in zip(walked.solved.meters, walked.verdict.bands, strict=True):
        point = band.points[0].large_signal
        for readings, at in ((meters.by_tune, meters.matched_tune), (meters.by_load, meters.matched_load)):
            assert readings.plate_current_dc[at] == pytest.approx(point.plate_current_dc_ampere, rel=1e-9)
            assert readings.output_power[at] == pytest.approx(point.output_watt, rel=1e-9)
            assert readings.grid_current_dc[at] == pytest.approx(point.grid_current_dc_ampere, rel=1e-9)


def test_with_the_antenna_gone_nothing_comes_out(walked):
    for meters in walked.solved.meters:
        gone = meters.antenna_gone
        assert (gone.output_power == 0).all()
        assert gone.plate_current_dc[1] < gone.plate_current_dc[0]
        assert gone.plate_voltage_minimum[1] < 0


def test_peaks_are_the_highest_of_all(walked):
    """Derived: the tune capacitor's peak is that of the wave at its node, solved afresh at the worst setting."""
    solved = walked.solved
    meters = solved.meters[1]
    worst = meters.peaks["tune_capacitor"]
    assert worst.situation == "antenna_gone"
    parts = solved.assembly.parts.take(np.array([meters.row]))
    parts = replace(parts, antenna_resistance=np.array([np.inf]))
    ladder = build_ladder(parts, np.array([worst.tune]), np.array([worst.load]))
    impedance = batch.solve(ladder, np.arange(1.0, 33)).plate_impedance
    tube = solved.tube_state.tube.take(np.array([meters.row]))
    balance = harmonic_balance.solve(impedance, tube, 2900.0)
    # Suppressor and blocking capacitor hardly part the tank from the plate.
    drive = balance.tube.drive_voltage_peak * np.cos(2 * np.pi * np.arange(256) / 256)
    wave = balance.waves(256).plate[0] - 2900.0 - drive
    assert worst.value == pytest.approx(np.abs(wave).max(), rel=0.05)


def test_heat_while_tuning(walked):
    """Derived: the hottest setting's heat is what supply and drive give and neither load nor grid takes."""
    for meters in walked.solved.meters:
        runs = {"tune": meters.by_tune, "load": meters.by_load, "antenna_gone": meters.antenna_gone}
        hottest = max(runs, key=lambda name: runs[name].plate_dissipation.max())
        assert meters.heat.situation == hottest
        assert meters.heat.value == runs[hottest].plate_dissipation.max()
        assert meters.heat.value > meters.by_tune.plate_dissipation[meters.matched_tune]
    found = {
        f.band: f
        for f in walked.verdict.findings
        if f.code == "plate_dissipation" and f.case == "while_tuning"
    }
    assert {m.band: m.heat.value for m in walked.solved.meters} == {
        band: f.value for band, f in found.items()
    }


def test_findings_while_tuning(walked):
    found = [f for f in walked.verdict.findings if f.code == "part_tuning_voltage"]
    assert {f.case for f in found} == {"while_tuning"}
    keys = [(f.band, f.part) for f in found]
    assert len(keys) == len(set(keys))
    assert {f.part for f in found} >= {"tune_capacitor", "load_capacitor", "blocking_capacitor"}
    for finding in found:
        meters = next(m for m in walked.solved.meters if m.band == finding.band)
        assert finding.value == meters.peaks[finding.part].value
        assert finding.used_fraction == pytest.approx(finding.value / finding.limit)
        assert finding.state == (
            "over" if finding.used_fraction > 1 else "close" if finding.used_fraction > 0.9 else "pass"
        )


def test_grid_while_tuning(plain, tmp_path):
    """Derived: Child's and Tank's laws over one period of the plate's wave at the worst setting, written again here."""
    rated = (
        "plate_voltage =",
        'grid_current_rating = "150 mA"\ngrid_dissipation_rating = "12 W"\nplate_voltage =',
    )
    text = plain.read_text(encoding="utf-8").replace("worst_swr = 2.0", "worst_swr = 1.0")
    found = analyse(amplifier_from(text.replace(*rated, 1) + TUBE, tmp_path), engine="two-port")
    solved = found.solved
    told = {
        (f.code, f.band): f
        for f in found.verdict.findings
        if f.part == "grid" and f.case == "while_tuning" and f.operating_point is None
    }
    assert {band for _, band in told} == {meters.band for meters in solved.meters}
    for meters in solved.meters:
        # The plate swings lowest after the dip is sought again without an antenna, and the grid takes most.
        current, heat = meters.grid_current, meters.grid_heat
        assert (current.situation, heat.situation) == ("dipped_again", "dipped_again")
        parts = replace(
            solved.assembly.parts.take(np.array([meters.row])), antenna_resistance=np.array([np.inf])
        )
        ladder = build_ladder(parts, np.array([current.tune]), np.array([current.load]))
        impedance = batch.solve(ladder, np.arange(1.0, harmonic_balance.ORDERS + 1)).plate_impedance
        balance = harmonic_balance.solve(
            impedance, solved.tube_state.tube.take(np.array([meters.row])), 2900.0
        )
        plate = balance.waves(4096).plate[0]
        grid = -6 + 95 * np.cos(2 * np.pi * np.arange(4096) / 4096)
        cathode = 2 * 1.1e-3 * np.maximum(grid + plate / 110, 0) ** 1.5
        divided = np.sqrt(np.maximum(grid, 0) / np.maximum(plate, 1e-3)) / (1.1e-3 / 3e-4 - 1)
        taken = np.where(grid > 0, cathode * (1 - np.tanh(np.maximum(plate, 0) / 90) / (1 + divided)), 0)
        assert current.value == pytest.approx(taken.mean(), rel=1e-3)
        assert heat.value == pytest.approx((grid * taken).mean(), rel=1e-3)
        assert current.value > 1.5 * meters.by_tune.grid_current_dc[meters.matched_tune]
        for code, highest, limit in (("grid_current", current, 0.15), ("grid_dissipation", heat, 12.0)):
            finding = told[code, meters.band]
            assert (finding.value, finding.limit) == (highest.value, limit)
            assert finding.state == "over"
            assert "dipped again" in finding.message
