"""Where in the ladder each part stands, and what is across it and through it."""

from dataclasses import dataclass

import numpy as np

from netsim.circuit.elements import Branch, ComplexArray
from netsim.circuit.parts import Parts
from netsim.solvers.solution import Solution


@dataclass(frozen=True)
class Placement:
    """Where a part's voltage and current are found in the ladder.

    Attributes
    ----------
    branch : str
        The branch that is the part. Of the plate choke it is the winding: its wire is what a current
        rating speaks of, and what flows in the self-capacitance does not heat it.
    carries_plate_current : bool
        Whether the DC plate current flows in it.
    holds_supply : bool
        Whether the plate supply stands across it.
    """

    branch: str
    carries_plate_current: bool = False
    holds_supply: bool = False


def placements(parts: Parts) -> dict[str, Placement]:
    """Give every part that the ladder holds, by name.

    Without a blocking capacitor the plate supply stands on everything behind it that leads to ground.
    """
    behind = not parts.has_blocking_capacitor
    table = {
        "suppressor": Placement("suppressor", carries_plate_current=True),
        "plate_choke": Placement("plate_choke", carries_plate_current=True, holds_supply=True),
        "blocking_capacitor": Placement("blocking_capacitor", holds_supply=True),
        "tune_capacitor": Placement("tune_capacitor", holds_supply=behind),
        "tune_padding": Placement("tune_padding", holds_supply=behind),
        "coil": Placement("coil"),
        "load_capacitor": Placement("load_capacitor", holds_supply=behind),
        "load_padding": Placement("load_padding", holds_supply=behind),
        "output_coil": Placement("output_coil"),
        "output_choke": Placement("output_choke", holds_supply=behind),
    }
    absent = set()
    if not parts.has_suppressor:
        absent.add("suppressor")
    if not parts.has_blocking_capacitor:
        absent.add("blocking_capacitor")
    if parts.topology != "pi-L":
        absent.add("output_coil")
    return {name: place for name, place in table.items() if name not in absent}


def across(branch: Branch, solution: Solution) -> ComplexArray:
    """Give the complex voltage across a branch for 1 A into the plate, shape ``(networks, orders)``."""
    far = 0 if branch.to is None else solution.node_voltage[branch.to]
    return np.asarray(solution.node_voltage[branch.node] - far)
