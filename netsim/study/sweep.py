"""The curves that a page draws: sweeps of solved networks over frequency."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.stage import ORDERS
from netsim.solvers import batch

from .outcome import Study


@dataclass(frozen=True)
class Response:
    """Antenna current per plate current over frequency, of one network.

    Attributes
    ----------
    frequency : ndarray
        [Hz], shape ``(points,)``, geometric from half to ten times the working frequency.
    relative_db : ndarray
        Relative to the working frequency [dB], shape ``(points,)``.
    """

    frequency: FloatArray
    relative_db: FloatArray


def response(walked: Study, rows: Sequence[int], points: int = 600) -> list[Response]:
    """Sweep some of the networks at their settings, all together.

    Parameters
    ----------
    walked : Study
        A solved amplifier.
    rows : sequence of int
        Which networks.
    points : int
        How many frequencies each.

    Returns
    -------
    list of Response
        One for each row.
    """
    orders = np.union1d(np.geomspace(0.5, 10.0, points), np.arange(1.0, ORDERS + 1))
    swept = batch.solve(walked.ladder, orders)
    current = np.abs(swept.branch_current["antenna"])
    reference = current[:, np.searchsorted(orders, 1.0)]
    relative = 20 * np.log10(current / reference[:, np.newaxis])
    return [Response(orders * walked.evidence.frequency[row], relative[row]) for row in rows]
