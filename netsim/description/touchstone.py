"""Measurements that the amplifier file names: strict reader of Touchstone files, version 1, of one or two ports."""

import math
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from netsim.description.file_name import read_beside
from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath, printed_key
from netsim.description.models.measured_rules import BEYOND
from netsim.errors import DescriptionError, Problem

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from netsim.description.reader import Amplifier

PORTS = {"measured": 1, "filter": 2}
_ROUNDING = 1e-9
_PASSES = 1e-2  # -40 dB


@dataclass(frozen=True)
class Measurement:
    """Scattering parameters over frequency.

    Attributes
    ----------
    shown : str
        Path, for messages.
    frequency : ndarray
        Ascending [Hz], shape ``(points,)``.
    scattering : ndarray
        Complex, shape ``(points, ports, ports)``.
    reference : float
        Resistance that it refers to [ohm].
    lines : tuple of int
        Of the points in the file.
    """

    shown: str
    frequency: "npt.NDArray[np.float64]"
    scattering: "npt.NDArray[np.complex128]"
    reference: float
    lines: tuple[int, ...]

    def demand(self, frequency: "npt.NDArray[np.float64]") -> None:
        """Demand that working frequencies were measured, and that a two-port passes something there.

        Parameters
        ----------
        frequency : ndarray
            Of the bands [Hz], any shape.

        Raises
        ------
        DescriptionError
            ``frequency_not_measured`` if one lies below the first or above the last point;
            ``filter_passes_nothing`` with the line of the measurement if less than -40 dB comes through at one.
        """
        import numpy as np

        low, high = float(frequency.min()), float(frequency.max())
        first, last = float(self.frequency[0]), float(self.frequency[-1])
        if low < first * (1 - _ROUNDING) or high > last * (1 + _ROUNDING):
            _fail(
                "frequency_not_measured",
                f"measured from {hertz(first)} to {hertz(last)}, but the bands want {hertz(low)} to {hertz(high)}: "
                "measure over all working frequencies; harmonics beyond the end may stay unknown",
                self.shown,
            )
        if self.scattering.shape[-1] < 2:
            return
        wanted = np.unique(frequency)
        passed = np.abs(self.scattering[:, 1, 0])
        shown = np.interp(wanted, self.frequency, passed)
        worst = int(np.argmin(shown))
        if shown[worst] < _PASSES:
            row = int(np.argmin(np.abs(self.frequency - wanted[worst])))
            much = f"{20 * np.log10(shown[worst]):.0f} dB" if shown[worst] > 0 else "nothing"
            _fail(
                "filter_passes_nothing",
                f"|S21| is {much} at {hertz(float(wanted[worst]))}, a working frequency, and a filter has to pass "
                "that: measure from one port through to the other (a one-port sweep saved as a two-port has "
                "S21 = 0), or name the filter of this band",
                self.shown,
                self.lines[row],
            )


def load(amplifier: "Amplifier", key: str) -> Measurement:
    """Read the file that ``antenna.measured`` or ``antenna.filter`` names.

    Parameters
    ----------
    amplifier : Amplifier
        Whose file gives the folder.
    key : {"measured", "filter"}
        Which of the two; it must be in the file.

    Returns
    -------
    Measurement
        Of one or two ports.

    Raises
    ------
    DescriptionError
        With the line in the amplifier file, or in the measurement where that is at fault.
    """
    name = getattr(amplifier.description.antenna, key)
    return _beside(amplifier, name, PORTS[key], ("antenna", key))


def load_reading(amplifier: "Amplifier", number: int) -> Measurement:
    """Read the file of a cold match, of which only the frequencies in its band are kept.

    Parameters
    ----------
    amplifier : Amplifier
        Whose file gives the folder.
    number : int
        Which of its readings, counted from 0; it names a file and a band.

    Returns
    -------
    Measurement
        Of one port, at one frequency or more.

    Raises
    ------
    DescriptionError
        As `load`; ``other_band`` if no frequency of the file lies in the band.
    """
    given = amplifier.description.measured[number]
    assert given.file is not None  # the caller's to look after
    assert given.band is not None  # by the rules of a reading
    here = ("measured", number, "file")
    found = _beside(amplifier, given.file, 1, here)
    band = amplifier.description.bands[amplifier.band_index(given.band)]
    low, high = min(band.frequencies), max(band.frequencies)
    beyond = _ROUNDING if low < high else BEYOND
    inside = (found.frequency >= low * (1 - beyond)) & (found.frequency <= high * (1 + beyond))
    if not inside.any():
        line, column = amplifier.position(*here)
        first, last = float(found.frequency[0]), float(found.frequency[-1])
        problem = Problem(
            "other_band",
            f"{given.file!r} was measured from {hertz(first)} to {hertz(last)}; no frequency of it lies in band "
            f"{given.band!r}, {hertz(low)} to {hertz(high)}: is it of another band?",
            amplifier.path,
            line,
            column,
            printed_key(here),
        )
        raise DescriptionError(problem)
    lines = tuple(number for number, kept in zip(found.lines, inside, strict=True) if kept)
    return replace(found, frequency=found.frequency[inside], scattering=found.scattering[inside], lines=lines)


def _beside(amplifier: "Amplifier", name: str, ports: int, key: KeyPath) -> Measurement:
    """Read a file beside the amplifier's; what is wrong without a place in it is told at its key."""
    try:
        return _read(amplifier.path, name, ports, _stamp(amplifier.path, name))
    except DescriptionError as error:
        problem = error.problems[0]
        if problem.file is not None:
            raise
        line, column = amplifier.position(*key)
        raise DescriptionError(
            Problem(problem.code, problem.message, amplifier.path, line, column, printed_key(key))
        ) from error


@lru_cache(maxsize=8)
def _read(amplifier_file: str, name: str, ports: int, stamp: tuple[int, int]) -> Measurement:
    """Read and keep: searches for remedies assemble the same file many times."""
    text, shown = read_beside(amplifier_file, name)
    return parse(text, shown, ports)


def _stamp(amplifier_file: str, name: str) -> tuple[int, int]:
    """Give time and size of the file as it is now; zeros where it cannot be had, which reading tells."""
    try:
        status = Path(amplifier_file).with_name(name).stat()
    except OSError:
        return 0, 0
    return status.st_mtime_ns, status.st_size


def hertz(value: float) -> str:
    """Write a frequency for a message."""
    return format_quantity(value, "Hz")


_SCALES = {"HZ": 1.0, "KHZ": 1e3, "MHZ": 1e6, "GHZ": 1e9}
_FORMATS = ("RI", "MA", "DB")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eEdD][+-]?[0-9]+)?")
_REFERENCES = (0.1, 10e3)
_HIGHEST = 1e12
"""Frequency that nobody measures [Hz]; beyond it the unit is wrong."""

_GAIN = 1.01
"""Largest singular value of a passive two-port that noise of a measurement may feign."""


def parse(text: str, shown: str, ports: int) -> Measurement:
    """Read scattering parameters out of the text of a Touchstone file.

    Parameters
    ----------
    text : str
        Version 1: an option line, then one line a frequency.
    shown : str
        Path, for messages.
    ports : int
        1 or 2.

    Raises
    ------
    DescriptionError
        ``touchstone_syntax``, ``wrong_port_count`` or ``not_passive``.
    """
    import numpy as np

    (scale, form, reference), rows = _lines(text, shown)
    _demand_ports(rows, shown, ports)
    if not rows:
        _fail("touchstone_syntax", "there is no line of data", shown)
    table = np.array([values for _, values in rows])
    with np.errstate(over="ignore"):
        frequency = table[:, 0] * scale
    if not frequency.max() <= _HIGHEST:
        place = rows[int(np.argmax(frequency))][0]
        _fail(
            "touchstone_syntax", f"{frequency.max():.3g} Hz is above 1 THz: is the unit wrong?", shown, place
        )
    steps = np.flatnonzero(np.diff(frequency) <= 0)
    if steps.size or frequency[0] < 0:
        place = rows[int(steps[0]) + 1][0] if steps.size else rows[0][0]
        _fail("touchstone_syntax", "frequencies must rise from line to line, from 0 Hz on", shown, place)
    pairs = table[:, 1:].reshape(len(rows), ports * ports, 2)
    scattering = _complex(pairs, form).reshape(len(rows), ports, ports)
    if ports == 2:  # S11 S21 S12 S22 in a file
        scattering = np.swapaxes(scattering, 1, 2)
    _demand_passive(scattering, frequency, shown, [number for number, _ in rows])
    return Measurement(shown, frequency, scattering, reference, tuple(number for number, _ in rows))


_Rows = list[tuple[int, list[float]]]


def _lines(text: str, shown: str) -> tuple[tuple[float, str, float], _Rows]:
    """Take the options and the numbers of every line, with the line's number."""
    options = None
    rows: _Rows = []
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.partition("!")[0].strip()
        if content.startswith("["):
            _fail("touchstone_syntax", "version 2 is not read; export it as version 1", shown, number)
        if content.startswith("#"):
            options = options or _options(content, shown, number)
        elif content:
            rows.append((number, [_float(word, shown, number) for word in content.split()]))
    return options or (1e9, "MA", 50.0), rows


def _demand_ports(rows: _Rows, shown: str, ports: int) -> None:
    wanted = 1 + 2 * ports * ports
    for number, values in rows:
        if len(values) != wanted:
            found = {3: "one port", 9: "two ports"}.get(len(values), f"no {ports}-port of version 1")
            _fail(
                "wrong_port_count",
                f"a {ports}-port has {wanted} numbers a line, this line has {len(values)} ({found}); "
                f"export the measurement as .s{ports}p",
                shown,
                number,
            )


def _options(content: str, shown: str, number: int) -> tuple[float, str, float]:
    """Read ``# MHz S RI R 50``, parts in any order, each with its default."""
    scale, form, reference = 1e9, "MA", 50.0
    words = content[1:].upper().split()
    while words:
        word = words.pop(0)
        if word in _SCALES:
            scale = _SCALES[word]
        elif word in _FORMATS:
            form = word
        elif word == "R" and words:
            reference = _float(words.pop(0), shown, number)
            if not _REFERENCES[0] <= reference <= _REFERENCES[1]:
                _fail(
                    "touchstone_syntax",
                    f"the reference resistance must be 0.1 ohm to 10 kohm; found {reference:g} ohm after R",
                    shown,
                    number,
                )
        elif word != "S":
            _fail("touchstone_syntax", f"{word!r} is not read; export S parameters", shown, number)
    return scale, form, reference


def _complex(pairs: "npt.NDArray[np.float64]", form: str) -> "npt.NDArray[np.complex128]":
    import numpy as np

    if form == "RI":
        return np.asarray(pairs[..., 0] + 1j * pairs[..., 1])
    with np.errstate(over="ignore", invalid="ignore"):  # what is infinite is refused as not passive
        size = 10 ** (pairs[..., 0] / 20) if form == "DB" else pairs[..., 0]
        return np.asarray(size * np.exp(1j * np.radians(pairs[..., 1])))


def _demand_passive(
    scattering: "npt.NDArray[np.complex128]",
    frequency: "npt.NDArray[np.float64]",
    shown: str,
    lines: list[int],
) -> None:
    import numpy as np

    size = np.abs(scattering)
    for port in range(scattering.shape[-1]):
        worst = int(np.argmax(size[:, port, port]))
        if not size[worst, port, port] < 1:
            _fail(
                "not_passive",
                f"|S{port + 1}{port + 1}| is {size[worst, port, port]:.4g} at {hertz(float(frequency[worst]))}; it "
                "must be below 1, what is passive gives back less than it gets: calibrate and measure again",
                shown,
                lines[worst],
            )
    if not (size <= _GAIN).all():
        worst = int(np.argmax(np.where(size <= _GAIN, 0.0, 1.0).max(axis=(1, 2))))
        _fail(
            "not_passive",
            f"more comes out than goes in at {hertz(float(frequency[worst]))}: calibrate and measure again",
            shown,
            lines[worst],
        )
    gain = np.linalg.norm(scattering, 2, axis=(1, 2))
    worst = int(np.argmax(gain))
    if gain[worst] > _GAIN:
        _fail(
            "not_passive",
            f"at {hertz(float(frequency[worst]))} more power comes out than goes in (by {gain[worst] ** 2 - 1:.1%}): "
            "calibrate and measure again",
            shown,
            lines[worst],
        )


def _float(word: str, shown: str, number: int) -> float:
    value = float(word.replace("d", "e").replace("D", "e")) if _NUMBER.fullmatch(word) else math.nan
    if not math.isfinite(value):
        _fail("touchstone_syntax", f"{word[:40]!r} is not a number", shown, number)
    return value


def _fail(code: str, message: str, file: str, line: int | None = None) -> NoReturn:
    raise DescriptionError(Problem(code, message, file, line))
