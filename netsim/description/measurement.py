"""A measurement that the amplifier file names, read and interpolated."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from netsim.description.beside import read_beside
from netsim.description.formatting import format_quantity
from netsim.errors import DescriptionError, Problem

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from netsim.description.reader import Description

PORTS = {"measured": 1, "filter": 2}
_ROUNDING = 1e-9


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
    """

    shown: str
    frequency: "npt.NDArray[np.float64]"
    scattering: "npt.NDArray[np.complex128]"
    reference: float

    def at(self, frequency: "npt.NDArray[np.float64]") -> "npt.NDArray[np.complex128]":
        """Interpolate, real and imaginary part straight between neighbouring points.

        Parameters
        ----------
        frequency : ndarray
            [Hz], any shape.

        Returns
        -------
        ndarray
            Of that shape, and ports by ports.

        Raises
        ------
        DescriptionError
            ``frequency_not_measured`` if it was not measured down or up to there.
        """
        import numpy as np

        low, high = float(frequency.min()), float(frequency.max())
        first, last = float(self.frequency[0]), float(self.frequency[-1])
        if low < first * (1 - _ROUNDING) or high > last * (1 + _ROUNDING):
            problem = Problem(
                "frequency_not_measured",
                f"measured from {hertz(first)} to {hertz(last)}, but the bands and their harmonics up to the tenth "
                f"want {hertz(low)} to {hertz(high)}: measure over that range",
                self.shown,
            )
            raise DescriptionError(problem)
        ports = self.scattering.shape[-1]
        wanted = np.empty((*frequency.shape, ports, ports), dtype=np.complex128)
        for row in range(ports):
            for column in range(ports):
                values = self.scattering[:, row, column]
                wanted.real[..., row, column] = np.interp(frequency, self.frequency, values.real)
                wanted.imag[..., row, column] = np.interp(frequency, self.frequency, values.imag)
        return wanted


def load(description: "Description", key: str) -> Measurement:
    """Read the file that ``antenna.measured`` or ``antenna.filter`` names.

    Parameters
    ----------
    description : Description
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
    name = getattr(description.amplifier.antenna, key)
    try:
        return _read(description.path, name, PORTS[key], _stamp(description.path, name))
    except DescriptionError as error:
        problem = error.problems[0]
        if problem.file is not None:
            raise
        line, column = description.position("antenna", key)
        raise DescriptionError(
            Problem(problem.code, problem.message, description.path, line, column, f"antenna.{key}")
        ) from error


@lru_cache(maxsize=8)
def _read(amplifier_file: str, name: str, ports: int, stamp: tuple[int, int]) -> Measurement:
    """Read and keep: searches for remedies assemble the same file many times."""
    # Imported here because it gives what is defined here.
    from netsim.description.touchstone_file import parse

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
    return format_quantity(value, "Hz", digits=4, trim=True)
