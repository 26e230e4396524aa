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
