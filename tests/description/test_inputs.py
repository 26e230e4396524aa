"""What is known within limits.

Expected values: the contract's table of typical values (common practice), and derived: limits end where the rules
of the format do.
"""

import math

import pytest

from netsim.description.assumed import assumed_values, completed
from netsim.description.models.amplifier import Description
from netsim.description.models.tables import with_value
from netsim.description.reader import loads
from netsim.errors import DescriptionError


def changed(text, *pieces):
    for old, new in pieces:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def by_key(amplifier, source="file"):
    return {entry.key: entry for entry in amplifier.inputs if entry.source == source}


def test_a_file_without_limits_has_none(plain_text):
    assert by_key(loads(plain_text)) == {}


def test_value_limits_unit_line_and_key(plain_text):
    amplifier = loads(
        changed(
            plain_text,
            ('plate_voltage = "2.6 kV"', 'plate_voltage = "2.6 kV +- 3 %"'),
            ('conduction_angle = "195 deg"', 'conduction_angle = "195 deg +- 10 deg"'),
            ("q = 300", 'q = "300 +- 20 %"'),
            ('coil = "5.8 uH"', 'coil = "5.8 uH +- 2 %"'),
        )
    )
    found = by_key(amplifier)
    assert list(found) == [
        "stage.plate_voltage",
        "stage.conduction_angle",
        "network.coil.q",
        "bands[40 m].coil",
    ]
    volts, angle, q, coil = found.values()
    assert (volts.nominal, volts.low, volts.high) == pytest.approx((2600, 2522, 2678), rel=1e-9, abs=0)
    assert volts.unit == "V"
    assert angle.unit == "rad"
    assert (angle.low, angle.high) == pytest.approx((math.radians(185), math.radians(205)))
    assert (q.low, q.high, q.unit) == (240.0, 360.0, "1")
    assert coil.path == ("bands", 1, "coil")
    assert coil.line == amplifier.position("bands", 1, "coil").line
    assert not any(entry.logarithmic or entry.note for entry in found.values())
    assert amplifier.description == loads(plain_text).description


def test_limits_end_at_the_plausible_range_and_say_so(plain_text):
    stray = by_key(loads(changed(plain_text, ('stray = "8 pF"', 'stray = "8 +- 20 pF"'))))
    entry = stray["network.tune_capacitor.stray"]
    assert (entry.low, entry.high) == pytest.approx((0.0, 28e-12), rel=1e-9, abs=0)
    assert "plausible range, 0 F to 500 pF" in entry.note


def test_a_minimum_and_a_maximum_meet_by_the_same_share(plain_text):
    """Derived: -50 pF ends at the range, 0.5 pF, then at 15 pF; 15 + 60 t = 250 - 235 t gives t = 235/295."""
    amplifier = loads(
        changed(
            plain_text,
            ('minimum = "15 pF"', 'minimum = "15 +- 60 pF"'),
            ('maximum = "250 pF"', 'maximum = "250 +- 300 pF"'),
        )
    )
    low, high = (by_key(amplifier)[f"network.tune_capacitor.{key}"] for key in ("minimum", "maximum"))
    assert high.low == pytest.approx(low.high, rel=1e-9, abs=0)
    assert low.high == pytest.approx((15 + 60 * 235 / 295) * 1e-12, rel=1e-6, abs=0)
    assert "is above maximum" in low.note
    assert "is above maximum" in high.note
    assert high.high == pytest.approx(550e-12, rel=1e-9, abs=0)


def test_one_alone_ends_at_the_value_of_the_other(plain_text):
    text = changed(plain_text, ('minimum_plate_voltage = "380 V"', 'minimum_plate_voltage = "380 +- 3000 V"'))
    entry = by_key(loads(text))["stage.minimum_plate_voltage"]
    assert entry.low == 1.0
    assert entry.high == pytest.approx(2600.0, rel=1e-9, abs=0)
    assert "must be below plate_voltage" in entry.note


WOUND = """
[network.coil]
[[network.coil.winding]]
kind = "toroid"
turns = TURNS
inductance_per_turn_squared = "12 nH"
unloaded_q = 250
"""


def test_where_no_other_value_would_do_is_an_error(plain_text):
    head, _, tail = plain_text.partition("[network.coil]")
    text = head + WOUND + tail[tail.index("\n[") :]
    loads(text.replace("TURNS", "30"))
    with pytest.raises(DescriptionError) as caught:
        loads(text.replace("TURNS", '"30 +- 2"'), "amp.toml")
    (problem,) = caught.value.problems
    assert problem.code == "limits_leave_nothing"
    assert problem.key == "network.coil.winding[0].turns"
    assert problem.file == "amp.toml"
    assert "whole" in problem.message
    assert 'turns = "30 +- 2"' in text.replace("TURNS", '"30 +- 2"').splitlines()[problem.line - 1]


def test_taps_and_bands_stay_on_the_winding(root):
    text = (root / "circuits/new-tube.toml").read_text(encoding="utf-8")
    text = changed(
        text, ("turns = 22\n", 'turns = "22 +- 12"\n'), ("coil_turns = 19.5", 'coil_turns = "19.5 +- 1"')
    )
    found = by_key(loads(text))
    turns, tap = found["network.coil.winding[1].turns"], found["bands[80 m].coil_turns"]
    assert 8 + turns.low == pytest.approx(tap.high, rel=1e-9, abs=0)
    assert "the winding has" in turns.note


def test_a_list_of_settings(plain_text):
    bands = plain_text.replace(
        'frequencies = ["3.5 MHz", "3.8 MHz"]',
        'frequencies = ["3.5 MHz", "3.8 MHz"]\ntune = ["95 +- 2 pF", "80 pF"]\nload = ["610 pF", "500 pF"]',
    )
    amplifier = loads(bands)
    assert amplifier.description.bands[0].settings("tune") == (95e-12, 80e-12)
    assert by_key(amplifier)["bands[80 m].tune[0]"].high == pytest.approx(97e-12, rel=1e-9, abs=0)


def test_a_share_of_nothing_is_no_limit(plain_text):
    assert by_key(loads(changed(plain_text, ('stray = "8 pF"', 'stray = "8 pF +- 0 %"')))) == {}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"24.6 MHz"', '"24.6 MHz +- 1 %"'),
        ("loaded_q = [8, 20]", 'loaded_q = ["8 +- 1", 20]'),
        ('name = "40 m"', 'name = "40 m"\nfrequencies_ = 1'),
    ],
)
def test_where_no_limits_can_stand(plain_text, old, new):
    with pytest.raises(DescriptionError) as caught:
        loads(changed(plain_text, (old, new)))
    assert caught.value.problems[0].code in ("limits_not_allowed", "unknown_key")


# Typical values

TYPICAL = {
    "network.coil.q": (200, 100, 400, True),
    "network.output_coil.q": (200, 100, 400, True),
    "network.coil.q_allowance": (0.7, 0.6, 0.8, False),
    "network.tune_capacitor.q": (1500, 500, 5000, True),
    "network.load_capacitor.q": (1500, 500, 5000, True),
    "network.blocking_capacitor.q": (1000, 300, 3000, True),
    "network.load_padding.q": (1000, 300, 3000, True),
    "network.tune_padding.q": (1000, 300, 3000, True),
    "network.plate_choke.q": (100, 30, 200, False),
    "network.output_choke.q": (100, 30, 200, False),
    "network.tune_capacitor.stray": (8e-12, 4e-12, 16e-12, True),
    "network.load_capacitor.stray": (15e-12, 8e-12, 30e-12, True),
}
"""Nominal, limits, and whether the logarithm is drawn: the contract's table of what is absent."""

BARE = """
[stage]
plate_voltage = "2.6 kV"
plate_current = "520 mA"
conduction_angle = "195 deg"
plate_load = "2.8 kohm"
[network]
topology = "pi-L"
[network.plate_choke]
inductance = "200 uH"
[network.blocking_capacitor]
capacitance = "1 nF"
[network.tune_capacitor]
minimum = "10 pF"
maximum = "300 pF"
[network.load_capacitor]
minimum = "30 pF"
maximum = "1.5 nF"
[network.coil]
[[network.coil.winding]]
kind = "solenoid"
turns = 20
mean_diameter = "60 mm"
pitch = "6 mm"
conductor_diameter = "3 mm"
[network.output_coil]
[network.output_choke]
inductance = "2 mH"
[[bands]]
name = "80 m"
frequencies = ["3.6 MHz"]
coil = "9 uH"
output_coil = "4 uH"
tune_padding = "100 pF"
load_padding = "300 pF"
[[bands]]
name = "40 m"
frequencies = ["7.1 MHz"]
coil_turns = 12
output_coil = "2 uH"
"""


def test_what_is_absent_is_typical_with_the_limits_of_the_contract():
    amplifier = loads(BARE)
    found = by_key(amplifier, "assumed")
    assert {k: (e.nominal, e.low, e.high, e.logarithmic) for k, e in found.items()} == TYPICAL
    assert found["network.tune_capacitor.q"].line == amplifier.position("network", "tune_capacitor").line
    network = completed(amplifier.description).network
    assert network.coil.q == 200.0
    assert network.tune_padding.q == network.load_padding.q == 1000.0
    assert network.load_capacitor.stray == 15e-12
    assert amplifier.description.network.tune_padding is None


def test_what_is_given_is_not_assumed_even_where_it_is_ideal():
    ideal = BARE.replace('maximum = "300 pF"', 'maximum = "300 pF"\nq = "inf"\nstray = "0 pF"')
    description = loads(ideal).description
    assert description.network.tune_capacitor.q == math.inf
    paths = {value.path for value in assumed_values(description)}
    assert not {path for path in paths if path[1] == "tune_capacitor"}
    assert completed(description).network.tune_capacitor.stray == 0.0
    with pytest.raises(DescriptionError) as caught:
        loads(BARE.replace("[network.output_coil]", "[network.output_coil]\nq = inf"))
    assert '"inf" in quotes' in str(caught.value)


def test_absent_parts_stay_absent():
    text = BARE
    for table in ("plate_choke", "blocking_capacitor", "output_choke"):
        begin = text.index(f"[network.{table}]")
        text = text[:begin] + text[text.index("\n[", begin) + 1 :]
    description = loads(text).description
    after = completed(description).network
    assert after.plate_choke is after.blocking_capacitor is after.output_choke is None
    assert {v.path[1] for v in assumed_values(description)} == {
        *("coil", "output_coil", "tune_capacitor", "load_capacitor", "tune_padding", "load_padding")
    }


def test_a_measured_q_of_the_winding_leaves_no_allowance_to_assume():
    text = BARE.replace("[network.coil]\n", "[network.coil]\nunloaded_q = 250\n")
    assert "network.coil.q_allowance" not in by_key(loads(text), "assumed")
    text = BARE.replace("[network.coil]\n", "[network.coil]\nq_allowance = 0.7\n")
    assert "network.coil.q_allowance" not in by_key(loads(text), "assumed")


def test_a_complete_description_is_left_as_it_is(plain_text):
    description = completed(loads(BARE).description)
    assert completed(description) == description


def test_a_value_is_exchanged_wherever_it_stands(plain_text):
    description = loads(plain_text).description
    changed_to = with_value(description, ("bands", 0, "frequencies", 1), 3.7e6)
    assert isinstance(changed_to, Description)
    assert changed_to.bands[0].frequencies == (3.5e6, 3.7e6)
    assert with_value(description, ("limits", "loaded_q", 0), 9.0).limits.loaded_q == (9.0, 20.0)
