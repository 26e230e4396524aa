import base64
from io import BytesIO
from urllib.parse import unquote
from zipfile import ZipFile

import pytest

from netsim.analysis import Analysis
from netsim.report.export import csv_text as table_csv
from netsim.report.export import json_text, netlist_text
from netsim.report.page.downloads import downloads, file_name, file_stem


def saved(link: str) -> bytes:
    kind, _, data = link.partition(",")
    return base64.b64decode(data) if kind.endswith(";base64") else unquote(data).encode()


def test_texts_come_out_as_they_were(solved_plain: Analysis) -> None:
    files = {file.file_name: file for file in downloads(solved_plain)}
    assert saved(files["plain.json"].link).decode() == json_text.dump(solved_plain.verdict)
    assert saved(files["plain.csv"].link).decode() == table_csv.dump(solved_plain)
    assert saved(files["plain.toml"].link).decode() == solved_plain.amplifier.text


def test_archives_hold_one_file_for_each_band_and_no_time(solved_plain: Analysis) -> None:
    files = {file.file_name: file for file in downloads(solved_plain)}
    with ZipFile(BytesIO(saved(files["plain-netlists.zip"].link))) as archive:
        assert archive.namelist() == ["band-1.cir", "band-2.cir", "band-3.cir"]
        assert archive.read("band-2.cir").decode() == netlist_text.dump(
            solved_plain, solved_plain.row("40 m")
        )
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    with ZipFile(BytesIO(saved(files["plain-touchstone.zip"].link))) as archive:
        assert archive.namelist() == ["band-1.s2p", "band-2.s2p", "band-3.s2p"]


def test_links_hold_no_character_that_ends_an_attribute(solved_plain: Analysis) -> None:
    for file in downloads(solved_plain):
        assert file.link.startswith("data:")
        assert not set(file.link) & set("\"'<>&# \n")


@pytest.mark.parametrize(
    ("path", "name", "stem"),
    [
        ("circuits/new-tube.toml", "new-tube.toml", "new-tube"),
        ("C:\\radio\\amp one.toml", "amp one.toml", "amp-one"),
        ("/a/b/..toml", "..toml", "amplifier"),
        ("<b>.toml", "<b>.toml", "b"),
        ("/a/ü.toml", "ü.toml", "amplifier"),
    ],
)
def test_names_of_files_are_plain(path: str, name: str, stem: str) -> None:
    assert file_name(path) == name
    assert file_stem(path) == stem
