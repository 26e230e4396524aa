"""Both maps of what the parts serve, for every band of an amplifier."""

from collections.abc import Sequence
from dataclasses import dataclass

from netsim.advice.coverage import PlateLoadCoverage, SettingsCoverage, plate_load_coverage, settings_coverage
from netsim.description.reader import Amplifier

_LOADS, _FREQUENCIES, _SETTINGS = 301, 25, 121


@dataclass(frozen=True)
class CoverageMaps:
    """What the parts serve in one band: plate load against frequency, and tune against load capacitance."""

    band: str
    loads: PlateLoadCoverage
    settings: SettingsCoverage


def coverage_maps(amplifier: Amplifier) -> tuple[CoverageMaps, ...]:
    """Map every band, fine enough to be drawn.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.

    Returns
    -------
    tuple of CoverageMaps
        In file order.
    """
    return tuple(
        CoverageMaps(
            band.name,
            plate_load_coverage(amplifier, band.name, _LOADS, _FREQUENCIES),
            settings_coverage(amplifier, band.name, points=_SETTINGS),
        )
        for band in amplifier.description.bands
    )


def load_maps(amplifier: Amplifier, bands: Sequence[str]) -> tuple[PlateLoadCoverage, ...]:
    """Map plate load against frequency alone, for some bands by name."""
    return tuple(plate_load_coverage(amplifier, band, _LOADS, _FREQUENCIES) for band in bands)
