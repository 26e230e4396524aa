"""How warm the tube gets at every band and operating point, and how long it may be held down."""

import numpy as np

from netsim.circuit.assembly import heat_path
from netsim.circuit.box.heat_path import Warming, insulator_capacitance, joints, warming
from netsim.circuit.box.materials import MATERIALS
from netsim.circuit.elements import FloatArray
from netsim.verdict.box.idle import idle_point
from netsim.verdict.box.result import CoolingResult, JointResult
from netsim.verdict.solved import Solved


def mean_heat(solved: Solved) -> FloatArray:
    """Return the plate's heat averaged over the duty [W], shape ``(networks,)``."""
    return solved.current.dissipation * solved.assembly.stage.duty


def anode_temperature(solved: Solved) -> FloatArray:
    """Return the steady temperature of the first joint [degC], shape ``(networks,)``; the file has a heat path."""
    cooling = solved.description.cooling
    assert cooling is not None
    return np.asarray(joints(heat_path(solved.description), mean_heat(solved), cooling.ambient)[:, 0])


def key_down(solved: Solved, row: int, idle_heat: float, held: float | None = None) -> tuple[Warming, float]:
    """Return how the anode of one network warms from idle when the key is held down, and its idle temperature.

    Parameters
    ----------
    solved : Solved
        With a heat path in its file.
    row : int
        Which network.
    idle_heat : float
        Of the plate without drive [W].
    held : float, optional
        Of the plate with the key down [W]; that of the network if not given.

    Returns
    -------
    warming : Warming
        Towards the full heat, duty not counted.
    idle : float
        [degC].
    """
    cooling, items = solved.description.cooling, heat_path(solved.description)
    assert cooling is not None
    heat = float(solved.current.dissipation[row]) if held is None else held
    idle, steady = (float(joints(items, np.array(watts), cooling.ambient)[0]) for watts in (idle_heat, heat))
    resistance = (steady - cooling.ambient) / heat if heat > 0 else 0.0
    return warming(idle, steady, cooling.anode_temperature_limit, resistance, cooling.heat_capacity), idle


def cooling_of(solved: Solved) -> CoolingResult | None:
    """Return the cooling of the hottest network; None without a heat path."""
    cooling, items = solved.description.cooling, heat_path(solved.description)
    if cooling is None:
        return None
    row = int(np.argmax(anode_temperature(solved)))
    heat = mean_heat(solved)[row]
    ends = [joints(items, np.array(heat), cooling.ambient, end) for end in ("usual", "high", "low")]
    rest = idle_point(solved)
    warms, idle = key_down(solved, row, 0.0 if rest is None else rest.dissipation)
    band = solved.description.bands[int(solved.assembly.band_index[row])].name
    return CoolingResult(
        joints=tuple(
            JointResult(
                name=item.name,
                celsius=float(ends[0][k]),
                celsius_low=float(ends[1][k]),
                celsius_high=float(ends[2][k]),
                kelvin_per_watt=item.resistance(float(heat), cooling.ambient),
                halved_kelvin=float(item.rise(np.array(heat), cooling.ambient)) / 2,
                capacitance_farad=item.capacitance,
                warning="" if item.material is None else MATERIALS[item.material].warning,
            )
            for k, item in enumerate(items)
        ),
        dissipated_watt=float(heat),
        key_down_second=warms.to_limit,
        insulator_capacitance_farad=insulator_capacitance(items),
        band=band,
        operating_point=solved.point_names[int(solved.assembly.point_index[row])],
        key_down_celsius=warms.steady,
        idle_celsius=idle,
        back_second=warms.back,
        detuning=None if solved.box is None else solved.box.detuning,
    )
