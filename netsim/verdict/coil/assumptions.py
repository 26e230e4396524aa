"""What was supposed about wound coils."""

from collections.abc import Iterator

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
    """List what was supposed about every winding in use.

    Yields
    ------
    Assumption
        For each default that counts, and for each way in which the losses lie outside the measurements.
    """
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
