"""Dial figures of a variable capacitor and the capacitances they stand for."""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

_HALVINGS = 60
_ROUNDING = 1e-9


class Dial:
    """One smooth rising or falling curve through a table of dial figures and capacitances.

    Between the points runs the monotone cubic of Fritsch and Butland (scipy's ``PchipInterpolator``) over
    the dial figure; a capacitance is turned into the figure at which this curve passes it, so that both
    ways agree. Outside the table nothing is known.

    Parameters
    ----------
    points : sequence of (figure, capacitance)
        Two or more, both strictly monotone; capacitance [F].
    """

    def __init__(self, points: Sequence[tuple[float, float]]) -> None:
        figures, farads = np.array(sorted(points), dtype=float).T
        self.figures: NDArray[np.float64] = figures
        self.farads: NDArray[np.float64] = farads

    @cached_property
    def _curve(self) -> "PchipInterpolator":
        from scipy.interpolate import PchipInterpolator

        return PchipInterpolator(self.figures, self.farads, extrapolate=False)

    def capacitance(self, figure: ArrayLike) -> NDArray[np.float64]:
        """Return the capacitance [F] at dial figures of any shape; NaN outside the table."""
        return np.asarray(self._curve(np.asarray(figure, dtype=float)))

    def figure(self, capacitance: ArrayLike) -> NDArray[np.float64]:
        """Return the dial figure at capacitances [F] of any shape; NaN outside the table."""
        wanted = np.asarray(capacitance, dtype=float)
        rising = self.farads[-1] > self.farads[0]
        low = np.full(wanted.shape, self.figures[0])
        high = np.full(wanted.shape, self.figures[-1])
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            beyond = (self._curve(middle) > wanted) == rising
            low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
        least, most = sorted((self.farads[0], self.farads[-1]))
        inside = (wanted >= least * (1 - _ROUNDING)) & (wanted <= most * (1 + _ROUNDING))
        return np.where(inside, (low + high) / 2, np.nan)
