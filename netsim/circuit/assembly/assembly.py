"""From the description to numbers: the one place in this layer that reads what the user wrote."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NoReturn

import numpy as np

from netsim.circuit.assembly.coils import coupling, differing, wound
from netsim.circuit.assembly.variants import Variants, in_rows
from netsim.circuit.box.heat_path import HeatItem, added_capacitance
from netsim.circuit.choke import short_coil_inductance
from netsim.circuit.coil.self_capacitance import self_capacitance
from netsim.circuit.coil.wound_coils import WoundCoil
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray
from netsim.circuit.parts import ABSENT_SERIES_CAPACITANCE, ABSENT_SHUNT_INDUCTANCE, LOSSLESS, Parts
from netsim.circuit.reflection import behind_filter
from netsim.circuit.scattering import between
from netsim.circuit.stage import ORDERS, OperatingConditions, largest_plate_load, plate_load, pulse_spectrum
from netsim.description.assumed import completed
from netsim.description.models.amplifier import Band, Description, PlateChoke, Stage, Suppressor
from netsim.description.models.coils import Coil
from netsim.description.reader import Amplifier
from netsim.description.touchstone import Measurement, load
from netsim.errors import DescriptionError, Problem


@dataclass(frozen=True)
class Assembly:
    """A described amplifier as numbers.

    One network for each frequency of each band at each operating point that serves it; the stage as it
    stands in the file first, bands and frequencies in file order.

    Attributes
    ----------
    stage : OperatingConditions
        The output stage, ``(networks,)``.
    parts : Parts
        Of ``networks`` networks.
    band_index, point_index : ndarray of int
        Which of the description's bands and operating points each network belongs to, shape
        ``(networks,)``; point 0 is the stage as it stands, k the description's operating point k - 1.
    tune_given, load_given : ndarray
        Settings that the file prescribes [F], NaN where it leaves them to be found; ``(networks,)``.
    coil, output_coil : WoundCoil or None
        The windings, where any band counts in turns.
    """

    stage: OperatingConditions
    parts: Parts
    band_index: IndexArray
    point_index: IndexArray
    tune_given: FloatArray
    load_given: FloatArray
    coil: WoundCoil | None = None
    output_coil: WoundCoil | None = None

    def __len__(self) -> int:
        return len(self.band_index)

    @property
    def wound(self) -> dict[str, WoundCoil | None]:
        """The windings by part name."""
        return {"coil": self.coil, "output_coil": self.output_coil}

    def take(self, index: IndexArray) -> "Assembly":
        """Choose some of the networks by index, repeated or not."""
        return Assembly(
            self.stage.take(index),
            self.parts.take(index),
            self.band_index[index],
            self.point_index[index],
            self.tune_given[index],
            self.load_given[index],
            self.coil and self.coil.take(index),
            self.output_coil and self.output_coil.take(index),
        )


def assemble(
    amplifier: Amplifier,
    description: Description | None = None,
    *,
    bands: Sequence[int] | None = None,
    points: bool = True,
    switch: Sequence[Band] | None = None,
    variants: Variants = Variants(),  # noqa: B008
    like: Assembly | None = None,
) -> Assembly:
    """Turn a description into a stage and its networks.

    Parameters
    ----------
    amplifier : Amplifier
        A validated amplifier file.
    description : Description, optional
        What a search tries instead of what the file says; errors still name the file.
    bands : sequence of int, optional
        Indices of the bands wanted; all by default.
    points : bool
        Whether the operating points are assembled too, or the stage as it stands alone.
    switch : sequence of Band, optional
        Bands whose taps have a contact on the switch, where that is not every band of the description.
    variants : Variants
        Copies of every network that differ.
    like : Assembly, optional
        Of the same bands, operating points and coils with other parts: its windings are taken over.

    Returns
    -------
    Assembly
        See there.

    Notes
    -----
    Sizes of a winding that differ are followed by the coil's sensitivities; see `WoundCoil.scaled` for how true
    that is, and the coupling of two windings stays that of the sizes as they are. A plate load that differs ends
    where the plate would swing below zero.

    Raises
    ------
    DescriptionError
        If the plate load asks for a swing below zero volts, or the file's filter is unusable.
    """
    described = completed(amplifier.description if description is None else description)
    chosen = list(range(len(described.bands))) if bands is None else list(bands)
    serving = [(0, i) for i in chosen]
    if points:
        serving += [
            (number, i)
            for number, point in enumerate(described.operating_points, start=1)
            for i in chosen
            if point.serves(described.bands[i].name)
        ]
    each = np.array([len(described.bands[i].frequencies) for _, i in serving], dtype=np.intp)
    rows, copies = int(each.sum()), variants.copies
    at = np.arange(rows).repeat(copies)
    point_index, band_index = np.array(serving, dtype=np.intp).reshape(-1, 2).T.repeat(each, axis=1)
    frequency = np.array([f for _, i in serving for f in described.bands[i].frequencies])
    varied = variants.of(described, rows)
    served = [varied.bands[i] for _, i in serving]
    at_points = [varied.stage, *(p.of(varied.stage) for p in varied.operating_points if points)]
    stage = _stage(amplifier, at_points, point_index[at], copies)
    if like is not None:
        coils = [like.coil, like.output_coil]
    else:
        coils = [
            wound(described, name, band_index, frequency, described.bands if switch is None else switch)
            for name in ("coil", "output_coil")
        ]
    coupled = coupling(described.network.output_coil, *coils)
    coils = [
        coil and differing(coil.take(at), getattr(varied.network, name), name, served, each, variants)
        for coil, name in zip(coils, ("coil", "output_coil"), strict=True)
    ]
    parts = _parts(varied, served, each * copies, frequency[at], stage, *coils)
    if varied.network.output_coil is not None and varied.network.output_coil.coupling is None:
        parts = replace(parts, coupling=np.broadcast_to(coupled, (rows,))[at])
    capacitance = _column(at_points, len(at), "output_capacitance")[point_index[at], np.arange(len(at))]
    added = added_capacitance(heat_path(varied))
    parts = replace(parts, output_capacitance=np.nan_to_num(capacitance) + added)

    def given(key: Literal["tune", "load"]) -> FloatArray:
        if all(getattr(band, key) is None for band in served):
            return np.full(len(at), np.nan)
        settings = [setting for band in served for setting in band.settings(key)]
        return in_rows(settings, np.full(rows, copies), np.nan)

    return Assembly(
        stage,
        parts if described.antenna.filter is None else _filtered(amplifier, parts),
        band_index[at],
        point_index[at],
        given("tune"),
        given("load"),
        *coils,
    )


def heat_path(description: Description) -> tuple[HeatItem, ...]:
    """Return the way of the plate's heat as the file has it, from the anode outwards; empty without a table."""
    if description.cooling is None:
        return ()
    return tuple(HeatItem(**vars(item)) for item in description.cooling.path)


def _column(stages: Sequence[Stage], rows: int, key: str) -> FloatArray:
    """Give a quantity of the stages, NaN where there is none, shape ``(points, rows)``."""
    # None becomes NaN.
    found = [np.asarray(getattr(stage, key), dtype=np.float64) for stage in stages]
    return np.stack([np.broadcast_to(value, (rows,)) for value in found])


def measured_orders(measurement: Measurement, frequency: FloatArray) -> ComplexArray:
    """Give scattering parameters at orders 1 to 10 of working frequencies.

    Parameters
    ----------
    measurement : Measurement
        Of one or two ports.
    frequency : ndarray
        [Hz], shape ``(networks,)``.

    Returns
    -------
    ndarray
        Complex, shape ``(networks, 10, ports, ports)``; NaN at orders beyond the measurement.

    Raises
    ------
    DescriptionError
        If a working frequency was not measured, or nothing comes through a filter there.
    """
    measurement.demand(frequency)
    each, row = np.unique(frequency, return_inverse=True)  # many networks share few frequencies
    wanted = each[:, np.newaxis] * np.arange(1, ORDERS + 1)
    return between(measurement.frequency, measurement.scattering, wanted)[row]


def _filtered(amplifier: Amplifier, parts: Parts) -> Parts:
    """Put the file's measured filter between network and antenna."""
    measurement = load(amplifier, "filter")
    scattering = measured_orders(measurement, parts.frequency)
    antenna = np.full(scattering.shape[:2], parts.antenna_resistance, dtype=np.complex128)
    beyond = np.full(len(parts), parts.antenna_resistance)
    return replace(parts, termination=behind_filter(scattering, measurement.reference, antenna, beyond))


def _stage(
    amplifier: Amplifier, stages: Sequence[Stage], point: IndexArray, copies: int
) -> OperatingConditions:
    """Assemble the stage of every network, at its operating point."""
    here = point, np.arange(len(point))

    def column(key: str) -> FloatArray:
        return np.asarray(_column(stages, len(point), key)[here])

    # Copies differ alike in all networks.
    shapes = [pulse_spectrum(np.atleast_1d(s.conduction_angle)[:copies], pulse=s.pulse) for s in stages]
    every = [np.broadcast_to(shape, (copies, ORDERS)) for shape in shapes]
    spectrum = np.stack(every)[point, np.arange(len(point)) % copies]
    voltage, drive = column("plate_voltage"), column("drive_voltage_peak")
    current_peak = column("plate_current") * spectrum[:, 0]
    given, largest = column("plate_load"), largest_plate_load(voltage, drive, current_peak)
    for row in np.flatnonzero(given > largest)[: copies == 1]:
        _refuse_plate_load(
            amplifier, int(point[row]), float(given[row]), float(current_peak[row]), float(largest[row])
        )
    found = plate_load(voltage, column("minimum_plate_voltage"), drive, current_peak)
    return OperatingConditions(
        plate_voltage=voltage,
        supply_voltage=column("highest_plate_voltage"),
        direct_current=column("plate_current"),
        drive_voltage_peak=drive,
        plate_load=np.where(np.isnan(given), found, np.minimum(given, largest)),
        spectrum=spectrum,
        duty=column("duty"),
        dissipation_rating=column("dissipation_rating"),
        conduction_angle=column("conduction_angle"),
    )


def _refuse_plate_load(
    amplifier: Amplifier, number: int, load: float, current_peak: float, largest: float
) -> NoReturn:
    """Say that the plate would have to swing below zero, at an operating point if it is one."""
    key: tuple[str | int, ...] = ("stage", "plate_load")
    words, written = "", "stage.plate_load"
    if number:
        key, written = ("operating_points", number - 1), f"operating_points[{number - 1}]"
        words = f"operating point {amplifier.description.operating_points[number - 1].name!r}: "
    line, column = amplifier.position(*key)
    raise DescriptionError(
        Problem(
            "plate_load_too_large",
            f"{words}a plate load of {load:.4g} ohm with {current_peak:.4g} A peak of fundamental current would "
            f"need the plate to swing below 0 V; the largest possible here is {largest:.4g} ohm: "
            "lower the plate load or the plate current, or raise the plate voltage",
            str(amplifier.path),
            line,
            column,
            written,
        )
    )


def _parts(
    description: Description,
    bands: Sequence[Band],
    each: IndexArray,
    frequency: FloatArray,
    stage: OperatingConditions,
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

    def by_band(key: str) -> FloatArray:
        return in_rows([getattr(band, key) for band in bands], each)

    def coil(
        part: Coil | None, wound: WoundCoil | None, key: str
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Give inductance, Q and self-capacitance, which is known of a winding alone."""
        plain = by_band(key), fixed(part.q if part else None, LOSSLESS)
        if wound is None:
            return *plain, np.zeros(())
        return (
            np.where(wound.used, wound.spread(wound.tapped.inductance), plain[0]),
            np.where(wound.used, wound.spread(wound.tapped.q), plain[1]),
            wound.self_capacitance,
        )

    tank = coil(network.coil, wound, "coil")
    output = coil(network.output_coil, wound_output, "output_coil")
    return Parts(
        topology=network.topology,
        frequency=frequency,
        plate_load=stage.plate_load,
        antenna_resistance=np.asarray(description.antenna.resistance),
        plate_lead=np.asarray(network.plate_lead_inductance),
        suppressor_inductance=np.zeros(()) if suppressor is None else suppressor_inductance(suppressor),
        suppressor_resistance=fixed(suppressor.resistance if suppressor else None, np.inf),
        plate_choke=fixed(choke.inductance if choke else None, ABSENT_SHUNT_INDUCTANCE),
        plate_choke_q=fixed(choke.q if choke else None, LOSSLESS),
        plate_choke_capacitance=_choke_capacitance(choke),
        blocking_capacitance=fixed(blocking.capacitance if blocking else None, ABSENT_SERIES_CAPACITANCE),
        blocking_q=fixed(blocking.q if blocking else None, LOSSLESS),
        blocking_lead=fixed(blocking.lead_inductance if blocking else None, 0.0),
        tune_minimum=np.asarray(tune.minimum),
        tune_maximum=np.asarray(tune.maximum),
        tune_q=fixed(tune.q, LOSSLESS),
        tune_lead=np.asarray(tune.lead_inductance),
        tune_stray=fixed(tune.stray, 0.0),
        tune_padding=by_band("tune_padding"),
        tune_padding_q=fixed(tune_padding.q if tune_padding else None, LOSSLESS),
        load_minimum=np.asarray(load.minimum),
        load_maximum=np.asarray(load.maximum),
        load_q=fixed(load.q, LOSSLESS),
        load_lead=np.asarray(load.lead_inductance),
        load_stray=fixed(load.stray, 0.0),
        load_padding=by_band("load_padding"),
        load_padding_q=fixed(load_padding.q if load_padding else None, LOSSLESS),
        coil=tank[0],
        coil_q=tank[1],
        coil_capacitance=tank[2],
        output_coil=output[0],
        output_coil_q=output[1],
        output_coil_capacitance=output[2],
        coupling=np.asarray((network.output_coil and network.output_coil.coupling) or 0.0),
        output_choke=fixed(output_choke.inductance if output_choke else None, ABSENT_SHUNT_INDUCTANCE),
        output_choke_q=fixed(output_choke.q if output_choke else None, LOSSLESS),
    )


def suppressor_inductance(suppressor: Suppressor) -> FloatArray:
    """Return the inductance of the suppressor's coil [H]: as given, or of its winding."""
    if suppressor.winding is None:
        return np.asarray(suppressor.inductance)
    winding = suppressor.winding
    return short_coil_inductance(winding.turns, winding.diameter, winding.length)


def _choke_capacitance(choke: PlateChoke | None) -> FloatArray:
    """Self-capacitance of the plate choke [F]: as given, or of its winding, or none."""
    if choke is None or (choke.self_capacitance is None and choke.winding is None):
        return np.zeros(())
    if choke.self_capacitance is not None:
        return np.asarray(choke.self_capacitance)
    assert choke.winding is not None
    return self_capacitance(choke.winding.diameter, choke.winding.length)
