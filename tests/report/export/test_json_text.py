"""The contract of the JSON result: every key, its type, and no number that JSON cannot hold."""

import json
from dataclasses import replace

import pytest

from netsim.errors import Problem
from netsim.report.export import json_text
from netsim.verdict.result import PART_NAMES

RESULT = {"schema_version", "title", "topology", "stage", "bands", "findings", "counts", "provenance"}
STAGE = {
    "plate_load_ohm",
    "fundamental_current_ampere_peak",
    "plate_power_watt",
    "dc_input_watt",
    "current_spectrum",
}
POINT = {
    "frequency_hertz",
    "tuned",
    "plate_impedance_ohm",
    "tune_farad",
    "load_farad",
    "tune_needed_farad",
    "load_needed_farad",
    "coil_henry",
    "output_coil_henry",
    "loaded_q",
    "stored_energy_q",
    "efficiency",
    "output_watt",
    "plate_dissipation_watt",
    "harmonics",
    "parts",
    "agreement",
}
PART = {
    "voltage_peak_volt",
    "rf_voltage_peak_volt",
    "unloaded_voltage_peak_volt",
    "current_rms_ampere",
    "loss_watt",
}
FINDING = {
    "used_low",
    "used_high",
    "share_over",
    "settled_by",
    "code",
    "state",
    "case",
    "band",
    "frequency_hertz",
    "part",
    "quantity",
    "value",
    "limit",
    "unit",
    "used_fraction",
    "message",
    "why",
    "fix",
    "line",
}
PROVENANCE = {"netsim", "python", "pyspice", "ngspice", "scikit_rf", "input_sha256"}


def refuse(name):
    raise ValueError(name)


def loaded(result):
    """Read back, strictly."""
    return json.loads(json_text.dump(result.verdict), parse_constant=refuse)


def test_every_key_of_the_contract_is_there(solved):
    verdict = loaded(solved)
    assert verdict.keys() >= RESULT
    assert verdict["schema_version"] == 1
    assert verdict["stage"].keys() >= STAGE
    assert len(verdict["stage"]["current_spectrum"]) == 10
    assert verdict["provenance"].keys() >= PROVENANCE
    assert set(verdict["counts"]) == {"over", "close", "not_rated", "pass", "unsure"}
    assert verdict["known"].keys() == {"samples", "seed", "inputs", "measure"}
    for band in verdict["bands"]:
        assert band.keys() >= {"name", "points", "losses", "losses_at_hertz"}
        for point in band["points"]:
            assert point.keys() >= POINT
            assert len(point["plate_impedance_ohm"]) == 2
            assert [h["order"] for h in point["harmonics"]] == list(range(2, 11))
            assert all(h.keys() >= {"order", "attenuation_db", "level_dbc"} for h in point["harmonics"])
            assert set(point["parts"]) == set(PART_NAMES)
            assert all(part is None or part.keys() >= PART for part in point["parts"].values())
            assert point["agreement"].keys() >= {"worst_relative"}
    for finding in verdict["findings"]:
        assert finding.keys() >= FINDING


def test_counts_are_those_of_the_findings(solved):
    verdict = loaded(solved)
    for state, count in verdict["counts"].items():
        of_state = [f["state"] == state for f in verdict["findings"]]
        unsure = [0.025 < (f["share_over"] or 0) < 0.975 for f in verdict["findings"]]
        assert sum(unsure if state == "unsure" else of_state) == count


def test_every_number_survives(solved):
    point, read = solved.verdict.bands[0].points[0], loaded(solved)["bands"][0]["points"][0]
    assert read["tune_farad"] == point.tune_farad
    assert tuple(read["plate_impedance_ohm"]) == point.plate_impedance_ohm
    assert read["harmonics"][0]["level_dbc"] == point.harmonics[0].level_dbc


def test_it_is_one_line_of_ascii_that_ends(solved):
    text = json_text.dump(solved.verdict)
    assert text.isascii()
    assert text.endswith("}\n")
    assert text.count("\n") == 1


@pytest.mark.parametrize("number", [float("nan"), float("inf"), -float("inf")])
def test_what_json_cannot_say_is_refused_not_written(solved_plain, number):
    verdict = solved_plain.verdict
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text.dump(replace(verdict, stage=replace(verdict.stage, plate_load_ohm=number)))


def test_problems_have_the_same_version_and_all_keys():
    told = json.loads(
        json_text.dump_problems([Problem("a_code", "words", "file", 3, 4, "a.b"), Problem("b", "c")])
    )
    assert told["schema_version"] == 1
    assert told["errors"][0] == {
        "code": "a_code",
        "message": "words",
        "file": "file",
        "line": 3,
        "column": 4,
        "key": "a.b",
    }
    assert told["errors"][1]["line"] is None
