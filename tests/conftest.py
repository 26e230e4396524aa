"""Settings that all tests share."""

import os
from pathlib import Path

# As in the command: read once, when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).parent.parent

settings.register_profile("local", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile(
    "ci", deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci" if os.environ.get("CI") else "local")


@pytest.fixture(scope="session")
def root() -> Path:
    """Top of the repository."""
    return ROOT


@pytest.fixture(scope="session")
def circuits() -> Path:
    """Folder of the demonstration amplifiers."""
    return ROOT / "circuits"


@pytest.fixture(scope="session")
def plain() -> Path:
    """One plain amplifier with every part."""
    return ROOT / "tests" / "examples" / "plain.toml"


@pytest.fixture(scope="session")
def wound() -> Path:
    """One amplifier with wound coils: a pi-L with shorted segments, open turns, a toroid and air gaps."""
    return ROOT / "tests" / "examples" / "wound.toml"


ONE_CASE = {
    *("test_under_plain_locales", "test_homes_that_cannot_be_written", "test_with_flags_of_the_interpreter"),
    *("test_every_kind_of_section_is_clean_unfolded", "test_the_whole_page_is_clean", "test_clean_unfolded"),
    *("test_axe_finds_nothing_about_the_bench", "test_a_slip_does_not_make_the_search_endless"),
    "test_no_text_of_a_schematic_lies_on_another_or_on_a_wire",
    *("test_nothing_is_left_on_a_full_disk", "test_a_terminal_without_our_signs", "test_units_respelt"),
    *(
        "test_axe_finds_nothing_unfolded",
        "test_every_finding_stands_on_the_page",
        "test_a_remedy_does_what_it_says",
    ),
    *("test_a_page_without_it_carries_neither_its_style_nor_its_words", "test_rows_say_what_the_advice_says"),
    *("test_moves_written_into_the_file_give_what_was_predicted", "test_taps_move_with_their_contacts"),
}
"""Tests of seconds a case, of which one is tried always and the others with ``-m slow``."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark all but the first case of the tests in `ONE_CASE` as slow."""
    seen: set[str] = set()
    for item in items:
        name = getattr(item, "originalname", item.name)
        if name in ONE_CASE:
            if name in seen:
                item.add_marker(pytest.mark.slow)
            seen.add(name)
