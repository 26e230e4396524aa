"""The curves that a page draws: sweeps of solved networks over frequency."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from netsim.analysis.analysis import Analysis
from netsim.analysis.antenna_files import resistance_of, source_at
from netsim.circuit.elements import FloatArray
from netsim.circuit.reflection import behind_filter
from netsim.circuit.scattering import between
from netsim.circuit.stage import ORDERS
from netsim.description.touchstone import load
from netsim.solvers import batch

_LEAST = 1e-15


@dataclass(frozen=True)
class Response:
    """Antenna current per plate current over frequency, of one network.

    Attributes
    ----------
    frequency : ndarray
        [Hz], shape ``(points,)``, geometric from half to ten times the working frequency, with a measured
        filter as far as it was measured.
    relative_db : ndarray
        Relative to the working frequency [dB], shape ``(points,)``.
    """

    frequency: FloatArray
    relative_db: FloatArray


def response(walked: Analysis, rows: Sequence[int], points: int = 600) -> list[Response]:
    """Sweep some of the networks at their settings, all together.

    Parameters
    ----------
    walked : Analysis
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
    if walked.amplifier.description.antenna.filter is None:
        current = np.abs(batch.solve(walked.solved.ladder, orders).branch_current["antenna"])
    else:
        orders, current = _through_filter(walked, orders)
    reference = current[:, np.searchsorted(orders, 1.0)]
    share = current / reference[:, np.newaxis]
    relative = 20 * np.log10(np.maximum(share, _LEAST))  # a filter may let nothing through
    return [Response(orders * walked.solved.frequency[row], relative[row]) for row in rows]


def _through_filter(walked: Analysis, orders: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Orders that lie within the filter's measurement at all frequencies, and the current that counts."""
    measurement = load(walked.amplifier, "filter")
    frequency, parts = walked.solved.frequency, walked.solved.assembly.parts
    within = orders * frequency.min() >= measurement.frequency[0]
    within &= orders * frequency.max() <= measurement.frequency[-1]
    orders = orders[within]
    resistance = resistance_of(parts)
    voltage, source = source_at(walked.solved.ladder, resistance, orders)
    scattering = between(measurement.frequency, measurement.scattering, frequency[:, np.newaxis] * orders)
    antenna = resistance[:, np.newaxis].astype(np.complex128)
    seen = behind_filter(scattering, measurement.reference, antenna, resistance)
    current = voltage / (source + seen.impedance)
    return orders, np.abs(current) * np.sqrt(seen.delivery_at(np.arange(1.0, len(orders) + 1)))
