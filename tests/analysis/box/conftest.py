"""The demonstration with a whole box, solved once."""

from pathlib import Path

import pytest

from netsim.analysis import Analysis, analyse
from netsim.description.reader import Amplifier, read


@pytest.fixture(scope="session")
def whole(circuits: Path) -> Amplifier:
    """Read the whole box."""
    return read(circuits / "whole-box.toml")


@pytest.fixture(scope="session")
def boxed(whole: Amplifier) -> Analysis:
    """Solve it on 10 m."""
    return analyse(whole, band="10 m", engine="two-port")


@pytest.fixture(scope="session")
def plain_text(plain: Path) -> str:
    """Read a plain amplifier, without a tube or a box."""
    return plain.read_text(encoding="utf-8")
