"""The knobs of the page: its own solver against the package's, with keyboard and screen reader."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

from netsim.analysis import Analysis, analyse
from netsim.analysis.held_source import HeldBand, held_bands
from netsim.circuit.sections import loaded_q
from netsim.circuit.topology import build_ladder
from netsim.description.reader import read
from netsim.report.page.band_section import drawn_rows
from netsim.report.page.setting_panel import setting_panels
from netsim.report.page.templating import script
from netsim.solvers import batch
from netsim.verdict.band_switch import switch_stress
from netsim.verdict.solved import standing_wave_ratio
from netsim.verdict.stress import stresses

SETTINGS = 200
QUANTITIES = ("voltage_peak", "current_rms", "loss", "reactive_power")


@pytest.fixture(scope="module", params=["old-tubes", "new-tube", "new-tube-pi-l", "new-tube-on-the-air"])
def demonstration(request: pytest.FixtureRequest, circuits: Path) -> Analysis:
    """Solve a demonstration amplifier."""
    return analyse(read(circuits / f"{request.param}.toml"), engine="two-port", swr=1.0)


def by_the_package(held: HeldBand, tap: int, tune: Any, load: Any) -> dict[str, Any]:
    """Solve one band at one position of the switch and many settings with the package's batch solver."""
    one = held.assembly.take(np.full(len(tune), tap))
    ladder = build_ladder(one.parts, tune, load)
    solution = batch.solve(ladder, np.arange(1.0, 11.0))
    impedance = solution.plate_impedance[:, 0]
    current = held.drawn(impedance)
    found = stresses(one.parts, one.stage.supply_voltage, current, ladder, solution)
    found = {**found, "band_switch": switch_stress(one.wound, found)}
    antenna = np.abs(solution.branch_current["antenna"][:, 0] * current.phasors[:, 0])
    return {
        "z": np.stack([impedance.real, impedance.imag], axis=1),
        "swr": standing_wave_ratio(impedance, one.parts.plate_load),
        "loadedQ": loaded_q(one.parts, tune),
        "output": antenna**2 * one.parts.antenna_delivery(np.ones(1))[:, 0] / 2,
        "stress": {
            name: {quantity: getattr(stress, quantity) for quantity in QUANTITIES}
            for name, stress in found.items()
            if stress.present.all()
        },
    }


def test_the_page_solves_what_the_package_solves(
    look: Callable[..., Page], demonstration: Analysis, tmp_path: Path
) -> None:
    """Cross-solver: elimination of node equations in the page, a walk from the antenna in the package."""
    rows = drawn_rows(demonstration)
    path = tmp_path / "solver.html"
    path.write_text(
        f"<title>solver</title><script>{script('ladder')}; "
        f"const models = {setting_panels(demonstration, rows)};</script>"
    )
    page = look(path)
    random = np.random.default_rng(7)
    for number, held in enumerate(held_bands(demonstration, rows)):
        parts = held.assembly.parts
        ranges = [
            (
                float(np.ravel(getattr(parts, f"{side}_minimum"))[0]),
                float(np.ravel(getattr(parts, f"{side}_maximum"))[0]),
            )
            for side in ("tune", "load")
        ]
        tune, load = (random.uniform(*ends, SETTINGS) for ends in ranges)
        taps = np.arange(SETTINGS) % len(held.positions)
        solved = page.evaluate(
            "([k, settings]) => settings.map(([tap, tune, load]) => ladderModel.solve(models[k], tap, tune, load))",
            [number, [[int(a), float(b), float(c)] for a, b, c in zip(taps, tune, load, strict=True)]],
        )
        for tap in range(len(held.positions)):
            mine = np.flatnonzero(taps == tap)
            expected = by_the_package(held, tap, tune[mine], load[mine])
            for key in ("z", "swr", "loadedQ", "output"):
                found = np.array([solved[k][key] for k in mine])
                size = np.hypot(*expected[key].T)[:, np.newaxis] if key == "z" else np.abs(expected[key])
                assert (np.abs(found - expected[key]) <= 1e-6 * size).all(), key
            listed = solved[mine[0]]["stress"]
            assert (
                {"coil", "tune_capacitor", "load_capacitor", "band_switch"}
                <= set(listed)
                <= set(expected["stress"])
            )
            for name in listed:
                for quantity in QUANTITIES:
                    wanted = expected["stress"][name][quantity]
                    if not np.isnan(wanted).all():
                        found = np.array([solved[k]["stress"][name][quantity] for k in mine])
                        np.testing.assert_allclose(
                            found, wanted, rtol=1e-6, atol=1e-12, err_msg=f"{name} {quantity}"
                        )


def test_untouched_it_gives_the_figures_of_the_report(
    look: Callable[..., Page], demonstration: Analysis, tmp_path: Path
) -> None:
    """One figure per thing: at the settings of the report the model is the report."""
    rows = drawn_rows(demonstration)
    path = tmp_path / "solver.html"
    path.write_text(
        f"<title>solver</title><script>{script('ladder')}; "
        f"const models = {setting_panels(demonstration, rows)};</script>"
    )
    found = look(path).evaluate(
        "models.map(m => ladderModel.solve(m, m.own, m.knobs.tune.set, m.knobs.load.set))"
    )
    points = [point for band in demonstration.verdict.bands for point in band.points]
    for row, solved in zip(rows, found, strict=True):
        point = points[row]
        assert solved["output"] == pytest.approx(point.output_watt, rel=1e-6)
        assert solved["loadedQ"] == pytest.approx(point.loaded_q, rel=1e-6)
        for name, stress in solved["stress"].items():
            carried = point.parts[name]
            assert carried is not None
            assert stress["current_rms"] == pytest.approx(carried.current_rms_ampere, rel=1e-6)
            assert stress["voltage_peak"] == pytest.approx(carried.voltage_peak_volt, rel=1e-6)


@pytest.fixture
def turned(look: Callable[..., Page], refitted_page: Path) -> Page:
    """Open the first band of the demonstration."""
    page = look(refitted_page)
    page.evaluate("document.getElementById('band-2').open = true")
    page.wait_for_selector("#band-2 .turning h4")
    return page


def told(page: Page) -> str:
    return page.locator("#band-2 .turning").inner_text()


def shown(page: Page) -> list[str]:
    """Give the lines without the one that is spoken, which comes a little later."""
    return [line for line in told(page).splitlines() if line and not re.match(r"SWR \d", line)]


def test_the_keyboard_turns_a_knob_and_brings_it_back(turned: Page) -> None:
    before, before_it = told(turned), shown(turned)
    assert "SWR at the plate\n1.00" in before
    turned.locator("#band-2-tune").focus()
    for _ in range(30):
        turned.keyboard.press("ArrowRight")
    assert told(turned) != before
    assert "SWR at the plate\n1.00" not in told(turned)
    spoken = turned.locator("#band-2 [role=status]")
    spoken.filter(has_text="output").wait_for(state="attached")
    assert "SWR" in (spoken.text_content() or "")
    assert turned.locator("#band-2-tune").get_attribute("aria-valuetext") in told(turned)
    turned.keyboard.press("Tab")
    turned.keyboard.press("Tab")
    assert turned.evaluate("document.activeElement.id") == "band-2-tap"
    turned.keyboard.press("ArrowDown")
    turned.keyboard.press("Tab")
    turned.keyboard.press("Enter")
    assert shown(turned) == before_it


def test_the_point_on_the_chart_moves(turned: Page) -> None:
    dot = turned.locator("#band-2 svg circle.turned")
    before = dot.get_attribute("cx"), dot.get_attribute("cy")
    # Derived: at a match the plate sees R_L, (R_L - R0) / (R_L + R0) on the real axis of a chart of R0.
    size = float(
        turned.evaluate(
            "document.querySelector('#band-2 svg circle.turned').ownerSVGElement.viewBox.baseVal.width"
        )
    )
    assert float(before[1] or 0) == pytest.approx(size / 2, rel=1e-3)
    turned.locator("#band-2-load").fill("1500")
    assert (dot.get_attribute("cx"), dot.get_attribute("cy")) != before


def test_it_says_that_it_is_a_model_and_what_it_leaves_out(turned: Page) -> None:
    words = told(turned)
    assert "a model" in words
    assert "are not followed here" in words
    assert re.search(r"\d+ pF to [\d.]+ nF", words)


def test_without_script_nothing_of_it_shows(browser: Any, refitted_page: Path) -> None:
    page = browser.new_page(java_script_enabled=False)
    page.goto(refitted_page.as_uri())
    assert page.locator(".turning").first.is_hidden()
    assert page.locator("#fails .finding").first.is_visible()
    page.close()


def test_the_policy_lets_no_other_script_run(
    look: Callable[..., Page], refitted_page: Path, tmp_path: Path
) -> None:
    text = refitted_page.read_text(encoding="utf-8")
    assert "script-src 'sha256-" in text
    assert "default-src 'none'" in text
    path = tmp_path / "altered.html"
    path.write_text(
        text.replace("</main>", "</main><script>document.title = 'hit'</script>", 1), encoding="utf-8"
    )
    page = look(path)
    assert page.title() != "hit"
    assert page.locator("#band-1 .turning h4").count() == 1  # its own still runs
