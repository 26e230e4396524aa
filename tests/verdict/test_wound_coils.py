"""Heat of wound coils, by what energy allows. Derived."""

import numpy as np

from netsim.analysis import analyse
from netsim.description.reader import read
from netsim.verdict.wound_coils import hottest


def test_no_stretch_of_a_coil_is_heated_by_more_than_the_coil_loses_on_average(circuits):
    """Derived: heat is power over time, so a stretch has at most the coil's loss times the duty, less the leads'."""
    amplifier = read(circuits / "new-tube.toml").replace({"stage.duty": 0.4})
    solved = analyse(amplifier, engine="two-port", samples=1).solved
    coil = solved.assembly.coil
    rows = np.flatnonzero(coil.used)
    whole = solved.stress["coil"].loss[rows] * 0.4 * coil.conductor_share[rows]
    heat = np.array([spot.loss for spot in hottest(solved, coil, "coil", rows)])
    assert np.all(heat <= whole)
    # On the high bands the tap leaves nearly all of the loss to one stretch.
    assert np.all((heat / whole)[-4:] > 0.9)
