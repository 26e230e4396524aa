from pathlib import Path

import pytest

PLAIN = Path(__file__).parents[1] / "examples" / "plain.toml"


@pytest.fixture(scope="session")
def plain_path():
    return PLAIN


@pytest.fixture(scope="session")
def plain_text():
    return PLAIN.read_text(encoding="utf-8")
