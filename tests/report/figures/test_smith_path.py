from itertools import pairwise

import numpy as np
import pytest

from netsim.analysis import Analysis
from netsim.report.figures.smith_path import Move, moves


def test_the_way_leads_from_the_antenna_to_what_the_plate_sees(solved: Analysis) -> None:
    for row in range(len(solved.solved.frequency)):
        way = moves(solved, row)
        assert way[0].start == pytest.approx(float(solved.solved.assembly.parts.antenna_resistance))
        assert way[-1].end == pytest.approx(complex(solved.solved.plate_impedance[row]))
        assert all(after.start == before.end for before, after in pairwise(way))


def test_parts_across_keep_conductance_and_parts_in_series_keep_resistance(solved_plain: Analysis) -> None:
    """Derived: what a part of Q above 30 changes is reactance or susceptance, its loss apart."""
    for move in moves(solved_plain, 0):
        if move.part == "suppressor":
            continue
        before, after = (1 / move.start, 1 / move.end) if move.shunt else (move.start, move.end)
        turned = abs((after - before).imag)
        assert abs((after - before).real) <= turned / 30
        assert turned > 0


def test_what_hangs_together_is_one_move(solved_plain: Analysis) -> None:
    names = [move.part for move in moves(solved_plain, 0)]
    assert len(names) == len(set(names))
    assert names[0] == "output choke"
    assert "load capacitor with padding and stray" in names
    assert names[-1] == "tube's output capacitance"
    assert names.index("coil") < names.index("tune capacitor with padding and stray")


def test_the_track_of_a_capacitor_across_is_an_arc_of_constant_conductance() -> None:
    track = Move("tune capacitor", True, 50 + 0j, 1 / (1 / 50 + 0.02j)).track(50)
    admittance = (1 - track) / (1 + track) / 50
    assert np.allclose(admittance.real, 1 / 50)
    assert np.all(np.diff(admittance.imag) > 0)
    assert track[0] == pytest.approx(0)


def test_the_track_of_a_coil_in_series_is_an_arc_of_constant_resistance() -> None:
    track = Move("coil", False, 10 + 0j, 10 + 70j).track(50)
    impedance = 50 * (1 + track) / (1 - track)
    assert np.allclose(impedance.real, 10)
    assert impedance[-1] == pytest.approx(10 + 70j)


def test_long_arcs_are_drawn_in_short_steps(solved: Analysis) -> None:
    """Of the chart's radius: above a few hundredths an arc looks like a polygon."""
    for row in range(len(solved.solved.frequency)):
        for move in moves(solved, row):
            track = move.track(400)
            assert np.abs(np.diff(track)).max() < 0.04
            assert np.abs(track).max() <= 1 + 1e-9
