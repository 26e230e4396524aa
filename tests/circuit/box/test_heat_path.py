"""The way of the heat: slabs in a row by hand, fins against a correlation worked out beside, warming, capacitance."""

import math

import ht
import numpy as np
import pytest

from netsim.circuit.box.heat_path import (
    HeatItem,
    added_capacitance,
    insulator_capacitance,
    joints,
    warming,
)
from netsim.circuit.box.materials import MATERIALS

ALUMINA = HeatItem(
    "insulator",
    material="alumina",
    thickness=3e-3,
    area=25e-4,
    electrical=True,
    adds_to_output_capacitance=True,
)


def test_temperatures_add_up_from_the_air():
    # Derived: 100 W through 0.2, 0.1 and 0.5 K/W above 30 degC.
    path = [HeatItem(name, thermal_resistance=r) for name, r in (("a", 0.2), ("b", 0.1), ("c", 0.5))]
    assert joints(path, np.array([100.0, 0.0]), 30.0) == pytest.approx(
        np.array([[110, 90, 80], [30, 30, 30]])
    )


def test_a_slab_is_thickness_over_conductivity_and_area():
    # Derived by hand with 30 W/(m K): 3 mm / (30 x 25 cm^2) = 0.04 K/W; 25 and 35 W/(m K) give 0.048 and 0.0343.
    assert ALUMINA.resistance(100.0, 30.0) == pytest.approx(0.04, rel=1e-12)
    assert float(ALUMINA.rise(np.array(100.0), 30.0, "low")) == pytest.approx(4.8, rel=1e-12)
    assert float(ALUMINA.rise(np.array(100.0), 30.0, "high")) == pytest.approx(
        100 * 3e-3 / (35 * 25e-4), rel=1e-12
    )
    own = HeatItem("own", conductivity=24.0, thickness=3e-3, area=25e-4)
    assert own.resistance(1.0, 0.0) == pytest.approx(0.05, rel=1e-12)


def test_an_insulator_is_a_plate_capacitor():
    # Derived: 8.854 pF/m x 9.5 x 25 cm^2 / 3 mm = 70.1 pF; two alike in series are half.
    assert ALUMINA.capacitance == pytest.approx(70.1e-12, rel=1e-3)
    assert insulator_capacitance([ALUMINA, ALUMINA]) == pytest.approx(35.05e-12, rel=1e-3)
    assert added_capacitance([ALUMINA]) == ALUMINA.capacitance
    plain = HeatItem("b", material="alumina", thickness=3e-3, area=25e-4, electrical=True)
    assert added_capacitance([plain]) == 0.0
    assert HeatItem("b", thermal_resistance=0.1, electrical=True).capacitance is None


# Named tables: CRC Handbook of Chemistry and Physics (from memory) for metals and ceramics; ht's own copy of VDI's
# table of building materials for the trade metals (seen: ht.insulation).
CRC = {"copper": 401.0, "aluminium": 237.0}
CRC_RANGES = {
    "alumina": (25, 35),
    "aluminium nitride": (140, 180),
    "beryllia": (250, 300),
    "mica": (0.5, 0.7),
}


def test_conductivities_are_those_of_the_table():
    for name, value in CRC.items():
        assert MATERIALS[name].conductivity.usual == value
    for name, (low, high) in CRC_RANGES.items():
        span = MATERIALS[name].conductivity
        assert (span.low, span.high) == (low, high)
    brass = ht.insulation.building_materials["Metals, brass"][1]
    assert MATERIALS["brass"].conductivity.low <= brass <= MATERIALS["brass"].conductivity.high
    copper = ht.insulation.building_materials["Metals, copper"][1]
    assert MATERIALS["copper"].conductivity.low <= copper


def test_every_range_holds_its_usual_value_and_beryllia_its_warning():
    for material in MATERIALS.values():
        for span in (material.conductivity, material.permittivity):
            assert span is None or span.low <= span.usual <= span.high
        assert material.source
    assert "toxic" in MATERIALS["beryllia"].warning


def fins(gap: float, count: float = 20.0) -> HeatItem:
    return HeatItem(
        "sink", fins=count, fin_height=0.03, fin_length=0.15, fin_thickness=3e-3, fin_gap=gap
    )  # fmt: skip


def test_wide_fins_are_single_plates_in_free_convection():
    # Derived beside: film at 50 degC, air by textbooks (Incropera, table A.4: k .0280, nu 18.2e-6,
    # Pr .704), Churchill and Chu by ht. The fins' own efficiency is above 0.98 here.
    rise, ambient = 50.0, 25.0
    grashof = 9.80665 / 323.15 * rise * 0.15**3 / 18.2e-6**2
    transfer = ht.conv_free_immersed.Nu_vertical_plate_Churchill(0.704, grashof) * 0.0280 / 0.15
    area = 2 * 20 * 0.03 * 0.15 + 19 * 0.05 * 0.15
    assert float(fins(0.05).rise(np.array(transfer * area * rise), ambient)) == pytest.approx(rise, rel=0.03)


def test_a_sink_sheds_more_for_each_kelvin_the_warmer_it_is_and_less_through_narrow_gaps():
    assert fins(0.01).resistance(50.0, 25.0) > fins(0.01).resistance(200.0, 25.0)
    assert fins(0.002).resistance(100.0, 25.0) > 2 * fins(0.01).resistance(100.0, 25.0)
    assert float(fins(0.01).rise(np.array(0.0), 25.0)) == 0.0
    beyond = fins(0.01).rise(np.array([1e5, 2e5]), 25.0)
    assert np.isfinite(beyond).all()
    assert beyond[1] > beyond[0]


def test_a_narrow_channel_flows_as_between_parallel_walls():
    # Elenbaas 1942, fully developed limit, from memory: Nu = Ra s / (24 L) for isothermal plates.
    gap, length, rise = 1.5e-3, 0.15, 20.0
    heat = 9.80665 / 308.15 * rise * gap**3 / 16.9e-6**2 * 0.707 * gap / length / 24 * 0.0268 / gap
    area = 2 * 20 * 0.03 * length + 19 * gap * length
    assert float(fins(gap).rise(np.array(heat * area * rise), 25.0)) == pytest.approx(rise, rel=0.06)


def test_warming_is_one_exponential():
    # Derived: 180 J/K on 0.5 K/W is 90 s; from 40 towards 240, 200 is reached after 90 ln(200/40) s.
    found = warming(40.0, 240.0, 200.0, 0.5, 180.0)
    assert found.to_limit == pytest.approx(90 * math.log(5), rel=1e-12)
    assert found.back == pytest.approx(90 * math.log(10), rel=1e-12)
    assert warming(40.0, 190.0, 200.0, 0.5, 180.0).to_limit is None
    assert warming(40.0, 240.0, 200.0, 0.5, None).to_limit is None
    assert warming(210.0, 240.0, 200.0, 0.5, 180.0).to_limit == 0.0
