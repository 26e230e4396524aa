"""Measured antennas and filters at the orders of networks."""

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.scattering import between
from netsim.circuit.stage import ORDERS
from netsim.description.touchstone import Measurement


def measured_orders(measurement: Measurement, frequency: FloatArray) -> ComplexArray:
    """Give scattering parameters at orders 1 to 10 of working frequencies.

    Parameters
    ----------
    measurement : Measurement
        Of one or two ports.
    frequency : ndarray
        [Hz], shape ``(networks,)``.

    Returns
    -------
    ndarray
        Complex, shape ``(networks, 10, ports, ports)``; NaN at orders beyond the measurement.

    Raises
    ------
    DescriptionError
        If a working frequency was not measured, or nothing comes through a filter there.
    """
    measurement.demand(frequency)
    each, row = np.unique(frequency, return_inverse=True)  # many networks share few frequencies
    wanted = each[:, np.newaxis] * np.arange(1, ORDERS + 1)
    return between(measurement.frequency, measurement.scattering, wanted)[row]
