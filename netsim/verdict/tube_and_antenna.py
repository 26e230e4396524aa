"""What full output into a real antenna from a real tube has brought to light, where the file asks for it."""

from dataclasses import dataclass

from netsim.circuit.elements import FloatArray
from netsim.verdict.any_antenna import AnyAntenna
from netsim.verdict.large_signal import LargeSignal
from netsim.verdict.meters import Meters

HARMONIC_SWR = 10.0
"""Worst standing wave ratio that a termination is given at a harmonic, where nobody has matched it."""


@dataclass(frozen=True)
class FullOutput:
    """Each part is None where the file (or the command) does not ask for it.

    Attributes
    ----------
    large_signal : LargeSignal or None
        Of all networks, with the tube.
    meters : tuple of Meters
        One for each band, with the tube.
    any_antenna : AnyAntenna or None
        All networks on all loads.
    harmonic_spread : ndarray or None
        Lowest and highest change of each order's level over terminations up to `HARMONIC_SWR` against the
        matched resistance [dB], shape ``(networks, 10, 2)``.
    """

    large_signal: LargeSignal | None = None
    meters: tuple[Meters, ...] = ()
    any_antenna: AnyAntenna | None = None
    harmonic_spread: FloatArray | None = None
