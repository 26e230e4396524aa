"""The schema of the result: kept in step with the dataclasses, satisfied by real results."""

import copy
import json

import jsonschema
import pytest

from netsim.report.export import json_text
from netsim.report.export.result_schema import SCHEMA_PATH, build_schema, render_schema


def test_the_kept_file_is_the_generated_one():
    assert SCHEMA_PATH.read_text(encoding="utf-8") == render_schema(), (
        "run python -m netsim.report.export.result_schema"
    )


def test_it_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(build_schema())


def validator():
    return jsonschema.Draft202012Validator(json.loads(SCHEMA_PATH.read_text(encoding="utf-8")))


def test_real_results_satisfy_it(solved, solved_plain, unchecked_plain):
    for result in (solved, solved_plain, unchecked_plain):
        validator().validate(json.loads(json_text.dump(result.verdict)))


@pytest.mark.parametrize(
    "path",
    [
        ("stage", "plate_load_ohm"),
        ("counts", "over"),
        ("bands", 0, "points", 0, "tuned"),
        ("bands", 0, "points", 0, "parts", "coil"),
        ("bands", 0, "points", 0, "agreement", "worst_relative"),
        ("findings", 0, "used_fraction"),
        ("provenance", "input_sha256"),
    ],
)
def test_a_key_that_is_missing_or_of_the_wrong_type_breaks_it(solved_plain, path):
    whole = json.loads(json_text.dump(solved_plain.verdict))
    for change in (lambda table, key: table.pop(key), lambda table, key: table.update({key: ["wrong"]})):
        verdict = copy.deepcopy(whole)
        table = verdict
        for step in path[:-1]:
            table = table[step]
        change(table, path[-1])
        with pytest.raises(jsonschema.ValidationError):
            validator().validate(verdict)


def test_more_keys_may_come(solved_plain):
    verdict = json.loads(json_text.dump(solved_plain.verdict))
    verdict["later"] = verdict["stage"]["later"] = 1
    validator().validate(verdict)
