"""The line that a problem is about, and the mark under it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netsim.errors import Problem
from netsim.report.terminal.excerpt import WIDTH, cut, excerpt, one_line


def marked(shown):
    """Take what stands above the mark."""
    start, end = shown.mark.index("^"), len(shown.mark)
    return shown.line[start:end]


@pytest.mark.parametrize(
    ("line", "column", "token"),
    [
        ("q = 300", 1, "q"),
        ("\tq = 300", 2, "q"),
        ("[network.coil]", 1, "[network.coil]"),
        ("[[bands]]", 1, "[[bands]]"),
        ('frequencies = ["3.5 MHz", "3.8 MHz"]', 16, '"3.5 MHz"'),
        ("coil.q = 3", 1, "coil.q"),
    ],
)
def test_the_mark_stands_under_the_word(line, column, token):
    shown = cut(line, 7, column)
    assert marked(shown) == token
    assert shown.number == 7


def test_a_tab_is_one_blank_so_that_columns_stay_columns():
    assert one_line("\tq\t= 1") == " q = 1"
    assert cut("\tq = 1", 1, 2).mark == " ^"


def test_wide_characters_take_two_columns():
    shown = cut('名前 = "x", q = 1', 1, 11)
    assert shown.mark == " " * 12 + "^"


def test_a_long_line_is_cut_around_the_place():
    line = "a" * 5000 + " here " + "b" * 5000
    shown = cut(line, 1, 5002)
    assert len(shown.line) <= WIDTH + 6
    assert marked(shown) == "here"


def test_a_problem_without_a_line_or_file_has_no_excerpt(tmp_path):
    assert excerpt(Problem("x", "m")) is None
    assert excerpt(Problem("x", "m", str(tmp_path / "none"), 1, 1)) is None
    (tmp_path / "short").write_text("one line")
    assert excerpt(Problem("x", "m", str(tmp_path / "short"), 3, 1)) is None


def test_line_ends_of_either_kind_and_a_byte_order_mark(tmp_path):
    path = tmp_path / "file"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n")
    first, second = (excerpt(Problem("x", "m", str(path), line, 1)) for line in (1, 2))
    assert (first.line, second.line) == ("a = 1", "b = 2")


@given(st.text(max_size=300), st.integers(1, 400))
def test_whatever_stands_there_is_shown_on_one_plain_line(line, column):
    shown = cut(line.replace("\n", " "), 1, column)
    assert len((shown.line + shown.mark).splitlines()) <= 1
    assert shown.line.isprintable() or set(shown.line) - {c for c in shown.line if c.isprintable()} <= set(
        "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
    )
    assert "\x1b" not in one_line(line)
