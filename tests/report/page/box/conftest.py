"""The demonstration with a whole box, solved once."""

from pathlib import Path

import pytest

from netsim.analysis import Analysis, analyse
from netsim.description.reader import read


@pytest.fixture(scope="session")
def boxed(circuits: Path) -> Analysis:
    """Solve it on one band."""
    return analyse(read(circuits / "whole-box.toml"), band="10 m", engine="two-port", samples=1)
