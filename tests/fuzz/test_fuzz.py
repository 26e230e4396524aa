"""Files changed at random under every command: whatever they say, the command answers within its contract.

``python -m tests.fuzz 1000`` tries more of them, and prints how many ended how.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from fuzz import cases, outcome
from fuzz.cases import case

COUNTS = {
    "check": 4,
    "fix": 1,
    "taps": 1,
    "design": 1,
    "compare": 1,
    "bench": 1,
    "fit": 1,
    "report": 1,
    "export": 2,
}
ADDRESS_SPACE = 4_000_000_000
NOTHING = {"band": None, "part": "p", "case": "matched"}
WORST_VERDICT = {
    "counts": {"over": 1, "close": 0, "not_rated": 0, "pass": 1},
    "findings": [
        {**NOTHING, "code": "part_power", "state": "over", "value": 3.0, "limit": 4.0, "used_fraction": 0.7},
        {**NOTHING, "code": "c", "state": "pass", "value": None, "limit": None, "used_fraction": 2.0},
    ],
    "bands": [{"name": "x", "points": []}, {"name": "y", "points": [{"efficiency": 1.1}]}],
}
TOLD_OF_IT = (
    *("status 0 with 1 over", "used 0.7 is over", "3.0 of 4.0 is used 0.7", "passed without a value"),
    *("used 2.0 is pass", "has no points", "delivers 1.1"),
)


@pytest.mark.parametrize(
    ("command", "seed"), [(name, seed) for name, count in COUNTS.items() for seed in range(count)]
)
def test_any_file_is_answered(command, seed, tmp_path):
    tried = case(seed, command)
    assert outcome.faults(tried, outcome.run(tried, tmp_path)) == []


@pytest.mark.parametrize(("command", "seed"), [("check", 101), ("fit", 102)])
def test_a_process_of_its_own_with_ngspice(command, seed, tmp_path):
    """Memory and time have bounds of the system's; a warning of any library would stand on stderr."""
    tried = case(seed, command, both=True)
    outcome.put_down(tried, tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "netsim", *tried.arguments],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        timeout=300,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_SPACE, ADDRESS_SPACE)),
    )
    made = tmp_path / cases.MADE
    left = outcome.Outcome(
        done.returncode,
        done.stdout.decode(),
        done.stderr.decode(),
        (),
        0,
        made.read_text(encoding="utf-8") if made.exists() else None,
        None,
    )
    assert outcome.faults(tried, left) == []


def test_both_ends_of_the_fuzz_are_reached():
    """Of what is tried some is read and some is not; otherwise it would try nothing."""
    from netsim.description.reader import loads
    from netsim.errors import DescriptionError

    read = 0
    for seed in range(40):
        try:
            loads(case(seed, "check").files[cases.FILE].decode("utf-8", "replace"))
        except DescriptionError:
            continue
        read += 1
    assert 10 < read < 38


def test_what_is_wrong_is_seen():
    tried = case(0, "check")
    json = cases.Case(0, "check", tried.files, ("check", cases.FILE, "--json"))

    def seen(told: str, asked: cases.Case = json, **left) -> bool:
        fine = {
            "status": 2,
            "out": '{"schema_version": 1, "errors": [{}]}',
            "err": "Next: x",
            "warned": (),
            "grown": 0,
        }
        found = outcome.faults(asked, outcome.Outcome(**{**fine, "made": None, "page": None, **left}))
        return any(told in fault for fault in found)

    assert not seen("")
    assert seen("exit status 70", status=70)
    assert seen("stderr", err="Next: x\nTraceback (most recent call last)")
    assert seen("stderr", err="Next: x\nRuntimeWarning: overflow")
    assert seen("warned", warned=("overflow",))
    assert seen("took", grown=10**9)
    assert seen("says nothing", err="")
    assert seen("no JSON", out="{")
    assert seen("no JSON", out='{"a": NaN}')
    assert seen("without errors", out='{"schema_version": 1, "errors": []}')
    assert seen("with errors", status=0)
    assert seen("not a number", cases.Case(0, "taps", {}, ("taps", "x")), status=0, out="a nan b")
    assert seen("a file was not written", cases.Case(0, "design", {}, ("design", "x")), status=0, out="")
    found = list(outcome.faults_of_verdict(WORST_VERDICT, 0))
    for told in TOLD_OF_IT:
        assert any(told in fault for fault in found), told
