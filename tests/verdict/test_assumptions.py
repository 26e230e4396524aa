"""What the file leaves unsaid about leads and small coils is listed."""

import pytest
from samples import edited, judged

LEADS = [
    ("network", "plate_lead_inductance", "[network]"),
    ("blocking_capacitor", "lead_inductance", "[network.blocking_capacitor]"),
    ("tune_capacitor", "lead_inductance", "[network.tune_capacitor]"),
    ("load_capacitor", "lead_inductance", "[network.load_capacitor]"),
]


def listed(text, folder):
    return {(a.part, a.key): a for a in judged(text, folder).verdict.assumptions}


@pytest.mark.parametrize(("part", "key", "table"), LEADS)
def test_leads_are_listed_until_they_are_given(plain, tmp_path, part, key, table):
    before = listed(plain.read_text(), tmp_path)
    assert "no inductance" in before[part, key].assumed
    assert f'{key} = "..." under {table}' == before[part, key].add
    assert plain.read_text().splitlines()[before[part, key].line - 1] == table
    # Zero, written down, is no assumption.
    after = listed(edited(plain, (f"{table}\n", f'{table}\n{key} = "0 nH"\n')), tmp_path)
    assert (part, key) not in after
    assert len(after) == len(before) - 1


def test_coupling_is_listed_for_a_pi_l_alone(plain, tmp_path):
    assert ("output_coil", "coupling") not in listed(plain.read_text(), tmp_path)
    pi_l = [
        ('topology = "pi"', 'topology = "pi-L"\n[network.output_coil]\nq = 250'),
        ('coil = "11.2 uH"', 'coil = "12.5 uH"\noutput_coil = "4.6 uH"'),
        ('coil = "5.8 uH"', 'coil = "6.4 uH"\noutput_coil = "2.3 uH"'),
        ('coil = "2.9 uH"', 'coil = "3.2 uH"\noutput_coil = "1.15 uH"'),
    ]
    assert "does not couple" in listed(edited(plain, *pi_l), tmp_path)["output_coil", "coupling"].assumed
    given = edited(plain, *pi_l, ("q = 250", "q = 250\ncoupling = 0"))
    assert ("output_coil", "coupling") not in listed(given, tmp_path)


def test_what_a_winding_stands_for_is_named(plain, tmp_path):
    text = edited(
        plain,
        ('inductance = "60 nH"', 'winding = { turns = 4, diameter = "12 mm", length = "15 mm" }'),
        ('self_capacitance = "3 pF"', 'winding = { turns = 110, diameter = "25 mm", length = "100 mm" }'),
    )
    found = listed(text, tmp_path)
    assert "Wheeler" in found["suppressor", "inductance"].assumed
    assert "Medhurst" in found["plate_choke", "self_capacitance"].assumed
    nothing = listed(edited(plain, ('self_capacitance = "3 pF"\n', "")), tmp_path)
    assert nothing["plate_choke", "self_capacitance"].assumed == "no self-capacitance"
