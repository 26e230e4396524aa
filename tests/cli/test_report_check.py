"""``netsim report --check``: what has moved, and the exit status."""

import pytest


@pytest.fixture
def page(netsim, write, plain_text, tmp_path):
    """Make the page of the plain example."""
    file, page = write(plain_text), tmp_path / "page.html"
    assert netsim("report", file, "-o", page, "--engine", "two-port").status == 0
    return file, page


def test_nothing_has_moved(netsim, page):
    file, made = page
    before = made.read_bytes()
    run = netsim("report", "--check", made, file, "--engine", "two-port")
    assert run.status == 0
    assert "The file is the one that the page was made from." in run.out
    assert "Nothing has moved" in run.out
    assert made.read_bytes() == before


def test_a_lower_rating_is_told_finding_by_finding(netsim, page, write, plain_text):
    _, made = page
    changed = write(plain_text.replace('power_rating = "120 W"', 'power_rating = "30 W"'))
    run = netsim("report", "--check", made, changed, "--engine", "two-port")
    assert run.status == 1
    assert "is not the one that the page was made from" in run.out
    assert "part_power: 80 m, coil, loss" in run.out
    assert "▲ over" in run.out
    assert "tune capacitor, voltage peak" not in run.out
    assert max(map(len, run.out.splitlines())) <= 80


def test_a_page_that_is_none_or_not_there_is_a_wrong_command(netsim, page, tmp_path):
    file, _ = page
    run = netsim("report", "--check", file, file, "--engine", "two-port")
    assert (run.status, run.out) == (2, "")
    assert "page_record_missing" in run.err
    run = netsim("report", "--check", tmp_path / "none.html", file, "--engine", "two-port")
    assert (run.status, run.out) == (2, "")
    assert "page_not_readable" in run.err
