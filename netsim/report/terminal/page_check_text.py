"""What has moved since a page was made, in 80 columns."""

from collections.abc import Iterator

from rich.console import Group as Lines
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from netsim.description.formatting import percent
from netsim.report.export.page_record import Moved, Noted, Record, moved, moved_versions
from netsim.report.notation import MARKS, WORDS


def render(before: Record, after: Record) -> RenderableType:
    """Lay out the differences of two records; texts of the file are never read as markup."""
    return Lines(*_parts(before, after))


def _parts(before: Record, after: Record) -> Iterator[RenderableType]:
    versions, findings = moved_versions(before, after), list(moved(before, after))
    same_file = "input_sha256" not in versions
    yield Text(f"The file is {'the one' if same_file else 'not the one'} that the page was made from.")
    for key, (then, now) in versions.items():
        if key != "input_sha256":
            yield Text(f"{key}: {then or 'did not run'} then, {now or 'did not run'} now")
    if not findings:
        yield Text("Nothing has moved: every finding is what the page says.", "bold")
        return
    count = "1 finding has" if len(findings) == 1 else f"{len(findings)} findings have"
    yield Text(f"{count} moved, page > now:", "bold")
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(ratio=1)
    for pair in findings:
        table.add_row(Text(f"{_state(pair.before)} > {_state(pair.after)}"), Text(_name(pair)))
    yield table


def _state(noted: Noted | None) -> str:
    if noted is None:
        return "not there"
    used = "" if noted.used_fraction is None else f" {percent(noted.used_fraction)}"
    return f"{MARKS[noted.state]} {WORDS[noted.state]}{used}"


def _name(pair: Moved) -> str:
    noted = pair.after or pair.before
    assert noted is not None  # one of the two is there
    places = (noted.band, noted.operating_point, noted.part, noted.quantity, noted.case)
    words = [place.replace("_", " ") for place in places if place is not None and place != "matched"]
    return f"{noted.code}: {', '.join(words)}"
