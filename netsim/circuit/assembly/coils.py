"""Described windings as numbers: at the taps of the bands, with the sizes that differ, and coupled."""

from collections.abc import Sequence

import numpy as np

from netsim.circuit.assembly.variants import Variants, in_rows
from netsim.circuit.coil.conductor import resistivity
from netsim.circuit.coil.tapped_coil import Size
from netsim.circuit.coil.winding import Section, Solenoid, Toroid, Winding
from netsim.circuit.coil.wound_coils import WoundCoil, wound_coil
from netsim.circuit.coil.wound_coils import coupling as coupling_of
from netsim.circuit.elements import FloatArray, IndexArray
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.coils import Coil, OutputCoil, WindingSection


def wound(
    description: Description, name: str, index: IndexArray, frequency: FloatArray, switch: Sequence[Band]
) -> WoundCoil | None:
    """Work out the winding of a coil in the networks that count in turns; None if none does."""
    coil: Coil | None = getattr(description.network, name)
    # Every band has its contact on the switch, whichever bands are looked at.
    places, on_switch = (
        np.array([np.nan if (place := getattr(band, f"{name}_turns")) is None else place for band in bands])
        for bands in (description.bands, switch)
    )
    if coil is None or np.isnan(places[index]).all():
        return None
    shorting = coil.shorting
    winding = Winding(
        tuple(_section(section, coil.temperature) for section in coil.winding),
        shorting,
        coil.taps
        or (tuple(np.unique(on_switch[~np.isnan(on_switch)]).tolist()) if shorting == "progressive" else ()),
        coil.lead_inductance,
        coil.strap_inductance,
    )
    return wound_coil(winding, places[index], frequency, coil.q_allowance, coil.unloaded_q)


def differing(
    coil: WoundCoil, part: Coil, name: str, bands: Sequence[Band], each: IndexArray, variants: Variants
) -> WoundCoil:
    """Return a winding with the sizes that differ, in so many networks of each band."""
    turns = [getattr(band, f"{name}_turns") for band in bands]
    if not variants.touches("network", name) and not any(isinstance(t, np.ndarray) for t in turns):
        return coil
    scale: dict[Size, FloatArray] = {}
    for number, (placed, before) in enumerate(zip(part.winding, coil.winding.sections, strict=True)):
        after = _section(placed, part.temperature)
        for key, value in vars(after).items():
            if isinstance(value, np.ndarray) and value.ndim and getattr(before, key):
                scale[number, key] = value / getattr(before, key)
    absolute = {"turns": in_rows(turns, each * variants.copies, np.nan)}
    keys = {"q_allowance": "q_allowance", "unloaded_q": "measured_q"}
    keys |= {key: key for key in ("lead_inductance", "strap_inductance")}
    for key, wanted in keys.items():
        if isinstance(getattr(part, key), np.ndarray):
            absolute[wanted] = getattr(part, key)
    return coil.scaled(scale, **absolute)


def coupling(part: OutputCoil | None, coil: WoundCoil | None, output_coil: WoundCoil | None) -> FloatArray:
    """Coefficient between the coils: as given, or where the file tells how the windings stand, or none."""
    if part is None:
        return np.zeros(())
    if part.coupling is not None:
        return np.asarray(part.coupling)
    if coil is None or output_coil is None or not part.is_placed:
        return np.zeros(())
    return coupling_of(coil, output_coil)


def _section(section: WindingSection, temperature: float) -> Section:
    """Give a section's numbers, arrays where they differ."""
    if section.kind == "toroid":
        return Toroid(
            section.turns,
            _known(section.inductance_per_turn_squared),
            _known(section.unloaded_q),
            section.core_loss_share,
        )
    return Solenoid(
        section.turns,
        section.turn_diameter,
        section.turn_pitch,
        _known(section.conductor_diameter),
        _known(section.gap),
        section.perpendicular,
        resistivity(section.conducting_metal, temperature)[()],  # type: ignore[arg-type]
    )


def _known(value: float | None) -> float:
    """Give what the rules of the file say is there, or the gap that is not."""
    return 0.0 if value is None else value
