"""Panel meters: the shunt or multiplier for a scale, what the pointer shows, what an arc sends through."""

import math
from dataclasses import dataclass
from typing import Literal

from netsim.circuit.preferred_values import E24, E96, Fitting, fitting

Reads = Literal["plate current", "grid current", "plate voltage", "output"]

VOLTAGE_SHARE = 0.5
"""Of its voltage rating, the most that one resistor of a high-voltage string is to bear (common practice)."""

MOMENTARY = 10.0
"""Times the full-scale current that a movement withstands for half a second (from memory: IEC 60051)."""


MOST_ERROR = 0.05
"""Share by which what is fitted may falsify a reading: twice the 2.5 % of panel meters (common practice)."""


@dataclass(frozen=True)
class PanelMeter:
    """One meter: its movement, its scale, and what is fitted.

    Attributes
    ----------
    reads : str
        What its scale shows.
    movement, movement_resistance : float
        Full-scale current [A] and resistance [ohm] of the movement.
    full_scale : float
        What the last mark is to mean [A], [V] or [W].
    fitted : float or None
        Shunt or multiplier in the amplifier [ohm].
    voltage_rating : float or None
        Of one resistor of the multiplier [V].
    antenna_resistance : float
        Into which an output is read [ohm].

    Notes
    -----
    Ohm and Kirchhoff. A meter of output is a peak-reading voltmeter at the antenna (common practice), so its
    last mark stands for ``sqrt(2 P R)`` volts and its scale is one of squares.
    """

    reads: Reads
    movement: float
    movement_resistance: float
    full_scale: float
    fitted: float | None
    voltage_rating: float | None
    antenna_resistance: float

    @property
    def is_current(self) -> bool:
        """Tell whether it has a shunt."""
        return self.reads in ("plate current", "grid current")

    @property
    def full_scale_volt(self) -> float:
        """Voltage across movement and multiplier at the last mark [V]; of a current, that across the shunt."""
        if self.is_current:
            return self.movement * self.movement_resistance
        if self.reads == "output":
            return math.sqrt(2 * self.full_scale * self.antenna_resistance)
        return self.full_scale

    @property
    def resistance(self) -> float:
        """Shunt or multiplier for the scale wanted [ohm]; infinite or 0 where the movement alone has that scale.

        A multiplier below zero would be wanted where the movement alone shows less than the scale; NaN then.
        """
        if self.is_current:
            beside = self.full_scale - self.movement
            return self.full_scale_volt / beside if beside > 0 else math.inf
        series = self.full_scale_volt / self.movement - self.movement_resistance
        return series if series >= 0 else math.nan

    @property
    def preferred(self) -> dict[str, Fitting]:
        """What comes nearest to it, by series; empty where nothing is to be fitted."""
        wanted = self.resistance
        if not (math.isfinite(wanted) and wanted > 0):
            return {}
        return {"E24": fitting(wanted, E24), "E96": fitting(wanted, E96)}

    @property
    def power(self) -> float:
        """Heat of the shunt or multiplier at the last mark [W]."""
        resistance = self.resistance
        if self.is_current:
            return self.full_scale_volt * max(self.full_scale - self.movement, 0.0)
        return self.movement**2 * resistance

    def in_series(self, highest: float) -> int | None:
        """Return how many resistors the multiplier is made of, none above half its rating.

        Parameters
        ----------
        highest : float
            Voltage that may stand there [V]; that at the last mark counts where it is more.

        Returns
        -------
        int or None
            1 for a shunt; None where the rating is not known.
        """
        if self.is_current:
            return 1
        if self.voltage_rating is None:
            return None
        volts = max(highest, self.full_scale_volt)
        return max(1, math.ceil(volts / (VOLTAGE_SHARE * self.voltage_rating) * (1 - 1e-12)))

    @property
    def share(self) -> float | None:
        """What is shown over what is there, with what is fitted, as a ratio of deflections; None if nothing is."""
        if self.fitted is None:
            return None
        if self.is_current:
            return self.full_scale / (self.movement * (1 + self.movement_resistance / self.fitted))
        return self.full_scale_volt / (self.movement * (self.fitted + self.movement_resistance))

    @property
    def fitted_error(self) -> float | None:
        """Error of the reading by what is fitted, relative; above zero where it shows too much. None if not known."""
        share = self.share
        if share is None:
            return None
        return share**2 - 1 if self.reads == "output" else share - 1

    def shown(self, value: float) -> float:
        """Return what the pointer shows on the scale for a true value, in its unit."""
        error = self.fitted_error
        return value if error is None else value * (1 + error)

    def movement_current(self, current: float) -> float:
        """Return what of a current through meter and shunt flows in the movement [A]; all of it without a shunt."""
        if not self.is_current:
            return 0.0
        if self.fitted is None:
            return current
        return current * self.fitted / (self.fitted + self.movement_resistance)
