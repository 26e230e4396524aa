"""Which places of a tap are worth trying, without solving a long coil at all of them."""

import numpy as np
import pytest

from netsim.advice import band_changes
from netsim.advice.band_changes import near_places, places
from netsim.advice.taps.tap_choice import _distinguishable
from netsim.circuit.assembly import assemble
from netsim.circuit.coil.winding import Solenoid, Winding
from netsim.circuit.coil.wound_coils import WoundCoil, wound_coil
from netsim.description.reader import loads

HERTZ = 7e6


def coil(turns: float, shorting: str) -> WoundCoil:
    taps = tuple(np.linspace(2.5, turns, 24).round(3).tolist())
    winding = Winding(
        (Solenoid(turns, 0.06, 0.003, 0.0015, 0.0, False, 1.72e-8),),
        shorting,
        taps if shorting == "progressive" else (),
        3e-8,
        2e-8,
    )
    return wound_coil(winding, np.array([taps[7]]), np.array([HERTZ]), 0.7, None)


@pytest.mark.parametrize("shorting", ["open", "strap", "progressive"])
@pytest.mark.parametrize("present", [2.5, 9.25, 30.0, 90.0])
def test_places_within_reach_are_those_of_the_whole_coil(shorting, present):
    """Derived: the rule itself, at every place of the coil."""
    wound = coil(90.0, shorting)
    every = places(wound.winding, 0.25, np.array([present]))
    inductance = wound.at(every, np.full(len(every), HERTZ)).inductance
    ratio = inductance / inductance[np.argmin(np.abs(every - present))]
    reached = every[(ratio >= 1.05**-14) & (ratio <= 1.05**20) & (every != present)]
    assert near_places(wound, 0.25, present, HERTZ) == pytest.approx(reached.tolist())
    assert 0 < len(reached) < len(every) - 1


def test_a_long_coil_is_not_solved_at_every_place(monkeypatch):
    solved = []

    def counted(self, turns, frequency):
        solved.append(len(turns))
        return at(self, turns, frequency)

    at = WoundCoil.at
    monkeypatch.setattr(WoundCoil, "at", counted)
    wound = coil(120.0, "progressive")
    near_places(wound, 0.05, 10.0, HERTZ)
    assert sum(solved) < len(places(wound.winding, 0.05, np.array([10.0]))) / 4
    assert solved[0] <= band_changes._FEW + 2


def test_no_contact_more_than_a_switch_can_have(circuits, monkeypatch):
    """Bands that share a contact leave it behind when one moves, and the file takes so many and no more."""
    text = (
        (circuits / "new-tube.toml")
        .read_text(encoding="utf-8")
        .replace("coil_turns = 5.5", "coil_turns = 7.25")
    )
    description = loads(text).description
    contacts = description.network.coil.taps
    wound = assemble(loads(text)).wound
    places = {variant.band.coil_turns for variant in band_changes.variants(description, 5, wound)}
    assert places - set(contacts)
    monkeypatch.setattr(band_changes, "MOST_TAPS", len(contacts))
    for index, shared in ((5, True), (0, False)):
        places = {v.band.coil_turns for v in band_changes.variants(description, index, wound)}
        assert (places <= set(contacts)) is shared
        assert len(places) > 1


def test_of_very_many_places_those_that_hardly_differ_are_left_out():
    """Below a hundred turns a quarter of a turn is a percent of 25 turns; few coils have 400 places at all."""
    usual = np.arange(1, 161) * 0.25
    assert _distinguishable(usual, np.array([9.75])) is usual
    long = np.arange(1, 1201) * 0.25
    kept = _distinguishable(long, np.array([9.75, 211.25]))
    assert len(kept) < 400
    assert {9.75, 211.25, long[0], long[-1]} <= set(kept)
    assert set(long[long <= 25]) <= set(kept)
    assert (np.diff(kept) <= np.maximum(0.0101 * kept[:-1] + 0.25, 0.25)).all()
