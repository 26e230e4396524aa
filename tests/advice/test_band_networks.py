"""What a trial rules out from closed forms alone, against what it says when it solves."""

import numpy as np
import pytest
from netsim.advice.fix.array_verdict import Check
from netsim.advice.fix.band_changes import paddings, variants
from netsim.advice.fix.networks import Choices, Picks, Trial

from netsim.description.reader import loads, read

RANGES = [Check("tuning_range", f"{side}_capacitor", side, "matched") for side in ("tune", "load")]
LOADED_Q = Check("loaded_q", "network", "loaded_q", "matched")
POINT = '\n[[operating_points]]\nname = "low"\nplate_voltage = "1.6 kV"\nno_load_plate_voltage = "1.8 kV"\n'


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
            variants(description, n, coils=[band.coil * f for f in (0.55, 0.8, 1.2, 1.6)]),
            paddings(description, n, "tune", stock),
            paddings(description, n, "load", stock),
        )
        for n, band in enumerate(description.bands)
    ]
    trial = Trial(amplifier, description, choices)
    some = none = 0
    for number, possible in enumerate(trial.feasible()):
        variant, tune, load = (axis.ravel() for axis in np.indices(possible.shape))
        verdict = trial.judge(Picks(np.full(len(variant), number), variant, tune, load))
        allowed = np.max([verdict.used[check] for check in (*RANGES, LOADED_Q)], axis=0) <= 1
        expected = possible.ravel()
        # A padding is lossless here and the present one is not: a hair's breadth may differ at a limit.
        edge = np.min([np.abs(verdict.used[check] - 1) for check in (*RANGES, LOADED_Q)], axis=0) < 1e-3
        assert (allowed == expected)[~edge].all()
        some, none = some + int(expected.sum()), none + int((~expected).sum())
    assert some > 10
    assert none > 10
