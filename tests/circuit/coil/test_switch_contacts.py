"""Voltages of switch contacts. Derived: every stretch between contacts an inductance of its own."""

from itertools import pairwise

import numpy as np
import pytest

from netsim.circuit.coil.partial_inductance import inductance_matrix
from netsim.circuit.coil.switch_contacts import contact_ratio
from netsim.circuit.coil.tapped_coil import tapped_coil
from netsim.circuit.coil.winding import Solenoid, Winding

SECTIONS = (
    Solenoid(turns=6, mean_diameter=0.05, pitch=0.009, conductor_diameter=0.006),
    Solenoid(turns=14, mean_diameter=0.06, pitch=0.005, conductor_diameter=0.0025, gap=0.01),
)
MARKS = (3.0, 5.0, 8.0, 12.0, 16.0)
F = 7e6


def pieces(turns: float) -> np.ndarray:
    """Inductances of all stretches between marks, the first from the plate end; by the matrix of loops."""
    edges = tuple(sorted({*MARKS, turns}))
    # With the tap at the first edge, every later stretch is a loop of its own; the first loop is used up.
    matrix = inductance_matrix(Winding(SECTIONS, "progressive", edges), np.array([edges[0]]))[0]
    return np.delete(np.delete(matrix, 1, axis=0), 1, axis=1)


def by_matrix(unused, turns, contact):
    """Voltage between tap and contact over that across the active turns, from the stretches alone."""
    ends = np.array([*sorted({*MARKS, turns}), 20.0])
    matrix = pieces(turns)
    active = ends <= turns
    groups = [active]
    if unused == "strap":
        groups.append(~active)
    elif unused == "progressive":
        begins = np.concatenate([[0.0], ends[:-1]])
        bounds = sorted({turns, *(mark for mark in MARKS if mark > turns), 20.0})
        groups += [(begins >= a) & (ends <= b) for a, b in pairwise(bounds)]
    groups = np.array(groups, dtype=float)
    loops = groups @ matrix @ groups.T
    currents = np.ones(len(groups))
    if len(groups) > 1:
        currents[1:] = -np.linalg.solve(loops[1:, 1:], loops[1:, 0])
    flux = matrix @ (groups.T @ currents)
    low, high = sorted((turns, contact))
    between = flux[(ends > low) & (ends <= high)].sum()
    return abs(between) / flux[active].sum()


@pytest.mark.parametrize("unused", ["strap", "progressive", "open"])
@pytest.mark.parametrize("turns", [5.0, 8.0, 12.0])
def test_contacts_against_separate_stretches(unused, turns):
    winding = Winding(SECTIONS, unused, MARKS)
    tapped = tapped_coil(winding, turns, F)
    ratio = contact_ratio(winding, tapped, np.array(MARKS))[0]
    wanted = [by_matrix(unused, turns, mark) for mark in MARKS]
    # Losses of the loops, which the stretches do not have, shift their currents by a part in Q.
    assert ratio == pytest.approx(wanted, rel=0.01, abs=1e-3)
    assert max(wanted) > 0.2


def test_segments_shorted_one_by_one_leave_nothing_between_them():
    winding = Winding(SECTIONS, "progressive", MARKS)
    ratio = contact_ratio(winding, tapped_coil(winding, 5.0, F), np.array(MARKS))[0]
    assert ratio[1] == pytest.approx(0.0, abs=1e-12)
    assert max(ratio[2:]) < 5e-3
    opened = Winding(SECTIONS, "open", MARKS)
    assert contact_ratio(opened, tapped_coil(opened, 5.0, F), np.array(MARKS))[0][4] > 0.2
