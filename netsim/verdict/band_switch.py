"""What the contacts of the band switch carry."""

from collections.abc import Mapping, Sequence

import numpy as np

from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import FloatArray
from netsim.verdict.stress import Stress


def switch_stress(
    wound: Mapping[str, WoundCoil | None], found: Mapping[str, Stress], loads: int = 1
) -> Stress:
    """Compute the stress of the band switch.

    Parameters
    ----------
    wound : mapping of str to WoundCoil or None
        The windings of ``coil`` and ``output_coil``.
    found : mapping of str to Stress
        Of the coils and paddings, by part name, shape ``(networks * loads,)``.
    loads : int
        How many successive networks of `found` are one network on several loads.

    Returns
    -------
    Stress
        Without a winding: the tank coil's rms current and the voltage across it. With one: the current of
        the hardest worked contact, of the tap or between and behind shorted loops, and the peak voltage across
        the coil, or from the tap to the free end of open turns where that is more. A padding's contact carries the
        padding's current. Of all decks the higher values. No loss.

    Notes
    -----
    Currents of loops and contacts, and the free end's voltage, go with the coil's, order by order: their ratio
    hardly depends on the frequency while inductance rules. A voltage known only where it can be the highest of
    its coil stays so; that of the switch is the highest of those known, and the highest of all loads is among
    them.
    """
    tank = found["coil"]
    winding = wound.get("coil")
    # Where a band gives an inductance, nothing is known of the contacts but what the coil carries.
    plain = np.ones(len(tank.current_rms) // loads) if winding is None else (~winding.used).astype(np.float64)
    windings = {name: coil for name, coil in wound.items() if coil is not None}
    coils = [tank, *(found[name] for name in windings)]
    voltage = [plain, *(coil.switch_voltage_ratio for coil in windings.values())]
    current = [plain, *(coil.contact_current_ratio for coil in windings.values())]

    def highest(name: str, shares: Sequence[FloatArray]) -> FloatArray:
        """Give the highest of all decks: of a coil's own what its contacts have, shape ``(networks,)``."""
        decks = zip(coils, shares, strict=True)
        return np.asarray(
            np.fmax.reduce([getattr(coil, name) * np.repeat(share, loads) for coil, share in decks])
        )

    paddings = [found[name].current_rms for name in ("tune_padding", "load_padding")]
    nothing = np.zeros(len(tank.current_rms))
    return Stress(
        present=tank.present,
        voltage_peak=highest("voltage_peak", voltage),
        rf_voltage_peak=highest("rf_voltage_peak", voltage),
        unloaded_voltage_peak=highest("unloaded_voltage_peak", voltage),
        current_rms=np.max([highest("current_rms", current), *paddings], axis=0),
        loss=nothing,
        reactive_power=nothing * np.nan,
    )
