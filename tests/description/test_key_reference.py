"""The reference of the keys is whole: whatever the models take stands in it, described, with its default's source."""

import re

import pytest

from netsim.description.assumed import TYPICAL
from netsim.description.file_format import annotation, headers, homes, measure, tables
from netsim.description.key_reference import DEFAULT_SOURCES, key_rows, source_key
from netsim.description.schema import build_schema

UNITS = {
    *("V", "A", "W", "VA", "F", "H", "Hz", "ohm", "deg", "degC", "dB", "m", "m^2", "s", "J"),
    *("J/K", "K/W", "W/(m K)", "A^2 s"),
}
ROWS = {(row.table, row.key): row for row in key_rows()}


def test_every_key_of_every_table_has_a_row_or_a_table_of_its_own():
    for path, model in tables():
        names = [step for step in path if isinstance(step, str)]
        header = headers().get(".".join(names), "the top of the file")
        for key in model.model_fields:
            assert ((header, key) in ROWS) != (".".join([*names, key]) in headers())


def test_every_row_says_what_the_key_means_and_how_it_is_written():
    for row in ROWS.values():
        assert len(row.description) > 3, row
        assert row.example, row
        assert set(row.unit.split(", ")) <= UNITS | {""}, row
        if row.unit:
            assert row.range, row


def test_every_default_that_is_a_figure_says_where_it_comes_from():
    for row in ROWS.values():
        if re.match(r"-?[0-9.]+", row.default) and not re.match(r"0 |0$", row.default):
            assert row.default_source, f"name the source of {row.table} {row.key} in DEFAULT_SOURCES"


def test_no_source_is_of_a_default_that_is_gone():
    defaults = {
        source_key((*path, name))
        for path, model in tables()
        for name, field in model.model_fields.items()
        if not field.is_required() and field.get_default(call_default_factory=True) not in (None, ())
    }
    assert set(DEFAULT_SOURCES) <= defaults


def test_typical_values_are_told_as_the_defaults_they_are():
    row = ROWS["[network.tune_capacitor]", "stray"]
    assert row.default == "8 pF, 4 pF to 16 pF"
    assert row.default_source == "common practice"
    for path in TYPICAL:
        assert measure(path) is not None


@pytest.mark.parametrize(
    ("table", "key", "words"),
    [
        ("[limits]", "harmonic_level", ("dB", "-43 dB", "47 CFR 97.307(d)", False)),
        ("[antenna]", "resistance", ("ohm", "50 ohm", "common practice", True)),
        ("[[bands]]", "frequencies", ("Hz", "", "", False)),
        ("[network.coil]", "q", ("", "200, 100 to 400", "common practice", True)),
        ("[[cooling.path]]", "thermal_resistance", ("K/W", "", "", True)),
    ],
)
def test_rows_as_the_contract_has_them(table, key, words):
    row = ROWS[table, key]
    unit, default, source, takes_limits = words
    assert (row.unit, row.default, row.takes_limits) == (unit, default, takes_limits)
    assert source in row.default_source


def test_the_schema_has_the_same_keys():
    schema = build_schema()
    properties = [schema["properties"], *(d["properties"] for d in schema["$defs"].values())]
    assert {key for _, key in ROWS} <= {key for table in properties for key in table}


def test_the_format_is_looked_up_by_path():
    assert measure(("bands", 3, "frequencies", 7)).unit == "Hz"
    assert measure(("bands", 0, "tune")).unit == measure(("bands", 0, "tune", 1)).unit == "F"
    assert measure(("tube", "curve_points", 2, 2)).unit == "A"
    assert measure(("title",)) is measure(("nothing", "here")) is None
    assert annotation(("network", "coil", "winding", 0)).__name__ == "WindingSection"
    assert homes()["topology"] == ["[input]", "[network]"] or set(homes()["topology"]) == {
        "[input]",
        "[network]",
    }
