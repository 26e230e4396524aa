"""One network as a Touchstone file: the two-port between plate and antenna terminal."""

import numpy as np

from netsim import __version__
from netsim.analysis import Analysis
from netsim.circuit.stage import ORDERS
from netsim.solvers.scattering import scattering

REFERENCE = 50.0
"""Reference resistance of both ports [ohm]: one real value, which every reader of the format takes."""

LOWEST = 0.5
POINTS = 501


def dump(result: Analysis, row: int, points: int = POINTS) -> str:
    """Write the scattering parameters of the network of one row, see `Analysis.row`.

    It is Touchstone, version 1, for a name ending in ``.s2p``: port 1 is the plate, port 2 the antenna terminal,
    reference 50 ohm at both, real and imaginary parts, at so many points from half to ten times the working frequency
    and at each whole multiple of it. No text of the file is in it.

    Between plate and antenna lies what the tube sees: its output capacitance and the plate choke are part
    of the two-port, the antenna is not. S21 is no harmonic level: a tube is a source of current.
    """
    import skrf

    ladder = result.solved.ladder.single(row)
    orders = np.union1d(np.geomspace(LOWEST, ORDERS, points), np.arange(1.0, ORDERS + 1))
    axis = skrf.Frequency.from_f(orders * ladder.frequency[0], unit="Hz")
    matrix = scattering(ladder, orders, REFERENCE)[0]
    two_port = skrf.Network(frequency=axis, s=matrix, z0=REFERENCE, name="network")
    two_port.comments = "\n".join(_comments(checked=result.verdict.cross_checked))
    text = two_port.write_touchstone(return_string=True, form="ri", r_ref=REFERENCE, skrf_comment=False)
    return str(text)


def _comments(*, checked: bool) -> list[str]:
    told = [
        f" written by netsim {__version__}",
        " port 1: plate of the tube, port 2: antenna terminal, the antenna taken away",
        " the tube's output capacitance, the chokes and all losses are inside",
        " a coil has its loss of the working frequency there, elsewhere as the square root of frequency",
    ]
    if not checked:
        told.append(" not cross-checked: netsim solved this network without ngspice")
    return told
