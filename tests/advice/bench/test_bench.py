"""The bench: resistors, the cold test, readings beside what is calculated. Derived, and against the analysis."""

import json
import re
from itertools import product

import numpy as np
import pytest
from samples import TUBE, edited

import netsim
from netsim.advice.bench import comparison
from netsim.advice.bench.bench import bench
from netsim.advice.bench.cold_test import cold_tests, nearest_resistors
from netsim.advice.bench.comparison import half_width
from netsim.analysis import analyse
from netsim.analysis.bench.forward import Forward
from netsim.analysis.bench.readings import output_of, readings
from netsim.circuit.assembly import Variants
from netsim.report.export import bench_json

# IEC 60063, series E12, from memory.
E12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82]


def reading(body):
    return f"\n[[measured]]\n{body}\n"


OUTPUT = 'what = "output"\nband = "40 m"\nfrequency = "7.15 MHz"\n'


@pytest.mark.parametrize("wanted", [903.0, 1500.0, 1906.0, 2600.0, 3000.0, 3193.0, 4230.0, 6100.0])
def test_the_nearest_preferred_resistors(wanted):
    """By trying every pair."""
    values = [v * d for v, d in product(E12, (1, 10, 100, 1000))]
    found = nearest_resistors(wanted)
    single = min(values, key=lambda v: abs(np.log(v / wanted)))
    if abs(single / wanted - 1) <= 0.05:
        assert found.values == (single,)
        return
    pairs = [
        f(a, b)
        for a, b in product(values, values)
        for f in (lambda a, b: a + b, lambda a, b: a * b / (a + b))
    ]
    best = min(abs(np.log(p / wanted)) for p in pairs)
    assert abs(np.log(found.resistance / wanted)) == pytest.approx(best, abs=1e-9)
    assert len(found.values) == 2
    a, b = found.values
    made = {"series": a + b, "parallel": a * b / (a + b)}[found.joined]
    assert found.resistance == pytest.approx(made)


def test_settings_are_those_of_the_verdict(plain):
    amplifier = netsim.read(plain)
    verdict = analyse(amplifier, engine="two-port", samples=1).verdict
    points = {(b.name, p.frequency_hertz): p for b in verdict.bands for p in b.points}
    tests = cold_tests(amplifier)
    assert [test.band for test in tests] == ["80 m", "40 m", "20 m"]
    for test in tests:
        point = points[test.band, test.frequency_hertz]
        assert (test.tune_farad, test.load_farad) == pytest.approx((point.tune_farad, point.load_farad))
        assert test.tune_dial is None
        assert 1 <= test.swr < 1.4


def test_a_matching_resistor_shows_a_match_without_losses(plain):
    ideal = [("q = 300", 'q = "inf"'), ("q = 2000", 'q = "inf"'), ("q = 1500", 'q = "inf"')]
    ideal += [
        ("q = 80", 'q = "inf"'),
        ("q = 50", 'q = "inf"'),
        ('resistance = "47 ohm"', 'resistance = "47 kohm"'),
    ]
    amplifier = netsim.loads(edited(plain, *ideal))
    load = cold_tests(amplifier)[0].plate_load_ohm
    for test in cold_tests(amplifier, load):
        assert test.resistors.values == (load,)
        assert test.swr == pytest.approx(1, abs=2e-3)


def test_dial_figures_come_from_the_table(circuits):
    amplifier = netsim.read(circuits / "on-the-bench.toml")
    from scipy.interpolate import PchipInterpolator

    for side in ("tune", "load"):
        points = np.array(getattr(amplifier.description.network, f"{side}_capacitor").dial)
        for test in cold_tests(amplifier):
            figure = getattr(test, f"{side}_dial")
            assert PchipInterpolator(*points.T)(figure) == pytest.approx(getattr(test, f"{side}_farad"))


def compared(amplifier, samples):
    return comparison.beside(amplifier, *comparison.computed(amplifier, samples))


def computed(amplifier):
    found = readings(amplifier)
    return [values[0] for values in Forward.of(amplifier, found).computed(Variants())]


def test_an_output_is_that_of_the_analysis(plain):
    text = plain.read_text() + reading(OUTPUT + 'output = "700 W"')
    verdict = analyse(netsim.read(plain), engine="two-port", samples=1).verdict
    assert computed(netsim.loads(text)) == pytest.approx([verdict.bands[1].points[1].output_watt])


def test_an_output_at_the_meters_and_settings_that_were_read(plain):
    """Against the analysis of a file that says so itself."""
    body = (
        OUTPUT
        + 'output = "600 W"\nplate_voltage = "2.5 kV"\nplate_current = "450 mA"\ntune = "90 pF"\nload = "380 pF"'
    )
    same = edited(
        plain,
        ('plate_voltage = "2.6 kV"', 'plate_voltage = "2.5 kV"'),
        ('plate_current = "520 mA"', 'plate_current = "450 mA"'),
        ('coil = "5.8 uH"', 'coil = "5.8 uH"\ntune = "90 pF"\nload = "380 pF"'),
    )
    verdict = analyse(netsim.loads(same), engine="two-port", samples=1).verdict
    found = computed(netsim.loads(plain.read_text() + reading(body)))
    assert found == pytest.approx([verdict.bands[1].points[1].output_watt])


def test_an_output_of_the_tube_is_that_of_its_settled_state(plain):
    text = plain.read_text() + TUBE
    verdict = analyse(netsim.loads(text), engine="two-port", samples=1).verdict
    found = computed(netsim.loads(text + reading(OUTPUT + 'output = "700 W"')))
    assert found == pytest.approx([verdict.bands[1].points[1].output_watt], rel=2e-3)


def test_power_of_volts_and_of_deflections(plain):
    # US question pool G5B06: 200 V peak to peak across 50 ohm are 100 W.
    volts = netsim.loads(plain.read_text() + reading(OUTPUT + 'voltage_peak = "100 V +- 2 %"'))
    assert output_of(volts.description.measured[0], 50.0) == pytest.approx((100, 4))
    # Power goes as the square of the deflection (handbooks); independent shares add in squares.
    body = 'deflection = "2.8 +- 3 %"\nreference_deflection = "1.0 +- 3 %"\nreference_output = "100 W +- 4 %"'
    screen = netsim.loads(plain.read_text() + reading(OUTPUT + body))
    watts, half = output_of(screen.description.measured[0], 50.0)
    assert watts == pytest.approx(784)
    assert half == pytest.approx(784 * np.sqrt(0.06**2 + 0.06**2 + 0.04**2))


def test_a_coil_to_its_tap_and_a_capacitor_at_its_dial(circuits):
    amplifier = netsim.read(circuits / "on-the-bench.toml")
    verdict = analyse(amplifier, engine="two-port", samples=1).verdict
    shown = {entry.kind + str(entry.line): entry for entry in compared(amplifier, 64)}
    coils = {round(b.points[0].coil_turns, 2): b.points[0].coil_henry for b in verdict.bands}
    found = [entry.computed for key, entry in shown.items() if key.startswith("inductance")]
    assert found == pytest.approx([coils[13.5], coils[5.25]])
    # By the dial tables of the file: 48 pF and 650 pF, and the strays, 8 pF and 10 pF.
    capacitances = [entry.computed for key, entry in shown.items() if key.startswith("capacitance")]
    assert capacitances == pytest.approx([56e-12, 660e-12])


def test_an_inductance_at_a_frequency_is_seen_through_the_self_capacitance(circuits):
    text = (circuits / "on-the-bench.toml").read_text()
    low, high = (
        computed(
            netsim.loads(
                text.replace("turns = 13.5\ninductance", f'turns = 13.5\nfrequency = "{f}"\ninductance')
            )
        )
        for f in ("100 kHz", "14 MHz")
    )
    result = analyse(netsim.loads(text), engine="two-port", samples=1)
    row = result.row("40 m")
    across = result.solved.assembly.parts.coil_capacitance[row]
    # Derived: a coil L with C across it shows L / (1 - w^2 L C).
    wanted = low[8] / (1 - (2 * np.pi * 14e6) ** 2 * low[8] * across)
    assert high[8] == pytest.approx(wanted, rel=1e-3)
    assert high[8] > low[8] * 1.005


def test_en_is_that_of_the_standard(circuits):
    """ISO 13528:2015, 9.7 (memory): the difference over the root of the sum of squared expanded uncertainties."""
    amplifier = netsim.read(circuits / "on-the-bench.toml")
    for entry in compared(amplifier, 256):
        together = np.hypot(entry.computed_half_width, entry.measured_half_width)
        assert entry.en == pytest.approx(abs(entry.computed - entry.measured) / together)
        assert entry.en < 2  # the description is off, and within its limits


def test_what_outputs_say_of_losses(circuits):
    """More output than expected: the losses that would explain it are smaller than the limits alone let expect."""
    text = (circuits / "on-the-bench.toml").read_text()
    for volts, sign in (("305", -1), ("265", 1)):
        changed, count = re.subn(r'(?m)^voltage_peak = "\d+ V', f'voltage_peak = "{volts} V', text)
        assert count == 1
        found = bench(netsim.loads(changed), engine="two-port", samples=512).points_to
        # The wire of a coil of given size loses what it loses; what its Q leaves open is the rest.
        coil = next(p for p in found if p.place == "leads" and p.band == "40 m")
        assert np.sign(coil.moved_watt) == sign
        assert coil.watt > 0
        # What is to be explained are watts: milliwatts that go with the output never stand first, however surely.
        moved = [abs(p.moved_watt) for p in found]
        assert moved == sorted(moved, reverse=True)
        assert moved[0] > 0.1


def test_json_has_what_the_contract_lists(circuits):
    found = bench(
        netsim.read(circuits / "on-the-bench.toml"), plate_resistor=2000.0, engine="two-port", samples=64
    )
    tables = json.loads(bench_json.dump_bench(found))
    assert tables["schema_version"] == 1
    wanted = {
        "band", "frequency_hertz", "plate_resistor_ohm", "tune_farad", "load_farad", "tune_dial", "load_dial",
        "impedance_ohm", "swr", "more_tune", "more_load", "more_coil",
    }  # fmt: skip
    for test in tables["cold_match"]:
        assert test.keys() >= wanted
        assert test["plate_resistor_ohm"] == 2000
        assert len(test["impedance_ohm"]) == 2
    assert tables["readings"][0].keys() >= {"line", "what", "band", "computed", "measured", "en"}
    assert all(abs(sum(loss["share"] for loss in band["losses"]) - 1) < 1e-3 for band in tables["losses"])


def test_what_rounding_leaves_is_no_range():
    # Derived: nothing varies, whatever the mean of equal numbers is rounded to.
    assert half_width(np.full(1024, 51.84 - 13.1j)) == 0
    # Derived: a circle of radius 1 about the middle.
    assert half_width(40 + np.exp(2j * np.pi * np.arange(64) / 64)) == pytest.approx(1)


def test_a_result_that_is_there_is_not_worked_out_again(circuits):
    solved = analyse(netsim.read(circuits / "on-the-bench.toml"), engine="two-port", samples=64, band="40 m")
    found = bench(solved.amplifier, solved=solved)
    assert found.result is solved
    assert [test.band for test in found.cold_match] == ["40 m"]
    assert {pointer.band for pointer in found.points_to} <= {"40 m"}
    assert len(found.readings) == 13


COLD = (
    'what = "cold match"\nband = "40 m"\nfrequency = "7.15 MHz"\nimpedance = "47 - 6j ohm"\nload = "380 pF"\n'
)
BOTH = COLD + 'tune = "90 pF"\nplate_resistor = "2.8 kohm"\n'
OWN_LIMITS = [
    ("plate_resistor", COLD + 'tune = "90 pF"\n', '"2.8 kohm +- 0.2 kohm"', '"3 kohm"', 3e3),
    ("plate_resistor_inductance", BOTH, '"300 nH +- 100 nH"', '"400 nH"', 400e-9),
    ("plate_resistor_capacitance", BOTH, '"3 pF +- 1 pF"', '"4 pF"', 4e-12),
    ("tune", COLD + 'plate_resistor = "2.8 kohm"\n', '"90 pF +- 3 pF"', '"93 pF"', 93e-12),
    ("plate_voltage", OUTPUT + 'output = "700 W"\n', '"2.5 kV +- 100 V"', '"2.6 kV"', 2600.0),
    ("plate_current", OUTPUT + 'output = "700 W"\n', '"500 mA +- 20 mA"', '"520 mA"', 0.52),
    ("turns", 'what = "inductance"\ninductance = "2 uH"\n', '"9.75 +- 0.25"', "10.0", 10.0),
]


@pytest.mark.parametrize(("key", "body", "limited", "at_end", "end"), OWN_LIMITS)
def test_limits_of_what_belongs_to_a_reading_itself(plain, circuits, key, body, limited, at_end, end):
    """A resistor of 5 % moves a cold match: at the end of its limits the file that says just that is the check."""
    on_the_bench = (circuits / "on-the-bench.toml").read_text()
    base = on_the_bench.partition("# What the bench showed")[0] if key == "turns" else plain.read_text()
    there, within = (netsim.loads(base + reading(f"{body}{key} = {value}")) for value in (at_end, limited))
    path = ("measured", 0, key)
    assert [entry.path for entry in within.inputs if entry.path[0] == "measured"] == [path]
    moved = Forward.of(within, readings(within)).computed(Variants(1, {path: np.array([end])}))
    assert moved[0][0] == pytest.approx(computed(there)[0], rel=1e-9)
    assert abs(moved[0][0] / computed(within)[0] - 1) > 1e-4
    assert compared(within, 256)[0].computed_half_width > compared(there, 256)[0].computed_half_width


def test_a_load_that_is_known_within_limits(plain):
    """Derived: V^2 = 2 P R, told as V^2 / 2 R0: in a load r times what the file says, r times the power is told."""
    body = OUTPUT + 'voltage_peak = "279 V"\nload_resistance = "50 ohm +- 5 %"'
    amplifier = netsim.loads(plain.read_text() + reading(body))
    copies = Variants(2, {("measured", 0, "load_resistance"): np.array([50.0, 52.5])})
    (told,) = Forward.of(amplifier, readings(amplifier)).computed(copies)
    assert told[1] == pytest.approx(1.05 * told[0])
    assert told[0] == pytest.approx(computed(amplifier)[0])
