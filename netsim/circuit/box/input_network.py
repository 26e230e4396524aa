"""The network between exciter and tube: a pi or a wire, as a ladder, and a pi's values in closed form."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import (
    Branch,
    Capacitor,
    ComplexArray,
    FloatArray,
    Inductor,
    Termination,
)
from netsim.circuit.ladder import Ladder

EXCITER, TUBE = "exciter", "tube"
SOURCE_CAPACITOR, COIL, TUBE_CAPACITOR = "input_source_capacitor", "input_coil", "input_tube_capacitor"


@dataclass(frozen=True)
class InputParts:
    """Parts of the input network at each frequency; arrays of shape ``(rows,)``.

    Attributes
    ----------
    frequency : ndarray
        [Hz].
    tube_impedance : ndarray
        Complex, what the tube shows its drive, a swamping resistor included [ohm].
    input_capacitance, heater_choke : ndarray
        Across it: [F], 0 for none, and [H], infinite for none; both without loss.
    coil, coil_q, source_capacitor, tube_capacitor : ndarray
        Of the pi: [H], Q, [F], [F]; a coil of 0 H stands for no pi.
    """

    frequency: FloatArray
    tube_impedance: ComplexArray
    input_capacitance: FloatArray
    heater_choke: FloatArray
    coil: FloatArray
    coil_q: FloatArray
    source_capacitor: FloatArray
    tube_capacitor: FloatArray

    @property
    def load_admittance(self) -> ComplexArray:
        """What stands from cathode or grid to chassis beside the pi's own capacitor [S]."""
        omega = 2 * np.pi * self.frequency
        return np.asarray(
            1 / self.tube_impedance + 1j * (omega * self.input_capacitance - 1 / (omega * self.heater_choke))
        )


def input_ladder(parts: InputParts) -> Ladder:
    """Return the network from the exciter to the tube, which is its termination.

    Notes
    -----
    Exciter - source capacitor to chassis - coil - tube's capacitor, input capacitance and heater choke to chassis -
    tube. Without a pi the exciter is at the tube. The tube is its impedance at the working frequency alone.
    """
    count = len(parts.frequency)
    lossless = np.full(count, np.inf)
    end = Termination(parts.tube_impedance[:, np.newaxis], parts.tube_impedance.real.copy())
    branches = []
    if (parts.coil > 0).any():
        source = Capacitor.of_quality(parts.source_capacitor, lossless, parts.frequency)
        far = Capacitor.of_quality(parts.tube_capacitor, lossless, parts.frequency)
        coil = Inductor.of_quality(parts.coil, parts.coil_q, parts.frequency)
        branches += [
            Branch(SOURCE_CAPACITOR, source, EXCITER),
            Branch(COIL, coil, EXCITER, to=TUBE),
            Branch(TUBE_CAPACITOR, far, TUBE),
        ]
    across = Capacitor.of_quality(parts.input_capacitance, lossless, parts.frequency)
    choke = Inductor.of_quality(parts.heater_choke, lossless, parts.frequency)
    branches += [
        Branch("input_capacitance", across, TUBE),
        Branch("heater_choke", choke, TUBE),
        Branch("antenna", end, TUBE),
    ]
    return Ladder(parts.frequency, tuple(branches))


def pi_for(
    source: FloatArray | float, load: ComplexArray, frequency: FloatArray, loaded_q: FloatArray | float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Compute a lossless pi between a source's resistance and a load.

    Parameters
    ----------
    source : float or ndarray
        Resistance that the exciter wants to see [ohm].
    load : ndarray
        Complex admittance at the tube's side, without the pi's capacitor [S], shape ``(rows,)``.
    frequency : ndarray
        [Hz], shape ``(rows,)``.
    loaded_q : float or ndarray
        Source resistance over the source capacitor's reactance, as the output side counts it.

    Returns
    -------
    coil, source_capacitor, tube_capacitor : ndarray
        [H], [F], [F]; NaN where this Q matches no such load, and a tube's capacitor below zero where the load
        has more capacitance of its own than the match wants.

    Notes
    -----
    The classic pi (handbooks; see the output side)::

        X1 = R1 / Q,  X2 = R2 sqrt((R1/R2) / (Q^2 + 1 - R1/R2)),  X_L = (Q R1 + R1 R2 / X2) / (Q^2 + 1)
    """
    omega = 2 * np.pi * frequency
    resistance = 1 / load.real
    ratio = source / resistance
    with np.errstate(invalid="ignore", divide="ignore"):
        second = resistance * np.sqrt(ratio / (np.asarray(loaded_q) ** 2 + 1 - ratio))
        coil = (loaded_q * source + source * resistance / second) / (np.asarray(loaded_q) ** 2 + 1)
    return coil / omega, loaded_q / (omega * source) + 0 * omega, 1 / (omega * second) - load.imag / omega
