"""What the file leaves unsaid and the calculation had to suppose."""

from collections.abc import Iterator

from netsim.description.assumed import assumed_values
from netsim.description.formatting import format_quantity
from netsim.description.reader import Amplifier
from netsim.verdict.heat import AMBIENT_CELSIUS
from netsim.verdict.result import Assumption
from netsim.verdict.solved import Solved

_DEFAULTS = {
    "lead_inductance": ("leads and switch have no inductance", '"40 nH"'),
    "temperature": ("the metal is at 60 °C", '"60 degC"'),
    "q_allowance": (
        "leads, switch and cabinet leave {q_allowance:.0%} of the computed Q; 60 to 80 % are usual",
        "0.7",
    ),
}
_SHORTING = {
    "strap": ("the unused turns are one shorted loop, tap to far end", '"strap"'),
    "open": (
        "the unused turns are left open, since a short on a ring core takes all inductance away",
        '"open"',
    ),
}
_STRAP = ("a strap that shorts turns has {strap:.0f} nH with its contacts", '"20 nH"')


def assumptions(solved: Solved) -> Iterator[Assumption]:
    """List what was supposed: the part, the missing key, what stood in for it, and the line that would replace it."""
    amplifier = solved.amplifier
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
    yield from _windings(solved)


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


def _windings(solved: Solved) -> Iterator[Assumption]:
    """List each default that counts of windings in use, and each way in which losses lie outside the measurements."""
    for name, wound in solved.assembly.wound.items():
        if wound is None:
            continue
        part = getattr(solved.amplifier.description.network, name)
        line = solved.line("network", name)
        measured = part.unloaded_q is not None
        defaults = dict(_DEFAULTS)
        if part.unused_turns is None:
            defaults["unused_turns"] = _SHORTING[part.shorting]
        if wound.winding.has_loops:
            defaults["strap_inductance"] = _STRAP
        for key, (assumed, example) in defaults.items():
            if key in part.model_fields_set or (measured and key in ("q_allowance", "temperature")):
                continue
            text = assumed.format(q_allowance=part.q_allowance, strap=part.strap_inductance * 1e9)
            yield Assumption(name, key, text, f"{key} = {example} under [network.{name}]", line)
        if part.q is not None:
            yield Assumption(
                name,
                "q",
                "not used where a band counts in turns: the winding gives the Q",
                f"unloaded_q = ... under [network.{name}] for a Q measured in place",
                solved.line("network", name, "q"),
            )
        if not measured:
            yield from _surface(solved, name, line)
            yield from _core_loss(solved, name)
        yield Assumption(
            name,
            "ambient",
            f"the air around it is still and at {AMBIENT_CELSIUS:g} °C, for its temperature alone",
            "a measurement",
            line,
        )


def _surface(solved: Solved, name: str, line: int) -> Iterator[Assumption]:
    """Say in which bands a conductor is too thin for its current to flow at the surface."""
    wound = solved.assembly.wound[name]
    assert wound is not None
    thin = wound.spread(wound.tapped.thin_conductor.astype(float)) > 0
    bands = [band for _, band, rows in solved.bands() if thin[rows].any()]
    if bands:
        yield Assumption(
            name,
            "unloaded_q",
            "the computed Q takes the current to be at the surface, but the conductor is thinner than five skin "
            f"depths ({', '.join(bands)})",
            f"unloaded_q = ... under [network.{name}], measured in place",
            line,
        )


def _core_loss(solved: Solved, name: str) -> Iterator[Assumption]:
    """Say how the loss of a toroid divides where the file leaves it open and a tap makes it matter."""
    for number, section in enumerate(getattr(solved.description.network, name).winding):
        if section.kind == "toroid" and "core_loss_share" not in section.model_fields_set:
            yield Assumption(
                name,
                "core_loss_share",
                f"half of the toroid's loss is its core's, which goes with the square of the turns in use, half its "
                f"wire's, which goes with the turns (section {number + 1})",
                f"core_loss_share = 0.5 in that table of [[network.{name}.winding]]",
                solved.line("network", name, "winding", number, "kind"),
            )
