"""Solved amplifiers, shared by the tests of all renderings."""

from pathlib import Path

import pytest

from netsim.advice.bench.bench import Bench, bench
from netsim.advice.fit.fit import Fit, fit
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


@pytest.fixture(scope="session")
def on_the_bench(circuits: Path) -> Analysis:
    """Solve the demonstration that was measured, without ngspice and with few samples."""
    return analyse(read(circuits / "on-the-bench.toml"), engine="two-port", samples=256)


@pytest.fixture(scope="session")
def benched(on_the_bench: Analysis) -> Bench:
    """Hold its readings beside what is calculated."""
    return bench(on_the_bench.amplifier, solved=on_the_bench)


@pytest.fixture(scope="session")
def fitted(on_the_bench: Analysis) -> Fit:
    """Fit it to its readings."""
    return fit(on_the_bench.amplifier, engine="two-port", before=on_the_bench)
