"""Ways to make the bias: a constant voltage or a resistor in the cathode's lead."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tube.triode import TubeConstants, Value

_HALVINGS = 80


@dataclass(frozen=True)
class CathodeVoltage:
    """A zener diode, or a transistor in its place, in the cathode's lead; arrays of shape ``(rows,)``.

    Attributes
    ----------
    voltage, current, power : ndarray
        [V], [A] and [W] at full output; NaN where the bias is not negative, for it makes no other.
    """

    voltage: FloatArray
    current: FloatArray
    power: FloatArray


@dataclass(frozen=True)
class CathodeResistor:
    """A resistor in the cathode's lead; arrays of shape ``(rows,)``, NaN where the bias is not negative.

    Attributes
    ----------
    resistance, power : ndarray
        [ohm], and [W] at full output.
    idle_bias_voltage : ndarray
        Grid to cathode without drive [V]; at full output it is the tube's bias.
    idle_current, idle_dissipation : ndarray
        Of the plate without drive [A], [W].
    """

    resistance: FloatArray
    power: FloatArray
    idle_bias_voltage: FloatArray
    idle_current: FloatArray
    idle_dissipation: FloatArray


def cathode_voltage(tube: TubeConstants, cathode_current: Value) -> CathodeVoltage:
    """Work out what stands in the cathode's lead to hold a constant voltage there.

    Parameters
    ----------
    tube : TubeConstants
        With its bias.
    cathode_current : float or ndarray
        DC of all tubes at full output, grid and screen included [A].

    Notes
    -----
    The cathode stands as much above chassis as the grid is to be below it. Kirchhoff and Joule.
    """
    bias = np.atleast_1d(np.asarray(tube.bias_voltage, dtype=np.float64))
    made = np.where(bias < 0, -bias, np.nan)
    volts, amperes = np.broadcast_arrays(made, np.asarray(cathode_current, dtype=np.float64))
    return CathodeVoltage(volts, amperes, volts * amperes)


def cathode_resistor(
    tube: TubeConstants, idle_plate_voltage: Value, cathode_current: Value
) -> CathodeResistor:
    """Work out the resistor, and where the tube idles with it.

    Parameters
    ----------
    tube : TubeConstants
        With the bias wanted at full output.
    idle_plate_voltage : float or ndarray
        DC without drive, plate to the resistor's cold end [V].
    cathode_current : float or ndarray
        As in `cathode_voltage`.

    Notes
    -----
    ``R = -bias / I`` at full output. Without drive the bias is what the idle current makes in R, which is
    the one current at which ``I = i(V - I R, -I R)``: the left side rises and the right side falls with I,
    so it is halved down. The plate's current alone flows then, for the grid is negative.
    """
    held = cathode_voltage(tube, cathode_current)
    resistance = held.voltage / held.current
    volts = np.broadcast_to(np.asarray(idle_plate_voltage, dtype=np.float64), resistance.shape)

    def drawn(current: FloatArray) -> FloatArray:
        return tube.plate_current(volts - current * resistance, -current * resistance)

    low = np.zeros(resistance.shape)
    high = drawn(low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        more = drawn(middle) > middle
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    bias = -high * resistance
    return CathodeResistor(resistance, held.power, bias, high, high * (volts + bias))
