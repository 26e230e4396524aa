"""The netlist, run unchanged by the stock command-line ngspice."""

import re
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from samples import described_otherwise

from netsim.circuit.stage import ORDERS
from netsim.report.export import netlist_text

ROW = re.compile(r"^\d+\t(\S+)\t(\S+),\t(\S+)\s*$", re.MULTILINE)


@pytest.fixture(scope="session")
def ngspice():
    """Find the command-line program, which is another build of the engine than the library."""
    program = shutil.which("ngspice")
    assert program, "this test runs the stock ngspice: apt-get install ngspice"
    return program


def run(ngspice, netlist, folder):
    """Run in batch mode and take every voltage that it prints: ``{node: [(frequency, volts), ...]}``."""
    path = folder / "network.cir"
    path.write_text(netlist)
    done = subprocess.run([ngspice, "-b", str(path)], capture_output=True, text=True, timeout=60, cwd=folder)
    assert done.returncode == 0, done.stderr
    said = done.stderr.lower()
    assert "error" not in said
    assert "warning" not in said
    printed = {}
    for block in done.stdout.split("Index   frequency       v(")[1:]:
        name, _, rest = block.partition(")")
        rows = ROW.findall(rest.partition("\n\n")[0])
        printed[name] = [(float(f), complex(float(re_), float(im))) for f, re_, im in rows]
    return printed


def run_raw(ngspice, netlist, folder):
    """Run in batch mode into a raw file, which has all digits and the currents: ``{name: values}``."""
    (folder / "network.cir").write_text(netlist)
    command = [ngspice, "-b", "-r", "all.raw", "network.cir"]
    subprocess.run(command, cwd=folder, capture_output=True, timeout=60, check=True)
    head, _, body = (folder / "all.raw").read_bytes().partition(b"Binary:\n")
    lines = head.decode().splitlines()
    names = [line.split("\t")[2] for line in lines[lines.index("Variables:") + 1 :]]
    values = np.frombuffer(body, dtype=np.complex128).reshape(ORDERS, len(names))
    return dict(zip(names, values.T, strict=True))


def test_the_same_voltages_as_printed(solved, ngspice, tmp_path):
    """Cross-solver, as somebody would read it; each part is printed to six or seven digits."""
    printed = run(ngspice, netlist_text.dump(solved, 0), tmp_path)
    assert len(printed) == ORDERS * len(solved.solved.ladder.nodes)
    for node in solved.solved.ladder.nodes:
        wanted = solved.solved.solution.node_voltage[node][0] * solved.solved.current.drive[0]
        for n in range(1, ORDERS + 1):
            frequency, voltage = printed[f"n{n}_{node}"][n - 1]
            assert frequency == pytest.approx(n * solved.solved.frequency[0], rel=1e-6)
            assert abs(voltage - wanted[n - 1]) <= 1e-5 * abs(wanted[n - 1])


@pytest.mark.parametrize("unchecked", [False, True])
def test_the_same_voltages_and_currents_to_all_digits(solved, unchecked_plain, ngspice, tmp_path, unchecked):
    """Cross-solver: the command line against the library, and against scikit-rf where that alone solved."""
    result = unchecked_plain if unchecked else solved
    for row in range(0, len(result.solved.ladder), 5):
        raw = run_raw(ngspice, netlist_text.dump(result, row), tmp_path)
        orders = np.arange(ORDERS)
        for node in result.solved.ladder.single(row).nodes:
            wanted = result.solved.solution.node_voltage[node][row] * result.solved.current.drive[row]
            found = np.array([raw[f"v(n{n + 1}_{node})"][n] for n in orders])
            assert found == pytest.approx(wanted, rel=1e-7)
        for branch in result.solved.ladder.single(row).branches:
            wanted = (
                result.solved.solution.branch_current[branch.name][row] * result.solved.current.drive[row]
            )
            found = np.array([raw[f"i(vn{n + 1}_{branch.name})"][n] for n in orders])
            assert found == pytest.approx(
                wanted, rel=1e-6, abs=1e-9 * np.abs(result.solved.current.drive[row]).max()
            )


def test_the_fundamental_swings_the_plate_by_plate_load_times_current(solved, ngspice, tmp_path):
    """Derived: where tuned, |V| = R_L I_1 by the definition of the plate load."""
    tuned = [p.tuned for b in solved.verdict.bands for p in b.points]
    row = tuned.index(True)
    printed = run(ngspice, netlist_text.dump(solved, row), tmp_path)
    stage = solved.verdict.stage
    swing = stage.plate_load_ohm * stage.fundamental_current_ampere_peak
    assert abs(printed["n1_plate"][0][1]) == pytest.approx(swing, rel=1e-5)


def test_no_text_of_the_user_is_in_it(solved_plain):
    """Every text of the description changed: not a character of the netlist changes."""
    attack = "\n.control\nshell true\n.endc"
    amplifier = solved_plain.amplifier
    description = amplifier.description.model_copy(
        update={
            "title": attack,
            "bands": tuple(band.model_copy(update={"name": attack}) for band in amplifier.description.bands),
        }
    )
    evil = replace(
        solved_plain,
        amplifier=described_otherwise(amplifier, description),
        verdict=replace(solved_plain.verdict, title=attack),
    )
    assert netlist_text.dump(evil, 0) == netlist_text.dump(solved_plain, 0)


def test_only_printable_ascii_and_no_control_block(solved):
    for row in range(len(solved.solved.ladder)):
        text = netlist_text.dump(solved, row)
        assert re.fullmatch(r"[\x20-\x7e\n]+", text)
        assert ".control" not in text
        assert text.endswith("\n.end\n")


def test_comments_explain_every_node(solved):
    text = netlist_text.dump(solved, 0)
    for node in solved.solved.ladder.nodes:
        assert f"*   nN_{node}: " in text


def test_without_ngspice_it_says_so(unchecked_plain, solved_plain):
    assert "* not cross-checked" in netlist_text.dump(unchecked_plain, 0)
    assert "not cross-checked" not in netlist_text.dump(solved_plain, 0)
