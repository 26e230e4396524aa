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


def test_a_ring_takes_whole_turns():
    winding = Winding((TUBING, RING), "open")
    assert winding.snapped([4.3, 7.0, 14.0]).tolist() == [4.3, 7.0, 14.0]
    with pytest.raises(DescriptionError, match=r"whole turns.*7\.5") as refused:
        winding.snapped([4.3, 7.5])
    assert code_of(refused) == "fraction_on_toroid"


def test_part_of_a_core_is_not_shorted():
    # Derived: all turns of a core share its flux, so a short of some leaves nothing of it.
    for unused in ("strap", "progressive"):
        winding = Winding((TUBING, RING), unused)
        assert winding.snapped([4.3, 5.0, 14.0]).tolist() == [4.3, 5.0, 14.0]
        with pytest.raises(DescriptionError, match=r"found 7.*tap at 5 or 14") as refused:
            winding.snapped([4.3, 7.0])
        assert code_of(refused) == "toroid_shorted"


@pytest.mark.parametrize("turns", [0.0, -1.0, 19.1, float("nan")])
def test_off_the_winding(turns):
    with pytest.raises(DescriptionError, match="19 turns") as refused:
        Winding((TUBING, WIRE)).snapped([3.0, turns])
    assert code_of(refused) == "turns_beyond_winding"


def test_loop_edges():
    sections = (TUBING, WIRE)
    assert Winding(sections, "open", (4.0,)).loop_edges == (0.0, 19.0)
    assert Winding(sections, "strap", (4.0, 9.0)).loop_edges == (0.0, 19.0)
    assert Winding(sections, "progressive", (4.0, 9.0)).loop_edges == (0.0, 4.0, 9.0, 19.0)
    assert Winding(sections, "progressive", (4.0, 19.0)).loop_edges == (0.0, 4.0, 19.0)


def test_positions_next_to_an_edge_are_put_on_it():
    snapped = Winding((TUBING, WIRE), "progressive", (4.0,)).snapped([4.0 + 1e-9, 4.01, 19.0 - 1e-10])
    assert snapped.tolist() == [4.0, 4.01, 19.0]


def test_a_continued_section_is_one_run():
    more = Solenoid(turns=3.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005)
    assert [item.run.turns for item in place_runs((TUBING, more, WIRE))] == [8.0, 14.0]
    apart = Solenoid(turns=3.0, mean_diameter=0.048, pitch=0.008, conductor_diameter=0.005, gap=0.001)
    assert [item.run.turns for item in place_runs((TUBING, apart))] == [5.0, 3.0]


def test_places_along_the_axes():
    across = Solenoid(4.0, 0.05, 0.004, 0.002, gap=0.5, perpendicular=True)
    beside = Solenoid(4.0, 0.05, 0.004, 0.002, gap=0.01)
    placed = place_runs((TUBING, WIRE, across, beside, RING, beside))
    assert [item.start for item in placed] == [0.0, 5.0, 19.0, 23.0, 27.0, 36.0]
    # Derived: 5 turns of 8 mm and a gap of 12 mm; then 4 of 4 mm and 10 mm on the new axis.
    np.testing.assert_allclose([item.place for item in placed], [0.0, 0.052, 0.0, 0.026, 0.0, 0.0])
    axes = [item.axis for item in placed]
    assert axes[0] == axes[1]
    assert axes[2] == axes[3]
    assert len(set(axes)) == 4


def test_a_run_stands_clear_of_a_turn_that_is_only_begun():
    # Derived: 4.2 turns of 8 mm end at 33.6 mm, but the ring of the fifth is solved at 36 mm; wires of 5 and
    # 3 mm are clear of each other from 1.1 * 4 mm on.
    begun = Solenoid(4.2, 0.048, 0.008, 0.005)
    near, far = (Solenoid(3.0, 0.048, 0.006, 0.003, gap=gap) for gap in (0.0, 0.01))
    assert place_runs((begun, near))[1].place == pytest.approx(0.036 + 0.0044 - 0.003)
    assert place_runs((begun, far))[1].place == pytest.approx(0.0336 + 0.01)
    wide = Solenoid(3.0, 0.07, 0.006, 0.003)
    assert place_runs((begun, wide))[1].place == pytest.approx(0.0336)
