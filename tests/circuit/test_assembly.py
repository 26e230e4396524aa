"""From the description to numbers. Derived: by reading the file."""

import numpy as np
import pytest
from samples import amplifier_from, edited

from netsim.circuit.assembly import assemble
from netsim.circuit.stage import pulse_spectrum
from netsim.description.reader import read
from netsim.errors import DescriptionError


def test_every_value_of_the_file_arrives(plain):
    assembly = assemble(read(plain))
    parts, stage = assembly.parts, assembly.stage
    assert list(assembly.band_index) == [0, 0, 1, 1, 2, 2]
    assert list(parts.frequency) == [3.5e6, 3.8e6, 7.05e6, 7.15e6, 14.05e6, 14.3e6]
    first = {
        "antenna_resistance": 50,
        "output_capacitance": 12e-12,
        "suppressor_inductance": 60e-9,
        "suppressor_resistance": 47,
        "plate_choke": 220e-6,
        "plate_choke_q": 80,
        "plate_choke_capacitance": 3e-12,
        "blocking_capacitance": 1e-9,
        "blocking_q": 2000,
        "tune_minimum": 15e-12,
        "tune_maximum": 250e-12,
        "tune_stray": 8e-12,
        "tune_q": 2000,
        "tune_padding": 50e-12,
        "tune_padding_q": 1500,
        "load_minimum": 30e-12,
        "load_maximum": 1500e-12,
        "load_stray": 10e-12,
        "load_q": 1500,
        "load_padding": 300e-12,
        "load_padding_q": 1500,
        "coil": 11.2e-6,
        "coil_q": 300,
        "output_choke": 2.5e-3,
        "output_choke_q": 50,
    }
    row = parts.take(np.array([0]))
    assert {name: getattr(row, name).item() for name in first} == pytest.approx(first, rel=1e-12)
    assert list(parts.tune_padding) == pytest.approx([50e-12, 50e-12, 0, 0, 0, 0])
    assert list(parts.coil) == pytest.approx([11.2e-6, 11.2e-6, 5.8e-6, 5.8e-6, 2.9e-6, 2.9e-6])
    assert set(stage.supply_voltage) == {2900}
    assert set(stage.plate_voltage) == {2600}
    k = pulse_spectrum(np.deg2rad(195.0))[0]
    assert stage.plate_load == pytest.approx(np.full(6, (2600 - 380) / (k * 0.52)))
    assert np.isnan(assembly.tune_given).all()


LEADS = [
    ("[network]", '[network]\nplate_lead_inductance = "70 nH"'),
    ("[network.blocking_capacitor]", '[network.blocking_capacitor]\nlead_inductance = "25 nH"'),
    ("[network.tune_capacitor]", '[network.tune_capacitor]\nlead_inductance = "30 nH"'),
    ("[network.load_capacitor]", '[network.load_capacitor]\nlead_inductance = "40 nH"'),
]
PI_L = [
    ('topology = "pi"', 'topology = "pi-L"\n[network.output_coil]\ncoupling = -0.05'),
    ('coil = "11.2 uH"', 'coil = "12.5 uH"\noutput_coil = "4.6 uH"'),
    ('coil = "5.8 uH"', 'coil = "6.4 uH"\noutput_coil = "2.3 uH"'),
    ('coil = "2.9 uH"', 'coil = "3.2 uH"\noutput_coil = "1.15 uH"'),
]


def test_leads_and_coupling_arrive(plain, tmp_path):
    parts = assemble(amplifier_from(edited(plain, *PI_L, *LEADS), tmp_path)).parts
    wanted = {
        "plate_lead": 70e-9,
        "blocking_lead": 25e-9,
        "tune_lead": 30e-9,
        "load_lead": 40e-9,
        "coupling": -0.05,
    }
    assert {name: getattr(parts, name).item() for name in wanted} == pytest.approx(wanted)
    bare = assemble(read(plain)).parts
    assert not any(np.any(getattr(bare, name)) for name in wanted)
    assert not bare.has_plate_lead


def test_small_coils_by_their_turns(plain, tmp_path):
    # Derived: a = 0.25 inch, l = 0.5 inch, n = 4: 1 / 7.25 uH. Medhurst at l/D = 4: between .61 and .81 pF/cm.
    text = edited(
        plain,
        (
            'inductance = "60 nH"\nresistance = "47 ohm"',
            'resistance = "47 ohm"\nwinding = { turns = 4, diameter = "12.7 mm", length = "12.7 mm" }',
        ),
        (
            'self_capacitance = "3 pF"',
            'winding = { turns = 110, diameter = "25 mm", length = "100 mm", conductor_diameter = "0.6 mm" }',
        ),
    )
    parts = assemble(amplifier_from(text, tmp_path)).parts
    assert parts.suppressor_inductance == pytest.approx(1e-6 / 7.25)
    assert 2.5 * 0.61e-12 < parts.plate_choke_capacitance < 2.5 * 0.81e-12
    measured = text.replace("winding = { turns = 110", 'self_capacitance = "3 pF"\nwinding = { turns = 110')
    assert assemble(amplifier_from(measured, tmp_path)).parts.plate_choke_capacitance == pytest.approx(3e-12)


def test_absent_parts_vanish(plain, tmp_path):
    drop = ("suppressor", "plate_choke", "blocking_capacitor", "output_choke")
    kept, skipping = [], False
    for line in plain.read_text().splitlines():
        if line.startswith("["):
            skipping = line in {f"[network.{name}]" for name in drop}
        if not skipping:
            kept.append(line)
    parts = assemble(amplifier_from("\n".join(kept), tmp_path)).parts
    assert not parts.has_suppressor
    assert not parts.has_blocking_capacitor
    assert np.isinf([parts.plate_choke, parts.output_choke]).all()
    assert parts.plate_choke_capacitance == 0


def test_some_bands_only(plain):
    assembly = assemble(read(plain), bands=[2, 0])
    assert list(assembly.band_index) == [2, 2, 0, 0]
    assert list(assembly.parts.frequency) == [14.05e6, 14.3e6, 3.5e6, 3.8e6]


def test_given_settings(plain, tmp_path):
    text = edited(plain, ('coil = "5.8 uH"', 'coil = "5.8 uH"\ntune = "70 pF"\nload = "500 pF"'))
    assembly = assemble(amplifier_from(text, tmp_path))
    assert list(assembly.tune_given) == pytest.approx([np.nan] * 2 + [70e-12] * 2 + [np.nan] * 2, nan_ok=True)
    assert list(assembly.load_given) == pytest.approx(
        [np.nan] * 2 + [500e-12] * 2 + [np.nan] * 2, nan_ok=True
    )


def test_without_a_no_load_voltage_the_supply_is_the_plate_voltage(plain, tmp_path):
    text = edited(plain, ('no_load_plate_voltage = "2.9 kV"\n', ""))
    assert assemble(amplifier_from(text, tmp_path)).stage.supply_voltage[0] == 2600


@pytest.mark.parametrize("drive", [0.0, 85.0])
def test_plate_load_that_needs_a_swing_below_zero_names_the_largest(plain, tmp_path, drive):
    largest = (2600 + drive) / (0.52 * pulse_spectrum(np.deg2rad(195.0))[0])
    changes = [('drive_voltage_peak = "0 V"', f'drive_voltage_peak = "{drive} V"')]
    fits = edited(
        plain, *changes, ('minimum_plate_voltage = "380 V"', f'plate_load = "{largest * 0.9999} ohm"')
    )
    assert assemble(amplifier_from(fits, tmp_path)).stage.plate_load == pytest.approx(largest, rel=2e-4)
    exceeds = edited(
        plain, *changes, ('minimum_plate_voltage = "380 V"', f'plate_load = "{largest * 1.01} ohm"')
    )
    with pytest.raises(DescriptionError) as caught:
        assemble(amplifier_from(exceeds, tmp_path))
    (problem,) = caught.value.problems
    assert f"{largest:.4g} ohm" in problem.message
    assert (problem.key, problem.line) == ("stage.plate_load", 9)
