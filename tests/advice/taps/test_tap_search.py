"""Places of a tap. Derived: counted by hand."""

from dataclasses import replace

import numpy as np
import pytest

from netsim.advice.band_changes import places
from netsim.advice.taps.tap_search import plate_load_range, search
from netsim.circuit.assembly import assemble
from netsim.circuit.coil.winding import Solenoid, Toroid, Winding
from netsim.circuit.tuning import match
from netsim.description.reader import read

SOLENOID = Solenoid(turns=2.5, mean_diameter=0.05, pitch=0.005, conductor_diameter=0.002)
TOROID = Toroid(turns=3, inductance_per_turn_squared=15e-9, unloaded_q=220)


def test_steps_on_a_solenoid_the_far_end_and_the_present_tap():
    found = places(Winding((SOLENOID,)), 0.75, np.array([1.1, 1.5, 1.5]))
    assert found == pytest.approx([0.75, 1.1, 1.5, 2.25, 2.5])


def test_whole_turns_of_its_own_on_a_toroid():
    winding = Winding((SOLENOID, TOROID, SOLENOID), "open")
    found = places(winding, 1.0, np.array([1.0]))
    assert found == pytest.approx([1, 2, 2.5, 3.5, 4.5, 5.5, 6, 7, 8])
    winding.snapped(found)


def test_no_place_on_a_core_whose_rest_would_be_shorted():
    winding = Winding((SOLENOID, TOROID, SOLENOID), "strap")
    found = places(winding, 1.0, np.array([1.0]))
    assert found == pytest.approx([1, 2, 2.5, 5.5, 6, 7, 8])
    winding.snapped(found)


def test_all_places_in_all_networks(wound):
    amplifier = read(wound)
    assembly, band = assemble(amplifier), amplifier.description.bands[0]
    every = places(assembly.coil.winding, 0.5, np.array([band.coil_turns]))
    tried = [band.model_copy(update={"coil_turns": float(turns)}) for turns in every]
    found = search(amplifier, amplifier.description, 0, tried, [0])
    assert found.turns.size == 56
    assert found.tuned.shape == found.loaded_q.shape == (56, len(band.frequencies))
    here = found.nearest(25.0)
    assert found.inductance[here, 0] == pytest.approx(assembly.parts.coil[0], rel=1e-9)
    assert found.tuned[here, 0]
    # Fewer turns, more loaded Q, as long as there is a match.
    assert np.all(np.diff(found.loaded_q[found.tuned[:, 0], 0]) < 0)


def test_the_range_of_plate_loads_ends_where_a_capacitor_does(wound):
    parts = assemble(read(wound), bands=[1]).parts
    low, high = plate_load_range(parts)

    def tunes(load):
        tried = replace(parts, plate_load=np.asarray(load))
        return match(tried).within(tried).any(axis=0).all()

    assert tunes(low * (1 + 1e-9))
    assert not tunes(low * (1 - 1e-6))
    assert tunes(high * (1 - 1e-9))
    assert not tunes(high * (1 + 1e-6))
    assert plate_load_range(replace(parts, coil=parts.coil * 50)) is None
