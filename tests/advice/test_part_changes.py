"""Single changes of parts and stage. Derived: plate power is half of I_1 squared times the plate load."""

import pytest

from netsim.advice.part_changes import less_power
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
