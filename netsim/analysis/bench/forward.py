"""What the readings of a file would be, of many amplifiers at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from netsim.analysis.bench.cold_match import PlateResistor, socket_impedance
from netsim.analysis.bench.readings import Reading
from netsim.analysis.networks import capacitor_settings
from netsim.analysis.plate_source import PlateSource
from netsim.analysis.uncertainty.draws import variants
from netsim.analysis.uncertainty.sampling import Draws
from netsim.circuit.assembly import Assembly, Variants, assemble
from netsim.circuit.elements import ComplexArray, FloatArray
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
    """

    amplifier: Amplifier
    description: Description
    readings: tuple[Reading, ...]

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
            (("capacitance",), self._capacitances),
        )
        for wanted, compute in kinds:
            numbers = [n for n, reading in enumerate(self.readings) if reading.kind in wanted]
            if numbers:
                values = compute([self.readings[n] for n in numbers], copies)
                for n, value in zip(numbers, values, strict=True):
                    found[n] = value
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

    def _cold(self, some: Sequence[Reading], copies: Variants) -> list[ComplexArray | FloatArray]:
        assembly = self._assembled([self._band(reading) for reading in some], some, copies)
        resistors = [reading.resistor for reading in some]
        resistor = PlateResistor(
            *(
                np.repeat([float(getattr(r, key)) for r in resistors], copies.copies)
                for key in ("resistance", "inductance", "capacitance")
            )
        )
        parts = replace(assembly.parts, termination=None)
        seen = socket_impedance(self.amplifier, parts, assembly.tune_given, assembly.load_given, resistor)
        against = np.broadcast_to(np.asarray(parts.antenna_resistance), seen.shape)
        swr = swr_of(reflection_of(seen, against)).reshape(len(some), -1)
        return [
            z if reading.kind == "impedance" else ratio
            for reading, z, ratio in zip(some, seen.reshape(len(some), -1), swr, strict=True)
        ]

    def _outputs(self, some: Sequence[Reading], copies: Variants) -> list[ComplexArray | FloatArray]:
        bands = [self._band(reading) for reading in some]
        points = [
            OperatingPoint.model_construct(
                name=str(n),
                bands=(band.name,),
                plate_voltage=r.given.plate_voltage,
                plate_current=r.given.plate_current,
            )
            for n, (band, r) in enumerate(zip(bands, some, strict=True))
        ]
        assembly = self._assembled(bands, some, copies, points)
        assembly = assembly.take(np.flatnonzero(assembly.point_index > 0))
        settings = capacitor_settings(assembly)
        ladder = build_ladder(assembly.parts, settings.tune, settings.load)
        source = PlateSource(self.amplifier, assembly, self.description)
        orders = np.arange(1.0, (1 if source.tube is None else ORDERS) + 1)
        solution = batch.solve(ladder, orders)
        current = source.drawn(solution.plate_impedance)
        delivery = assembly.parts.antenna_delivery(orders)[:, 0]
        antenna = np.abs(solution.branch_current["antenna"][:, 0] * current.phasors[:, 0])
        return list((antenna**2 * delivery / 2).reshape(len(some), -1))

    def _coils(self, some: Sequence[Reading], copies: Variants) -> list[ComplexArray | FloatArray]:
        bands = [self._coil_band(reading) for reading in some]
        assembly = self._assembled(bands, some, copies)
        found: list[ComplexArray | FloatArray] = []
        for n, reading in enumerate(some):
            rows = slice(n * copies.copies, (n + 1) * copies.copies)
            wound = assembly.wound[reading.given.coil]
            assert wound is not None  # by the rules of a reading
            if reading.kind == "q":
                found.append(wound.spread(wound.tapped.q)[rows])
                continue
            inductance = wound.spread(wound.tapped.inductance)[rows]
            if reading.frequency is not None:
                reactance = (2 * np.pi * reading.frequency) ** 2 * inductance * wound.self_capacitance[rows]
                inductance = inductance / (1 - reactance)
            found.append(inductance)
        return found

    def _capacitances(self, some: Sequence[Reading], copies: Variants) -> list[ComplexArray | FloatArray]:
        from netsim.analysis.bench.readings import setting

        found: list[ComplexArray | FloatArray] = []
        for reading in some:
            name = reading.given.part
            assert name is not None  # by the rules of a reading
            part = getattr(self.description.network, name)
            alone = setting(None, reading.given.dial, part)
            assert alone is not None
            stray = copies.values.get(("network", name, "stray"), np.full(copies.copies, part.stray))
            found.append(alone + stray)
        return found

    def _band(self, reading: Reading) -> Band:
        """Return the band of a reading, at its frequency and settings alone."""
        assert reading.band is not None  # by the rules of a reading
        band = self.description.bands[reading.band]
        return band.model_copy(
            update={
                "name": f"reading {self.readings.index(reading)}",
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

    def _assembled(
        self,
        bands: Sequence[Band],
        some: Sequence[Reading],
        copies: Variants,
        points: Sequence[OperatingPoint] = (),
    ) -> Assembly:
        """Assemble one network for each reading, which stands as a band of its own; at its own point if any."""
        description = self.description.model_copy(
            update={"bands": tuple(bands), "operating_points": tuple(points)}
        )
        values: Mapping[KeyPath, FloatArray] = copies.values
        mapped: dict[KeyPath, FloatArray] = {}
        for path, value in values.items():
            if path[0] == "operating_points":
                continue
            if path[0] != "bands":
                mapped[path] = value
                continue
            for n, reading in enumerate(some):
                if reading.band == path[1] and path[2] not in ("tune", "load"):
                    mapped["bands", n, *path[2:]] = value
        return assemble(
            self.amplifier,
            description,
            switch=self.description.bands,
            variants=Variants(copies.copies, mapped),
        )
