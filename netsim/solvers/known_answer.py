"""A circuit small enough to work out by hand, to see whether a solver works where it is installed."""

import math
from importlib import import_module

import numpy as np

from netsim.circuit.elements import Branch, Capacitor, Inductor, Resistor
from netsim.circuit.ladder import Ladder
from netsim.solvers.solution import Solution

ANTENNA = 50.0
Q = 3.0
PLATE_LOAD = ANTENNA * (1 + Q**2)
"""Resistance that the L network shows [ohm]."""

FREQUENCY = 7.1e6
TOLERANCE = 1e-9


def ladder() -> Ladder:
    """Build a lossless L network that matches 50 ohm to 500 ohm at 7.1 MHz.

    Notes
    -----
    With R the antenna, series reactance Q R and shunt reactance (1 + Q^2) R / Q: the series branch has the
    admittance (1 - jQ) / (R (1 + Q^2)), whose susceptance the shunt capacitor cancels. Derived.
    """
    omega = 2 * math.pi * FREQUENCY
    none = np.zeros(1)
    coil = Inductor(np.array([Q * ANTENNA / omega]), none)
    capacitor = Capacitor(np.array([Q / (omega * PLATE_LOAD)]), none)
    branches = (
        Branch("tune_capacitor", capacitor, "plate"),
        Branch("coil", coil, "plate", "antenna"),
        Branch("antenna", Resistor(np.array([ANTENNA])), "antenna"),
    )
    return Ladder(np.array([FREQUENCY]), branches)


def solve(solver: str) -> complex:
    """Give the plate impedance [ohm] by ``spice``, ``two_port`` or ``batch``; raises what those raise."""
    module = import_module(f"netsim.solvers.{solver}")
    solution: Solution = module.solve(ladder(), np.ones(1))
    return complex(solution.plate_impedance[0, 0])


def error(found: complex) -> float:
    """Relative distance from the known answer."""
    return abs(found - PLATE_LOAD) / PLATE_LOAD
