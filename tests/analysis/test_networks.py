"""Networks solved together come out as they do alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from netsim.analysis.networks import capacitor_settings, settings_together
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import Termination
from netsim.description.reader import read

CIRCUITS = Path(__file__).parents[2] / "circuits"


@pytest.fixture(scope="module")
def several() -> list[Assembly]:
    """One amplifier with other parts: as it is, with too small a tune capacitor, without a blocking capacitor."""
    there = assemble(read(CIRCUITS / "new-tube.toml"))
    small = replace(there.parts, tune_maximum=np.asarray(60e-12))
    bare = replace(there.parts, blocking_capacitance=np.asarray(np.inf), blocking_q=np.asarray(np.inf))
    return [there, replace(there, parts=small), replace(there, parts=bare)]


def reactive(assembly: Assembly, impedance: complex) -> Assembly:
    """Hang an impedance [ohm] on the antenna terminal at all orders."""
    count = len(assembly)
    end = Termination(np.full((count, 1), impedance), np.full(count, 50.0), np.full((count, 1), 50.0))
    return replace(assembly, parts=replace(assembly.parts, termination=end))


@pytest.mark.parametrize("ends", [(), (50 + 20j, 50 + 0j, 30 - 40j)])
def test_capacitors_of_several_amplifiers_stand_as_of_each_alone(several, ends):
    assemblies = [reactive(*pair) for pair in zip(several, ends, strict=True)] if ends else several
    together = settings_together(assemblies)
    for assembly, found in zip(assemblies, together, strict=True):
        alone = capacitor_settings(assembly)
        for name in ("tune", "load", "tune_needed", "load_needed"):
            np.testing.assert_allclose(getattr(found, name), getattr(alone, name), rtol=1e-9)
        np.testing.assert_allclose(found.found.load, alone.found.load, rtol=1e-9)
    assert together[1].tune.max() <= 60e-12 < together[0].tune.max()


def test_of_no_amplifier_there_are_no_settings():
    assert settings_together([]) == []
