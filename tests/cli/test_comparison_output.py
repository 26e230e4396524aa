"""compare -o: a page in a file or on standard output, never over what it was made from."""

import json

import pytest

from netsim.cli.application import run


@pytest.fixture
def files(circuits):
    return [str(circuits / name) for name in ("old-tubes.toml", "new-tube.toml")]


def test_a_page_is_written_and_nothing_printed(files, tmp_path, capsys):
    page = tmp_path / "both.html"
    assert run(["compare", *files, "-o", str(page), "--engine", "two-port"]) == 0
    told = capsys.readouterr()
    assert told.out == ""
    assert "Wrote" in told.err
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_page_on_standard_output_is_the_same(files, tmp_path, capsys):
    page = tmp_path / "both.html"
    run(["compare", *files, "-o", str(page), "--engine", "two-port"])
    capsys.readouterr()
    assert run(["compare", *files, "-o", "-", "--engine", "two-port"]) == 0
    assert capsys.readouterr().out == page.read_text(encoding="utf-8")


def test_a_page_of_two_topologies(files, tmp_path):
    page = tmp_path / "both.html"
    arguments = ["compare", files[0], "--topology", "pi", "pi-L", "-o", str(page), "--engine", "two-port"]
    assert run(arguments) == 0
    assert "pi-L" in page.read_text(encoding="utf-8")


def test_page_and_json_together(files, tmp_path, capsys):
    page = tmp_path / "both.html"
    assert run(["compare", *files, "--json", "-o", str(page), "--engine", "two-port"]) == 0
    assert json.loads(capsys.readouterr().out)["bands"]
    assert page.exists()
    assert run(["compare", *files, "--json", "-o", "-"]) == 2


def test_neither_input_is_written_over(circuits, tmp_path, capsys):
    copies = []
    for name in ("old-tubes.toml", "new-tube.toml"):
        copies.append(tmp_path / name)
        copies[-1].write_bytes((circuits / name).read_bytes())
    for target in copies:
        kept = target.read_bytes()
        assert run(["compare", *map(str, copies), "-o", str(target)]) == 2
        assert "output_is_input" in capsys.readouterr().err
        assert target.read_bytes() == kept


def test_a_missing_folder_is_told_before_anything_is_solved(files, tmp_path, capsys):
    assert run(["compare", *files, "-o", str(tmp_path / "none" / "page.html")]) == 2
    assert "output_folder_missing" in capsys.readouterr().err
