"""What is ruled out from closed forms alone, against what solving says."""

import numpy as np
import pytest

from netsim.advice.band_changes import Choices, paddings, variants
from netsim.advice.band_networks import BandNetworks, Picks
from netsim.description.reader import loads, read
from netsim.verdict.judged import Check

RANGES = [Check("tuning_range", f"{side}_capacitor", side, "matched") for side in ("tune", "load")]
LOADED_Q = Check("loaded_q", "network", "loaded_q", "matched")
UNWOUND = {"coil": None, "output_coil": None}
POINT = '\n[[operating_points]]\nname = "low"\nplate_voltage = "1.6 kV"\nno_load_plate_voltage = "1.8 kV"\n'


def _strain(outcome, check):
    return outcome.strain[outcome.index[check]].max(axis=0)


@pytest.mark.parametrize("extra", ["", POINT])
def test_feasible_is_exactly_what_ranges_and_loaded_q_allow(circuits, extra):
    """Cross-check: every combination of every padding, solved, against the closed form that rules it out."""
    old = read(circuits / "old-tubes.toml")
    amplifier = loads(old.text + extra, "x.toml")
    description = amplifier.description
    stock = (100e-12, 470e-12)
    choices = [
        Choices(
            n,
            variants(
                description,
                n,
                {"coil": None, "output_coil": None},
                coils=[band.coil * f for f in (0.55, 0.8, 1.2, 1.6)],
            ),
            paddings(description, n, "tune", stock),
            paddings(description, n, "load", stock),
        )
        for n, band in enumerate(description.bands)
    ]
    networks = BandNetworks(amplifier, description, choices)
    some = none = 0
    for number, possible in enumerate(networks.feasible()):
        variant, tune, load = (axis.ravel() for axis in np.indices(possible.shape))
        outcome = networks.outcome(Picks(np.full(len(variant), number), variant, tune, load))
        allowed = np.max([_strain(outcome, check) for check in (*RANGES, LOADED_Q)], axis=0) <= 1
        expected = possible.ravel()
        # The closed form takes no loss of a padding: a hair's breadth may differ at a limit.
        edge = np.min([np.abs(_strain(outcome, check) - 1) for check in (*RANGES, LOADED_Q)], axis=0) < 1e-3
        assert (allowed == expected)[~edge].all()
        some, none = some + int(expected.sum()), none + int((~expected).sum())
    assert some > 10
    assert none > 10
