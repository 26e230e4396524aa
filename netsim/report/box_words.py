"""The box around the network in words: the same on the page and in the terminal."""

from netsim.report.notation import ohms
from netsim.verdict.box.result import CoolingResult, MeterResult, SupplyResult


def meter_unit(reads: str) -> str:
    """Return the unit of what a meter reads."""
    return {"plate voltage": "V", "output": "W"}.get(reads, "A")


def needed_resistor(meter: MeterResult) -> str:
    """Write the shunt or the multiplier that a meter needs."""
    return ohms(meter.multiplier_ohm if meter.shunt_ohm is None else meter.shunt_ohm)


def time_until(seconds: float | None) -> str:
    """Write how long something takes; never where it does not come to it."""
    return "never" if seconds is None else f"{seconds:.3g} s"


def discharge_times(found: SupplyResult) -> tuple[str, str]:
    """Write how long the supply takes to a voltage that can be touched, and that with the bleeder open."""
    return time_until(found.discharge_second), time_until(found.discharge_bleeder_open_second)


def beryllia_warnings(found: CoolingResult) -> dict[str, None]:
    """Return what is to be said of beryllia in the way of the heat, once each."""
    return dict.fromkeys(f"Beryllia: {joint.warning}." for joint in found.joints if joint.warning)
