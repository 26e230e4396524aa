"""Both maps of what the parts serve, for every band of an amplifier."""

from dataclasses import dataclass

from netsim.description.reader import Description

from .coverage import PlateLoadCoverage, SettingsCoverage, plate_load_coverage, settings_coverage

_LOADS, _FREQUENCIES, _SETTINGS = 301, 25, 121


@dataclass(frozen=True)
class CoverageMaps:
    """What the parts serve in one band: plate load against frequency, and tune against load capacitance."""

    band: str
    loads: PlateLoadCoverage
    settings: SettingsCoverage


def coverage_maps(description: Description) -> tuple[CoverageMaps, ...]:
    """Map every band, fine enough to be drawn.

    Parameters
    ----------
    description : Description
        A validated amplifier file.

    Returns
    -------
    tuple of CoverageMaps
        In file order.
    """
    return tuple(
        CoverageMaps(
            band.name,
            plate_load_coverage(description, band.name, _LOADS, _FREQUENCIES),
            settings_coverage(description, band.name, points=_SETTINGS),
        )
        for band in description.amplifier.bands
    )
