"""From the description to numbers: the one place in this layer that reads what the user wrote."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from netsim.circuit.coil.conductor_loss import resistivity
from netsim.circuit.coil.winding import Section, Solenoid, Toroid, Winding
from netsim.circuit.coil.wound_coils import Rows, WoundCoil, wound_coil
from netsim.circuit.elements import FloatArray
from netsim.circuit.parts import ABSENT_SERIES_CAPACITANCE, ABSENT_SHUNT_INDUCTANCE, LOSSLESS, Parts
from netsim.circuit.reflection import behind_filter
from netsim.circuit.stage import ORDERS, Stage, largest_plate_load, plate_load, pulse_spectrum
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.coils import Coil, WindingSection
from netsim.description.reader import Amplifier
from netsim.description.touchstone import load
from netsim.errors import DescriptionError, Problem


@dataclass(frozen=True)
class Assembly:
    """A described amplifier as numbers; one network for each frequency of each band, in file order.

    Attributes
    ----------
    stage : Stage
        The output stage.
    parts : Parts
        Of ``networks`` networks.
    band_index : ndarray of int
        Which of the description's bands each network belongs to, shape ``(networks,)``.
    tune_given, load_given : ndarray
        Settings that the file prescribes [F], NaN where it leaves them to be found; ``(networks,)``.
    coil, output_coil : WoundCoil or None
        The windings, where any band counts in turns.
    """

    stage: Stage
    parts: Parts
    band_index: np.ndarray
    tune_given: FloatArray
    load_given: FloatArray
    coil: WoundCoil | None = None
    output_coil: WoundCoil | None = None

    @property
    def wound(self) -> dict[str, WoundCoil | None]:
        """The windings by part name."""
        return {"coil": self.coil, "output_coil": self.output_coil}


def assemble(
    amplifier: Amplifier, bands: Sequence[int] | None = None, switch: Sequence[Band] | None = None
) -> Assembly:
    """Turn a description into a stage and its networks.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    bands : sequence of int, optional
        Indices of the bands wanted; all by default.
    switch : sequence of Band, optional
        Bands whose taps have a contact on the switch, where that is not every band of the description.

    Returns
    -------
    Assembly
        With one network for each frequency.

    Raises
    ------
    DescriptionError
        If the plate load asks for a swing below zero volts, or the file's filter is unusable.
    """
    description = amplifier.description
    chosen = list(range(len(description.bands))) if bands is None else list(bands)
    index = np.array([i for i in chosen for _ in description.bands[i].frequencies])
    stage = _stage(amplifier)
    rows = [description.bands[i] for i in index]
    frequency = np.array([f for i in chosen for f in description.bands[i].frequencies])
    contacts = description.bands if switch is None else switch
    coil, output_coil = (
        _wound(description, name, index, frequency, contacts) for name in ("coil", "output_coil")
    )
    parts = _parts(description, rows, frequency, stage, coil, output_coil)
    return Assembly(
        stage,
        parts if description.antenna.filter is None else _filtered(amplifier, parts),
        index,
        np.array([np.nan if band.tune is None else band.tune for band in rows]),
        np.array([np.nan if band.load is None else band.load for band in rows]),
        coil,
        output_coil,
    )


def _filtered(amplifier: Amplifier, parts: Parts) -> Parts:
    """Put the file's measured filter between network and antenna."""
    measurement = load(amplifier, "filter")
    scattering = measurement.at(parts.frequency[:, np.newaxis] * np.arange(1, ORDERS + 1))
    antenna = np.full(scattering.shape[:2], parts.antenna_resistance, dtype=np.complex128)
    beyond = np.full(len(parts), parts.antenna_resistance)
    return replace(parts, termination=behind_filter(scattering, measurement.reference, antenna, beyond))


def _stage(amplifier: Amplifier) -> Stage:
    stage = amplifier.description.stage
    spectrum = pulse_spectrum(stage.conduction_angle)
    current_peak = stage.plate_current * float(spectrum[0])
    if stage.plate_load is not None:
        load = stage.plate_load
        largest = largest_plate_load(stage.plate_voltage, stage.drive_voltage_peak, current_peak)
        if load > largest:
            position = amplifier.position("stage", "plate_load")
            raise DescriptionError(
                Problem(
                    "plate_load_too_large",
                    f"a plate load of {load:.4g} ohm with {current_peak:.4g} A peak of fundamental current would "
                    f"need the plate to swing below 0 V; the largest possible here is {largest:.4g} ohm: "
                    "lower the plate load or the plate current, or raise the plate voltage",
                    str(amplifier.path),
                    position.line,
                    position.column,
                    "stage.plate_load",
                )
            )
    else:
        assert stage.minimum_plate_voltage is not None  # one of the two, by the file's rules
        load = plate_load(
            stage.plate_voltage, stage.minimum_plate_voltage, stage.drive_voltage_peak, current_peak
        )
    return Stage(
        plate_voltage=stage.plate_voltage,
        supply_voltage=stage.no_load_plate_voltage or stage.plate_voltage,
        direct_current=stage.plate_current,
        drive_voltage_peak=stage.drive_voltage_peak,
        plate_load=load,
        spectrum=spectrum,
    )


def _wound(
    description: Description, name: str, index: Rows, frequency: FloatArray, switch: Sequence[Band]
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
    winding = Winding(
        tuple(_section(section, coil.temperature) for section in coil.winding),
        coil.unused_turns,
        coil.taps,
        coil.lead_inductance,
    )
    contacts = np.array([*coil.taps, *on_switch[~np.isnan(on_switch)]])
    return wound_coil(winding, places[index], frequency, contacts, coil.q_allowance, coil.unloaded_q)


def _section(section: WindingSection, temperature: float) -> Section:
    # What is None here cannot be, by the rules of the file; `or` only tells so.
    if section.kind == "toroid":
        return Toroid(section.turns, section.inductance_per_turn_squared or 0.0, section.unloaded_q or 0.0)
    return Solenoid(
        section.turns,
        section.mean_diameter or 0.0,
        section.turn_pitch,
        section.conductor_diameter or 0.0,
        section.gap or 0.0,
        section.perpendicular,
        float(resistivity(section.metal or "copper", temperature)),
    )


def _parts(
    description: Description,
    rows: Sequence[Band],
    frequency: FloatArray,
    stage: Stage,
    wound: WoundCoil | None,
    wound_output: WoundCoil | None,
) -> Parts:
    network = description.network
    tune, load = network.tune_capacitor, network.load_capacitor
    suppressor, choke = network.suppressor, network.plate_choke
    blocking, output_choke = network.blocking_capacitor, network.output_choke
    tune_padding, load_padding = network.tune_padding, network.load_padding

    def fixed(value: float | None, absent: float) -> FloatArray:
        return np.asarray(absent if value is None else value, dtype=np.float64)

    def by_band(values: list[float | None]) -> FloatArray:
        return np.array([0.0 if value is None else value for value in values])

    def coil(
        part: Coil | None, wound: WoundCoil | None, values: list[float | None]
    ) -> tuple[FloatArray, FloatArray]:
        plain = by_band(values), fixed(part.q if part else None, LOSSLESS)
        if wound is None:
            return plain
        return (
            np.where(wound.used, wound.spread(wound.tapped.inductance), plain[0]),
            np.where(wound.used, wound.spread(wound.tapped.q), plain[1]),
        )

    tank = coil(network.coil, wound, [band.coil for band in rows])
    output = coil(network.output_coil, wound_output, [band.output_coil for band in rows])
    return Parts(
        topology=network.topology,
        frequency=frequency,
        plate_load=np.asarray(stage.plate_load),
        antenna_resistance=np.asarray(description.antenna.resistance),
        output_capacitance=fixed(description.stage.output_capacitance, 0.0),
        suppressor_inductance=fixed(suppressor.inductance if suppressor else None, 0.0),
        suppressor_resistance=fixed(suppressor.resistance if suppressor else None, np.inf),
        plate_choke=fixed(choke.inductance if choke else None, ABSENT_SHUNT_INDUCTANCE),
        plate_choke_q=fixed(choke.q if choke else None, LOSSLESS),
        plate_choke_capacitance=fixed(choke.self_capacitance if choke else None, 0.0),
        blocking_capacitance=fixed(blocking.capacitance if blocking else None, ABSENT_SERIES_CAPACITANCE),
        blocking_q=fixed(blocking.q if blocking else None, LOSSLESS),
        tune_minimum=np.asarray(tune.minimum),
        tune_maximum=np.asarray(tune.maximum),
        tune_q=fixed(tune.q, LOSSLESS),
        tune_stray=fixed(tune.stray, 0.0),
        tune_padding=by_band([band.tune_padding for band in rows]),
        tune_padding_q=fixed(tune_padding.q if tune_padding else None, LOSSLESS),
        load_minimum=np.asarray(load.minimum),
        load_maximum=np.asarray(load.maximum),
        load_q=fixed(load.q, LOSSLESS),
        load_stray=fixed(load.stray, 0.0),
        load_padding=by_band([band.load_padding for band in rows]),
        load_padding_q=fixed(load_padding.q if load_padding else None, LOSSLESS),
        coil=tank[0],
        coil_q=tank[1],
        output_coil=output[0],
        output_coil_q=output[1],
        output_choke=fixed(output_choke.inductance if output_choke else None, ABSENT_SHUNT_INDUCTANCE),
        output_choke_q=fixed(output_choke.q if output_choke else None, LOSSLESS),
    )
