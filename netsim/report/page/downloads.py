"""What can be saved from the page: the other renderings of the same result, inside the page itself."""

import base64
import re
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePath
from urllib.parse import quote
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import numpy as np

from netsim.analysis import Analysis
from netsim.report.export import csv_text as table_csv
from netsim.report.export import json_text, netlist_text, touchstone

_PLAIN = "!$()*+,-./:;=?@_~"
"""What stands for itself in a link and in an attribute."""

TOUCHSTONE_POINTS = 101


@dataclass(frozen=True)
class Download:
    """One file as a data link."""

    label: str
    file_name: str
    link: str
    size: str


def downloads(result: Analysis) -> tuple[Download, ...]:
    """Render everything that can be saved; netlist and Touchstone at each band's first frequency."""
    stem = file_stem(result.amplifier.path)
    rows = [int(np.asarray(rows)[0]) for _, _, rows in result.solved.bands()]
    netlists = [netlist_text.dump(result, row) for row in rows]
    networks = [touchstone.dump(result, row, TOUCHSTONE_POINTS) for row in rows]
    return (
        _text("Analysis (JSON)", f"{stem}.json", "application/json", json_text.dump(result.verdict)),
        _text("All points (CSV)", f"{stem}.csv", "text/csv", table_csv.dump(result)),
        _archive("Netlists of all bands (ZIP)", f"{stem}-netlists.zip", "cir", netlists),
        _archive("Touchstone files of all bands (ZIP)", f"{stem}-touchstone.zip", "s2p", networks),
        _text("Amplifier file (TOML)", f"{stem}.toml", "application/toml", result.amplifier.text),
    )


def amplifier_download(label: str, path: str, suffix: str, text: str) -> Download:
    """Offer an amplifier file, named after the one it comes from with something added."""
    return _text(label, f"{file_stem(path)}{suffix}.toml", "application/toml", text)


def file_name(path: str) -> str:
    """Give the last part of a path, whichever system wrote it."""
    return PurePath(path.replace("\\", "/")).name


def file_stem(path: str) -> str:
    """Make a plain name for files out of a path: letters, digits, hyphens."""
    stem = re.sub(r"[^A-Za-z0-9]+", "-", PurePath(file_name(path)).stem).strip("-")
    return stem or "amplifier"


def _text(label: str, name: str, media_type: str, text: str) -> Download:
    return Download(label, name, f"data:{media_type};charset=utf-8{_encoded(text)}", _size(text.encode()))


def _archive(label: str, name: str, ending: str, texts: list[str]) -> Download:
    """Pack one text for each band, numbered as on the page, always to the same bytes."""
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for number, text in enumerate(texts, start=1):
            # An entry made by name alone would carry the time of day.
            archive.writestr(ZipInfo(f"band-{number}.{ending}"), text, ZIP_DEFLATED)
    raw = packed.getvalue()
    return Download(label, name, f"data:application/zip;base64,{_base64(raw)}", _size(raw))


def _encoded(text: str) -> str:
    """Encode for a link, in whichever way is shorter."""
    return min(f",{quote(text, safe=_PLAIN)}", f";base64,{_base64(text.encode())}", key=len)


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode("ascii")


def _size(raw: bytes) -> str:
    return f"{max(len(raw) / 1000, 0.1):.3g} kB"
