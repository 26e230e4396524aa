"""The table, read back with pandas."""

import io
from dataclasses import replace

import pandas
import pytest

from netsim.report.export import csv_text as table_csv
from netsim.verdict.result import PART_NAMES, OperatingPointResult


def table(result):
    return pandas.read_csv(io.StringIO(table_csv.dump(result)))


def test_columns(solved):
    assert tuple(table(solved).columns) == table_csv.COLUMNS


def test_one_row_for_each_number(solved):
    rows = table(solved)
    names = ["band", "frequency_hertz", "part", "quantity", "order"]
    assert not rows.duplicated([*names, "operating_point"]).any()
    assert set(rows.part) <= {*PART_NAMES, "network", "stage"}
    assert rows[rows.order.notna()].order.astype(int).isin(range(2, 11)).all()


def test_numbers_come_back_as_they_were(solved):
    rows = table(solved)
    for band in solved.verdict.bands:
        for point in band.points:
            here = rows[(rows.band == band.name) & (rows.frequency_hertz == point.frequency_hertz)]
            here = here.set_index(["part", "quantity"]).sort_index()
            assert here.loc[("tune_capacitor", "setting"), "value"].item() == point.tune_farad
            assert here.loc[("network", "output"), "value"].item() == point.output_watt
            levels = here.loc[("network", "harmonic_level")]
            assert levels.value.tolist() == [h.level_dbc for h in point.harmonics]
            for name, stress in point.parts.items():
                if stress is not None:
                    assert here.loc[(name, "voltage_peak"), "value"].item() == stress.voltage_peak_volt
                    assert here.loc[(name, "loss"), "value"].item() == stress.loss_watt


def test_every_quantity_has_its_own_unit(solved):
    """Derived: a reactive power is in volt-amperes, heat in watts; `loss_watt` and its kin say so by name."""
    units = table(solved).groupby("quantity").unit.agg(set)
    assert units["reactive_power"] == {"VA"}
    for quantity in ("loss", "output", "plate_dissipation"):
        assert units[quantity] == {"W"}


def test_what_does_not_exist_is_empty(unchecked_plain):
    rows = table(unchecked_plain)
    assert rows[rows.quantity == "worst_relative_difference"].value.isna().all()
    assert set(rows.cross_check) == {"not cross-checked"}


@pytest.mark.parametrize("name", ['80 m, "low"', "a;b", "'quoted'", "80\u2009m", "<b>", "#1"])
def test_any_band_name_comes_back(solved_plain, name):
    verdict = solved_plain.verdict
    band = replace(verdict.bands[0], name=name)
    renamed = replace(solved_plain, verdict=replace(verdict, bands=(band,)))
    assert set(table(renamed).band) == {name}


def test_operating_points_are_told_apart(solved_plain):
    verdict = solved_plain.verdict
    point = OperatingPointResult("tune-up", verdict.stage, verdict.bands[:1])
    rows = table(replace(solved_plain, verdict=replace(verdict, operating_points=(point,))))
    other = rows[rows.operating_point == "tune-up"]
    assert set(other.band) == {verdict.bands[0].name}
    assert len(other) == (rows[rows.operating_point.isna()].band == verdict.bands[0].name).sum()
