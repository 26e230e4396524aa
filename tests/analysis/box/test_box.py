"""The box of the demonstration, each figure worked out again by laws written here."""

import json
import math

import numpy as np
import pytest

from netsim.advice.remedies import with_remedies
from netsim.analysis import Analysis, analyse
from netsim.description.reader import Amplifier, loads
from netsim.report.export.json_text import dump

KEYS = {
    "bias": "bias_volt idle_current_ampere idle_dissipation_watt cathode_current_ampere zener cathode_resistor",
    "supply": "no_load_volt idle_volt full_load_volt ripple_volt secondary_rms_ampere secondary_peak_ampere "
    "inrush_peak_ampere inrush_peak_without_ampere inrush_joule stored_joule bleeder_watt discharge_second "
    "discharge_bleeder_open_second arc",
    "cooling": "joints dissipated_watt key_down_second insulator_capacitance_farad",
}
ROWS = {
    "input": "band frequency_hertz drive_watt exciter_watt tube_impedance_ohm swr loaded_q",
    "meters": "reads resistors_in_series power_watt fitted_error",
}


def test_keys_are_those_of_the_contract(boxed: Analysis) -> None:
    found = json.loads(dump(boxed.verdict))["box"]
    assert found.keys() == {"bias", "input", "supply", "cooling", "meters"}
    for table, keys in KEYS.items():
        assert set(keys.split()) <= found[table].keys()
    for table, keys in ROWS.items():
        for row in found[table]:
            assert set(keys.split()) <= row.keys()
    assert {"peak_ampere", "glitch_joule", "tube_joule", "duration_second"} <= found["supply"]["arc"].keys()
    assert set(found["bias"]["zener"]) == {"volt", "ampere", "watt"}
    assert {"ohm", "watt"} <= found["bias"]["cathode_resistor"].keys()
    assert "shunt_ohm" in found["meters"][0]
    assert "multiplier_ohm" in found["meters"][2]


def test_an_amplifier_without_a_box_says_nothing_of_one(plain_text: str) -> None:
    verdict = analyse(loads(plain_text), engine="two-port").verdict
    assert set(json.loads(dump(verdict))["box"].values()) == {None}
    codes = {finding.code for finding in verdict.findings}
    assert not codes & {"supply_voltage", "glitch_energy", "anode_temperature", "input_match", "meter_range"}


def test_bias_and_what_makes_it(boxed: Analysis) -> None:
    # Derived: I = K max(v_g + v_p / mu, 0)^1.5 tanh(v_p / V_k) with the file's constants, grid negative; Ohm and Joule.
    bias = boxed.verdict.box.bias
    assert bias is not None
    assert bias.zener is not None
    assert bias.cathode_resistor is not None
    supply, volts = boxed.verdict.box.supply, bias.idle_plate_volt
    assert supply is not None
    # Without drive the supply stands higher than under load: the point is where tube and supply agree.
    assert supply.full_load_volt < volts < supply.no_load_volt
    lift = bias.bias_volt + volts / 150
    idle = 2.5e-3 * lift**1.5 * math.tanh(volts / 90)
    assert bias.idle_current_ampere == pytest.approx(idle, rel=1e-4)
    assert bias.idle_dissipation_watt == pytest.approx(volts * idle, rel=1e-4)
    state = boxed.solved.tube_state
    assert state is not None
    assert state.balance.grid_current_dc is not None
    cathode = state.balance.plate_current_dc[0] + state.balance.grid_current_dc[0]
    assert bias.cathode_current_ampere == pytest.approx(cathode, rel=1e-12)
    assert bias.zener.watt == pytest.approx(-bias.bias_volt * cathode, rel=1e-12)
    resistor = bias.cathode_resistor
    assert resistor.ohm == pytest.approx(-bias.bias_volt / cathode, rel=1e-12)
    # It idles where its own current makes its bias.
    assert resistor.idle_bias_volt == pytest.approx(-resistor.ohm * resistor.idle_current_ampere, rel=1e-9)
    across = ((resistor.idle_current_ampere / 2.5e-3) ** (2 / 3) - resistor.idle_bias_volt) * 150
    stands = across - resistor.idle_bias_volt
    # The supply gives that at this current: between its points at idle and at full output, nearly straight.
    drawn = [bias.idle_current_ampere, supply.full_load_current_ampere]
    given = [bias.idle_plate_volt, supply.full_load_volt]
    assert stands == pytest.approx(np.interp(resistor.idle_current_ampere, drawn, given), rel=5e-3)


def test_one_idle_point_for_whoever_tells_it(boxed: Analysis) -> None:
    box = boxed.verdict.box
    assert box.bias is not None
    assert box.supply is not None
    assert box.meters is not None
    assert boxed.verdict.tube is not None
    volts, amperes = box.bias.idle_plate_volt, box.bias.idle_current_ampere
    assert (box.supply.idle_volt, box.supply.idle_current_ampere) == (volts, amperes)
    assert boxed.verdict.tube.idle_current_ampere == amperes
    for step in (box.bias.power_up.supply[-1], box.bias.power_up.drive[0]):
        assert (step.plate_volt, step.plate_current_ampere) == (volts, amperes)
    shown = {meter.reads: meter.shows_idle for meter in box.meters}
    assert shown["plate current"] == pytest.approx(amperes, rel=2e-3)
    assert shown["plate voltage"] == pytest.approx(volts, rel=1e-4)
    # Every step, full drive too, stays below the plate current at which to stop.
    stop = box.bias.power_up.stop["plate_current_ampere"]
    assert stop is not None
    assert all(
        step.plate_current_ampere < stop for step in (*box.bias.power_up.supply, *box.bias.power_up.drive)
    )


@pytest.mark.parametrize(("no_load", "volts"), [("3.1 kV", 3100.0), (None, 2800.0)])
def test_idle_without_a_supply(whole: Amplifier, no_load: str | None, volts: float) -> None:
    changed = whole.replace({"supply": None, "stage.no_load_plate_voltage": no_load})
    found = analyse(changed, band="10 m", engine="two-port", samples=1).verdict.box.bias
    assert found is not None
    assert found.idle_plate_volt == volts
    # Derived: the tube's law with the file's constants.
    own = 2.5e-3 * (found.bias_volt + volts / 150) ** 1.5 * math.tanh(volts / 90)
    assert found.idle_current_ampere == pytest.approx(own, rel=1e-9)
    assert found.power_up.supply[-1].plate_volt == volts


def test_first_power_up_ends_where_full_output_does(boxed: Analysis) -> None:
    bias = boxed.verdict.box.bias
    assert bias is not None
    idle, half, full = bias.power_up.drive
    assert idle.plate_current_ampere == bias.idle_current_ampere
    assert idle.plate_current_ampere < half.plate_current_ampere < full.plate_current_ampere
    assert full.plate_current_ampere == pytest.approx(float(boxed.solved.current.direct[0]), rel=1e-3)
    assert full.output_watt == pytest.approx(float(boxed.solved.output_power[0]), rel=2e-3)
    assert full.shows["plate_current_meter"] == pytest.approx(full.plate_current_ampere, rel=2e-3)
    volts = [step.plate_volt for step in bias.power_up.supply]
    assert volts == sorted(volts)
    supply = boxed.verdict.box.supply
    assert supply is not None
    # A quarter of the mains gives a quarter of what it gives without load; the tube is cut off there.
    assert volts[0] == pytest.approx(supply.no_load_volt / 4, rel=1e-6)
    assert bias.power_up.supply[0].plate_current_ampere == 0


def test_the_exciter_gives_the_drive_the_losses_and_what_comes_back(boxed: Analysis) -> None:
    (row,) = boxed.verdict.box.input or ()
    state, tube = boxed.solved.tube_state, boxed.solved.tube_state
    assert state is not None
    assert tube is not None
    # Derived: fundamental drive over the current that it supplies; P = E^2 Re(1/Z) / 2.
    current = state.balance.plate_current[0, 0] + state.balance.grid_current[0, 0]  # type: ignore[index]
    drive = float(np.asarray(state.tube.drive_voltage_peak).flat[0])
    impedance = drive / current
    assert complex(*row.tube_impedance_ohm) == pytest.approx(impedance, rel=1e-9)
    assert row.drive_watt == pytest.approx(drive**2 * (1 / impedance).real / 2, rel=1e-9)
    # Nodal equations of the pi with its coil's loss, capacitance and choke across the cathode.
    assert row.coil_henry is not None
    assert row.source_capacitor_farad is not None
    assert row.tube_capacitor_farad is not None
    omega = 2 * math.pi * row.frequency_hertz
    series = 1 / (omega * row.coil_henry * (1 / 150 + 1j))
    far = 1j * omega * (row.tube_capacitor_farad + 30e-12) + 1 / (1j * omega * 8e-6) + 1 / impedance
    near = 1j * omega * row.source_capacitor_farad
    seen, at_tube = np.linalg.solve(
        np.array([[near + series, -series], [-series, series + far]]), np.array([1.0, 0.0])
    )
    reflected = abs((seen - 50) / (seen + 50))
    assert row.swr == pytest.approx((1 + reflected) / (1 - reflected), rel=1e-9)
    into = (drive / abs(at_tube)) ** 2 * seen.real / 2
    assert row.input_watt == pytest.approx(into, rel=1e-9)
    assert row.exciter_watt == pytest.approx(into / (1 - reflected**2), rel=1e-9)
    loss = row.parts["input_coil"].current_rms_ampere ** 2 * omega * row.coil_henry / 150
    assert into == pytest.approx(row.drive_watt + loss, rel=1e-9)
    assert row.designed
    assert row.swr < 1.2


def test_supply_and_arc_by_sums(boxed: Analysis) -> None:
    supply = boxed.verdict.box.supply
    assert supply is not None
    capacitance, volts = 330e-6 / 8, supply.no_load_volt
    assert supply.stored_joule == pytest.approx(capacitance * volts**2 / 2, rel=1e-9)
    assert supply.bleeder_watt == pytest.approx(volts**2 / 100e3, rel=1e-9)
    both = 1 / (1 / 100e3 + 1 / (8 * 47e3))
    assert supply.discharge_second == pytest.approx(both * capacitance * math.log(volts / 50), rel=1e-6)
    alone = 8 * 47e3 * capacitance * math.log(volts / 50)
    assert supply.discharge_bleeder_open_second == pytest.approx(alone, rel=1e-6)
    assert supply.arc.peak_ampere == pytest.approx((volts - 50) / 25, rel=1e-9)
    assert supply.arc.glitch_joule == pytest.approx(capacitance * (volts - 50) ** 2 / 2, rel=1e-5)
    assert supply.arc.tube_joule == pytest.approx(50 * capacitance * (volts - 50), rel=1e-5)
    # A resistor in the primary counts by the square of the turns; the crest over all resistance.
    crest = math.sqrt(2) * 2150
    assert supply.inrush_peak_ampere == pytest.approx(crest / (50 + 22 * 9.6**2), rel=1e-6)
    assert supply.inrush_peak_without_ampere == pytest.approx(crest / 50, rel=1e-6)
    assert supply.capacitor_volt == pytest.approx(volts / 8, rel=5e-3)
    assert supply.full_load_volt < (supply.idle_volt or 0) < volts < math.sqrt(2) * 2150
    # At idle the tube draws what its law gives at the voltage that is there.
    bias = boxed.verdict.box.bias
    assert bias is not None
    assert supply.idle_volt is not None
    lift = bias.bias_volt + supply.idle_volt / 150
    assert supply.idle_current_ampere == pytest.approx(2.5e-3 * lift**1.5, rel=1e-3)


def test_the_insulator_stands_in_the_network(whole: Amplifier, boxed: Analysis) -> None:
    # Derived: the same as so much more output capacitance, 8.854 pF/m x 8.75 x 8 cm^2 / 8 mm.
    added = 8.8541878128e-12 * 8.75 * 8e-4 / 8e-3
    cooling = boxed.verdict.box.cooling
    assert cooling is not None
    assert cooling.insulator_capacitance_farad == pytest.approx(added, rel=1e-9)
    other = whole.replace(
        {
            "cooling.path[insulator].adds_to_output_capacitance": None,
            "stage.output_capacitance": f"{14 + added * 1e12:.9f} pF",
        }
    )
    plain = analyse(other, band="10 m", engine="two-port")
    assert plain.solved.settings.tune[0] == pytest.approx(boxed.solved.settings.tune[0], rel=1e-6)
    assert cooling.detuning is not None
    need, without = cooling.detuning.tune_needed_farad, cooling.detuning.tune_needed_without_farad
    assert need is not None
    assert without is not None
    # The suppressor stands between the two, so that not quite all of it is the tune capacitor's.
    assert without - need == pytest.approx(added, rel=0.05)


def test_heat_by_sums(boxed: Analysis) -> None:
    cooling = boxed.verdict.box.cooling
    assert cooling is not None
    heat = float(boxed.solved.current.dissipation[0])
    grease, insulator = 50e-6 / (0.8 * 8e-4), 8e-3 / (160 * 8e-4)
    plate, sink = 8e-3 / (401 * 60e-4), 0.1
    total = heat * (grease + insulator + plate + sink)
    assert cooling.joints[0].celsius == pytest.approx(35 + total, rel=1e-9)
    assert [joint.name for joint in cooling.joints] == [
        "anode to clamp", "insulator", "plate under it", "sink with a blower"
    ]  # fmt: skip
    assert cooling.joints[3].celsius == pytest.approx(35 + heat * sink, rel=1e-9)
    assert cooling.joints[1].halved_kelvin == pytest.approx(heat * insulator / 2, rel=1e-9)
    assert cooling.joints[0].celsius_low < cooling.joints[0].celsius < cooling.joints[0].celsius_high
    assert cooling.key_down_second is None


def test_key_down_time_to_a_lower_limit(whole: Amplifier, boxed: Analysis) -> None:
    changed = whole.replace({"cooling.anode_temperature_limit": "120 degC", "stage.duty": 0.4})
    found = analyse(changed, band="10 m", engine="two-port").verdict.box.cooling
    was = boxed.verdict.box.cooling
    assert found is not None
    assert was is not None
    # Derived: one exponential from idle towards the key-down temperature, duty not counted.
    resistance = (was.joints[0].celsius - 35) / was.dissipated_watt
    time = resistance * 600
    bias = boxed.verdict.box.bias
    assert bias is not None
    idle = 35 + resistance * bias.idle_dissipation_watt
    wanted = time * math.log((was.joints[0].celsius - idle) / (was.joints[0].celsius - 120))
    assert found.key_down_second == pytest.approx(wanted, rel=1e-9)
    assert found.joints[0].celsius == pytest.approx(35 + 0.4 * (was.joints[0].celsius - 35), rel=1e-9)
    assert found.back_second == pytest.approx(time * math.log(10), rel=1e-9)


def test_how_fast_a_plate_warms_while_tuning(whole: Amplifier) -> None:
    """Derived: one capacity C behind one resistance R, T = T_end + (T_0 - T_end) exp(-t / (R C))."""
    amplifier = whole.replace(
        {
            "stage.dissipation_rating": "1 kW",
            "cooling.anode_temperature_limit": "150 degC",
            "cooling.heat_capacity": "400 J/K",
        }
    )
    result = analyse(amplifier, band="10 m", engine="two-port", samples=1)
    hot = [f for f in result.verdict.findings if (f.code, f.case) == ("plate_dissipation", "while_tuning")]
    (told,) = hot
    cooling, bias = result.verdict.box.cooling, result.verdict.box.bias
    assert cooling is not None
    assert bias is not None
    resistance = (cooling.joints[0].celsius - 35) / cooling.dissipated_watt
    end, idle = 35 + resistance * told.value, 35 + resistance * bias.idle_dissipation_watt
    seconds = resistance * 400 * np.log((end - idle) / (end - 150))
    assert float(told.message.partition("150 °C after ")[2].split()[0]) == pytest.approx(seconds, rel=5e-3)
    bare = amplifier.replace({"cooling.heat_capacity": None})
    found = analyse(bare, band="10 m", engine="two-port", samples=1).verdict.findings
    (told,) = [f for f in found if (f.code, f.case) == ("plate_dissipation", "while_tuning")]
    assert told.message.endswith("heat_capacity under [cooling] would tell how fast it warms")


def finding(result: Analysis, code: str, quantity: str | None = None):
    (found,) = [f for f in result.verdict.findings if f.code == code and quantity in (None, f.quantity)]
    return found


def test_findings_of_the_demonstration(boxed: Analysis) -> None:
    glitch = finding(boxed, "glitch_energy")
    assert (glitch.state, glitch.band, glitch.frequency_hertz, glitch.limit) == ("over", None, None, 120.0)
    assert boxed.verdict.box.supply is not None
    assert glitch.value == boxed.verdict.box.supply.arc.glitch_joule
    assert glitch.used_fraction == pytest.approx(glitch.value / 120)
    told = {f.code for f in boxed.verdict.findings if f.state in ("over", "close")}
    assert told == {"glitch_energy"}  # the heater's choke is close on lower bands alone
    every = {f.code for f in boxed.verdict.findings}
    assert every >= {
        *("grid_current", "grid_dissipation", "bias_power", "input_match", "drive_power", "heater_choke"),
        *("supply_voltage", "capacitor_voltage", "bleeder_power", "discharge_time", "inrush_energy"),
        *("anode_temperature", "meter_range", "meter_protection"),
    }


OVER = {
    "drive_power": {"input.available_power": "30 W"},
    "bias_power": {"bias.power_rating": "5 W"},
    "grid_current": {"stage.grid_current_rating": "20 mA"},
    "grid_dissipation": {"stage.grid_dissipation_rating": "10 mW"},
    "supply_voltage": {"stage.no_load_plate_voltage": "3.4 kV"},
    "capacitor_voltage": {"supply.capacitor_voltage_rating": "350 V"},
    "bleeder_power": {"supply.bleeder_power_rating": "50 W"},
    "inrush_energy": {"supply.inrush_pulse_rating": "100 J"},
    "anode_temperature": {"cooling.ambient": "80 degC", "cooling.anode_temperature_limit": "150 degC"},
    "meter_range": {"meters[0].shunt": "0.2 ohm"},
}
NOT_RATED = {
    "drive_power": {"input.available_power": None},
    "bias_power": {"bias.power_rating": None},
    "grid_current": {"stage.grid_current_rating": None},
    "grid_dissipation": {"stage.grid_dissipation_rating": None},
    "capacitor_voltage": {"supply.capacitor_voltage_rating": None},
    "bleeder_power": {"supply.bleeder_power_rating": None},
    "discharge_time": {"supply.touch_voltage": None},
    "inrush_energy": {"supply.inrush_pulse_rating": None},
    "glitch_energy": {"supply.glitch_pulse_rating": None},
}
OTHERWISE = {
    "heater_choke": ({"input.heater_choke": "1 uH"}, "close"),
    "discharge_time": ({"supply.equalizing_resistance": None}, "close"),
    "glitch_energy": ({"supply.glitch_resistor": None, "supply.glitch_pulse_rating": None}, "not_rated"),
    "meter_range": ({"meters[2].resistor_power_rating": "0.1 W"}, "over"),
    "supply_voltage": ({"stage.plate_voltage": "2.6 kV"}, "over"),
}


@pytest.mark.parametrize(
    "wanted",
    [
        {code: (edits, "over") for code, edits in OVER.items()},
        {code: (edits, "not_rated") for code, edits in NOT_RATED.items()},
        OTHERWISE,
    ],
)
def test_each_finding_can_be_brought_about(whole, wanted):
    edits = {key: value for changed, _ in wanted.values() for key, value in changed.items()}
    found = analyse(whole.replace(edits), band="10 m", engine="two-port").verdict.findings
    for code, (_, state) in wanted.items():
        matching = [f for f in found if f.code == code and f.state == state]
        assert matching, code
        assert all(f.message and f.line for f in matching)


def test_capacitors_that_nothing_discharges_are_over(whole):
    gone = ("equalizing_resistance", "bleeder", "bleeder_power_rating")
    found = analyse(whole.replace({f"supply.{key}": None for key in gone}), band="10 m", engine="two-port")
    told = finding(found, "discharge_time")
    assert (told.state, told.value, told.used_fraction) == ("over", None, None)
    assert found.verdict.box.supply is not None
    assert found.verdict.box.supply.discharge_second is None
    assert found.verdict.box.supply.ripple_volt > 0


def test_a_meter_without_diodes_is_not_protected(whole: Amplifier) -> None:
    changed = analyse(whole.replace({"meters[0].diodes": None}), band="10 m", engine="two-port")
    (found,) = [f for f in changed.verdict.findings if f.code == "meter_protection" and f.state == "over"]
    assert changed.verdict.box.supply is not None
    peak = changed.verdict.box.supply.arc.peak_ampere
    assert peak is not None
    # Kirchhoff: 0.1 ohm beside 100 ohm.
    assert found.value == pytest.approx(peak * 0.1 / 100.1, rel=1e-9)
    assert found.limit == pytest.approx(10e-3)
    assert found.part == "plate_current_meter"


def test_a_shunt_that_does_not_fit_its_scale_is_told(whole: Amplifier, boxed: Analysis) -> None:
    assert not [f for f in boxed.verdict.findings if f.quantity == "reading_error" and f.state != "pass"]
    changed = whole.replace({"meters[0].shunt": "0.15 ohm", "meters[0].full_scale": "1 A"})
    result = with_remedies(analyse(changed, band="10 m", engine="two-port", samples=1))
    (found,) = [f for f in result.verdict.findings if f.quantity == "reading_error" and f.state != "pass"]
    # Kirchhoff: 1 A divides between 0.15 ohm and the movement's 100 ohm, whose last mark is 1 mA.
    deflection = 1.0 * 0.15 / 100.15 / 1e-3
    assert (found.code, found.state, found.part) == ("meter_range", "close", "plate_current_meter")
    assert found.value == pytest.approx(deflection - 1, rel=1e-9)
    assert "100 m" in found.message
    assert changed.text.splitlines()[(found.line or 0) - 1].startswith("shunt")
    (edit,) = found.remedies[0].edits
    assert edit.key == "meters[0].shunt"
    mended = whole.replace({edit.key: edit.value}).description.meters[0].shunt
    assert mended is not None
    assert abs(mended / (mended + 100) / 1e-3 - 1) < 0.05


def test_ngspice_takes_part(whole: Amplifier) -> None:
    found = analyse(whole, band="10 m", engine="both").verdict.box.supply
    assert found is not None
    assert found.worst_relative is not None
    assert 0 < found.worst_relative < 5e-3


def test_a_driven_grid_works_against_its_swamping_resistor(whole: Amplifier) -> None:
    changed = whole.replace(
        {
            "tube.connection": "grounded cathode",
            "tube.grid_perveance": None,
            "stage.drive_voltage_peak": None,
            "stage.grid_current_rating": None,
            "stage.grid_dissipation_rating": None,
            "input.swamping_resistance": "50 ohm",
            "input.topology": "none",
            "input.coil_q": None,
            "input.input_capacitance": None,
        }
    )
    result = analyse(changed, band="10 m", engine="two-port")
    (row,) = result.verdict.box.input or ()
    assert result.solved.tube_state is not None
    drive = float(np.asarray(result.solved.tube_state.tube.drive_voltage_peak).flat[0])
    assert row.drive_watt == pytest.approx(drive**2 / 100, rel=1e-9)
    assert row.swr == pytest.approx(1.0, abs=1e-9)
    assert row.loaded_q is None
    assert {f.code for f in result.verdict.findings}.isdisjoint({"heater_choke"})


def test_without_a_tube_the_supply_is_still_solved_and_the_drive_is_not(plain_text: str) -> None:
    text = plain_text + (
        '\n[supply]\nmains_frequency = "60 Hz"\nsecondary_voltage = "2 kV"\nsecondary_resistance = "40 ohm"\n'
        'rectifier = "bridge"\ncapacitance = "30 uF"\n\n[input]\ntopology = "none"\n'
    )
    verdict = analyse(loads(text), engine="two-port", samples=1).verdict
    box = verdict.box
    assert box.input is None
    assert "input_without_tube" in {note.code for note in verdict.notes}
    assert box.supply is not None
    assert box.supply.idle_volt is None
    assert box.supply.discharge_second is None
    assert box.supply.inrush_joule is None
    assert box.supply.inrush_peak_ampere == box.supply.inrush_peak_without_ampere
    assert box.supply.no_load_volt == pytest.approx(2000 * math.sqrt(2), rel=1e-9)
    assert box.supply.arc.peak_ampere is None


@pytest.mark.parametrize(("diodes", "state"), [(None, "over"), (True, "not_rated")])
def test_a_meter_in_an_arc_that_nothing_limits(whole: Amplifier, diodes: bool | None, state: str) -> None:
    """Ohm: volts over no resistance are more amperes than any movement stands, and more than diodes are known to."""
    gone = {"supply.glitch_resistor": None, "supply.glitch_pulse_rating": None, "meters[0].diodes": diodes}
    verdict = analyse(whole.replace(gone), band="10 m", engine="two-port").verdict
    assert verdict.box.supply is not None
    assert verdict.box.supply.arc.peak_ampere is None
    told = {f.part: f for f in verdict.findings if f.code == "meter_protection"}
    assert set(told) == {"plate_current_meter", "grid_current_meter"}
    plate = told["plate_current_meter"]
    assert (plate.state, plate.value, plate.used_fraction) == (state, None, None)
    assert plate.message
