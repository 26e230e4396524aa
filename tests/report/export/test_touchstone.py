"""The two-port, read back with scikit-rf and held against the solvers."""

import numpy as np
import pytest
import skrf

from netsim.report.export import touchstone


@pytest.fixture(params=[0, 5, 10])
def row(request):
    return request.param


@pytest.fixture
def network(solved, row, tmp_path):
    path = tmp_path / "network.s2p"
    path.write_text(touchstone.dump(solved, row))
    return skrf.Network(str(path))


def test_range_and_reference(network, solved, row):
    frequency = solved.solved.frequency[row]
    assert network.f[0] == pytest.approx(frequency / 2)
    assert network.f[-1] == pytest.approx(10 * frequency)
    assert (network.z0 == 50).all()
    assert len(network.f) > 500
    for n in range(1, 11):
        assert np.abs(network.f / (n * frequency) - 1).min() < 1e-12


def test_closed_with_the_antenna_it_shows_the_plate_its_impedance(network, solved, row):
    """Cross-solver: the result's impedance is ngspice's, the file's is from numpy."""
    point = [p for b in solved.verdict.bands for p in b.points][row]
    at = int(np.argmin(np.abs(network.f - solved.solved.frequency[row])))
    a = network.a[at]
    seen = (a[0, 0] * 50 + a[0, 1]) / (a[1, 0] * 50 + a[1, 1])
    assert seen == pytest.approx(complex(*point.plate_impedance_ohm), rel=1e-7)


def test_transfer_at_every_harmonic(network, solved, row):
    """Cross-solver: antenna current for 1 A into the plate is 1 / (C R + D) of the chain matrix."""
    for n in range(1, 11):
        at = int(np.argmin(np.abs(network.f - n * solved.solved.frequency[row])))
        a = network.a[at]
        current = solved.solved.solution.branch_current["antenna"][row, n - 1]
        assert 1 / (a[1, 0] * 50 + a[1, 1]) == pytest.approx(current, rel=1e-6)


def test_it_is_reciprocal_and_passive(network):
    assert network.s[:, 0, 1] == pytest.approx(network.s[:, 1, 0], rel=1e-9, abs=1e-15)
    assert np.linalg.svd(network.s, compute_uv=False).max() <= 1 + 1e-12


def test_only_our_own_words(solved_plain, unchecked_plain):
    text = touchstone.dump(solved_plain, 0)
    assert text.isascii()
    assert solved_plain.verdict.title not in text
    assert "80 m" not in text
    assert "not cross-checked" not in text
    assert "not cross-checked" in touchstone.dump(unchecked_plain, 0)


def test_the_same_bytes_again(solved_plain):
    assert touchstone.dump(solved_plain, 1) == touchstone.dump(solved_plain, 1)
