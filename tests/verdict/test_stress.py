"""What parts carry. Derived: by hand on one or two branches at a time."""

import numpy as np
import pytest
from samples import judged, network, one_stage

from netsim.circuit.stage import OperatingConditions, PlateCurrent
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch
from netsim.verdict.stress import Unloaded, stored_energy_q, stresses

ORDERS = np.arange(1.0, 11.0)
SETTING = np.array([1.14e-10]), np.array([5.6e-10])


def stage(spectrum, direct=0.5, supply=3000.0) -> OperatingConditions:
    whole = np.zeros(10)
    whole[: len(spectrum)] = spectrum
    return one_stage(2800.0, supply, direct, 0.0, 2000.0, whole)


def stress_of(name, spectrum, scale=1.0, dipped=None, **values):
    parts = network(coil=5.06e-6, **values)
    ladder = build_ladder(parts, *SETTING)
    off = build_ladder(parts, SETTING[0] if dipped is None else dipped, SETTING[1], antenna_connected=False)
    loaded, unloaded = batch.solve(ladder, ORDERS), batch.solve(off, np.ones(1))
    one = stage(spectrum)
    current = PlateCurrent(
        scale * one.direct_current, (scale * one.current_peak).astype(complex), np.zeros(1)
    )
    swing = Unloaded.swinging(unloaded, one.supply_voltage, one.fundamental_current_peak, parts.plate_load)
    found = stresses(parts, one.supply_voltage, current, ladder, loaded, swing)
    return found[name], loaded


def test_pure_sine():
    stress, loaded = stress_of("tune_capacitor", [1.6], blocking_capacitance=1e-9)
    volts, amperes = (
        abs(loaded.node_voltage["tank"][0, 0]) * 0.8,
        abs(loaded.branch_current["tune_capacitor"][0, 0]) * 0.8,
    )
    assert stress.rf_voltage_peak == pytest.approx([volts], rel=1e-4)
    assert stress.voltage_peak == pytest.approx([volts], rel=1e-4)
    assert stress.current_rms == pytest.approx([amperes / np.sqrt(2)])
    assert stress.reactive_power == pytest.approx([volts * amperes / 2], rel=1e-9)
    assert stress.loss == [0.0]


def test_orders_add_with_their_phases_in_voltage_and_without_in_current():
    # Sines of 1 and 3 give 1.0 + 0.5 cos at most; the other sign flattens the top.
    one, loaded = stress_of("load_capacitor", [1.6, 0, 0.9])
    other, _ = stress_of("load_capacitor", [1.6, 0, -0.9])
    volts = np.array([loaded.node_voltage["output"][0, k] for k in (0, 2)]) * np.array([0.8, 0.45])
    angle = np.linspace(0, 2 * np.pi, 20001)
    wave = np.real(volts[0] * np.exp(1j * angle) + volts[1] * np.exp(3j * angle))
    assert one.rf_voltage_peak == pytest.approx([np.abs(wave).max()], rel=1e-4)
    amperes = np.array([loaded.branch_current["load_capacitor"][0, k] for k in (0, 2)]) * np.array(
        [0.8, 0.45]
    )
    assert one.current_rms == pytest.approx([np.sqrt((np.abs(amperes) ** 2).sum() / 2)])
    assert other.current_rms == pytest.approx(one.current_rms)


def test_the_plate_is_lowest_when_its_current_is_highest():
    # The peak at the choke is supply plus swing; with a strong even order the sign of the drive decides.
    stress, loaded = stress_of("plate_choke", [1.6, 1.2], plate_choke=2e-4)
    volts = loaded.plate_impedance[0, :2] * -np.array([0.8, 0.6])
    angle = np.linspace(0, 2 * np.pi, 20001)
    wave = np.real(volts[0] * np.exp(1j * angle) + volts[1] * np.exp(2j * angle))
    assert stress.voltage_peak == pytest.approx([(3000 + wave).max()], rel=1e-4)
    assert wave[0] < 0
    assert abs(wave.max() + wave.min()) > 1e-3 * abs(wave).max()  # lopsided, so a wrong sign would show


def test_choke_carries_the_plate_current_and_loses_rf_only():
    values = {"plate_choke": 2e-4, "plate_choke_q": 50.0}
    stress, loaded = stress_of("plate_choke", [1.6], scale=0.5, **values)
    rf = abs(loaded.branch_current["plate_choke"][0, 0]) * 0.4
    assert stress.current_rms == pytest.approx([np.sqrt(0.25**2 + rf**2 / 2)])
    resistance = 2 * np.pi * 7e6 * 2e-4 / 50
    assert stress.loss == pytest.approx([rf**2 * resistance / 2])


def test_suppressor_current_is_the_lead_and_its_loss_the_resistor():
    values = {"suppressor_inductance": 1e-7, "suppressor_resistance": 30.0}
    stress, loaded = stress_of("suppressor", [1.6], **values)
    lead = abs(loaded.branch_current["suppressor"][0, 0]) * 0.8
    assert stress.current_rms == pytest.approx([np.sqrt(0.5**2 + lead**2 / 2)])
    reactance = 2 * np.pi * 7e6 * 1e-7
    in_resistor = lead * reactance / np.hypot(30.0, reactance)
    assert stress.loss == pytest.approx([in_resistor**2 * 30.0 / 2])
    assert stress.rf_voltage_peak == pytest.approx([in_resistor * 30.0], rel=1e-4)


def test_loss_of_a_coil_grows_with_the_root_of_the_order():
    only_third, loaded = stress_of("coil", [0, 0, 1.0], coil_q=100.0)
    current = abs(loaded.branch_current["coil"][0, 2]) * 0.5
    resistance = 2 * np.pi * 7e6 * 5.06e-6 / 100 * np.sqrt(3)
    assert only_third.loss == pytest.approx([current**2 * resistance / 2])


def test_supply_stands_behind_the_lead_without_a_blocking_capacitor():
    for name in ("tune_capacitor", "load_capacitor"):
        open_lead, _ = stress_of(name, [1.6])
        assert open_lead.voltage_peak == pytest.approx(open_lead.rf_voltage_peak + 3000, rel=1e-4)
        blocked, _ = stress_of(name, [1.6], blocking_capacitance=1e-8)
        assert (blocked.voltage_peak == blocked.rf_voltage_peak).all()
    coil, _ = stress_of("coil", [1.6])
    assert (coil.voltage_peak == coil.rf_voltage_peak).all()
    blocking, _ = stress_of("blocking_capacitor", [1.6], blocking_capacitance=1e-8)
    assert blocking.voltage_peak == pytest.approx(blocking.rf_voltage_peak + 3000, rel=1e-4)


XL, XC = 2 * np.pi * 7e6 * 5.06e-6, 1 / (2 * np.pi * 7e6 * 5.6e-10)


def test_unloaded_swing_is_the_supply():
    # Lossless parallel resonance of the tune capacitor with coil and load capacitor in series: V XC / (XL - XC).
    dipped = np.array([1 / (2 * np.pi * 7e6 * (XL - XC))])
    # Without parts in the lead the tune capacitor has the plate's voltage; the scale of the loaded case plays no part.
    for scale in (1.0, 0.3):
        stress, _ = stress_of("tune_capacitor", [1.6], scale=scale, dipped=dipped)
        assert stress.unloaded_voltage_peak == pytest.approx([6000.0])
    load, _ = stress_of("load_capacitor", [1.6], blocking_capacitance=1e3, dipped=dipped)
    assert load.unloaded_voltage_peak == pytest.approx([3000 * XC / (XL - XC)], rel=1e-6)


def test_unloaded_swing_is_no_more_than_the_current_makes():
    # The same off resonance: 0.8 A peak of fundamental current into what is left of two susceptances. 3000 V are DC.
    for tune in (20e-12, 200e-12):
        left = 2 * np.pi * 7e6 * tune - 1 / (XL - XC)
        for scale in (1.0, 0.3):
            stress, _ = stress_of("tune_capacitor", [1.6], scale=scale, dipped=np.array([tune]))
            assert stress.rf_voltage_peak > 0
            assert stress.unloaded_voltage_peak == pytest.approx([3000 + 0.8 / abs(left)], rel=1e-9)


def test_peak_of_a_high_order_is_met():
    # Derived: a peak may fall between two of 512 samples; at the tenth order that costs 1 - cos(pi 10/512) = 2e-3.
    stress, loaded = stress_of("load_capacitor", [0] * 9 + [1.0])
    volts = abs(loaded.node_voltage["output"][0, 9]) * 0.5
    assert stress.rf_voltage_peak == pytest.approx([volts], rel=2e-3)


def test_stored_energy_of_one_coil_and_one_capacitor():
    # 50 ohm behind a coil of 100 ohm: Q 2 counting the coil alone is 100 / 50 / 2 x 2 halves.
    parts = network(coil=100 / (2 * np.pi * 7e6), load_minimum=1e-15)
    nothing = np.array([0.0])
    ladder = build_ladder(parts, nothing, nothing)
    # w L |I|^2 / 4 over |I|^2 50 / 2 = 100 / 4 / 25 = 1.
    assert stored_energy_q(ladder, batch.solve(ladder, np.ones(1))) == pytest.approx([1.0])
    ladder = build_ladder(parts, np.array([1 / (2 * np.pi * 7e6 * 125)]), nothing)
    # 50 + j100 has 125 ohm of parallel reactance 250 / 2: resonant, and the capacitor stores what the coil does.
    assert stored_energy_q(ladder, batch.solve(ladder, np.ones(1))) == pytest.approx([2.0])


def test_absent_parts_have_no_stress(plain, tmp_path):
    walked = judged(plain.read_text(), tmp_path)
    for band in walked.verdict.bands:
        for point in band.points:
            assert set(point.parts) == {
                "suppressor", "plate_choke", "blocking_capacitor", "tune_capacitor", "tune_padding", "coil",
                "load_capacitor", "load_padding", "output_coil", "output_choke", "band_switch",
            }  # fmt: skip
            assert point.parts["output_coil"] is None
            assert (point.parts["tune_padding"] is None) == (band.name != "80 m")
            assert (point.parts["load_padding"] is None) == (band.name != "80 m")
            switch, coil = point.parts["band_switch"], point.parts["coil"]
            assert switch.loss_watt == 0
            assert switch.current_rms_ampere == coil.current_rms_ampere
            assert switch.voltage_peak_volt == coil.voltage_peak_volt
