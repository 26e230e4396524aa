"""What was supposed about wound coils."""

from collections.abc import Iterator

from netsim.circuit.coil.medhurst import FEWEST_TURNS
from netsim.verdict.heat import AMBIENT_CELSIUS
from netsim.verdict.result import Assumption
from netsim.verdict.solved import Solved

_REASONS = {
    "few_turns": f"fewer than about {FEWEST_TURNS:g} turns",
    "wide_pitch": "a pitch beyond ten conductor diameters",
    "length": "a length beyond 0.2 to 10 diameters",
    "thin_conductor": "a conductor thinner than five skin depths",
}
_DEFAULTS = {
    "lead_inductance": ("leads and switch have no inductance", '"40 nH"'),
    "temperature": ("the metal is at 60 °C", '"60 degC"'),
    "q_allowance": ("leads, switch and cabinet leave {q_allowance:.0%} of the computed Q", "0.7"),
    "unused_turns": ("the unused turns are one shorted loop, tap to far end", '"strap"'),
}


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
        for key, (assumed, example) in _DEFAULTS.items():
            if key in part.model_fields_set or (measured and key in ("q_allowance", "temperature")):
                continue
            text = assumed.format(q_allowance=part.q_allowance)
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
            yield from _outside(solved, name, line)
        yield Assumption(
            name,
            "ambient",
            f"the air around it is still and at {AMBIENT_CELSIUS:g} °C, for its temperature alone",
            "a measurement",
            line,
        )


def _outside(solved: Solved, name: str, line: int) -> Iterator[Assumption]:
    """Say in which bands, and why, the losses are more than Medhurst's measurements tell."""
    wound = solved.assembly.wound[name]
    assert wound is not None
    for reason, words in _REASONS.items():
        flags = wound.spread(getattr(wound.tapped.outside_measurements, reason).astype(float)) > 0
        bands = [band for _, band, rows in solved.bands() if flags[rows].any()]
        if bands:
            yield Assumption(
                name,
                "unloaded_q",
                f"the computed Q is outside the measurements it rests on: {words} ({', '.join(bands)})",
                f"unloaded_q = ... under [network.{name}], measured in place",
                line,
            )
