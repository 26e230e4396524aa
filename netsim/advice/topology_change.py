"""The same amplifier with the other topology, its coils designed anew."""

from netsim.advice.design_plan import plan_design
from netsim.advice.fix.change import Edit, Move, plain_edit, removal, rewritten
from netsim.description.models.coils import OutputCoil
from netsim.description.reader import Amplifier
from netsim.errors import Problem, UsageError

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


def topology_edits(amplifier: Amplifier, topology: str) -> tuple[Edit, ...]:
    """Make a pi a pi-L or the other way round, coils and paddings left out for the design; none if it is one.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    topology : {"pi", "pi-L"}
        The one wanted.

    Raises
    ------
    UsageError
        ``unknown_topology``.
    """
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
    quality = network.coil.q or network.coil.unloaded_q
    if network.coil.q is None and quality is not None:
        edits.append(plain_edit(("network", "coil", "q"), quality))
    if topology == "pi-L":
        like = {} if quality is None else {"q": quality}
        edits.append(Edit(("network", "output_coil"), OutputCoil.model_validate(like), like))
    else:
        edits.append(Edit(("network", "output_coil"), None, None))
    for index in range(len(description.bands)):
        edits += [removal(("bands", index, key)) for key in _BY_BAND]
    return tuple(edits)


def as_topology(amplifier: Amplifier, topology: str) -> tuple[Edit, ...]:
    """Make a pi a pi-L or the other way round, with coils and paddings designed for the target loaded Q.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    topology : {"pi", "pi-L"}
        The one wanted.

    Returns
    -------
    tuple of Edit
        None if the file has that topology already.

    Raises
    ------
    UsageError
        ``unknown_topology``, or as in `design`.
    """
    edits = topology_edits(amplifier, topology)
    if not edits:
        return ()
    bare = rewritten(amplifier.text, edits)
    return (*edits, *plan_design(bare, amplifier.path, "loaded", None).edits)


def topology_move(amplifier: Amplifier) -> Move | None:
    """Make a pi a pi-L; None if it is one, or if none can be designed for the target loaded Q."""
    if amplifier.description.network.topology == "pi-L":
        return None
    try:
        edits = as_topology(amplifier, "pi-L")
    except UsageError:
        return None
    title = "a pi-L: an output coil, and the coil of every band designed anew"
    return Move("topology", "network.topology", None, title, edits)
