"""Where results may go: pipes, other folders, places that cannot be written, names that a shell would split."""

import os
import resource
import shlex
import subprocess
from pathlib import Path

import pytest
from samples import edited

from netsim.cli import new as new_command
from netsim.cli import signals
from netsim.errors import OutputError
from netsim.output import copy, demand_writable, write_new

FAST = ("--engine", "two-port")
ONE_PORT = "# MHz S RI R 50\n" + "".join(f"{f} 0.05 0.02\n" for f in range(1, 80))


@pytest.mark.parametrize("name", ["/dev/stdout", "/dev/fd/1"])
def test_a_result_goes_into_a_pipe(program, plain, name):
    """The link leads to a pipe, which has no path that could be opened anew."""
    done = subprocess.run(
        [*program, "export", str(plain), "--band", "20 m", "--format", "netlist", "-o", name, *FAST],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.rstrip().endswith(".end")
    assert "Wrote" not in done.stderr  # there is nothing to open


def test_a_pipe_whose_reader_has_gone_is_left_in_silence(program, plain):
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [*program, "export", str(plain), "--band", "20 m", "--format", "netlist", "-o", "/dev/stdout", *FAST],
        stdout=writer,
        stderr=subprocess.PIPE,
        timeout=120,
    )
    os.close(writer)
    assert done.returncode == 141
    assert b"Broken" not in done.stderr


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a file system that takes no files")
@pytest.mark.parametrize("command", ["report", "export", "fix"])
def test_a_file_system_that_takes_no_file_is_told_before_anything_is_solved(
    netsim, plain, command, monkeypatch
):
    monkeypatch.setattr("netsim.analysis.analysis.assemble", None)  # nobody comes that far
    extra = {"report": ["-o"], "export": ["--band", "20 m", "--format", "csv", "-o"], "fix": ["--write"]}[
        command
    ]
    run = netsim(command, plain, *extra, "/proc/result", *FAST)
    assert run.status == 2
    assert "[output_not_writable]" in run.err


def test_probing_leaves_nothing(tmp_path, plain):
    demand_writable(tmp_path / "out", plain)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("link", ["nowhere.toml", "mine.toml"])
def test_new_leaves_nothing_where_the_name_is_taken(netsim, tmp_path, link):
    """Also by a link that leads nowhere, or to itself."""
    (tmp_path / "mine.toml").symlink_to(link)
    run = netsim("new", tmp_path / "mine.toml")
    assert (run.status, "[output_exists]" in run.err) == (2, True)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_new_leaves_no_schema_where_another_was_faster(netsim, tmp_path, monkeypatch):
    def beaten(path, text):
        return write_new(path, text) and not path.name.endswith(".toml")

    monkeypatch.setattr(new_command, "write_new", beaten)
    assert netsim("new", tmp_path / "mine.toml").status == 2
    assert not (tmp_path / "amplifier.schema.json").exists()


@pytest.mark.parametrize("size", [0, 1000, 100_000])
def test_new_leaves_nothing_on_a_full_disk(program, tmp_path, size):
    """The system's limit on the size of a file stands in for the disk; the schema has some 50 kB, the file some 7."""
    (tmp_path / "amplifier.schema.json").write_text("kept")
    before = sorted(tmp_path.iterdir()) if size < 100_000 else []
    if size == 100_000:
        (tmp_path / "amplifier.schema.json").unlink()
        size = 20_000
    run = subprocess.run(
        [*program, "new", str(tmp_path / "mine.toml")],
        capture_output=True,
        text=True,
        timeout=60,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size)),
    )
    assert run.returncode == 2, run.stderr
    assert "[output_not_writable]" in run.stderr
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("command", ["report", "export"])
def test_nothing_is_left_on_a_full_disk(program, plain, tmp_path, command):
    extra = ["--band", "20 m", "--format", "json"] if command == "export" else []
    (tmp_path / "out").write_text("as it was")
    run = subprocess.run(
        [*program, command, str(plain), *extra, "-o", str(tmp_path / "out"), *FAST],
        capture_output=True,
        text=True,
        timeout=120,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)),
    )
    assert run.returncode == 2, run.stderr
    assert "[output_not_writable]" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert (tmp_path / "out").read_text() == "as it was"


def test_half_of_a_new_file_is_taken_away_by_a_signal(tmp_path, monkeypatch):
    """What is being written is known to whoever ends the process."""
    seen = []

    def unlink(path):
        seen.append(path)
        real(path)

    real = os.unlink
    monkeypatch.setattr(os, "unlink", unlink)
    with pytest.raises(OutputError):
        write_new(tmp_path / "x", "\ud800")
    assert seen == [tmp_path / "x"]
    assert not signals.unfinished
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def measured(tmp_path, plain):
    """Write an amplifier with a measured antenna, and another folder."""
    home, elsewhere = tmp_path / "home", tmp_path / "else where"
    home.mkdir()
    elsewhere.mkdir()
    text = edited(plain, ("worst_swr = 2.0", 'measured = "antenna.s1p"'))
    (home / "mine.toml").write_text(text)
    (home / "antenna.s1p").write_text(ONE_PORT)
    return home / "mine.toml", elsewhere


def proposed(run):
    """Take the command that a message proposes, as a shell reads it."""
    return shlex.split(run.err.partition("Next: netsim ")[2].splitlines()[0])


def test_a_proposal_written_elsewhere_has_its_measurements_beside_it(netsim, measured):
    file, elsewhere = measured
    run = netsim("fix", file, "--write", elsewhere / "n.toml", *FAST)
    assert run.status == 0, run.err
    assert (elsewhere / "antenna.s1p").read_text() == ONE_PORT
    assert "antenna.s1p that it names" in run.err
    command = proposed(run)
    assert command == ["check", str(elsewhere / "n.toml")]
    assert netsim(*command, *FAST).status in (0, 1)


def test_a_measurement_of_another_is_not_written_over(netsim, measured):
    file, elsewhere = measured
    (elsewhere / "antenna.s1p").write_text("another")
    run = netsim("fix", file, "--write", elsewhere / "n.toml", *FAST)
    assert (run.status, "[output_exists]" in run.err) == (2, True)
    assert [path.name for path in elsewhere.iterdir()] == ["antenna.s1p"]
    assert netsim("fix", file, "--write", elsewhere / "n.toml", "--force", *FAST).status == 0
    assert (elsewhere / "antenna.s1p").read_text() == ONE_PORT


def test_a_copy_is_whole_or_not_there(tmp_path):
    with pytest.raises(OutputError):
        copy(tmp_path / "missing", tmp_path / "copy")
    assert list(tmp_path.iterdir()) == []


def test_a_name_that_looks_like_an_option_is_proposed_as_a_file(netsim, plain_text, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("-mine.toml").write_text(plain_text)
    run = netsim("check", *FAST, "--", "-mine.toml")
    assert "netsim report ./-mine.toml" in run.out
    run = netsim("new", "--", "-new one.toml")
    assert run.status == 0
    assert "netsim check './-new one.toml'" in run.err
