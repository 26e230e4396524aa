import numpy as np
import pytest

from netsim.circuit.coil.winding import COPPER_60C, Solenoid, Toroid, Winding, place_runs
from netsim.errors import DescriptionError

TUBING = Solenoid(turns=5.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
WIRE = Solenoid(turns=14.0, mean_diameter=0.052, pitch=0.0035, conductor_diameter=0.002, gap=0.012)
RING = Toroid(turns=9.0, inductance_per_turn_squared=11e-9, unloaded_q=210.0)


def code_of(refused):
    return refused.value.problems[0].code


def test_turns_are_counted_through_all_sections():
    assert Winding((TUBING, WIRE, RING)).turns == 28.0


def test_default_resistivity_is_warm_copper():
    # Derived: 17.241e-9 (1 + 0.00393 * 40).
    assert pytest.approx(19.951e-9, rel=1e-4) == COPPER_60C


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"turns": 0.0}, "winding_size"),
        ({"turns": float("nan")}, "winding_size"),
        ({"pitch": 0.004}, "winding_pitch"),
        ({"mean_diameter": 0.005, "pitch": 0.008}, "winding_diameter"),
        ({"gap": -0.001}, "winding_gap"),
    ],
)
def test_what_cannot_be_wound(changes, code):
    sizes = {"turns": 5.0, "mean_diameter": 0.048, "pitch": 0.008, "conductor_diameter": 0.005} | changes
    with pytest.raises(DescriptionError) as refused:
        Solenoid(**sizes)
    assert code_of(refused) == code


def test_close_wound_is_allowed():
    assert Solenoid(5.0, 0.05, 0.002, 0.002).pitch == 0.002


def test_a_ring_takes_whole_turns():
    with pytest.raises(DescriptionError, match=r"whole.*9\.5"):
        Toroid(9.5, 11e-9, 210.0)
    winding = Winding((TUBING, RING))
    winding.check_turns([4.3, 7.0, 14.0])
    with pytest.raises(DescriptionError, match="whole") as refused:
        winding.check_turns([4.3, 7.5])
    assert code_of(refused) == "winding_toroid_fraction"


@pytest.mark.parametrize("turns", [0.0, -1.0, 19.1, float("nan")])
def test_off_the_winding(turns):
    with pytest.raises(DescriptionError, match="19 turns") as refused:
        Winding((TUBING, WIRE)).check_turns([3.0, turns])
    assert code_of(refused) == "winding_turns_beyond"


def test_taps_rise():
    with pytest.raises(DescriptionError, match="rise") as refused:
        Winding((TUBING, WIRE), taps=(3.0, 3.0))
    assert code_of(refused) == "winding_taps_order"
    with pytest.raises(DescriptionError, match="taps"):
        Winding((TUBING, WIRE), taps=(3.0, 30.0))


def test_unused_turns_are_one_of_three():
    with pytest.raises(DescriptionError, match="strap"):
        Winding((TUBING,), unused_turns="floating")
    with pytest.raises(DescriptionError, match="at least one"):
        Winding(())


def test_loop_edges():
    sections = (TUBING, WIRE)
    assert Winding(sections, "open", (4.0,)).loop_edges == ()
    assert Winding(sections, "strap", (4.0, 9.0)).loop_edges == (0.0, 19.0)
    assert Winding(sections, "progressive", (4.0, 9.0)).loop_edges == (0.0, 4.0, 9.0, 19.0)
    assert Winding(sections, "progressive", (4.0, 19.0)).loop_edges == (0.0, 4.0, 19.0)


def test_positions_next_to_an_edge_are_put_on_it():
    snapped = Winding((TUBING, WIRE), "progressive", (4.0,)).snapped([4.0 + 1e-9, 4.01, 19.0 - 1e-10])
    assert snapped.tolist() == [4.0, 4.01, 19.0]


def test_a_continued_section_is_one_run():
    more = Solenoid(turns=3.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
    assert [run.turns for run in Winding((TUBING, more, WIRE)).runs] == [8.0, 14.0]
    apart = Solenoid(turns=3.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005, gap=0.001)
    assert [run.turns for run in Winding((TUBING, apart)).runs] == [5.0, 3.0]


def test_places_along_the_axes():
    across = Solenoid(4.0, 0.05, 0.004, 0.002, gap=0.5, perpendicular=True)
    beside = Solenoid(4.0, 0.05, 0.004, 0.002, gap=0.01)
    placed = place_runs(Winding((TUBING, WIRE, across, beside, RING, beside)))
    assert [item.start for item in placed] == [0.0, 5.0, 19.0, 23.0, 27.0, 36.0]
    # Derived: 5 turns of 8 mm and a gap of 12 mm; then 4 of 4 mm and 10 mm on the new axis.
    np.testing.assert_allclose([item.place for item in placed], [0.0, 0.052, 0.0, 0.026, 0.0, 0.0])
    axes = [item.axis for item in placed]
    assert axes[0] == axes[1]
    assert axes[2] == axes[3]
    assert len(set(axes)) == 4
