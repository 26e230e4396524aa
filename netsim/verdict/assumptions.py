"""What the file leaves unsaid and the calculation had to suppose."""

from collections.abc import Iterator

from netsim.description.assumed import assumed_values
from netsim.description.formatting import format_quantity
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
    stage = solved.amplifier.description.stage
    if stage.output_capacitance is None:
        yield _left_out(solved, ("stage",), "output_capacitance", "the tube has no output capacitance")
    if stage.no_load_plate_voltage is None:
        yield _left_out(solved, ("stage",), "no_load_plate_voltage", "the supply does not rise without load")
    for value in assumed_values(solved.amplifier.description):
        *table, key = (str(step) for step in value.path)
        if key != "q_allowance":  # told with the winding
            nominal, low, high = (format_quantity(v, value.unit, trim=True) for v in value[1:4])
            assumed = f"typical: {nominal}, {low} to {high} (common practice)"
            yield _left_out(solved, tuple(table), key, assumed, "..." if key == "q" else '"..."')
    yield from _leads(solved)
    yield from _absent_parts(solved)
    yield from _windings(solved)


def _left_out(
    solved: Solved, table: tuple[str, ...], key: str, assumed: str, example: str = '"..."'
) -> Assumption:
    """Tell what stands in for a key that a table leaves out."""
    entry = f"{key} = {example} under [{'.'.join(table)}]"
    return Assumption(table[-1], key, assumed, entry, solved.line(*table))


def _leads(solved: Solved) -> Iterator[Assumption]:
    """List leads without inductance, and coils that do not couple."""
    network = solved.amplifier.description.network
    if "plate_lead_inductance" not in network.model_fields_set:
        assumed = "the plate's lead has no inductance"
        yield _left_out(solved, ("network",), "plate_lead_inductance", assumed)
    for name in ("blocking_capacitor", "tune_capacitor", "load_capacitor"):
        part = getattr(network, name)
        if part is not None and "lead_inductance" not in part.model_fields_set:
            yield _left_out(solved, ("network", name), "lead_inductance", "its leads have no inductance")
    output = network.output_coil
    if output is not None and output.coupling is None and not (output.is_placed and network.coil.winding):
        assumed = "it does not couple to the tank coil"
        yield _left_out(solved, ("network", "output_coil"), "coupling", assumed, "...")


def _absent_parts(solved: Solved) -> Iterator[Assumption]:
    network = solved.amplifier.description.network
    choke, suppressor = network.plate_choke, network.suppressor
    if choke is not None and choke.self_capacitance is None:
        assumed = "no self-capacitance"
        if choke.winding is not None:
            assumed = "its self-capacitance is that of its winding by Medhurst"
        yield _left_out(solved, ("network", "plate_choke"), "self_capacitance", assumed)
    if suppressor is not None and suppressor.inductance is None:
        assumed = "its inductance is that of its winding by Wheeler's formula"
        yield _left_out(solved, ("network", "suppressor"), "inductance", assumed)
    absent = {
        "plate_choke": (choke is None, "an ideal choke"),
        "suppressor": (suppressor is None, "a plain wire in the plate lead"),
        "band_switch": (
            network.band_switch is None and len(solved.amplifier.description.bands) > 1,
            "nothing is switched, so no contact checked",
        ),
    }
    for name, (is_absent, assumed) in absent.items():
        if is_absent:
            yield Assumption(name, name, assumed, f"a [network.{name}] table", solved.line("network"))


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
            yield _left_out(solved, ("network", name), key, text, example)
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
