"""Closed-form tuning against the solvers and against plain searching. Cross-solver unless said otherwise."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from samples import network, networks

from netsim.circuit.parts import Parts
from netsim.circuit.peaking import settings as reached
from netsim.circuit.stage import voltage_limit
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip, largest_coil, match, plate_impedance
from netsim.solvers import batch

FUNDAMENTAL = np.ones(1)


def output(parts: Parts, tune: np.ndarray, load: np.ndarray) -> np.ndarray:
    """Antenna power for 1 A peak of nominal plate current under the voltage limit [W]."""
    # A lead in exact series resonance with a capacitor without losses leaves no power, and nothing to divide by.
    with np.errstate(all="ignore"):
        solution = batch.solve(build_ladder(parts, tune, load), FUNDAMENTAL)
        scale = voltage_limit(parts.plate_load, solution.plate_impedance[:, 0])
        current = scale * np.abs(solution.branch_current["antenna"][:, 0])
    return np.nan_to_num(current**2 * parts.antenna_resistance / 2)


def searched(parts: Parts, tunes: np.ndarray, loads: np.ndarray) -> float:
    """Best output over a grid, each axis of which is refined around the best place found."""
    best = 0.0
    for _ in range(12):
        tune, load = (values.ravel() for values in np.meshgrid(tunes, loads))
        power = output(parts.take(np.zeros(len(tune), dtype=int)), tune, load)
        place = int(np.argmax(power))
        best = max(best, float(power[place]))
        tunes, loads = (_around(values, at[place]) for values, at in ((tunes, tune), (loads, load)))
    return best


def _around(values: np.ndarray, centre: float) -> np.ndarray:
    if len(values) == 1:
        return values
    index = int(np.argmin(np.abs(values - centre)))
    low, high = values[max(index - 2, 0)], values[min(index + 2, len(values) - 1)]
    return np.linspace(low, high, 41)


def sweep(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    both = np.concatenate(
        [np.linspace(low.item(), high.item(), 60), np.geomspace(low.item(), high.item(), 60)]
    )
    return np.unique(both)


@given(networks())
@settings(max_examples=100)
def test_match_reaches_the_plate_load(parts):
    found = match(parts)
    for tune, load, exists in zip(found.tune, found.load, found.exists, strict=True):
        if exists.item():
            by_sections = plate_impedance(parts, tune, load)
            by_ladder = batch.solve(build_ladder(parts, tune, load), FUNDAMENTAL).plate_impedance[:, 0]
            assert abs(by_sections - parts.plate_load) < 1e-9 * parts.plate_load
            assert abs(by_ladder - parts.plate_load) < 1e-9 * parts.plate_load


@given(networks())
@settings(max_examples=40)
def test_match_misses_no_root(parts):
    # Newton's method on the ladder, from many places: wherever it ends, there is a candidate.
    rng = np.random.default_rng(1)
    count = 150
    every = parts.take(np.zeros(count, dtype=int))
    tune = parts.tune_maximum * rng.uniform(-3, 4, count)
    load = parts.load_maximum * np.exp(rng.uniform(-5, 4, count))

    def apart(tune, load):
        solution = batch.solve(build_ladder(every, tune, load), FUNDAMENTAL)
        return (solution.plate_impedance - parts.plate_load)[:, 0] / solution.branch_current["antenna"][:, 0]

    step = 1e-6 * parts.load_maximum
    with np.errstate(all="ignore"):
        for _ in range(25):
            here = apart(tune, load)
            by_tune, by_load = (
                (apart(tune + dx, load + dy) - here) / step for dx, dy in ((step, 0.0), (0.0, step))
            )
            determinant = (by_tune * np.conj(by_load)).imag
            tune = tune + (np.conj(by_load) * here).imag / -determinant
            load = load + (np.conj(by_tune) * here).imag / determinant
        impedance = batch.solve(build_ladder(every, tune, load), FUNDAMENTAL).plate_impedance[:, 0]
        there = np.abs(impedance / parts.plate_load - 1) < 1e-9
        there &= load + parts.load_padding + parts.load_stray > 0
    found = match(parts)
    for one, other in zip(tune[there], load[there], strict=True):
        near = np.isclose(found.tune, one, rtol=1e-5, atol=1e-16) & np.isclose(
            found.load, other, rtol=1e-5, atol=1e-16
        )
        assert near.any()


@given(networks())
@settings(max_examples=60)
def test_what_is_reached_is_within_reach_and_the_most(parts):
    tune, load, tune_needed, load_needed = reached(parts)
    assert (parts.tune_minimum <= tune).all()
    assert (tune <= parts.tune_maximum).all()
    assert (parts.load_minimum <= load).all()
    assert (load <= parts.load_maximum).all()
    found = match(parts)
    if found.within(parts).any():
        assert (tune, load) == (tune_needed, load_needed)
        return
    tunes, loads = (
        sweep(getattr(parts, f"{n}_minimum"), getattr(parts, f"{n}_maximum")) for n in ("tune", "load")
    )
    # Up to 5 % is given away for more load capacitance.
    assert output(parts, tune, load).item() >= 0.95 * searched(parts, tunes, loads) * (1 - 1e-3)


# Derived: a 2000 ohm pi at 7 MHz wants 114 pF and 562 pF with 5.06 uH; each stop in turn is put in the way.
@pytest.mark.parametrize("series", [True, False])
@pytest.mark.parametrize(
    "stop",
    [
        {"tune_minimum": 1.3e-10},
        {"tune_maximum": 1.0e-10},
        {"load_minimum": 6.5e-10},
        {"load_maximum": 4.8e-10},
    ],
)
def test_one_part_stuck_a_little_is_the_best_of_the_box(stop, series):
    lead = {"blocking_capacitance": 1e-9, "suppressor_inductance": 5e-8, "suppressor_resistance": 47.0}
    ranges = {"tune_minimum": 2e-11, "tune_maximum": 3e-10, "load_minimum": 5e-11, "load_maximum": 2e-9}
    parts = network(coil=5.06e-6, coil_q=250.0, **ranges | stop, **lead if series else {})
    tune, load, *_ = reached(parts)
    tunes, loads = (
        sweep(getattr(parts, f"{n}_minimum"), getattr(parts, f"{n}_maximum")) for n in ("tune", "load")
    )
    assert output(parts, tune, load).item() == pytest.approx(searched(parts, tunes, loads), rel=1e-3)


@pytest.mark.parametrize("factor", [1.9, 2.5, 4.0, 12.0])
@pytest.mark.parametrize("series", [True, False])
def test_without_any_match_the_whole_box_is_peaked(factor, series):
    lead = {"blocking_capacitance": 1e-10, "suppressor_inductance": 2e-7, "suppressor_resistance": 47.0}
    ranges = {"tune_minimum": 1e-11, "tune_maximum": 3e-10, "load_minimum": 2e-11, "load_maximum": 2e-9}
    parts = network(coil=5.06e-6 * factor, coil_q=250.0, **ranges, **lead if series else {})
    tune, load, tune_needed, _ = reached(parts)
    assert np.isnan(tune_needed).all()
    tunes, loads = (
        sweep(getattr(parts, f"{n}_minimum"), getattr(parts, f"{n}_maximum")) for n in ("tune", "load")
    )
    best = searched(parts, tunes, loads)
    ours = output(parts, tune, load).item()
    # The grid finds the top of a sharp peak to a percent at worst, never more than it.
    assert 0.95 * best * (1 - 1e-6) <= ours <= best * 1.01


# Two peaks each, of which that with more load capacitance gives this share of the other (by searching).
@pytest.mark.parametrize(
    ("values", "share", "taken"),
    [
        (
            {"coil": 4e-6, "plate_load": 1678.0, "antenna_resistance": 123.0, "coil_q": 200.0}
            | {
                "tune_minimum": 26e-12,
                "tune_maximum": 245e-12,
                "load_minimum": 38e-12,
                "load_maximum": 183e-12,
            },
            0.86,
            38e-12,
        ),
        (
            {"coil": 8e-6, "plate_load": 1337.0, "antenna_resistance": 33.0, "coil_q": 200.0}
            | {
                "tune_minimum": 19e-12,
                "tune_maximum": 82e-12,
                "load_minimum": 21e-12,
                "load_maximum": 175e-12,
            },
            0.975,
            175e-12,
        ),
    ],
)
def test_of_peaks_within_5_percent_the_one_with_more_load_capacitance(values, share, taken):
    parts = network(**values)
    _, load, *_ = reached(parts)
    assert load == [taken]
    tunes, loads = (
        sweep(getattr(parts, f"{n}_minimum"), getattr(parts, f"{n}_maximum")) for n in ("tune", "load")
    )
    below, above = (searched(parts, tunes, part) for part in (loads[loads < 150e-12], loads[loads > 170e-12]))
    assert above / below == pytest.approx(share, abs=0.01)


@given(networks())
@settings(max_examples=60)
def test_dip_with_the_antenna_off(parts):
    # Every resonance of a wide scan of the tune capacitor by the ladder: the dip is that with the smallest current.
    far = np.geomspace(1e-16, 1e-7, 10000)
    grid = np.concatenate([-far[::-1], far])
    every = parts.take(np.zeros(len(grid), dtype=int))
    load = np.sqrt(parts.load_minimum * parts.load_maximum)

    def admittance(tune):
        ladder = build_ladder(every.take(slice(len(tune))), tune, load, antenna_connected=False)
        return 1 / batch.solve(ladder, FUNDAMENTAL).plate_impedance[:, 0] - 1 / parts.plate_load

    seen = admittance(grid)
    crossings = np.flatnonzero(np.diff(np.sign(seen.imag)))
    free = replace(parts, tune_minimum=np.array([-1e-7]), tune_maximum=np.array([1e-7]))
    tune = dip(free, load, antenna_connected=False)
    assert np.isfinite(tune).all()
    if crossings.size:
        ours = admittance(tune).item()
        own = 2 * np.pi * parts.frequency.item() * abs(tune.item())
        assert abs(ours.imag) <= 1e-7 * max(own, abs(ours), 1 / parts.plate_load.item())
        assert abs(ours) <= np.minimum(np.abs(seen[crossings]), np.abs(seen[crossings + 1])).min() * 1.2
    assert dip(parts, load, antenna_connected=False) == np.clip(tune, parts.tune_minimum, parts.tune_maximum)


@pytest.mark.parametrize(
    "values", [{}, {"antenna_resistance": 300.0}, {"coil_q": 120.0, "plate_load": 900.0}]
)
def test_largest_coil_is_the_edge(values):
    parts = network(coil=30e-6, **values)
    largest = largest_coil(parts).item()
    assert match(network(coil=largest * 0.9999, **values)).exists.any()
    beyond = largest * np.linspace(1.0001, 3.0, 500)
    assert not match(network(coil=beyond, **values)).exists.any()


def test_largest_coil_of_a_lossless_pi():
    # Derived: XL = Rv (Q1 + Q2) with Q1^2 + 1 = (R1/R2)(Q2^2 + 1); its largest value over Q2, by searching.
    q2 = np.linspace(0, 20, 2_000_001)
    q1 = np.sqrt(40.0 * (q2**2 + 1) - 1)
    reactance = (50.0 / (1 + q2**2) * (q1 + q2)).max()
    ours = largest_coil(network(coil=5e-6)).item()
    assert ours == pytest.approx(reactance / (2 * np.pi * 7e6), rel=1e-9)
