"""The box as it was solved, for the checks, the result and the figures."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.box.input_network import InputParts
from netsim.circuit.box.panel_meter import MOMENTARY, PanelMeter
from netsim.circuit.box.plate_supply import PlateSupply
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.solvers.supply.waves import Arc, Steady, SwitchOn
from netsim.verdict.box.result import BiasResult, DetuningResult


@dataclass(frozen=True)
class InputState:
    """The drive of every network; arrays of shape ``(networks,)``, NaN where it is not known.

    Attributes
    ----------
    parts : InputParts
        As solved.
    drive : ndarray
        Peak at the tube [V].
    impedance : ndarray
        Complex, that the exciter sees [ohm].
    swr : ndarray
        Of it against the source resistance.
    drive_power, input_power, exciter_power : ndarray
        Into the tube, into the network, and available power needed [W].
    loaded_q : ndarray
        NaN without a pi.
    stress : dict of str to tuple
        Of each part, peak voltage [V] and rms current [A].
    designed : ndarray of bool
        Where the file gives no parts and these are netsim's.
    tube_resistance : ndarray
        That the tube shows in parallel [ohm].
    """

    parts: InputParts
    drive: FloatArray
    impedance: ComplexArray
    swr: FloatArray
    drive_power: FloatArray
    input_power: FloatArray
    exciter_power: FloatArray
    loaded_q: FloatArray
    stress: dict[str, tuple[FloatArray, FloatArray]]
    designed: np.ndarray
    tube_resistance: FloatArray


@dataclass(frozen=True)
class SupplyState:
    """The supply as solved. Voltages are those of the capacitors; `at_plate` takes the glitch resistor's drop off.

    ``idle`` is None where no tube tells its idle current. Times [s] are None where nothing discharges, or the file
    gives no touch voltage. ``arc`` is None where nothing limits its current. ``apart`` is the largest relative
    difference between ngspice and the integration; None if only one ran.
    """

    circuit: PlateSupply
    no_load: Steady
    idle: Steady | None
    full: Steady
    idle_current: float | None
    full_current: float
    through_resistor: SwitchOn | None
    without_resistor: SwitchOn
    discharge: float | None
    bleeder_open: float | None
    arc: Arc | None
    apart: float | None

    def at_plate(self, steady: Steady, current: float) -> float:
        """Return the mean voltage behind the glitch resistor [V]."""
        return steady.mean - current * self.circuit.glitch

    @property
    def no_load_voltage(self) -> float:
        """Mean without a tube's current [V]."""
        return self.no_load.mean

    @property
    def full_voltage(self) -> float:
        """Mean at the plate at full output [V]."""
        return self.at_plate(self.full, self.full_current)

    @property
    def idle_voltage(self) -> float | None:
        """Mean at the plate without drive [V]."""
        if self.idle is None or self.idle_current is None:
            return None
        return self.at_plate(self.idle, self.idle_current)

    @property
    def bleeder_power(self) -> float:
        """Heat of the bleeder without load, where it is most [W]; 0 without one."""
        return self.no_load.mean**2 / self.circuit.bleeder

    @property
    def capacitor_voltage(self) -> float:
        """Highest voltage of each capacitor, the chain's shared evenly [V]."""
        return self.no_load.highest / self.circuit.capacitors


@dataclass(frozen=True)
class MeterState:
    """One panel meter; true values at idle and at full output in its unit, None where not known.

    ``arc_current`` goes through meter and shunt together [A]; None without a supply or where nothing limits it.
    ``highest`` is the most that it may have to show, ``twin`` how many meters of the same kind stand before it.
    """

    meter: PanelMeter
    index: int
    twin: int
    idle: float | None
    full: float | None
    highest: float | None
    arc_current: float | None

    @property
    def name(self) -> str:
        """Name of the part in findings."""
        name = f"{self.meter.reads.replace(' ', '_')}_meter"
        return f"{name}_{self.twin + 1}" if self.twin else name

    @property
    def resistors_in_series(self) -> int | None:
        """How many resistors its multiplier is made of, none above half its voltage rating; 1 for a shunt."""
        return self.meter.in_series(self.highest or 0.0 if self.meter.reads == "plate voltage" else 0.0)

    @property
    def resistor_power(self) -> float:
        """Heat of each resistor at the last mark [W]; NaN where none is wanted."""
        return self.meter.power / (self.resistors_in_series or 1)

    @property
    def momentary_current(self) -> float:
        """Current that the movement withstands for a moment [A]."""
        return MOMENTARY * self.meter.movement


@dataclass(frozen=True)
class Box:
    """All of it; each None where its table is absent, or where what it needs is not known."""

    bias: BiasResult | None = None
    input: InputState | None = None
    supply: SupplyState | None = None
    meters: tuple[MeterState, ...] = ()
    detuning: DetuningResult | None = None
