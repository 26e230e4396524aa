"""A network looked at from the antenna socket, as a ladder that every solver takes."""

from dataclasses import replace

import numpy as np

from netsim.circuit.elements import Branch, FloatArray, Resistor
from netsim.circuit.ladder import Ladder
from netsim.circuit.parts import Parts
from netsim.circuit.topology import build_ladder


def turned_round(parts: Parts, tune: FloatArray, load: FloatArray, resistance: float) -> Ladder:
    """Return the ladder from the antenna socket, which solvers look into as a plate, to a resistor at the plate."""
    forward = build_ladder(parts, tune, load)
    names = {forward.line[0]: "far_end", forward.line[-1]: "plate"}
    place = {node: n for n, node in enumerate(reversed(forward.line))}
    branches = []
    for branch in forward.branches[:-1]:
        one, other = branch.node, branch.to
        if other in place:
            one, other = other, one
        renamed = replace(branch, node=names.get(one, one), to=names.get(other, other))
        branches.append((place.get(one, place.get(other, 0)), renamed))
    led = {b.node for _, b in branches} - {names.get(node, node) for node in forward.line}
    # What hangs on a lead stands behind it.
    behind = {b.node: b for _, b in branches if b.node in led}
    ordered = []
    for _, branch in sorted(((n, b) for n, b in branches if b.node not in led), key=lambda pair: pair[0]):
        ordered += [branch, *([behind[branch.to]] if branch.to in behind else [])]
    last = Branch("antenna", Resistor(np.broadcast_to(resistance, (len(parts),))), "far_end")
    couplings = tuple(replace(c, one=c.other, other=c.one) for c in forward.couplings)
    return Ladder(parts.frequency, (*ordered, last), couplings)
