"""What the file leaves unsaid and the calculation had to suppose."""

from collections.abc import Iterator

from netsim.description.assumed import assumed_values
from netsim.description.formatting import format_quantity
from netsim.description.reader import Amplifier
from netsim.verdict.result import Assumption


def assumptions(amplifier: Amplifier) -> Iterator[Assumption]:
    """List what was supposed, with the line that would replace the supposition.

    Yields
    ------
    Assumption
        Each names the part, the missing key, and what stood in for it.
    """
    yield from _stage(amplifier)
    for value in assumed_values(amplifier.description):
        *_, name, key = (str(step) for step in value.path)
        if key != "q_allowance":  # told with the winding
            nominal, low, high = (
                format_quantity(figure, value.unit, trim=True)
                for figure in (value.nominal, value.low, value.high)
            )
            entry = "q = ..." if key == "q" else None
            yield _missing(
                amplifier, name, key, f"typical: {nominal}, {low} to {high} (common practice)", entry
            )
    yield from _leads(amplifier)
    yield from _absent_parts(amplifier)


def _stage(amplifier: Amplifier) -> Iterator[Assumption]:
    stage = amplifier.description.stage
    for key, value, assumed in (
        ("output_capacitance", stage.output_capacitance, "the tube has no output capacitance"),
        ("no_load_plate_voltage", stage.no_load_plate_voltage, "the supply does not rise without load"),
    ):
        if value is None:
            line = amplifier.position("stage").line
            yield Assumption("stage", key, assumed, f'{key} = "..." under [stage]', line)


def _leads(amplifier: Amplifier) -> Iterator[Assumption]:
    """List leads without inductance, and coils that do not couple."""
    network = amplifier.description.network
    if "plate_lead_inductance" not in network.model_fields_set:
        line = amplifier.position("network").line
        entry = 'plate_lead_inductance = "..." under [network]'
        yield Assumption(
            "network", "plate_lead_inductance", "the plate's lead has no inductance", entry, line
        )
    for name in ("blocking_capacitor", "tune_capacitor", "load_capacitor"):
        part = getattr(network, name)
        if part is not None and "lead_inductance" not in part.model_fields_set:
            yield _missing(amplifier, name, "lead_inductance", "its leads have no inductance")
    output = network.output_coil
    if output is not None and output.coupling is None and not (output.is_placed and network.coil.winding):
        assumed = "it does not couple to the tank coil"
        yield _missing(amplifier, "output_coil", "coupling", assumed, "coupling = ...")


def _absent_parts(amplifier: Amplifier) -> Iterator[Assumption]:
    network = amplifier.description.network
    if network.plate_choke is not None and network.plate_choke.self_capacitance is None:
        estimated = network.plate_choke.winding is not None
        assumed = (
            "its self-capacitance is that of its winding by Medhurst" if estimated else "no self-capacitance"
        )
        yield _missing(amplifier, "plate_choke", "self_capacitance", assumed)
    if network.suppressor is not None and network.suppressor.inductance is None:
        yield _missing(
            amplifier,
            "suppressor",
            "inductance",
            "its inductance is that of its winding by Wheeler's formula",
        )
    several = len(amplifier.description.bands) > 1
    for name, absent, assumed in (
        ("plate_choke", network.plate_choke is None, "an ideal choke"),
        ("suppressor", network.suppressor is None, "a plain wire in the plate lead"),
        (
            "band_switch",
            network.band_switch is None and several,
            "nothing is switched, so no contact checked",
        ),
    ):
        if absent:
            line = amplifier.position("network").line
            yield Assumption(name, name, assumed, f"a [network.{name}] table", line)


def _missing(amplifier: Amplifier, name: str, key: str, assumed: str, entry: str | None = None) -> Assumption:
    entry = entry or f'{key} = "..."'
    table = (name,) if name == "input" else ("network", name)
    line = amplifier.position(*table).line
    return Assumption(name, key, assumed, f"{entry} under [{'.'.join(table)}]", line)
