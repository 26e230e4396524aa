"""Which plate loads and frequencies, and which capacitor settings, the parts of a band serve."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.reflection import reflection_of, swr_of
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import BoolArray, match, plate_impedance
from netsim.description.reader import Amplifier

_SPAN = 5.0
_BEYOND = 0.1
_MARGIN = 1.25
_DRAWN = 301, 25
"""Plate loads and frequencies of a map that is drawn."""

_AROUND = {"tune": 1.6, "load": 4.0}
"""How far about the settings of a match the plane reaches, as factors: a match is sharp in one, broad in the other."""


@dataclass(frozen=True)
class PlateLoadCoverage:
    """Plate load against frequency: where both capacitors reach the match.

    Attributes
    ----------
    plate_load, frequency : ndarray
        Axes [ohm], [Hz], shapes ``(loads,)`` and ``(frequencies,)``.
    matched, served : ndarray of bool
        Both settings within the parts' ranges, and the loaded Q within its window too, ``(loads, frequencies)``.
    tune, load : ndarray
        Settings needed [F], same shape; NaN where no match exists.
    present_load, present_frequency : float, ndarray
        The amplifier's plate load [ohm], the band's frequencies [Hz].
    """

    band: str
    plate_load: FloatArray
    frequency: FloatArray
    matched: BoolArray
    served: BoolArray
    tune: FloatArray
    load: FloatArray
    present_load: float
    present_frequency: FloatArray

    def range_served(self, *, within_window: bool = False) -> tuple[float, float] | None:
        """Give the plate loads [ohm] around the present one that are served on all the band's frequencies.

        Lowest and highest of the stretch that holds the present plate load or lies nearest to it, to the resolution of
        the axis; None if there is none. On request the loaded Q has to stay within its window as well.
        """
        low, high = self.present_frequency.min(), self.present_frequency.max()
        # The ends stand on the axis; rounding must not lose them.
        inside = (self.frequency >= low * (1 - 1e-9)) & (self.frequency <= high * (1 + 1e-9))
        good = (self.served if within_window else self.matched)[:, inside].all(axis=1)
        ends = stretch(np.asarray(good), self.plate_load, self.present_load)
        return ends and (float(self.plate_load[ends[0]]), float(self.plate_load[ends[1]]))


@dataclass(frozen=True)
class SettingsCoverage:
    """Tune against load capacitance: how well each pair of settings matches at one frequency.

    Attributes
    ----------
    frequency : float
        [Hz].
    tune, load : ndarray
        Axes [F], geometric, shapes ``(m,)`` and ``(n,)``: about the settings of the match, and on to the nearest
        end of the variable part's range; over the whole range where there is no match.
    tune_range, load_range : tuple of float
        What the variable parts reach [F].
    swr : ndarray
        Of the plate impedance against the plate load, shape ``(m, n)``.
    plate_resistance : ndarray
        What the plate sees where it sees a pure resistance, ``1 / Re(Y)`` [ohm], shape ``(m, n)``.
    present : tuple of float or None
        Settings of the match [F], whether within the axes or not.
    """

    band: str
    frequency: float
    tune: FloatArray
    load: FloatArray
    tune_range: tuple[float, float]
    load_range: tuple[float, float]
    swr: FloatArray
    plate_resistance: FloatArray
    present: tuple[float, float] | None


def plate_load_coverage(
    amplifier: Amplifier, band: str, loads: int = 241, frequencies: int = 61
) -> PlateLoadCoverage:
    """Map plate load against frequency for one band, all in one go.

    The axes go from a fifth to five times the present plate load, and over the band with a tenth more on either side.

    Raises
    ------
    UsageError
        ``unknown_band``.
    """
    index = amplifier.band_index(band)
    listed = np.array(amplifier.description.bands[index].frequencies)
    low, high = listed.min(), listed.max()
    axis = np.unique(
        np.concatenate([np.linspace(low * (1 - _BEYOND), high * (1 + _BEYOND), frequencies), listed])
    )
    # A tenth beyond the lowest or highest frequency of the format is beyond the format.
    assembly = _at(amplifier, index, axis)
    present = float(assembly.stage.plate_load[0])
    plate_load = present * np.geomspace(1 / _SPAN, _SPAN, loads)
    parts = at_plate_loads(assembly.parts, plate_load)
    tune, load, matched = in_reach(parts)
    bottom, top = amplifier.description.limits.loaded_q
    q = loaded_q(parts, tune)
    with np.errstate(invalid="ignore"):
        served = matched & (q >= bottom) & (q <= top)
    shape = loads, len(axis)
    return PlateLoadCoverage(
        band,
        plate_load,
        axis,
        matched.reshape(shape),
        served.reshape(shape),
        tune.reshape(shape),
        load.reshape(shape),
        present,
        listed,
    )


def settings_coverage(
    amplifier: Amplifier, band: str, frequency: float | None = None, points: int = 121
) -> SettingsCoverage:
    """Map the plane of both settings for one band at one frequency [Hz], all in one go.

    By default it is the middle one of the band's list; both axes have as many points.

    Raises
    ------
    UsageError
        ``unknown_band``.
    """
    index = amplifier.band_index(band)
    listed = sorted(amplifier.description.bands[index].frequencies)
    chosen = listed[len(listed) // 2] if frequency is None else frequency
    assembly = _at(amplifier, index, np.array([chosen]))
    one = assembly.parts
    found = match(one)
    exists = bool(found.exists[0, 0])
    present = (float(found.tune[0, 0]), float(found.load[0, 0])) if exists else None
    network = amplifier.description.network
    tune_range, load_range = (
        (part.minimum, part.maximum) for part in (network.tune_capacitor, network.load_capacitor)
    )
    tune = _settings(tune_range, present and present[0], _AROUND["tune"], points)
    load = _settings(load_range, present and present[1], _AROUND["load"], points)
    parts = one.take(np.zeros(points * points, dtype=np.intp))
    seen = plate_impedance(parts, np.repeat(tune, points), np.tile(load, points))
    with np.errstate(divide="ignore"):
        swr = swr_of(reflection_of(seen, one.plate_load))
        resistance = 1 / np.real(1 / seen)
    shape = points, points
    return SettingsCoverage(
        band,
        chosen,
        tune,
        load,
        tune_range,
        load_range,
        swr.reshape(shape),
        resistance.reshape(shape),
        present,
    )


def at_plate_loads(parts: Parts, plate_load: FloatArray) -> Parts:
    """Return all networks at each of several plate loads [ohm] in turn."""
    count = len(parts)
    repeated = parts.take(np.tile(np.arange(count), len(plate_load)))
    return replace(repeated, plate_load=np.repeat(plate_load, count))


def in_reach(parts: Parts) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Match networks in closed form.

    Returns
    -------
    tune, load : ndarray
        Settings [F] of the match within range; where none is, of the one that is wanted. NaN without any.
    matched : ndarray of bool
        Whether one is.
    """
    found = match(parts)
    within = found.within(parts)
    second = ~within[0] & within[1]
    tune, load = (np.where(second, values[1], values[0]) for values in (found.tune, found.load))
    return tune, load, np.asarray(within.any(axis=0))


def stretch(good: BoolArray, axis: FloatArray, present: float) -> tuple[int, int] | None:
    """Return the ends of the unbroken stretch of an axis that is nearest to a value by ratio; None without one."""
    if not good.any():
        return None
    nearest = int(np.argmin(np.where(good, np.abs(np.log(axis / present)), np.inf)))
    gaps = np.flatnonzero(~good)
    below, above = gaps[gaps < nearest], gaps[gaps > nearest]
    return int(below[-1]) + 1 if below.size else 0, int(above[0]) - 1 if above.size else len(good) - 1


@dataclass(frozen=True)
class CoverageMaps:
    """What the parts serve in one band: plate load against frequency, and tune against load capacitance."""

    band: str
    loads: PlateLoadCoverage
    settings: SettingsCoverage


def coverage_maps(amplifier: Amplifier) -> tuple[CoverageMaps, ...]:
    """Map every band, in file order, fine enough to be drawn."""
    names = [band.name for band in amplifier.description.bands]
    each = zip(names, load_maps(amplifier, names), strict=True)
    return tuple(CoverageMaps(band, loads, settings_coverage(amplifier, band)) for band, loads in each)


def load_maps(amplifier: Amplifier, bands: Sequence[str]) -> tuple[PlateLoadCoverage, ...]:
    """Map plate load against frequency alone, for some bands by name."""
    return tuple(plate_load_coverage(amplifier, band, *_DRAWN) for band in bands)


def _settings(reach: tuple[float, float], present: float | None, around: float, points: int) -> FloatArray:
    """Lay an axis about a setting that is needed, so that the range or its nearest end is in sight."""
    low, high = reach[0] / _MARGIN, reach[1] * _MARGIN
    if present is not None and present > 0:
        low = min(present / around, reach[1] / _MARGIN)
        high = max(present * around, reach[0] * _MARGIN)
    axis: FloatArray = np.geomspace(low, high, points)
    return axis


def _at(amplifier: Amplifier, index: int, frequency: FloatArray) -> Assembly:
    """Assemble one band at other frequencies, with the switch as it is."""
    description = amplifier.description
    band = description.bands[index].model_copy(update={"frequencies": tuple(frequency.tolist())})
    changed = description.model_copy(update={"bands": (band,)})
    return assemble(amplifier, changed, points=False, switch=description.bands)
