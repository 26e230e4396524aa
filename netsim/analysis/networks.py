"""All networks of one condition of the stage: assembled, tuned, solved by both engines, compared."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.peaking import settings
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip, match
from netsim.description.models.operating_point import OperatingPoint
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError, DisagreementError, Problem
from netsim.solvers import two_port
from netsim.solvers.agreement import TOLERANCE, worst_relative, worst_voltage
from netsim.solvers.solution import Solution
from netsim.verdict.solved import Evidence, Settings, gather

Engine = Literal["both", "two-port"]


@dataclass(frozen=True)
class Walk:
    """All networks at one condition of the stage, solved.

    Attributes
    ----------
    evidence : Evidence
        The arrays behind the verdict.
    ladder : Ladder
        Of all networks, at their settings.
    solution : Solution
        For 1 A into the plate at orders 1 to 10, from ngspice if it ran.
    drive : ndarray
        Complex plate current sent in at full output [A peak], shape ``(networks, 10)``.
    apart : ndarray or None
        Difference between the solvers, shape ``(networks,)``; None if only one ran.
    """

    evidence: Evidence
    ladder: Ladder
    solution: Solution
    drive: ComplexArray
    apart: FloatArray | None


def walk(amplifier: Amplifier, bands: Sequence[int] | None, engine: Engine, point: str | None = None) -> Walk:
    """Tune and solve all networks at the stage as the description has it.

    Parameters
    ----------
    amplifier : Amplifier
        With the stage of the operating point in question.
    bands : sequence of int, optional
        Indices of the bands wanted; all by default.
    engine : {"both", "two-port"}
        Whether ngspice takes part.
    point : str, optional
        Name of the operating point.

    Raises
    ------
    DescriptionError, SolveError
        As in `study`.
    """
    assembly = assemble(amplifier, bands)
    parts = assembly.parts
    stand = capacitor_settings(assembly)
    ladder = build_ladder(parts, stand.tune, stand.load)
    dipped = dip(parts, stand.load, antenna_connected=False)
    open_ladder = build_ladder(parts, dipped, stand.load, antenna_connected=False)
    orders, fundamental = np.arange(1.0, ORDERS + 1), np.ones(1)
    loaded, unloaded = two_port.solve(ladder, orders), two_port.solve(open_ladder, fundamental)
    apart: FloatArray | None = None
    if engine == "both":
        # Imported here so that a run without ngspice does not need PySpice to load.
        from netsim.solvers import spice

        by_spice = spice.solve(ladder, orders), spice.solve(open_ladder, fundamental)
        apart = worst_relative(by_spice[0], loaded)
        _demand_agreement(np.maximum(apart, worst_voltage(by_spice[1], unloaded)), parts.frequency)
        loaded, unloaded = by_spice
    evidence = gather(amplifier, assembly, stand, ladder, loaded, unloaded)
    drive = -evidence.scale[:, np.newaxis] * assembly.stage.current_peak
    return Walk(replace(evidence, operating_point=point), ladder, loaded, drive.astype(np.complex128), apart)


def capacitor_settings(assembly: Assembly) -> Settings:
    """Decide where both capacitors stand: as given in the file, else as an operator would tune them."""
    found = match(assembly.parts)
    tune, load, tune_needed, load_needed = settings(assembly.parts, found)
    given = np.isfinite(assembly.tune_given)
    return Settings(
        tune=np.where(given, assembly.tune_given, tune),
        load=np.where(given, assembly.load_given, load),
        tune_needed=tune_needed,
        load_needed=load_needed,
        found=found,
    )


def points_used(amplifier: Amplifier, bands: Sequence[int] | None) -> list[OperatingPoint]:
    """Operating points that are used on any of the bands."""
    return [p for p in amplifier.description.operating_points if _served(amplifier, p, bands)]


def _served(amplifier: Amplifier, point: OperatingPoint, bands: Sequence[int] | None) -> list[int]:
    names = [entry.name for entry in amplifier.description.bands]
    chosen = range(len(names)) if bands is None else bands
    return [index for index in chosen if point.serves(names[index])]


def walk_at(amplifier: Amplifier, point: OperatingPoint, bands: Sequence[int] | None, engine: Engine) -> Walk:
    """Do the same at one of the file's operating points, on those of the bands that it serves."""
    try:
        return walk(amplifier.at(point), _served(amplifier, point, bands), engine, point.name)
    except DescriptionError as error:
        index = amplifier.description.operating_points.index(point)
        line, column = amplifier.position("operating_points", index)
        raise DescriptionError(
            *(
                replace(
                    problem,
                    message=f"operating point {point.name!r}: {problem.message}",
                    line=line,
                    column=column,
                    key=f"operating_points[{index}]",
                )
                for problem in error.problems
            )
        ) from error


def _demand_agreement(apart: FloatArray, frequency: FloatArray) -> None:
    row = int(np.argmax(np.where(np.isnan(apart), np.inf, apart)))
    if not apart[row] <= TOLERANCE:
        raise DisagreementError(
            Problem(
                "disagreement",
                f"ngspice and the two-port analysis differ by {apart[row]:.2g} at {frequency[row] / 1e6:g} MHz, "
                f"more than {TOLERANCE:g}: neither is to be believed; please report this with the file",
            )
        )
