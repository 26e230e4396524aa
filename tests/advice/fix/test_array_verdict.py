"""The verdict as arrays against the findings, one by one."""

from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest

from netsim.advice.fix.array_verdict import Check, score, solve
from netsim.analysis import analyse
from netsim.circuit.assembly import assemble
from netsim.description.reader import read

ELSEWHERE = {
    "choke_reactance",
    "choke_resonance",
    "antenna_dc",
    "second_match",
    "tube_wall",
    "coil_temperature",
}
FILES = ("new-tube.toml", "old-tubes.toml", "new-tube-pi-l.toml")


@pytest.mark.parametrize("name", FILES)
def test_every_finding_has_its_column_and_its_fraction(circuits, name):
    """Cross-check of two paths: study with its findings, and the arrays a search reads."""
    amplifier = read(circuits / name)
    verdict = analyse(amplifier, engine="two-port").verdict
    solved = solve(amplifier, amplifier.description, assemble(amplifier))
    columns = score(solved)
    rows = {band: rows for _, band, rows in solved.bands()}
    found = defaultdict(set)
    for finding in verdict.findings:
        if finding.state == "not_rated" or finding.code in ELSEWHERE:
            continue
        check = Check(finding.code, finding.part, finding.quantity, finding.case)
        column = columns[check]
        used = float(column.used[rows[finding.band]].max())
        found[finding.band].add(check)
        if finding.used_fraction is None:
            assert used == np.inf
            continue
        if finding.code == "self_resonance":
            used *= 3  # over from the resonance itself, close from a third of it
        # Peaks are taken from fewer samples in a search.
        assert used == pytest.approx(finding.used_fraction, rel=2e-3), finding.message
        if abs(used - 1) > 2e-3:
            assert (column.used[rows[finding.band]].max() > 1) == (finding.state == "over"), finding.message
    # What has no finding must not count against a band either.
    for band, checks in found.items():
        for check in columns.keys() - checks:
            assert columns[check].used[rows[band]].max() <= 1 / 3 or check.part.endswith("padding")


def test_numbers_are_those_of_the_study_to_1e_9(circuits):
    amplifier = read(circuits / "old-tubes.toml")
    whole = analyse(amplifier, engine="two-port").solved
    batch = solve(amplifier, amplifier.description, assemble(amplifier))
    np.testing.assert_allclose(batch.plate_impedance, whole.plate_impedance, rtol=1e-9)
    np.testing.assert_allclose(batch.output_power, whole.output_power, rtol=1e-9)
    for part, stress in whole.stress.items():
        np.testing.assert_allclose(batch.stress[part].current_rms, stress.current_rms, rtol=1e-9)
        np.testing.assert_allclose(batch.stress[part].loss, stress.loss, rtol=1e-9)


def test_a_padding_shifts_capacitance_and_keeps_the_match(circuits):
    """What lets a search decide all paddings of a coil from one match (derived: capacitances in parallel add)."""
    amplifier = read(circuits / "old-tubes.toml")
    assembly = assemble(amplifier, bands=[2])
    before = solve(amplifier, amplifier.description, assembly)
    parts = replace(assembly.parts, load_padding=assembly.parts.load_padding + 100e-12)
    after = solve(amplifier, amplifier.description, replace(assembly, parts=parts))
    np.testing.assert_allclose(after.settings.load, before.settings.load - 100e-12, rtol=1e-6)
    np.testing.assert_allclose(after.loaded_q, before.loaded_q, rtol=1e-6)
