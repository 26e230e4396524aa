"""What the terminal says of the box is what the result holds. Derived."""

import io
import re

import pytest
from rich.console import Console, Group

from netsim.analysis import analyse
from netsim.description.reader import read
from netsim.report.terminal import box_text


@pytest.fixture(scope="module")
def box(circuits):
    found = analyse(read(circuits / "whole-box.toml"), engine="two-port", samples=1).verdict.box
    assert found is not None
    return found


@pytest.fixture(scope="module")
def told(box):
    stream = io.StringIO()
    Console(file=stream, width=200, highlight=False, markup=False, emoji=False, no_color=True).print(
        Group(*box_text.render(box))
    )
    return " ".join(stream.getvalue().split())


def test_both_times_of_discharge_are_told_apart(box, told):
    supply = box.supply
    assert supply.discharge_second != supply.discharge_bleeder_open_second
    alone = supply.discharge_bleeder_open_second
    assert f"after {supply.discharge_second:.3g} s" in told
    assert f"with the bleeder open {'never' if alone is None else f'{alone:.3g} s'}" in told


def test_every_meter_has_the_shunt_or_multiplier_that_it_needs(box, told):
    for meter in box.meters:
        needed = meter.shunt_ohm if "current" in meter.reads else meter.multiplier_ohm
        power = min((p for p in (1e6, 1e3, 1.0, 1e-3) if needed >= p), key=lambda p: needed / p)
        digits = re.escape(f"{needed / power:#.3g}".rstrip("."))
        assert re.search(
            rf"{re.escape(meter.reads)} [0-9.]+ \S+ {digits} ", told
        )  # full scale, then what is needed
