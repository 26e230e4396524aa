"""What design fills in of the box: preferred values, solved; and the insulator that fix proposes."""

import math
from pathlib import Path

import pytest

from netsim.advice.box.insulator import insulators
from netsim.advice.design import design
from netsim.advice.fix.fix import fix
from netsim.analysis import analyse
from netsim.circuit.preferred_values import E24
from netsim.description.reader import loads, read

LEFT_OUT = [
    *(
        "supply.bleeder",
        "supply.bleeder_power_rating",
        "supply.glitch_resistor",
        "supply.glitch_pulse_rating",
    ),
    *("meters[0].shunt", "meters[1].shunt", "meters[2].multiplier"),
]


@pytest.fixture(scope="module")
def made(circuits: Path):
    bare = read(circuits / "whole-box.toml").replace(dict.fromkeys(LEFT_OUT))
    return design(bare.text, "bare.toml", engine="two-port")


def preferred(value: float) -> bool:
    mantissa = value / 10.0 ** math.floor(math.log10(value) + 1e-9)
    return any(abs(mantissa / number - 1) < 1e-6 for number in E24)


def test_design_fills_the_box_with_preferred_values(made) -> None:
    description = loads(made.text, "made.toml").description
    assert description.supply is not None
    values = [description.supply.bleeder, description.supply.glitch_resistor]
    values += [meter.shunt or meter.multiplier for meter in description.meters]
    for band in description.bands:
        values += [band.input_coil, band.input_source_capacitor, band.input_tube_capacitor]
    assert all(value is not None and preferred(value) for value in values)
    assert {key for key, _ in made.box} >= {"supply.bleeder", "meters[0].shunt", "bands[10 m].input_coil"}
    assert "# an example; your local rule says" in made.text  # comments stay


def test_what_is_designed_is_solved_before_it_is_told(made) -> None:
    box = made.result.verdict.box
    assert box.supply is not None
    assert box.supply.discharge_second is not None
    assert 8 < box.supply.discharge_second < 25
    assert box.supply.arc.peak_ampere is not None
    assert box.supply.arc.peak_ampere <= 100.0
    assert all(row.swr < 1.5 and not row.designed for row in box.input)
    for meter in box.meters:
        assert meter.fitted_error is not None
        assert abs(meter.fitted_error) < 0.05  # E24
    over = {f.code for f in made.result.verdict.findings if f.state == "over"}
    assert not over


def test_fix_takes_a_thicker_insulator_and_weighs_it(circuits: Path) -> None:
    thin = read(circuits / "whole-box-refitted.toml").replace({"cooling.path[insulator].thickness": "4 mm"})
    before = analyse(thin, engine="two-port", samples=1)
    assert {"tuning_range", "plate_match"} <= {f.code for f in before.verdict.findings if f.state == "over"}
    # Derived: 8.854 pF/m x 8.75 x 8 cm^2 (1/4 mm - 1/8 mm) = 7.75 pF, and 4 mm more of 160 W/(m K) on 8 cm^2.
    (twice,) = [change for change in insulators(before.solved) if change.edits[0].text == "8 mm"]
    heat = float(before.solved.current.dissipation[before.solved.swr.argmin()])
    assert "7.7 pF less" in twice.title
    assert f"{heat * 4e-3 / (160 * 8e-4):+.0f} K at the anode" in twice.title
    found = fix(thin, engine="two-port", before=before)
    assert found.clears
    assert [change.place for change in found.changes] == ["cooling.path[1]"]


def test_fix_raises_what_an_arc_asks_for(circuits: Path) -> None:
    found = fix(read(circuits / "whole-box.toml"), engine="two-port")
    assert found.clears
    assert [edit.path for change in found.changes for edit in change.edits] == [
        ("supply", "glitch_pulse_rating")
    ]
