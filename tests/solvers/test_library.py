"""Where the engine is looked for, and what is said when it is not there."""

import os
import subprocess
import sys

import pytest
from numpy.linalg import _umath_linalg

from netsim.errors import UNSOLVED_STATUS, EngineMissingError
from netsim.solvers import library


@pytest.fixture
def nothing_set(monkeypatch):
    monkeypatch.delenv(library.VARIABLE, raising=False)
    monkeypatch.setattr(library.ctypes.util, "find_library", lambda name: None)
    return monkeypatch


def test_order_of_the_search(nothing_set):
    # Common practice: the run-time package has only the numbered name, the -dev package the plain one.
    nothing_set.setattr(sys, "platform", "linux")
    assert list(library.candidates()) == ["libngspice.so.0", "libngspice.so"]
    nothing_set.setattr(sys, "platform", "darwin")
    assert next(library.candidates()) == "libngspice.dylib"
    assert "/opt/homebrew/lib/libngspice.dylib" in [*library.candidates()]
    nothing_set.setattr(sys, "platform", "win32")
    assert next(library.candidates()) == "ngspice.dll"
    nothing_set.setattr(library.ctypes.util, "find_library", lambda name: f"lib{name}-found")
    assert [*library.candidates()][-1] == "libngspice-found"


def test_variable_goes_before_everything(nothing_set):
    nothing_set.setenv(library.VARIABLE, "/somewhere/libngspice.so.0")
    assert list(library.candidates()) == ["/somewhere/libngspice.so.0"]


@pytest.mark.parametrize(
    ("system", "install"),
    [("linux", "apt-get install libngspice0"), ("darwin", "brew"), ("win32", "ngspice.dll")],
)
def test_message_names_what_was_tried_and_how_to_install(nothing_set, system, install):
    nothing_set.setattr(sys, "platform", system)
    places = ["/no/such/place.so", "libnosuch.so.7"]
    nothing_set.setattr(library, "_NAMES", {"linux": places, system: places})
    with pytest.raises(EngineMissingError) as caught:
        library.find_library()
    (problem,) = caught.value.problems
    assert problem.code == "engine_missing"
    assert caught.value.status == UNSOLVED_STATUS == 3
    for piece in ("/no/such/place.so", "libnosuch.so.7", install, library.VARIABLE, "--engine two-port"):
        assert piece in problem.message


def test_first_name_that_loads_is_taken(nothing_set):
    nothing_set.setattr(library, "_NAMES", {sys.platform: ["/no/such/place.so", "libngspice.so.0", "other"]})
    assert library.find_library() == "libngspice.so.0"


def test_the_slow_search_comes_only_when_the_names_have_failed(nothing_set):
    asked = []
    nothing_set.setattr(library.ctypes.util, "find_library", lambda name: asked.append(name))
    first = next(iter(library.candidates()))
    assert first
    assert asked == []
    list(library.candidates())
    assert asked == ["ngspice"]


def test_another_library_is_not_taken(nothing_set):
    nothing_set.setenv(library.VARIABLE, _umath_linalg.__file__)
    with pytest.raises(EngineMissingError, match=r"another library: it has no ngSpice_Init"):
        library.find_library()


RUN = """
import sys
from netsim.description.reader import read
from netsim.errors import NetsimError
from netsim.analysis import analyse
amplifier = read(sys.argv[1])
print(analyse(amplifier, engine="two-port", samples=1).verdict.cross_checked)
try:
    analyse(amplifier)
except NetsimError as error:
    print(error.status, error)
"""


def test_without_the_library_only_the_two_port_analysis_runs(plain):
    run = subprocess.run(
        [sys.executable, "-c", RUN, str(plain)],
        env=os.environ | {library.VARIABLE: "/nowhere/libngspice.so.0"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    first, second = run.stdout.splitlines()
    assert first == "False"
    assert second.startswith("3 the ngspice library was not found")
    assert "/nowhere/libngspice.so.0" in second
    assert "libngspice0" in second
    assert run.stderr == ""
