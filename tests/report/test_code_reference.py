"""Every code that can be printed has its explanation."""

import ast
import re
from pathlib import Path

import pytest

import netsim
from netsim.report.code_reference import code_reference

PACKAGE = Path(netsim.__file__).parent
# Where the code stands in calls that make a finding or a problem: position, or keyword ``code``.
MAKERS = {
    "Problem": 0,
    "Breach": 1,
    "_fail": 0,
    "fail": 0,
    "_refuse": 0,
    "refuse": 0,
    "Rating": 0,
    "Check": 0,
    "PydanticCustomError": 0,
    "FaultModel": 0,
    "Note": 0,
    "_note": 1,
}


def codes() -> set[str]:
    """Collect every literal code from the source of the package."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name not in MAKERS:
                continue
            arguments = node.args[MAKERS[name] : MAKERS[name] + 1]
            arguments += [word.value for word in node.keywords if word.arg == "code"]
            for argument in arguments:
                arms = [argument.body, argument.orelse] if isinstance(argument, ast.IfExp) else [argument]
                found |= {arm.value for arm in arms if isinstance(arm, ast.Constant)}
    return {code for code in found if isinstance(code, str) and re.fullmatch(r"[a-z]+(_[a-z]+)*", code)}


def test_the_search_finds_codes_of_every_layer():
    assert codes() >= {
        "part_voltage",
        "choke_resonance",
        "output_choke",
        "harmonic_level",
        "comma_in_number",
        "duplicate_key",
        "engine_missing",
        "unknown_band",
        "output_folder_missing",
        "internal_error",
    }


def test_every_code_has_an_explanation():
    lacking = sorted(codes() - code_reference().keys())
    assert not lacking, "write what they mean and what to do in netsim/report/code_reference.json"


def test_no_explanation_is_of_a_code_that_is_gone():
    assert not sorted(code_reference().keys() - codes())


def test_what_demonstrations_find_is_explained(solved):
    for finding in solved.verdict.findings:
        assert code_reference()[finding.code].kind == "finding"


@pytest.mark.parametrize("code", code_reference())
def test_an_explanation_is_at_length(code):
    explanation = code_reference()[code]
    assert explanation.kind in ("finding", "error", "note")
    assert explanation.heading
    assert not explanation.heading.endswith(".")
    assert explanation.remedies
    for text in (*explanation.meaning, *explanation.remedies):
        assert text.endswith((".", "?")), text
        assert not re.search(r"\bsafe", text)
    least = 200 if explanation.kind == "finding" else 60
    assert sum(map(len, explanation.meaning)) >= least
