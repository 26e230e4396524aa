"""What the page's own solver is given."""

import json
from pathlib import Path

from report_cases import solved_text

from netsim.analysis import Analysis
from netsim.report.page.band_section import drawn_rows
from netsim.report.page.setting_panel import setting_panels


def test_every_band_has_its_model_with_knobs_taps_and_ratings(solved: Analysis) -> None:
    models = json.loads(setting_panels(solved, drawn_rows(solved)))
    network = solved.amplifier.description.network
    assert [model["band"] for model in models] == [band.name for band in solved.verdict.bands]
    for number, model in enumerate(models):
        assert model["anchor"] == f"band-{number + 1}"
        assert model["knobs"]["tune"]["least"] == network.tune_capacitor.minimum
        assert model["positions"][model["own"]]["name"] == model["band"]
        assert len(model["positions"]) == len(solved.verdict.bands)
        parts = {part["name"]: part for part in model["parts"]}
        assert parts["coil"]["limits"]["loss"] == network.coil.power_rating
        assert parts["blocking_capacitor"]["supply"]
        assert not parts["coil"]["supply"]


def test_users_texts_cannot_end_the_element(plain: Path, tmp_path: Path) -> None:
    hostile = "</script><b>&"
    text = plain.read_text(encoding="utf-8").replace('name = "40 m"', f'name = "{hostile}"')
    solved = solved_text(text, tmp_path)
    written = setting_panels(solved, drawn_rows(solved))
    assert "<" not in written
    assert hostile in [model["band"] for model in json.loads(written)]
