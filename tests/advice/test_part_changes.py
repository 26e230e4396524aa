"""Single changes of parts and stage. Derived: plate power is half of I_1 squared times the plate load."""

import pytest

from netsim.advice.part_changes import capacitor, higher_ratings, less_power
from netsim.description.reader import read


@pytest.mark.parametrize(("load_given", "tenths"), [(False, 3), (True, 5)])
def test_less_current_gives_up_output_by_its_square_at_a_fixed_load(plain, load_given, tenths):
    """At 0.75 of the current: a quarter less where the swing stays, 1 - 0.75^2 = 0.44 less where the load stays."""
    stage = read(plain).description.stage
    if load_given:
        stage = stage.model_copy(update={"plate_load": 2830.0, "minimum_plate_voltage": None})
    change = less_power(stage, (0.75,))[0]
    assert "plate current" in change.title
    assert change.weight == tenths * less_power(stage, (0.95,))[0].weight


def _of_air(plain):
    description = read(plain).description
    part = description.network.tune_capacitor.model_copy(
        update={"minimum": 15e-12, "maximum": 250e-12, "air_gap": 0.8e-3, "voltage_rating": None}
    )
    network = description.network.model_copy(update={"tune_capacitor": part})
    return description.model_copy(update={"network": network})


def test_a_capacitor_that_just_spans_its_settings_is_not_given_up(plain):
    """Common practice: air capacitors span 40 to 1. From 6 pF that is 240 pF, though no E12 or R10 value fits."""
    change = capacitor(_of_air(plain), "tune", 7.9e-12, 229e-12, clear=False)
    asked = {edit.path[-1]: edit.value for edit in change.edits}
    assert asked["minimum"] <= 7.9e-12
    assert 229e-12 <= asked["maximum"] <= 40 * asked["minimum"] * (1 + 1e-9)


def test_a_slip_of_a_gap_is_named_as_one(plain):
    title = higher_ratings(_of_air(plain), "tune_capacitor", {"voltage_rating": 9e3}).title
    assert "is a gap of 0.8 mm a slip?" in title
