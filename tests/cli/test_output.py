"""Results go to files whole or not at all."""

import os
import stat
from contextlib import contextmanager

import pytest

from netsim import output
from netsim.api import result
from netsim.cli import signals
from netsim.errors import OutputError

NOBODY = 65534


@pytest.fixture(params=["report", "export"])
def write_result(request, netsim, plain, monkeypatch):
    """Have a command write its result; the page is a stand-in, for its own tests are elsewhere."""
    monkeypatch.setattr(result, "page_of", lambda solved: f"<!doctype html>{solved.verdict.title}")
    extra = ["--band", "20 m", "--format", "netlist"] if request.param == "export" else []

    def run(target, file=plain):
        return netsim(request.param, file, *extra, "-o", target, "--engine", "two-port")

    return run


@contextmanager
def somebody_else():
    """Act without the rights of root, which may write anywhere."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def test_written(write_result, tmp_path):
    run = write_result(tmp_path / "out")
    assert run.status == 0
    assert run.out == ""
    assert (tmp_path / "out").stat().st_size > 20
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_new_files_have_the_usual_permissions(write_result, tmp_path):
    before = os.umask(0o027)
    try:
        write_result(tmp_path / "out")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "out").stat().st_mode) == 0o640


def test_permissions_of_what_was_there_are_kept(write_result, tmp_path):
    target = tmp_path / "out"
    target.write_text("old")
    target.chmod(0o604)
    assert write_result(target).status == 0
    assert stat.S_IMODE(target.stat().st_mode) == 0o604
    assert target.read_text() != "old"


def test_who_reads_the_old_result_meanwhile_reads_it_whole(write_result, tmp_path):
    """One step puts the new one in its place; the old one is never written into."""
    target = tmp_path / "out"
    target.write_text("old")
    with target.open() as reader:
        assert write_result(target).status == 0
        assert reader.read() == "old"
    assert target.read_text() != "old"


def test_a_link_is_followed(write_result, tmp_path):
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to("real")
    assert write_result(tmp_path / "link").status == 0
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text() != "old"


def test_missing_folder(write_result, tmp_path):
    run = write_result(tmp_path / "none" / "out")
    assert run.status == 2
    assert "[output_folder_missing]" in run.err
    assert "nothing was changed" in run.err
    assert not (tmp_path / "none").exists()


def test_a_file_where_a_folder_should_be(write_result, tmp_path):
    (tmp_path / "file").write_text("old")
    run = write_result(tmp_path / "file" / "out")
    assert run.status == 2
    assert (tmp_path / "file").read_text() == "old"


def test_a_folder_where_the_file_should_be(write_result, tmp_path):
    run = write_result(tmp_path)
    assert run.status == 2
    assert "[output_is_directory]" in run.err


@pytest.mark.parametrize("name", ["out", "x" * 300, "a\0b"])
def test_a_folder_or_name_that_cannot_be_written(write_result, tmp_path, name):
    """/proc takes no files, not even from root."""
    run = write_result(f"/proc/{name}")
    assert run.status == 2
    assert "Traceback" not in run.err
    assert "[output_" in run.err


def test_without_permission_the_old_page_stays(tmp_path):
    folder = tmp_path / "theirs"
    folder.mkdir()
    target = folder / "out"
    target.write_text("old")
    folder.chmod(0o555)
    with somebody_else(), pytest.raises(OutputError) as refusal:
        output.write_text(target, "new")
    assert refusal.value.problems[0].code == "output_not_writable"
    assert target.read_text() == "old"
    assert [path.name for path in folder.iterdir()] == ["out"]


@pytest.mark.parametrize("link", [False, True])
def test_the_amplifier_file_is_never_written_over(write_result, tmp_path, plain_text, link):
    file = tmp_path / "amplifier.toml"
    file.write_text(plain_text)
    target = file
    if link:
        target = tmp_path / "out"
        target.symlink_to(file)
    run = write_result(target, file)
    assert run.status == 2
    assert "[output_is_input]" in run.err
    assert file.read_text() == plain_text


def test_a_failure_half_way_leaves_what_was_there_and_nothing_else(tmp_path, monkeypatch):
    target = tmp_path / "out"
    target.write_text("old")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        output.write_text(target, "new")
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert not signals.unfinished


def test_nothing_is_solved_for_a_place_that_cannot_be_written(write_result, tmp_path, monkeypatch):
    def solve(*_, **__):
        raise AssertionError("solved in vain")

    monkeypatch.setattr("netsim.analysis.analysis.solve", solve)
    assert write_result(tmp_path / "none" / "out").status == 2


def test_a_device_is_written_directly(write_result):
    assert write_result("/dev/null").status == 0
    assert not os.path.isfile("/dev/null")


def test_a_dash_is_standard_output(write_result):
    run = write_result("-")
    assert run.status == 0
    assert run.out


def test_an_invalid_file_leaves_the_old_result(write_result, tmp_path):
    (tmp_path / "out").write_text("old")
    (tmp_path / "bad.toml").write_text("title = 3")
    assert write_result(tmp_path / "out", tmp_path / "bad.toml").status == 2
    assert (tmp_path / "out").read_text() == "old"
