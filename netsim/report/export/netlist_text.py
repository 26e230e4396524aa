"""One network as a netlist that stock ngspice runs in batch mode. Not a word of the user's is in it."""

from netsim import __version__
from netsim.analysis import Analysis
from netsim.circuit.stage import ORDERS
from netsim.solvers.netlist import SubNetwork, render

_PLACES = {
    "plate": "plate of the tube",
    "lead_end": "behind the plate's lead, at the suppressor",
    "junction": "behind plate lead and suppressor, where the plate choke hangs",
    "tank": "behind the blocking capacitor, at the tune capacitor",
    "output": "behind the tank coil, at the load capacitor",
    **{
        f"{part}_terminal": f"between the {part} capacitor and its lead"
        for part in ("blocking", "tune", "load")
    },
    "antenna": "antenna terminal, behind the output coil",
}


def dump(result: Analysis, row: int) -> str:
    """Write the network of one row, see `Analysis.row`, driven with its full-output plate currents.

    The netlist is for ``ngspice -b FILE``: node voltages are peak phasors at full output [V]. Each order is a
    sub-network of its own, ``n1_...`` to ``n10_...``, to be read at that multiple of the working frequency alone.

    Raises
    ------
    EngineFailedError
        If a value is not finite.
    """
    ladder = result.solved.ladder.single(row)
    frequency = float(ladder.frequency[0])
    subs = [
        SubNetwork(f"n{n}", ladder, float(n), complex(result.solved.current.drive[row, n - 1]))
        for n in range(1, ORDERS + 1)
    ]
    title, *body, end = render(subs, frequency, ORDERS).splitlines()
    lines = [
        title,
        *_comments(ladder.nodes, checked=result.verdict.cross_checked),
        *body,
        *(_print(sub, ladder.nodes) for sub in subs),
        end,
    ]
    return "\n".join(lines) + "\n"


def _print(sub: SubNetwork, nodes: tuple[str, ...]) -> str:
    """Have a sub-network's node voltages printed, real and imaginary part."""
    return ".print ac " + " ".join(f"v({sub.node(node)})" for node in nodes)


def _comments(nodes: tuple[str, ...], *, checked: bool) -> list[str]:
    places = [f"  nN_{node}: {_PLACES.get(node, node)}" for node in nodes]
    places[-1] += ", the antenna's" if nodes[-1] != "antenna" else ""
    told = [
        f"written by netsim {__version__}; run it with: ngspice -b FILE",
        "every voltage and current is a peak phasor at full output",
        f"sub-network nN holds the network as it is at N times the working frequency, N = 1 to {ORDERS}:",
        "  read it in the row of that frequency alone, the other rows mean nothing",
        *places,
        "current sources are the plate current of each order, 0 V sources read branch currents",
        "printed: real and imaginary part at every node, a table each; currents too: ngspice -b -r RAW FILE",
    ]
    if not checked:
        told.append("not cross-checked: netsim solved this network without ngspice")
    return [f"* {line}" for line in told]
