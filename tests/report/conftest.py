"""Solved amplifiers, shared by the tests of all renderings."""

from pathlib import Path

import pytest

from netsim.advice.remedies import with_remedies
from netsim.analysis import Analysis, analyse
from netsim.description.reader import read


@pytest.fixture(scope="session")
def solved_plain(plain: Path) -> Analysis:
    """Solve the plain example both ways."""
    return with_remedies(analyse(read(plain)))


@pytest.fixture(scope="session", params=["new-tube.toml", "new-tube-pi-l.toml"])
def solved(request: pytest.FixtureRequest, circuits: Path) -> Analysis:
    """Solve a demonstration amplifier: a pi with much past its rating, and a pi-L."""
    return with_remedies(analyse(read(circuits / request.param)))


@pytest.fixture(scope="session")
def unchecked_plain(plain: Path) -> Analysis:
    """Solve the plain example without ngspice."""
    return with_remedies(analyse(read(plain), engine="two-port"))


@pytest.fixture(scope="session")
def on_the_air(circuits: Path) -> Analysis:
    """Solve the demonstration with a tube and antennas up to an SWR of 2."""
    return with_remedies(analyse(read(circuits / "new-tube-on-the-air.toml"), engine="two-port"))
