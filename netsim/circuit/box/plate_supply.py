"""The plate supply as numbers: winding, rectifier, filter capacitors, and what hangs across them."""

import math
from dataclasses import dataclass
from typing import Literal

Rectifier = Literal["bridge", "full-wave", "doubler"]

HANDLED = 0.01
"""Share of its peak below which a supply's voltage is taken as collapsed, and the load lets go of it."""


@dataclass(frozen=True)
class PlateSupply:
    """The plate supply, everything seen at the secondary.

    Attributes
    ----------
    frequency : float
        Of the mains [Hz].
    peak : float
        Of the secondary's voltage without load, of one half of a centre-tapped one [V].
    resistance : float
        In series with it: windings, the primary's included [ohm].
    rectifier : {"bridge", "full-wave", "doubler"}
        Bridge; two diodes and a centre tap; full-wave doubler.
    capacitance : float
        Of the whole chain from plate supply to chassis [F].
    capacitors : int
        How many there are in it, all alike.
    bleeder, equalizer : float
        Across the whole chain [ohm], infinite for none; the equalizing resistors as one.
    inrush : float
        Resistor in the primary as seen at the secondary, ``R n^2`` [ohm]; 0 for none.
    inrush_time : float or None
        When it is bridged [s]; None once the capacitors are charged.
    glitch, capacitor_resistance : float
        Between capacitors and plate choke; loss of the chain in an arc [ohm], 0 for none.
    arc_voltage : float
        Drop of an arc at the plate [V].

    Notes
    -----
    Diodes are ideal: a volt or two of thousands. The transformer has no magnetizing current and no leakage
    inductance, so that peak currents are the highest that its resistance allows.
    """

    frequency: float
    peak: float
    resistance: float
    rectifier: Rectifier
    capacitance: float
    capacitors: int
    bleeder: float = math.inf
    equalizer: float = math.inf
    inrush: float = 0.0
    inrush_time: float | None = None
    glitch: float = 0.0
    capacitor_resistance: float = 0.0
    arc_voltage: float = 50.0

    @property
    def period(self) -> float:
        """Of the mains [s]."""
        return 1 / self.frequency

    @property
    def highest(self) -> float:
        """The most that stands across the chain, without any load [V]."""
        return self.peak * (2 if self.rectifier == "doubler" else 1)

    @property
    def conductance(self) -> float:
        """Of all that hangs across the chain always [S]."""
        return 1 / self.bleeder + 1 / self.equalizer

    @property
    def arc_resistance(self) -> float:
        """In the way of an arc from the capacitors to the plate [ohm]."""
        return self.glitch + self.capacitor_resistance

    def stored(self, volts: float) -> float:
        """Return the energy in the capacitors, ``C V^2 / 2`` [J]."""
        return self.capacitance * volts**2 / 2
