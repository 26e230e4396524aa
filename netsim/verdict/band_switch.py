"""What the contacts of the band switch carry."""

from collections.abc import Mapping
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray
from netsim.verdict.antenna_stress import LoadStress
from netsim.verdict.stress import Stress


def switch_stress(wound: Mapping[str, WoundCoil | None], found: Mapping[str, Stress]) -> Stress:
    """Give the stress of the band switch.

    Parameters
    ----------
    wound : mapping of str to WoundCoil or None
        The windings of ``coil`` and ``output_coil``.
    found : mapping of str to Stress
        Of the coils themselves, by part name.

    Returns
    -------
    Stress
        Without a winding: the tank coil's rms current and the voltage across it. With one: the larger of the
        current through the closed contact (the coil's) and the largest loop current, and the peak voltage
        from the tap to any other contact or to the free end of open turns; of two wound coils the higher
        values. No loss.

    Notes
    -----
    Loop currents and contact voltages go with the coil's, order by order: their ratio hardly depends on the
    frequency while inductance rules.
    """
    tank = found["coil"]
    decks = _decks(wound, tank, found)

    def highest(name: str) -> FloatArray:
        return np.asarray(np.max([getattr(deck.coil, name) * deck.voltage for deck in decks], axis=0))

    nothing = np.zeros(len(tank.current_rms))
    return Stress(
        present=tank.present,
        voltage_peak=highest("voltage_peak"),
        rf_voltage_peak=highest("rf_voltage_peak"),
        unloaded_voltage_peak=highest("unloaded_voltage_peak"),
        current_rms=np.asarray(np.max([deck.coil.current_rms * deck.current for deck in decks], axis=0)),
        loss=nothing,
        reactive_power=nothing * np.nan,
    )


def switch_on_all_loads(wound: Mapping[str, WoundCoil | None], found: Mapping[str, LoadStress]) -> LoadStress:
    """Give the same on all loads, from the stress of the coils there.

    Notes
    -----
    A voltage is known only where it can be the highest of its coil; that of the switch is the highest of
    those known, and the highest of all loads is among them.
    """
    decks = _decks(wound, found["coil"], found)

    def largest(name: str, share: str) -> FloatArray:
        values = [getattr(d.coil, name) * getattr(d, share)[:, np.newaxis] for d in decks]
        return np.asarray(np.fmax.reduce(values))

    tank = found["coil"]
    nothing = np.zeros(tank.current_rms.shape)
    return LoadStress(
        present=tank.present,
        current_rms=largest("current_rms", "current"),
        loss=nothing,
        reactive_power=nothing * np.nan,
        voltage_peak=largest("voltage_peak", "voltage"),
    )


AnyStress = TypeVar("AnyStress", Stress, LoadStress)


class _Deck(NamedTuple, Generic[AnyStress]):
    """A coil, and what its contacts have of its voltage and of its current, shape ``(networks,)``."""

    coil: AnyStress
    voltage: FloatArray
    current: FloatArray


def _decks(
    wound: Mapping[str, WoundCoil | None], tank: AnyStress, found: Mapping[str, AnyStress]
) -> list[_Deck[AnyStress]]:
    winding = wound.get("coil")
    # Where a band gives an inductance, nothing is known of the contacts but what the coil carries.
    plain = np.ones(len(tank.current_rms)) if winding is None else (~winding.used).astype(np.float64)
    decks = [_Deck(tank, plain, plain)]
    decks += [_deck(coil, found[name]) for name, coil in wound.items() if coil is not None]
    return decks


def _deck(wound: WoundCoil, coil: AnyStress) -> _Deck[AnyStress]:
    largest = wound.loop_current_ratio.max(axis=1, initial=0.0)
    closed = wound.used.astype(np.float64)
    return _Deck(coil, wound.spread(wound.open_contact_ratio), np.maximum(closed, largest))
