import re

import numpy as np
import pytest

from netsim.analysis import Analysis
from netsim.report.figures.load_line import grid_voltages, tube_figure


def volts(text: str) -> float:
    number, unit = text.split(" ")[:2]
    return float(number) * {"kV": 1e3, "V": 1.0, "mV": 1e-3}[unit]


def test_the_table_follows_the_drive(on_the_air: Analysis) -> None:
    """Derived: the grid is at bias plus drive times the cosine of the phase."""
    found = on_the_air.solved.tube_state
    figure = tube_figure(found, 0, "x", "80 m", "3.65 MHz")
    assert [phase for phase, *_ in figure.rows] == [f"{phase}°" for phase in range(-180, 180, 30)]
    for told, grid, *_ in figure.rows:
        phase = np.radians(float(told.removesuffix("°")))
        expected = found.tube.bias_voltage + found.tube.drive_voltage_peak * np.cos(phase)
        assert volts(grid) == pytest.approx(expected, rel=6e-3, abs=0.06)
    # Common practice: the tube conducts around the crest, where the plate is low, and not opposite to it.
    by_phase = {phase: (plate, current) for phase, _, plate, current in figure.rows}
    assert by_phase["-180°"][1] == "0 A"
    assert by_phase["0°"][0] == min((plate for plate, _ in by_phase.values()), key=volts)


def test_extremes_are_those_of_the_waves(on_the_air: Analysis) -> None:
    waves = on_the_air.solved.tube_state.balance.waves()
    figure = tube_figure(on_the_air.solved.tube_state, 2, "x", "30 m", "10.1 MHz")
    assert volts(figure.lowest) == pytest.approx(waves.plate[2].min(), rel=5e-3)
    assert volts(figure.highest) == pytest.approx(waves.plate[2].max(), rel=5e-3)
    assert float(figure.crest_current.split()[0]) == pytest.approx(waves.current[2].max(), rel=5e-3)


def test_the_line_is_drawn_to_its_axes(on_the_air: Analysis) -> None:
    """Derived: lowest voltage at the left, highest at the right, no point below zero current."""
    figure = tube_figure(on_the_air.solved.tube_state, 0, "x", "80 m", "3.65 MHz")
    (run,) = re.findall(r'class="run" clip-path="url\(#x-line-field\)" d="M([^"]*)"', figure.line)
    points = np.array([[float(v) for v in pair.split()] for pair in run.split("L")])
    assert len(points) == 257
    assert points[:, 1].max() == pytest.approx(258.0)
    crest = points[np.argmin(points[:, 1])]
    assert crest[0] < 100 < 400 < points[:, 0].max() <= 448


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (-12.0, 78.0, [0, 20, 40, 60]),
        (-6.0, 89.0, [0, 20, 40, 60, 80]),
        (-300.0, 0.0, [-300, -250, -200, -150, -100, -50, 0]),
    ],
)
def test_grid_voltages_are_round(low: float, high: float, expected: list[float]) -> None:
    assert grid_voltages(low, high) == expected
