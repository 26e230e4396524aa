"""The knobs of the page: its own solver against the package's, with keyboard and screen reader."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from page_cases import whole_page
from playwright.sync_api import Page

from netsim.analysis import Result, analyse
from netsim.analysis.held_source import HeldBand, held_bands
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.sections import loaded_q
from netsim.circuit.topology import build_ladder
from netsim.description.reader import read
from netsim.report.page.band_section import drawn_rows
from netsim.report.page.page import render
from netsim.report.page.setting_panel import setting_panels
from netsim.report.page.templating import script
from netsim.solvers import batch
from netsim.verdict.band_switch import switch_stress
from netsim.verdict.solved import standing_wave_ratio
from netsim.verdict.stress import stresses

SETTINGS = 200
QUANTITIES = ("voltage_peak", "current_rms", "loss", "reactive_power")


@pytest.fixture(scope="module", params=["old-tubes", "new-tube", "new-tube-pi-l", "new-tube-on-the-air"])
def demonstration(request: pytest.FixtureRequest, circuits: Path) -> Result:
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
    look: Callable[..., Page], demonstration: Result, tmp_path: Path
) -> None:
    """Cross-solver: elimination of node equations in the page, a walk from the antenna in the package."""
    rows = drawn_rows(demonstration)
    path = tmp_path / "solver.html"
    path.write_text(
        f"<title>solver</title><script>{script('ladder')}; const models = {setting_panels(demonstration, rows)};</script>"
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
                assert np.abs(found - expected[key]).max() <= 1e-6 * np.abs(expected[key]).max(), key
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
