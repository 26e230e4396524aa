"""The same amplifier with the other topology, its coils designed anew."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from netsim.advice.change import Change, Edit, changed, plain_edit, quantity_edit, removal, written
from netsim.advice.design_plan import plan_design
from netsim.circuit.assembly import assemble
from netsim.description.models.coils import OutputCoil
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError

TYPICAL_COIL_Q = 200.0
"""Unloaded Q of a coil of which nothing is known (common practice)."""

_STANDS_FOR_COIL = 1e-6
_BY_BAND = (
    "coil",
    "coil_turns",
    "output_coil",
    "output_coil_turns",
    "tune_padding",
    "load_padding",
    "tune",
    "load",
)


def _bare(amplifier: Amplifier, topology: str) -> tuple[Edit, ...]:
    """Leave the design's coils and paddings out; new coils have the present one's Q, or a typical one, never none."""
    if topology not in ("pi", "pi-L"):
        raise UsageError(
            Problem(
                "unknown_topology", f"there is no topology {topology!r}: write pi or pi-L", amplifier.path
            )
        )
    description = amplifier.description
    network = description.network
    if network.topology == topology:
        return ()
    edits = [plain_edit(("network", "topology"), topology)]
    quality = network.coil.q or network.coil.unloaded_q or _computed_q(amplifier)
    if network.coil.q is None:
        edits.append(plain_edit(("network", "coil", "q"), quality))
    if topology == "pi-L":
        like = {"q": quality}
        edits.append(Edit(("network", "output_coil"), OutputCoil.model_validate(like), like))
    else:
        edits.append(Edit(("network", "output_coil"), None, None))
    for index, band in enumerate(description.bands):
        edits += [removal(("bands", index, key)) for key in _BY_BAND if getattr(band, key) is not None]
    return tuple(edits)


def _computed_q(amplifier: Amplifier) -> float:
    """Least Q of the present winding over the bands, rounded down; a typical one where there is none."""
    coil = assemble(amplifier, points=False).coil
    if coil is None:
        return TYPICAL_COIL_Q
    return float(10 * math.floor(float(np.min(coil.tapped.q)) / 10)) or TYPICAL_COIL_Q


def as_topology(amplifier: Amplifier, topology: str) -> tuple[Edit, ...]:
    """Return what makes a pi a pi-L or the other way round, designed for the target loaded Q; none if it is one.

    Raises
    ------
    UsageError
        ``unknown_topology``, or as in `design`.
    """
    edits = _bare(amplifier, topology)
    if not edits:
        return ()
    keys = ("coil", "output_coil") if topology == "pi-L" else ("coil",)
    bands = range(len(amplifier.description.bands))
    stand_in = [quantity_edit(("bands", n, key), _STANDS_FOR_COIL, "H") for n in bands for key in keys]
    bare = changed(amplifier, (*edits, *stand_in))
    designed = plan_design(bare, [frozenset(keys)] * len(bands)).edits
    # Of a key that is taken away and set again the second counts.
    return tuple({edit.path: edit for edit in (*edits, *designed)}.values())


def topology_change(amplifier: Amplifier) -> Change | None:
    """Return the change from a pi to a pi-L; None if it is one, or none can be designed for the target loaded Q."""
    if amplifier.description.network.topology == "pi-L":
        return None
    try:
        edits = as_topology(amplifier, "pi-L")
    except UsageError:
        return None
    quality = next(edit.text["q"] for edit in edits if edit.path == ("network", "output_coil"))
    title = f"a pi-L: an output coil, and the coil of every band designed anew, both of a Q of {quality:g}"
    paddings = "".join(f"; {words}" for words in _paddings(amplifier, edits))
    return Change("topology", "network.topology", None, title + paddings, edits)


def _paddings(amplifier: Amplifier, edits: Sequence[Edit]) -> Iterator[str]:
    """Name the paddings that the design changes: they are to be bought, too."""
    values = {edit.path: edit.value for edit in edits}
    for index, band in enumerate(amplifier.description.bands):
        for side in ("tune", "load"):
            key = f"{side}_padding"
            now = getattr(band, key)
            then = values.get(("bands", index, key), now)
            if then != now:
                wanted = f"{written(then, 'F', 4)} of" if then else "no"
                present = written(now, "F", 4) if now else "none"
                yield f"{band.name}: {wanted} {side} padding instead of {present}"
