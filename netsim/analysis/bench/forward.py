"""What the readings of a file would be, of many amplifiers at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from netsim.analysis.bench.cold_match import PlateResistor, socket_impedance
from netsim.analysis.bench.readings import Reading
from netsim.analysis.networks import capacitor_settings
from netsim.analysis.plate_source import PlateSource
from netsim.analysis.uncertainty.draws import variants
from netsim.analysis.uncertainty.sampling import Draws
from netsim.circuit.assembly import Assembly, Variants, assemble
from netsim.circuit.elements import ComplexArray, FloatArray, IndexArray
from netsim.circuit.reflection import reflection_of, swr_of
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.description.assumed import completed
from netsim.description.key_path import KeyPath
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.operating_point import OperatingPoint
from netsim.description.reader import Amplifier
from netsim.solvers import batch

_MOST = 8192
"""Readings times amplifiers worked out in one go."""

SHORTED_TURN: KeyPath = ("shorted turn",)
"""An unknown of its own beside those of the file: the share of the coil's inductance that a shorted turn takes."""

_SHORTED_Q = 2.0
"""How many times the coil's own loss a shorted turn adds, in the share of the inductance that it takes."""

_LOW = 1e6
"""Where an inductance is worked out whose frequency is neither told nor that of a band [Hz]."""


@dataclass(frozen=True)
class Forward:
    """The readings of an amplifier as functions of what is known of it only within limits.

    Attributes
    ----------
    amplifier : Amplifier
        Whose they are.
    description : Description
        Of it, completed; or with a fault.
    readings : tuple of Reading
        Which.
    factors : mapping of path to float
        Quantities that a fault multiplies, whatever they are between their limits.
    """

    amplifier: Amplifier
    description: Description
    readings: tuple[Reading, ...]
    factors: Mapping[KeyPath, float] = field(default_factory=dict)

    @classmethod
    def of(cls, amplifier: Amplifier, readings: Sequence[Reading]) -> "Forward":
        """Return the readings of an amplifier as it is described."""
        return cls(amplifier, completed(amplifier.description), tuple(readings))

    def computed(self, copies: Variants) -> list[ComplexArray | FloatArray]:
        """Compute every reading of every copy.

        Parameters
        ----------
        copies : Variants
            Copies of the amplifier that differ.

        Returns
        -------
        list of ndarray
            SI, one for each reading, complex of impedances, shape ``(copies,)``.

        Notes
        -----
        An output is the power in the antenna at the fundamental, with the meters' plate voltage and current where
        they were read. An inductance is that at the tap as the coil works there, its unused turns as they
        are switched; at a frequency that was told it is seen through the coil's self-capacitance,
        ``L / (1 - w^2 L C)``. A capacitance is that of the dial and the stray.
        """
        found: list[ComplexArray | FloatArray] = [np.zeros(0)] * len(self.readings)
        kinds = (
            (("impedance", "swr"), self._cold),
            (("output",), self._outputs),
            (("inductance", "q"), self._coils),
        )
        assembly = self._assembled(copies) if self._networks else None
        for wanted, compute in kinds:
            numbers = [n for n, reading in enumerate(self.readings) if reading.kind in wanted]
            if numbers and assembly is not None:
                rows = assembly.take(self._rows(numbers, copies))
                values = compute([self.readings[n] for n in numbers], rows, copies)
                for n, value in zip(numbers, values, strict=True):
                    found[n] = value
        for n, reading in enumerate(self.readings):
            if reading.kind == "capacitance":
                found[n] = self._capacitance(reading, copies)
        return found

    def sampled(self, draws: Draws) -> list[ComplexArray | FloatArray]:
        """Compute every reading of every amplifier drawn, in blocks; as `computed`."""
        step = max(1, _MOST // max(1, len(self.readings)))
        values = draws.values
        blocks = [
            self.computed(variants(draws.inputs, values[start : start + step]))
            for start in range(0, len(values), step)
        ]
        return [np.concatenate(block) for block in zip(*blocks, strict=True)]

    @cached_property
    def _networks(self) -> tuple[int, ...]:
        """The readings that have a network, by number."""
        return tuple(n for n, reading in enumerate(self.readings) if reading.kind != "capacitance")

    def _rows(self, numbers: Sequence[int], copies: Variants) -> IndexArray:
        """Give the networks of some readings: an output's is that at its own operating point."""
        count = copies.copies
        points = [n for n in self._networks if self.readings[n].kind == "output"]
        first = [
            len(self._networks) + points.index(n) if n in points else self._networks.index(n) for n in numbers
        ]
        return (np.array(first)[:, np.newaxis] * count + np.arange(count)).ravel()

    def _cold(
        self, some: Sequence[Reading], assembly: Assembly, copies: Variants
    ) -> list[ComplexArray | FloatArray]:
        keys = ("plate_resistor", "plate_resistor_inductance", "plate_resistor_capacitance")
        resistor = PlateResistor(*(np.concatenate([_own(r, key, copies) for r in some]) for key in keys))
        parts = replace(assembly.parts, termination=None)
        seen = socket_impedance(self.amplifier, parts, assembly.tune_given, assembly.load_given, resistor)
        against = np.broadcast_to(np.asarray(parts.antenna_resistance), seen.shape)
        swr = swr_of(reflection_of(seen, against)).reshape(len(some), -1)
        return [
            z if reading.kind == "impedance" else ratio
            for reading, z, ratio in zip(some, seen.reshape(len(some), -1), swr, strict=True)
        ]

    def _outputs(
        self, some: Sequence[Reading], assembly: Assembly, copies: Variants
    ) -> list[ComplexArray | FloatArray]:
        settings = capacitor_settings(assembly)
        ladder = build_ladder(assembly.parts, settings.tune, settings.load)
        source = PlateSource(self.amplifier, assembly, self.description)
        orders = np.arange(1.0, (1 if source.tube is None else ORDERS) + 1)
        solution = batch.solve(ladder, orders)
        current = source.drawn(solution.plate_impedance)
        delivery = assembly.parts.antenna_delivery(orders)[:, 0]
        antenna = np.abs(solution.branch_current["antenna"][:, 0] * current.phasors[:, 0])
        watts = (antenna**2 * delivery / 2).reshape(len(some), -1)
        # What was read as a voltage was told as the power in a load of the resistance that the file names.
        told = [
            _own(r, "load_resistance", copies) / r.given.load_resistance if r.given.load_resistance else 1.0
            for r in some
        ]
        return [power * share for power, share in zip(watts, told, strict=True)]

    def _coils(
        self, some: Sequence[Reading], assembly: Assembly, copies: Variants
    ) -> list[ComplexArray | FloatArray]:
        found: list[ComplexArray | FloatArray] = []
        for n, reading in enumerate(some):
            rows = slice(n * copies.copies, (n + 1) * copies.copies)
            name = reading.given.coil
            inductance, quality, across = (
                np.broadcast_to(np.asarray(getattr(assembly.parts, f"{name}{key}")), (len(assembly),))[rows]
                for key in ("", "_q", "_capacitance")
            )
            if reading.kind == "q":
                found.append(quality)
            elif reading.frequency is None:
                found.append(inductance)
            else:
                found.append(inductance / (1 - (2 * np.pi * reading.frequency) ** 2 * inductance * across))
        return found

    def _capacitance(self, reading: Reading, copies: Variants) -> FloatArray:
        """Give what is measured of a capacitor in place: that of its dial, and the stray."""
        name = reading.given.part
        assert name is not None  # by the rules of a reading
        stray = copies.values.get(("network", name, "stray"))
        if stray is None:
            stray = np.full(copies.copies, getattr(self.description.network, name).stray)
        assert reading.alone is not None
        return reading.alone + stray

    def _band(self, reading: Reading) -> Band:
        """Return the band of a reading, at its frequency and settings alone."""
        assert reading.band is not None  # by the rules of a reading
        band = self.description.bands[reading.band]
        return band.model_copy(
            update={
                "frequencies": (reading.frequency,),
                "tune": reading.tune,
                "load": reading.load,
            }
        )

    def _coil_band(self, reading: Reading) -> Band:
        """Return a band with the tap of a reading of a coil; its other coil is that of the first band."""
        key, turns = f"{reading.given.coil}_turns", reading.given.turns
        alike = [band for band in self.description.bands if getattr(band, key) == turns]
        frequency = reading.frequency or (alike[0].frequencies[0] if alike else _LOW)
        update: dict[str, Any] = {"frequencies": (frequency,), "tune": None, "load": None, key: turns}
        return self.description.bands[0].model_copy(update=update)

    @cached_property
    def _described(self) -> Description:
        """The amplifier with a band for each reading that has a network, outputs at an operating point of their own."""
        bands, points = [], []
        for n in self._networks:
            reading = self.readings[n]
            own = self._coil_band(reading) if reading.kind in ("inductance", "q") else self._band(reading)
            bands.append(own.model_copy(update={"name": f"reading {n}"}))
            if reading.kind == "output":
                points.append(
                    OperatingPoint.model_construct(
                        name=f"reading {n}",
                        bands=(f"reading {n}",),
                        plate_voltage=reading.given.plate_voltage,
                        plate_current=reading.given.plate_current,
                    )
                )
        return self.description.model_copy(update={"bands": tuple(bands), "operating_points": tuple(points)})

    def _paths_of_reading(self, path: KeyPath) -> list[KeyPath]:
        """Give where a quantity of a reading itself, known within limits, stands in what is assembled for it."""
        _, number, key = path
        points = [n for n in self._networks if self.readings[n].kind == "output"]
        found: list[KeyPath] = []
        for place, n in enumerate(self._networks):
            if self.readings[n].number != number:
                continue
            if key in ("tune", "load"):
                found.append(("bands", place, key))
            elif key == "turns":
                found.append(("bands", place, f"{self.readings[n].given.coil}_turns"))
            elif key in ("plate_voltage", "plate_current"):
                found.append(("operating_points", points.index(n), key))
        return found

    @cached_property
    def _nominal(self) -> Assembly:
        return assemble(self.amplifier, self._described, switch=self.description.bands)

    def _assembled(self, copies: Variants) -> Assembly:
        """Assemble one network for each reading, and one more for each output."""
        mapped: dict[KeyPath, FloatArray] = {}
        for path, drawn in copies.values.items():
            value = drawn * self.factors.get(path, 1.0)
            if path == SHORTED_TURN:
                continue
            if path[0] == "measured":
                mapped |= dict.fromkeys(self._paths_of_reading(path), value)
            elif path[0] not in ("bands", "operating_points"):
                mapped[path] = value
            elif path[0] == "bands" and path[2] not in ("tune", "load"):
                for place, n in enumerate(self._networks):
                    if self.readings[n].band == path[1]:
                        mapped["bands", place, *path[2:]] = value
        found = assemble(
            self.amplifier,
            self._described,
            switch=self.description.bands,
            like=self._nominal,
            variants=Variants(copies.copies, mapped),
        )
        taken = copies.values.get(SHORTED_TURN)
        if taken is None:
            return found
        share = np.tile(taken, len(found) // copies.copies)
        coil, quality = (
            found.parts.coil * (1 - share),
            found.parts.coil_q * (1 - share) / (1 + _SHORTED_Q * share),
        )
        return replace(found, parts=replace(found.parts, coil=coil, coil_q=quality))


def _own(reading: Reading, key: str, copies: Variants) -> FloatArray:
    """Return a quantity of a reading itself, which may be known within limits; shape ``(copies,)``."""
    value = copies.values.get(("measured", reading.number, key), getattr(reading.given, key))
    return np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), (copies.copies,)))
