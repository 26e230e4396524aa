"""A file spelt in another way: every command proposes the same, and what it prints as a diff is one.

Expected is what the command says of the plainly spelt file, what the standard reader reads, and what the program
``patch`` makes of the diff.
"""

import copy
import html
import json
import random
import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from respelling import Respeller

from netsim.description.reader import loads

ROOT = Path(__file__).parents[2]
FILES = {
    path.name: tomllib.loads(path.read_text(encoding="utf-8"))
    for path in [*sorted(ROOT.glob("circuits/*.toml")), *sorted(ROOT.glob("tests/examples/*.toml"))]
}
TITLES = (
    "--- a/amplifier.toml",
    "+++ b/x",
    "@@ -1 +1 @@",
    "*** 1,2 ****",
    "Index: x",
    "1,5d3",
    "diff --git a/x b/x",
    "- -",
)
STYLES = ("headers", "dotted", "inline", "mixed")
COIL_KEYS = ("coil", "coil_turns", "output_coil", "output_coil_turns", "tune_padding", "load_padding")
OF_THE_TEXT = {"line", "column", "input_sha256", "diff"}
"""Keys of the JSON that tell of the spelling and may differ."""

TRIED = [(style, 0) for style in ("dotted", "inline")]
MORE = [(style, number) for number in range(20) for style in STYLES if (style, number) not in TRIED]
some_spellings = pytest.mark.parametrize(
    ("style", "number"), [*TRIED, *(pytest.param(*one, marks=pytest.mark.slow) for one in MORE)]
)


class Spelling:
    """A file plainly spelt and in another way, under the same title."""

    def __init__(self, command, style, number, folder):
        rng = random.Random(f"{command} {style} {number}")
        self.table = copy.deepcopy(FILES[rng.choice(list(FILES))])
        self.table["title"] = rng.choice(TITLES)
        bands = self.table["bands"]
        self.table["bands"] = rng.sample(bands, min(rng.choice((1, 2)), len(bands)))
        if "measured" not in self.table:
            self.table["bands"][0]["name"] = rng.choice(["--- x", "+++", "@@ -1,3 +1,3 @@", "1,2c1"])
        names = {band["name"] for band in self.table["bands"]}
        self.table["measured"] = [
            r for r in self.table.get("measured", ()) if r.get("band") in names | {None}
        ]
        if command == "design":
            for band in self.table["bands"]:
                for key in COIL_KEYS:
                    band.pop(key, None)
        self.folder = folder
        self.plain, self.other = folder / "plain.toml", folder / "other.toml"
        self.plain.write_bytes(Respeller(0, "headers").write(self.table).encode())
        self.text = Respeller(rng.randrange(2**32), style).write(self.table)
        self.other.write_bytes(self.text.encode())

    def patched(self, diff):
        """Return the text that ``patch`` makes of the respelt one."""
        copied = self.folder / "amplifier.toml"
        copied.write_bytes(self.text.encode())
        done = subprocess.run(["patch", "-s", str(copied)], input=diff.encode(), capture_output=True)
        assert done.returncode == 0, (done.stdout + done.stderr, diff)
        return copied.read_bytes().decode()


def scrubbed(answer):
    """Return a JSON answer without what tells of the spelling; numbers to what rounding leaves of them."""
    if isinstance(answer, dict):
        return {key: scrubbed(value) for key, value in answer.items() if key not in OF_THE_TEXT}
    if isinstance(answer, list):
        return [scrubbed(item) for item in answer]
    return float(f"{answer:.9g}") if isinstance(answer, float) else answer


def told(netsim, *arguments):
    run = netsim(*arguments, "--engine", "two-port")
    assert run.status == 0, run.err
    return run.out


@some_spellings
def test_fix_of_a_respelt_file(netsim, tmp_path, style, number):
    spelling = Spelling("fix", style, number, tmp_path)
    written = (tmp_path / "plainly.toml", tmp_path / "otherwise.toml")
    plain, other = (
        json.loads(told(netsim, "fix", path, "--json", "--budget", "300", "--write", target))
        for path, target in zip((spelling.plain, spelling.other), written, strict=True)
    )
    assert scrubbed(plain) == scrubbed(other)
    plainly, made = (path.read_bytes().decode() for path in written)
    assert tomllib.loads(made) == tomllib.loads(plainly)
    assert loads(made).description == loads(plainly).description
    if other["diff"]:
        printed = told(netsim, "fix", spelling.other, "--budget", "300")
        assert spelling.patched(printed) == spelling.patched(other["diff"]) == made
    else:
        assert made == spelling.text


@pytest.mark.parametrize(
    ("name", "words"),
    [("title", "@@ -1 +1 @@"), ("title", "x " * 39 + " Prereq: 7"), ("band", "@@ -1,2 +1,2 @@")],
)
def test_words_like_a_diffs_are_none(netsim, tmp_path, circuits, name, words):
    """``patch`` refuses a hunk or a prerequisite above the first header: no title and no name may look like one."""
    text = (circuits / "new-tube.toml").read_text(encoding="utf-8")
    if name == "title":
        text = re.sub("(?m)^title = .*$", f'title = "{words}"', text)
    else:
        text = text.replace('name = "10 m"', f'name = "{words}"')
    path, written = tmp_path / "amplifier.toml", tmp_path / "written.toml"
    path.write_text(text, encoding="utf-8")
    printed = told(netsim, "fix", path, "--write", written, "--budget", "1")
    done = subprocess.run(["patch", "-s", str(path)], input=printed.encode(), capture_output=True)
    assert done.returncode == 0, done.stdout
    assert path.read_bytes() == written.read_bytes()


@some_spellings
def test_design_of_a_respelt_file(netsim, tmp_path, style, number):
    spelling = Spelling("design", style, number, tmp_path)
    made = [tmp_path / "first.toml", tmp_path / "second.toml"]
    answers = [
        json.loads(told(netsim, "design", path, "-o", target, "--json"))
        for path, target in zip((spelling.plain, spelling.other), made, strict=True)
    ]
    assert scrubbed(answers[0]) == scrubbed(answers[1])
    first, second = (path.read_bytes().decode() for path in made)
    assert tomllib.loads(first) == tomllib.loads(second)
    assert loads(first).description == loads(second).description
    assert spelling.patched(answers[1]["diff"]) == second


@some_spellings
def test_topologies_of_a_respelt_file(netsim, tmp_path, style, number):
    spelling = Spelling("compare", style, number, tmp_path)
    first, second = (
        json.loads(told(netsim, "compare", path, "--topology", "pi", "pi-L", "--json"))
        for path in (spelling.plain, spelling.other)
    )
    assert scrubbed(first) == scrubbed(second)


@pytest.mark.parametrize(
    ("style", "number"),
    [("dotted", 0), *(pytest.param(style, 1, marks=pytest.mark.slow) for style in STYLES)],
)
def test_the_diff_of_a_respelt_files_page(netsim, tmp_path, style, number):
    spelling = Spelling("fix", style, number, tmp_path)
    page = tmp_path / "page.html"
    told(netsim, "report", spelling.other, "-o", page)
    # A file with readings has the diff of its fit on the page as well.
    shown = re.search(
        r'aria-label="Unified diff"[^>]*><pre class="diff">(.*?)</pre>', page.read_bytes().decode(), re.DOTALL
    )
    table = json.loads(told(netsim, "fix", spelling.other, "--json"))
    assert (shown is None) == (not table["diff"])
    if shown is not None:
        # What a page's text loses: the carriage returns of a file that has them.
        before = spelling.text.replace("\r\n", "\n")
        spelling.text = before
        after = spelling.patched(html.unescape(shown[1]).replace("\r\n", "\n"))
        assert loads(after).description != loads(before).description
        assert tomllib.loads(after) == tomllib.loads(spelling.patched(table["diff"].replace("\r\n", "\n")))
