import re
from pathlib import Path

import numpy as np
import pytest
from report_cases import variant

from netsim.analysis import Analysis
from netsim.circuit.stage import pulse_spectrum
from netsim.report.figures.waveform import WaveformFigure, waveform_figure


def kilovolts(text: str) -> float:
    """Read what was written."""
    number, unit = text.split(" ")[:2]
    return float(number) * {"kV": 1e3, "V": 1.0, "mV": 1e-3}[unit]


def drawn(solved: Analysis, row: int = 0) -> WaveformFigure:
    return waveform_figure(solved, row, "x-waveform", "80 m")


def test_at_a_match_the_plate_swings_down_to_what_the_stage_leaves(solved_plain: Analysis) -> None:
    """Derived: lowest plate voltage is V - I_1 R_L; orders above the first are tens of volts at most."""
    stage, row = solved_plain.solved.assembly.stage, solved_plain.row("40 m")
    figure = drawn(solved_plain, row)
    left = stage.plate_voltage - stage.fundamental_current_peak * stage.plate_load
    assert solved_plain.solved.tuned[row]
    assert kilovolts(figure.lowest) == pytest.approx(left, abs=60)
    assert kilovolts(figure.highest) == pytest.approx(2 * stage.plate_voltage - left, abs=60)


def test_the_current_peaks_where_the_pulse_does(solved_plain: Analysis) -> None:
    """Derived: a clipped cosine peaks at I_dc pi (1 - cos t) / (sin t - t cos t), t half the angle."""
    stage = solved_plain.amplifier.description.stage
    half = stage.conduction_angle / 2
    crest = stage.plate_current * np.pi * (1 - np.cos(half)) / (np.sin(half) - half * np.cos(half))
    shown = drawn(solved_plain, solved_plain.row("40 m")).crest_current
    assert float(shown.split(" ")[0]) == pytest.approx(crest, rel=0.02)


def test_the_table_gives_the_orders(solved_plain: Analysis) -> None:
    figure = drawn(solved_plain, solved_plain.row("40 m"))
    stage = solved_plain.solved.assembly.stage
    assert [order for order, *_ in figure.rows] == ["DC", *map(str, range(1, 11))]
    _, current, voltage, phase = figure.rows[1]
    wanted = (
        stage.direct_current * pulse_spectrum(solved_plain.amplifier.description.stage.conduction_angle)[0]
    )
    assert float(current.split(" ")[0]) == pytest.approx(wanted * 1e3, rel=5e-3)
    assert current.endswith("mA pk")
    assert kilovolts(voltage) == pytest.approx(wanted * stage.plate_load, rel=5e-3)
    assert abs(float(phase.removesuffix("°"))) == pytest.approx(180, abs=1)


def test_a_plate_that_swings_below_zero_stays_on_the_drawing(plain: Path, tmp_path: Path) -> None:
    """With drive in series the plate may go below chassis; nothing of the curve may be cut off."""
    solved = variant(plain, tmp_path, minimum_plate_voltage='"100 V"', drive_voltage_peak='"150 V"')
    row = solved.row("40 m")
    figure = drawn(solved, row)
    assert kilovolts(figure.lowest) < 0
    curve = re.findall(r'<path d="M ([^"]*)"[^>]*stroke: var\(--accent\); stroke-width: 1.8', figure.drawing)
    heights = [float(y) for y in re.findall(r"[\d.]+ ([\d.]+)", curve[0])]
    assert len(heights) > 50
    assert min(heights) > 0
    assert max(heights) < 260  # where the axis of time lies


def test_away_from_the_match_the_phases_count(solved: Analysis) -> None:
    """Derived: the plate voltage is the supply plus the real part of the sum of rotating phasors."""
    row = int(np.argmax(np.abs(solved.solved.plate_impedance.imag)))
    turn = np.exp(1j * np.linspace(0, 2 * np.pi, 4001))
    phasors = solved.solved.solution.node_voltage["plate"][row] * solved.solved.current.drive[row]
    swing = sum((phasors[n - 1] * turn**n).real for n in range(1, 11))
    supply = solved.solved.assembly.stage.plate_voltage
    figure = drawn(solved, row)
    assert kilovolts(figure.highest) == pytest.approx(supply + np.max(swing), rel=6e-3)
    assert kilovolts(figure.lowest) == pytest.approx(supply + np.min(swing), rel=6e-3, abs=2)
