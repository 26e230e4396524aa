import pytest
from report_cases import finding

from netsim.analysis import Analysis, analyse
from netsim.description.formatting import percent
from netsim.description.reader import loads
from netsim.report.notation import (
    amount,
    effect_title,
    finding_title,
    frequencies_of,
    limit_of,
    place_of,
    value_of,
    worst_of_band,
)
from netsim.verdict.result import Finding


@pytest.mark.parametrize(
    ("used", "shown"),
    [
        (None, "–"),
        (0.0, "< 0.1 %"),
        (1.6e-11, "< 0.1 %"),
        (0.00132, "0.132 %"),
        (0.602, "60.2 %"),
        (1.0, "100 %"),
        (1.0004, "100.04 %"),
        (0.9999996, "99.99996 %"),
        (7.854, "785 %"),
    ],
)
def test_percent_keeps_to_its_side_of_the_limit(used: float | None, shown: str) -> None:
    assert percent(used) == shown


@pytest.mark.parametrize(
    ("value", "unit", "quantity", "shown"),
    [
        (2600.0, "V", "voltage_peak", "2.60 kV pk"),
        (3100.0, "V", "unloaded_voltage_peak", "3.10 kV pk"),
        (2900.0, "V", "dc_voltage", "2.90 kV DC"),
        (11.8, "A", "current_rms", "11.8 A rms"),
        (-43.04, "dB", "level", "-43.0 dBc"),
        (85.2, "degC", "surface_temperature", "85 °C"),
        (None, "V", "voltage_peak", "–"),
    ],
)
def test_amounts_say_which_kind_they_are(value: float | None, unit: str, quantity: str, shown: str) -> None:
    assert amount(value, unit, quantity) == shown


@pytest.mark.parametrize(
    ("given", "title", "value", "limit"),
    [
        (
            {"code": "part_voltage", "part": "tune_capacitor", "quantity": "voltage_peak", "unit": "V"},
            "Tune capacitor: peak voltage",
            "110 V pk",
            "rated 100 V pk",
        ),
        (
            {
                "code": "plate_match",
                "part": "network",
                "quantity": "swr",
                "value": 2.5,
                "limit": 1.5,
                "unit": "1",
            },
            "Plate match",
            "SWR 2.50",
            "limit 1.50",
        ),
        (
            {
                "code": "antenna_dc",
                "part": "network",
                "quantity": "dc_voltage",
                "value": 2900.0,
                "limit": 0.0,
                "unit": "V",
            },
            "Plate supply on the antenna",
            "2.90 kV DC",
            "limit 0 V DC",
        ),
        (
            {"code": "not_yet_known", "part": "coil", "quantity": "loss"},
            "Coil: not yet known",
            "110 W",
            "limit 100 W",
        ),
        ({"code": "second_match", "limit": None, "unit": "F", "value": 1e-10}, "Second match", "100 pF", ""),
    ],
)
def test_findings_are_named_with_number_and_limit(
    given: dict[str, object], title: str, value: str, limit: str
) -> None:
    made = finding(**given)
    assert (finding_title(made), value_of(made), limit_of(made)) == (title, value, limit)


@pytest.mark.parametrize(
    ("value", "limit", "used", "shown"),
    [
        (22.8, 20.0, 1.14, "at most 20.0"),
        (7.0, 8.0, 1.14, "at least 8.00"),
        (19.0, 20.0, 0.95, "at most 20.0"),
        (8.4, 8.0, 0.95, "at least 8.00"),
    ],
)
def test_the_limit_of_a_window_is_named_by_its_side(
    value: float, limit: float, used: float, shown: str
) -> None:
    made = finding(code="loaded_q", part="network", value=value, limit=limit, unit="1", used_fraction=used)
    assert limit_of(made) == shown


def test_other_antennas_are_named_in_the_title() -> None:
    assert finding_title(finding(case="any_antenna")) == "Coil: heat, any antenna"
    match = finding(code="plate_match", part="network", case="any_antenna")
    assert finding_title(match) == "Plate match, any antenna"
    assert finding_title(finding(code="not_yet_known", part="network")) == "Not yet known"


def test_a_low_reactance_is_held_against_a_least_one() -> None:
    made = finding(
        code="choke_reactance", part="plate_choke", value=2640.0, limit=3190.0, unit="ohm", used_fraction=1.2
    )
    assert limit_of(made) == "at least 3.19 kΩ"


def test_places_name_band_and_operating_point() -> None:
    assert place_of(finding(band=None)) == "all bands"
    assert place_of(finding(operating_point="carrier")) == "40 m, carrier"


def test_frequencies_share_their_unit(solved_plain: Analysis) -> None:
    bands = solved_plain.verdict.bands
    assert frequencies_of(bands[0]) == "3.5 and 3.8 MHz"
    assert frequencies_of(type(bands[0])("one", bands[0].points[:1])) == "3.5 MHz"


def test_the_worst_of_a_band_is_over_before_it_is_close(solved: Analysis) -> None:
    for band in solved.verdict.bands:
        found = worst_of_band(solved.verdict, band.name)
        assert found is not None
        own: list[Finding] = [f for f in solved.verdict.findings if f.band == band.name]
        over = [f for f in own if f.state == "over"]
        highest = max((f.used_fraction or 0.0) for f in over or own)
        assert found[1].state == ("over" if over else found[1].state)
        assert found[1].used_fraction is None or found[1].used_fraction == highest
        assert solved.verdict.findings[found[0]] is found[1]


def test_a_band_without_verdict_has_no_worst(solved_plain: Analysis) -> None:
    assert worst_of_band(solved_plain.verdict, "no such band") is None


def test_of_a_part_that_a_change_adds_it_is_told_what_it_must_withstand(circuits):
    # What the file's own load padding carries, as the result has it of every band and frequency.
    text = (circuits / "new-tube.toml").read_text(encoding="utf-8")
    rated, _, rest = text.partition("[network.load_padding]")
    solved = analyse(loads(rated + "[" + rest.partition("\n[")[2]), engine="two-port", samples=1)
    (new,) = [
        entry
        for entry in solved.verdict.findings
        if (entry.part, entry.quantity, entry.state) == ("load_padding", "current_rms", "not_rated")
    ]
    most = max(
        point.parts["load_padding"].current_rms_ampere
        for band in solved.verdict.bands
        for point in band.points
        if point.parts["load_padding"] is not None
    )
    assert f"{amount(most, 'A', 'current_rms')} at" in effect_title(new, "new")
    assert effect_title(new, "same") == finding_title(new)
