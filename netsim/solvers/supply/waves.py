"""What a plate supply does over time; what both of its solvers answer with."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.box.plate_supply import PlateSupply
from netsim.circuit.elements import FloatArray


@dataclass(frozen=True)
class Steady:
    """One load, long after switching on.

    Attributes
    ----------
    mean, highest, ripple : float
        Voltage across the capacitors: its mean, its highest, and from lowest to highest [V].
    secondary_rms, secondary_peak : float
        Current of the secondary, of one half of a centre-tapped one [A].
    mains : float
        Power that the transformer's ideal part gives [W].
    winding : float
        Heat of the resistance in series with the secondary [W].
    start : tuple of float
        Voltage of each group of capacitors when the secondary's passes zero upwards [V].
    """

    mean: float
    highest: float
    ripple: float
    secondary_rms: float
    secondary_peak: float
    mains: float
    winding: float
    start: tuple[float, ...]


@dataclass(frozen=True)
class SwitchOn:
    """From empty capacitors on, switched on at the crest of the mains.

    Attributes
    ----------
    time, voltage, current : ndarray
        [s]; across the capacitors [V]; of the secondary, its size [A]. Shape ``(samples,)``.
    peak : float
        Highest current of the secondary until the inrush resistor is bridged, or at all without one [A].
    bridging_peak : float or None
        Highest when it is bridged and after [A]; None without one.
    joule : float
        Heat of the inrush resistor until it is bridged [J].
    bridged : float
        When that is, or the end of the run without one [s].
    charged : float
        Voltage that the capacitors have reached by then, or by the end of the run [V].
    """

    time: FloatArray
    voltage: FloatArray
    current: FloatArray
    peak: float
    bridging_peak: float | None
    joule: float
    bridged: float
    charged: float


@dataclass(frozen=True)
class Arc:
    """The capacitors discharged through an arc at the plate.

    Attributes
    ----------
    time, current : ndarray
        [s], [A], shape ``(samples,)``.
    charge, integral : float
        Whole charge [C] and whole ``integral i^2 dt`` [A^2 s].
    glitch_joule, tube_joule, capacitor_joule : float
        Heat of the glitch resistor, of the arc, and of the capacitors' own resistance [J].
    duration : float
        Until the current has fallen to a hundredth of its peak [s].
    """

    time: FloatArray
    current: FloatArray
    charge: float
    integral: float
    glitch_joule: float
    tube_joule: float
    capacitor_joule: float
    duration: float

    @classmethod
    def through(
        cls, supply: PlateSupply, time: FloatArray, current: FloatArray, charge: float, integral: float
    ) -> "Arc":
        """Return an arc at the plate of a supply: heat by the current's square, in the arc by its charge."""
        return cls(
            time=time,
            current=current,
            charge=charge,
            integral=integral,
            glitch_joule=integral * supply.glitch,
            tube_joule=charge * supply.arc_voltage,
            capacitor_joule=integral * supply.capacitor_resistance,
            duration=float(np.interp(-ARC_END * current.max(), -current, time)),
        )

    @property
    def peak(self) -> float:
        """Highest current [A]."""
        return float(self.current.max())

    def time_to(self, integral: float) -> float | None:
        """Return when ``integral i^2 dt`` has reached a value [A^2 s]; None if it never does."""
        steps = np.diff(self.time) * (self.current[1:] ** 2 + self.current[:-1] ** 2) / 2
        reached = np.concatenate([[0.0], np.cumsum(steps)])
        if integral > min(self.integral, float(reached[-1])):
            return None
        return float(np.interp(integral, reached, self.time))


ARC_SPAN = 12.0
"""Time constants over which an arc is followed; what is left after them is a few millionths."""

ARC_END = 0.01
"""Share of its peak to which the current of an arc has fallen when it counts as over."""
