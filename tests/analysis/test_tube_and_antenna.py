"""The walk with a tube, with a measured antenna, with a filter: result, findings, errors."""

from dataclasses import replace

import numpy as np
import pytest
from samples import amplifier_from

from netsim.analysis import analyse, response
from netsim.circuit.reflection import impedance_of
from netsim.errors import BalanceError, DescriptionError, DisagreementError, UsageError
from netsim.solvers.transient import GATES
from tests.samples import TUBE, edited


def edited_text(text, *changes):
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def touchstone(path, scattering, low=1e6, high=400e6, points=400):
    """Write ``scattering(frequency)``, shape ``(points, ports, ports)``, as a file."""
    frequency = np.linspace(low, high, points)
    values = np.swapaxes(scattering(frequency), 1, 2).reshape(points, -1)
    lines = ["# Hz S RI R 50"]
    for f, row in zip(frequency, values, strict=True):
        lines.append(" ".join([f"{f:.9e}", *(f"{part:.12e}" for v in row for part in (v.real, v.imag))]))
    path.write_text("\n".join(lines) + "\n")


def one_port(reflection):
    return lambda frequency: np.broadcast_to(np.asarray(reflection, complex), len(frequency))[
        :, None, None
    ].copy()


def wire(frequency):
    return np.broadcast_to(np.array([[0, 1], [1, 0]], complex), (len(frequency), 2, 2))


def run(text, folder, **how):
    return analyse(amplifier_from(text, folder), **({"engine": "two-port"} | how))


@pytest.fixture
def matched(plain):
    return edited(plain, ("worst_swr = 2.0", "worst_swr = 1.0"))


def test_a_plain_file_knows_nothing_of_it(matched, tmp_path):
    walked = run(matched, tmp_path)
    assert walked.solved.any_antenna is None
    assert all(point.large_signal is None for band in walked.verdict.bands for point in band.points)
    assert {f.case for f in walked.verdict.findings} == {"matched", "while_tuning"}


def test_large_signal_of_every_point(matched, tmp_path):
    """Derived: the supply's and the drive's power is output, heat of plate and grid, bias and network loss."""
    walked = run(matched + TUBE, tmp_path, engine="both")
    plain = run(matched, tmp_path)
    for band, without in zip(walked.verdict.bands, plain.verdict.bands, strict=True):
        for point, other in zip(band.points, without.points, strict=True):
            assert point.tune_farad == pytest.approx(other.tune_farad)
            found = point.large_signal
            assert (point.output_watt, point.plate_dissipation_watt) == (
                found.output_watt,
                found.plate_dissipation_watt,
            )
            dc = 2600.0 * found.plate_current_dc_ampere
            assert found.efficiency == pytest.approx(found.output_watt / dc)
            spent = found.output_watt + found.plate_dissipation_watt + found.grid_dissipation_watt
            spent += 6.0 * found.grid_current_dc_ampere
            lost = dc + found.drive_watt - spent
            # What is left is heat of the network: as much of the plate power as the simple stage loses.
            plate_power = found.output_watt / point.efficiency
            assert lost == pytest.approx(plate_power - found.output_watt, rel=0.05, abs=0.003 * dc)
            assert found.worst_difference_to_spice_db < GATES[0][1]
            assert [harmonic.order for harmonic in found.harmonics] == list(range(2, 11))
            assert 180 < found.conduction_angle_degree < 240


def test_harmonics_by_the_definitions(matched, tmp_path):
    """Derived: attenuation is the network's own; the level is the current's ratio less that."""
    walked = run(matched + TUBE, tmp_path)
    current = np.abs(walked.solved.tube_state.balance.plate_current)
    points = [point for band in walked.verdict.bands for point in band.points]
    for row, point in enumerate(points):
        for found, other in zip(point.large_signal.harmonics, point.harmonics, strict=True):
            assert found.attenuation_db == pytest.approx(other.attenuation_db, abs=1e-6)
            ratio = 20 * np.log10(current[row, found.order - 1] / current[row, 0])
            assert found.level_dbc == pytest.approx(ratio - other.attenuation_db, abs=1e-6)


def test_without_ngspice_the_difference_is_unknown(matched, tmp_path):
    walked = run(matched + TUBE, tmp_path)
    found = [point.large_signal for band in walked.verdict.bands for point in band.points]
    assert all(entry.worst_difference_to_spice_db is None for entry in found)


def test_bias_and_drive_follow_from_the_stage(matched, tmp_path):
    """Derived: left out, both are set so that a resonant load gives the stage's current and angle.

    On the real network harmonics of the plate's voltage move both a little.
    """
    lines = TUBE.splitlines(keepends=True)
    text = "".join(line for line in lines if not line.startswith(("bias", "drive")))
    point = run(matched + text, tmp_path).verdict.bands[1].points[0]
    assert point.large_signal.plate_current_dc_ampere == pytest.approx(0.52, rel=0.05)
    assert point.large_signal.conduction_angle_degree == pytest.approx(195, abs=3)


def test_curves_give_what_their_constants_give(matched, tmp_path):
    """Derived: points computed from the constants, rounded to what can be read off a curve."""
    from netsim.circuit.tube.triode import TubeConstants

    tube, rows = TubeConstants("grounded grid", 1, 110.0, 1.1e-3, 90.0, 3e-4, 0.0, 0.0), []
    for plate in (80.0, 200.0, 600.0, 1500.0, 3000.0):
        for grid in (-10.0, 10.0, 40.0, 80.0):
            at = np.array([plate]), np.array([grid])
            plate_current, grid_current = tube.plate_current(*at).item(), tube.grid_current(*at).item()
            read = f"{plate_current * 1e3:.1f} mA", f"{grid_current * 1e3:.2f} mA"
            rows.append(f'["{plate:g} V", "{grid:g} V", "{read[0]}", "{read[1]}"]')
    lines = [x for x in TUBE.splitlines() if not x.startswith(("amplif", "perv", "knee", "grid_p"))]
    text = "\n".join([*lines, f"curve_points = [{', '.join(rows)}]", ""])
    fitted, given = (run(matched + t, tmp_path) for t in (text, TUBE))
    fit = fitted.solved.tube_state.fit
    assert fit.residual < 2e-3
    a, b = (w.verdict.bands[0].points[0].large_signal for w in (fitted, given))
    assert a.output_watt == pytest.approx(b.output_watt, rel=5e-3)
    assert a.plate_current_dc_ampere == pytest.approx(b.plate_current_dc_ampere, rel=5e-3)
    assert a.grid_current_dc_ampere == pytest.approx(b.grid_current_dc_ampere, rel=5e-3)


def test_a_grid_that_is_not_known_is_never_nought(matched, tmp_path):
    """Without its law the result has no grid current, no heat of it, and the drive that passes through."""
    walked = run(matched + TUBE.replace("grid_perveance = 3e-4\n", ""), tmp_path)
    for band in walked.verdict.bands:
        for point in band.points:
            found = point.large_signal
            assert found.grid_current_dc_ampere is None
            assert found.grid_dissipation_watt is None
            assert found.drive_watt == pytest.approx(found.feed_through_watt)
    assert walked.solved.meters[0].by_tune.grid_current_dc is None


@pytest.mark.parametrize(
    ("changes", "code", "key"),
    [
        ([('"-6 V"', '"-200 V"')], "tube_never_opens", "tube.drive_voltage_peak"),
        (
            [('bias_voltage = "-6 V"\n', ""), ('"95 V"', '"20 V"')],
            "no_bias_solution",
            "tube.drive_voltage_peak",
        ),
        (
            [
                ('bias_voltage = "-6 V"\n', ""),
                ('drive_voltage_peak = "95 V"\n', ""),
                ("\nperveance = 1.1e-3", "\nperveance = 1e-7"),
                ("grid_perveance = 3e-4", "grid_perveance = 0"),
            ],
            "no_bias_solution",
            "tube.connection",
        ),
    ],
)
def test_tubes_that_cannot_work(matched, tmp_path, changes, code, key):
    text = TUBE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    with pytest.raises(DescriptionError) as caught:
        run(matched + text, tmp_path)
    problem = caught.value.problems[0]
    assert (problem.code, problem.key) == (code, key)
    assert problem.line is not None
    assert problem.line > len(matched.splitlines())


def test_curves_of_no_tube(matched, tmp_path):
    """Current that leaps at the highest plate voltage alone: each pair is in order, all together are no triode's."""
    rows = [("100 V", 1), ("300 V", 2), ("1 kV", 3), ("3 kV", 4), ("3.1 kV", 2900)]
    points = [f'["{p}", "{g}", "{i + k} mA"]' for p, i in rows for g, k in (("-5 V", 0), ("60 V", 1))]
    text = f'\n[tube]\nconnection = "grounded grid"\ncurve_points = [{", ".join(points)}]\n'
    with pytest.raises(DescriptionError, match="no amplification factor") as caught:
        run(matched + text, tmp_path)
    assert caught.value.problems[0].code == "contradicting_curves"


def test_a_balance_that_does_not_converge_gives_no_number(matched, tmp_path, monkeypatch):
    monkeypatch.setattr("netsim.solvers.harmonic_balance._STEPS", 1)
    with pytest.raises(BalanceError, match="residual") as caught:
        run(matched + TUBE, tmp_path)
    assert caught.value.status == 3


def test_a_transient_that_contradicts_gives_no_number(matched, tmp_path, monkeypatch):
    from netsim.solvers import transient

    real = transient.solve

    def louder(*arguments, **how):
        spectrum = real(*arguments, **how)
        return replace(spectrum, antenna_voltage=spectrum.antenna_voltage * 1.05)

    monkeypatch.setattr(transient, "solve", louder)
    with pytest.raises(DisagreementError, match="ngspice over time") as caught:
        run(matched + TUBE, tmp_path, engine="both", band="40 m")
    assert caught.value.status == 3


@pytest.mark.parametrize("swr", [0.5, 0.0, -3.0, float("nan"), 1e6])
def test_no_standing_wave_ratio(matched, tmp_path, swr):
    with pytest.raises(UsageError) as caught:
        run(matched, tmp_path, swr=swr)
    assert caught.value.problems[0].code == "bad_swr"


def measured(matched, folder, scattering, name="wire.s1p", **how):
    touchstone(folder / name, scattering)
    key = "measured" if name.endswith("s1p") else "filter"
    return run(matched.replace("worst_swr = 1.0", f'{key} = "{name}"'), folder, **how)


def test_a_measured_dummy_load_is_the_matched_antenna(matched, tmp_path):
    """Cross-solver: 50 ohm at all frequencies, read from a file, gives the plain numbers."""
    walked = measured(matched, tmp_path, one_port(0))
    found, solved = walked.solved.any_antenna, walked.solved
    np.testing.assert_allclose(found.output_power[:, 0], solved.output_power, rtol=1e-9)
    np.testing.assert_allclose(found.level[:, 1:], solved.level[:, 1:], atol=1e-6)
    assert found.matched.all()
    assert walked.solved.harmonic_spread is None
    message = next(
        f.message for f in walked.verdict.findings if f.code == "plate_match" and f.case == "any_antenna"
    )
    assert message.startswith("the measured antenna can be matched")


def test_a_measured_antenna_at_its_own_impedance(matched, tmp_path):
    """Derived: the file's impedance at each order is what the network is solved on."""

    def line(frequency):
        return (0.35 * np.exp(-1j * frequency / 4e6))[:, None, None]

    walked = measured(matched, tmp_path, line)
    found = walked.solved.any_antenna
    expected = impedance_of(0.35 * np.exp(-1j * walked.solved.frequency / 4e6), 50.0)
    np.testing.assert_allclose(found.impedance[:, 0], expected, rtol=0.02)
    assert np.abs(found.level[:, 1:] - walked.solved.level[:, 1:]).max() > 0.5
    worst = [f for f in walked.verdict.findings if f.case == "any_antenna" and f.code == "harmonic_level"]
    assert [f.band for f in worst if f.state != "pass"] or all("measured" in f.message for f in worst)
    assert len(worst) == len(walked.verdict.bands)


def test_another_swr_goes_before_the_measurement(matched, tmp_path):
    walked = measured(matched, tmp_path, one_port(0.2), swr=3.0)
    assert walked.solved.any_antenna.swr == 3.0


@pytest.mark.parametrize(("low", "high"), [(1e6, 14.2e6), (5e6, 400e6)])
def test_a_working_frequency_that_was_not_measured(matched, tmp_path, low, high):
    touchstone(tmp_path / "wire.s1p", one_port(0.1), low, high)
    with pytest.raises(DescriptionError) as caught:
        run(matched.replace("worst_swr = 1.0", 'measured = "wire.s1p"'), tmp_path)
    assert caught.value.problems[0].code == "frequency_not_measured"


def line_of(length):
    return lambda frequency: (0.35 * np.exp(-1j * frequency * length / 4e6))[:, None, None]


def test_an_antenna_is_used_as_far_as_it_was_measured(matched, tmp_path):
    """Cross-solver: known orders as from a longer sweep; unknown ones as from a sweep that is matched there."""

    def matched_above(frequency):
        return np.where(frequency[:, None, None] < 30e6, line_of(1)(frequency), 0)

    touchstone(tmp_path / "short.s1p", line_of(1), 1e6, 30e6, 291)
    touchstone(tmp_path / "long.s1p", line_of(1), 1e6, 400e6, 3991)
    touchstone(tmp_path / "none.s1p", matched_above, 1e6, 400e6, 3991)
    short, long, none = (
        run(matched.replace("worst_swr = 1.0", f'measured = "{name}.s1p"'), tmp_path).solved
        for name in ("short", "long", "none")
    )
    orders = short.frequency[:, None] * np.arange(1, 11)
    known = orders <= 30e6
    a, b, c = (s.any_antenna for s in (short, long, none))
    np.testing.assert_array_equal(a.unknown, ~known)
    assert not b.unknown.any()
    np.testing.assert_array_equal(np.isnan(a.level), ~known)
    np.testing.assert_allclose(a.level[known], b.level[known], atol=0.01)
    for key, worst in a.worst.items():
        np.testing.assert_allclose(worst.value, c.worst[key].value, rtol=2e-3, atol=1e-9, err_msg=str(key))


def notes_of(walked):
    return {note.code: note for note in walked.verdict.notes}


def test_what_an_antenna_leaves_unknown_is_told_and_no_pass(matched, tmp_path):
    touchstone(tmp_path / "wire.s1p", line_of(1), 1e6, 30e6, 291)
    walked = run(matched.replace("worst_swr = 1.0", 'measured = "wire.s1p"'), tmp_path)
    note = notes_of(walked)["harmonics_not_measured"]
    assert "ends at 30 MHz: what harmonics from 30.4 MHz on meet is unknown" in note.message
    assert note.key == "antenna.measured"
    assert 'measured = "wire.s1p"' in walked.amplifier.text.splitlines()[note.line - 1]
    assert "sparse_measurement" not in notes_of(walked)
    found = {
        f.band: f for f in walked.verdict.findings if f.code == "harmonic_level" and f.case == "any_antenna"
    }
    assert {f.state for f in found.values()} <= {"close", "over"}
    assert found["40 m"].message.endswith("; orders 5 to 10 unknown: beyond the measurement")
    matched_case = [f for f in walked.verdict.findings if f.code == "harmonic_level" and f.case == "matched"]
    assert all("unknown" not in f.message for f in matched_case)
    told = [f for f in walked.verdict.findings if f.case == "any_antenna"]
    assert not any("worst of 1 antennas" in f.why or "all of the antennas" in f.message for f in told)
    assert any(f.why.startswith("the measured antenna, re-tuned: tune ") for f in told)


def test_an_antenna_of_which_no_harmonic_was_measured(matched, tmp_path):
    touchstone(tmp_path / "wire.s1p", one_port(0.1), 3e6, 14.4e6, 200)
    walked = run(matched.replace("worst_swr = 1.0", 'measured = "wire.s1p"'), tmp_path, band="20 m")
    found = next(f for f in walked.verdict.findings if f.code == "harmonic_level" and f.case == "any_antenna")
    assert (found.state, found.value, found.order) == ("close", None, None)
    assert found.message.endswith("orders 2 to 10 unknown: beyond the measurement")


def low_pass(frequency):
    found = np.zeros((len(frequency), 2, 2), complex)
    found[:, 0, 1] = found[:, 1, 0] = np.exp(-1j * frequency / 30e6) * np.where(frequency < 16e6, 0.95, 0.4)
    return found


@pytest.mark.parametrize("swr", [None, 2.0])
def test_a_filter_that_ends_leaves_levels_unknown(matched, tmp_path, swr):
    touchstone(tmp_path / "low.s2p", low_pass, 1e6, 60e6, 591)
    text = matched.replace("worst_swr = 1.0", 'filter = "low.s2p"').replace('= "-43 dB"', '= "-36 dB"')
    walked = run(text, tmp_path, swr=swr)
    point = walked.verdict.bands[1].points[0]
    assert point.frequency_hertz == 7.05e6
    for harmonic in point.harmonics:
        beyond = harmonic.order * 7.05e6 > 60e6
        assert harmonic.unknown == beyond
        assert (harmonic.attenuation_db is None) == beyond
        assert (harmonic.level_dbc is None) == beyond
    found = next(
        f
        for f in walked.verdict.findings
        if f.code == "harmonic_level" and f.case == "matched" and f.band == "40 m"
    )
    assert found.message.endswith("; orders 9 to 10 unknown: beyond the filter's file")
    assert found.state == "close"
    assert found.used_fraction < 0.7
    assert notes_of(walked)["harmonics_not_measured"].key == "antenna.filter"
    spread = [f for f in walked.verdict.findings if f.code == "harmonic_spread"]
    assert len(spread) == (0 if swr is None else 3)
    for finding in spread:  # ten times 3.8 MHz lies within the file
        assert ("unknown: beyond the filter" in finding.message) == (finding.band != "80 m")
        assert finding.band == "80 m" or finding.state == "close"


def test_no_current_is_not_unknown(matched, tmp_path):
    """Derived: a pulse of 360 degrees has no harmonics; where a filter was not measured that is unknown first."""
    touchstone(tmp_path / "low.s2p", low_pass, 1e6, 60e6, 591)
    cosine = edited_text(matched, ('conduction_angle = "195 deg"', 'conduction_angle = "360 deg"'))
    walked = run(cosine.replace("worst_swr = 1.0", 'filter = "low.s2p"'), tmp_path)
    found = next(f for f in walked.verdict.findings if f.code == "harmonic_level" and f.band == "40 m")
    assert (found.state, found.value) == ("close", None)
    assert found.message == "harmonics: orders 9 to 10 unknown: beyond the filter's file"
    harmonics = walked.verdict.bands[1].points[0].harmonics
    assert [h.unknown for h in harmonics] == [False] * 7 + [True] * 2
    assert all(h.level_dbc is None for h in harmonics)
    np.testing.assert_array_equal(walked.solved.level[2, 1:8], -np.inf)


def test_a_filter_that_passes_no_harmonic_at_all(matched, tmp_path):
    """Derived: a stop band written as 0 0 has no level, and nothing infinite is printed."""

    def stop(frequency):
        found = np.zeros((len(frequency), 2, 2), complex)
        found[:, 0, 1] = found[:, 1, 0] = frequency < 16e6
        return found

    walked = measured(matched, tmp_path, stop, "low.s2p", band="20 m")
    found = next(f for f in walked.verdict.findings if f.code == "harmonic_level")
    assert (found.state, found.value) == ("pass", None)
    assert {h.attenuation_db for h in walked.verdict.bands[0].points[0].harmonics} == {None}
    assert np.isfinite(response(walked, [0])[0].relative_db).all()


def test_sparse_points_are_told_with_the_step_that_would_do(matched, tmp_path):
    """Derived: 200 ns turn by 72 degrees a MHz, 36 in 500 kHz; 30 degrees are 417 kHz."""

    def line(frequency):
        return (0.5 * np.exp(-2j * np.pi * frequency * 200e-9))[:, None, None]

    text = matched.replace("worst_swr = 1.0", 'measured = "wire.s1p"')
    touchstone(tmp_path / "wire.s1p", line, 1.2e6, 200.2e6, 399)
    message = notes_of(run(text, tmp_path))["sparse_measurement"].message
    assert "around 3.5 MHz, 3.8 MHz, 7.05 MHz, 7.15 MHz, 14.05 MHz, 14.3 MHz neighbouring" in message
    assert "by up to 36 degrees at steps of 500 kHz" in message
    assert "steps of 416.67 kHz or less" in message
    assert "sparse_measurement" not in notes_of(run(text, tmp_path, swr=1.0))
    touchstone(tmp_path / "wire.s1p", line, 1.2e6, 200.2e6, 499)
    assert "sparse_measurement" not in notes_of(run(text, tmp_path))


def test_a_filter_that_is_a_wire_changes_nothing(matched, tmp_path):
    walked, plain = measured(matched, tmp_path, wire, "low.s2p", engine="both"), run(matched, tmp_path)
    for found, expected in zip(walked.verdict.bands, plain.verdict.bands, strict=True):
        for a, b in zip(found.points, expected.points, strict=True):
            assert a.agreement.worst_relative < 1e-6
            assert (a.output_watt, a.efficiency, a.tune_farad) == pytest.approx(
                (b.output_watt, b.efficiency, b.tune_farad), rel=1e-9
            )
            assert [h.level_dbc for h in a.harmonics] == pytest.approx([h.level_dbc for h in b.harmonics])


def test_a_filter_takes_what_it_takes(matched, tmp_path):
    """Derived: a matched attenuator of 1 dB below 20 MHz and 10 dB above costs 1 dB, and harmonics 9 dB more."""

    def attenuator(frequency):
        found = np.zeros((len(frequency), 2, 2), complex)
        found[:, 0, 1] = found[:, 1, 0] = np.where(frequency < 20e6, 10 ** (-1 / 20), 10 ** (-10 / 20))
        return found

    # Bands below 10 MHz have their second harmonic below 20 MHz and the sixth above.
    walked, plain = measured(matched, tmp_path, attenuator, "low.s2p"), run(matched, tmp_path)
    a, b = (w.verdict.bands[1].points[0] for w in (walked, plain))
    assert a.output_watt / b.output_watt == pytest.approx(10**-0.1, rel=1e-6)
    assert a.harmonics[0].level_dbc == pytest.approx(b.harmonics[0].level_dbc, abs=1e-6)
    assert a.harmonics[4].level_dbc == pytest.approx(b.harmonics[4].level_dbc - 9, abs=1e-6)
    assert a.plate_impedance_ohm == pytest.approx(b.plate_impedance_ohm)


def test_the_response_with_a_filter_meets_the_harmonics(matched, tmp_path):
    """Cross-solver: the sweep, by what the terminal is to an antenna, at the orders that the result gives."""

    def slope(frequency):
        found = np.zeros((len(frequency), 2, 2), complex)
        found[:, 0, 1] = found[:, 1, 0] = 0.9 * np.exp(-frequency / 60e6 * (1 + 1j))
        found[:, 0, 0] = 0.2 * np.exp(-1j * frequency / 9e6)
        found[:, 1, 1] = -0.1j
        return found

    walked = measured(matched, tmp_path, slope, "low.s2p")
    for row, swept in enumerate(response(walked, range(len(walked.solved.ladder)))):
        orders = swept.frequency / walked.solved.frequency[row]
        at = [int(np.argmin(np.abs(orders - n))) for n in range(1, 11)]
        np.testing.assert_allclose(orders[at], np.arange(1, 11), rtol=1e-12)
        np.testing.assert_allclose(swept.relative_db[at], -walked.solved.attenuation[row], atol=1e-6)
        assert swept.frequency.min() >= 1e6


def test_a_filter_before_a_circle_of_antennas(matched, tmp_path):
    """Cross-solver: with a wire for a filter the circle behind it is the circle."""
    touchstone(tmp_path / "low.s2p", wire)
    text = matched.replace("worst_swr = 1.0", 'filter = "low.s2p"')
    filtered, plain = (run(t, tmp_path, swr=2.5).solved for t in (text, matched))
    np.testing.assert_allclose(filtered.any_antenna.output_power, plain.any_antenna.output_power, rtol=1e-9)
    np.testing.assert_allclose(filtered.harmonic_spread, plain.harmonic_spread, atol=1e-6)


def test_a_known_state_is_where_others_begin_and_changes_none(matched, tmp_path):
    """Cross-solver: from the matched state and from nothing, on antennas that are matched and that are not."""
    from netsim.analysis import tube_and_antenna
    from netsim.analysis.plate_source import PlateSource

    solved = run(matched + TUBE, tmp_path).solved
    cold, warm = (
        tube_and_antenna._circle(
            solved.amplifier,
            solved,
            4.0,
            PlateSource(solved.amplifier, solved.assembly, solved.description, state),
        )[0]
        for state in (None, solved.tube_state)
    )
    assert 0.1 < cold.matched.mean() < 0.999
    for name in ("output_power", "plate_dissipation", "plate_swr"):
        np.testing.assert_allclose(getattr(warm, name), getattr(cold, name), rtol=1e-7)
    for key, worst in cold.worst.items():
        np.testing.assert_allclose(warm.worst[key].value, worst.value, rtol=1e-7, atol=1e-9, err_msg=str(key))
