"""The one walk from a description to its result, and to the curves that a page draws."""

import platform
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from typing import Literal

import numpy as np

from netsim import __version__
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.peaking import settings
from netsim.circuit.stage import ORDERS
from netsim.circuit.topology import build_ladder
from netsim.circuit.tuning import dip, match
from netsim.description.reader import Description
from netsim.errors import DisagreementError, Problem, UsageError
from netsim.solvers import batch, two_port
from netsim.solvers.agreement import TOLERANCE, worst_relative, worst_voltage
from netsim.solvers.solution import Solution
from netsim.verdict.evidence import Evidence, Settings, gather
from netsim.verdict.findings import result
from netsim.verdict.result import Provenance, Result

Engine = Literal["both", "two-port"]


@dataclass(frozen=True)
class Study:
    """A solved amplifier, with what renderings beyond the result need.

    Attributes
    ----------
    description : Description
        What was asked.
    result : Result
        What came out.
    evidence : Evidence
        The arrays behind it.
    ladder : Ladder
        Of all networks, at their settings.
    solution : Solution
        For 1 A into the plate at orders 1 to 10, from ngspice if it ran.
    drive : ndarray
        Complex plate current sent in at full output [A peak], shape ``(networks, 10)``.
    """

    description: Description
    result: Result
    evidence: Evidence
    ladder: Ladder
    solution: Solution
    drive: ComplexArray

    def row(self, band: str, frequency: float | None = None) -> int:
        """Find the network of a band and frequency [Hz]; the band's first frequency by default.

        Raises
        ------
        UsageError
            If the band has no such frequency.
        """
        for _, name, rows in self.evidence.bands():
            if name != band:
                continue
            listed = self.evidence.frequency[rows]
            if frequency is None:
                return int(rows[0])
            near = np.isclose(listed, frequency, rtol=1e-6)
            if near.any():
                return int(rows[np.argmax(near)])
            have = ", ".join(f"{f / 1e6:g} MHz" for f in listed)
            raise UsageError(
                Problem(
                    "unknown_frequency",
                    f"band {band!r} is not solved at {frequency / 1e6:g} MHz; the file lists {have}: "
                    "choose one of these, or add it to the band's frequencies",
                    str(self.description.path),
                )
            )
        raise _unknown_band(self.description, band)


def study(description: Description, *, band: str | None = None, engine: Engine = "both") -> Study:
    """Solve every band of an amplifier and judge it.

    Parameters
    ----------
    description : Description
        A validated amplifier file.
    band : str, optional
        Only this one.
    engine : {"both", "two-port"}
        Whether ngspice takes part; without it nothing is cross-checked.

    Returns
    -------
    Study
        The result and what it rests on.

    Raises
    ------
    DescriptionError
        If the stage is impossible.
    UsageError
        If the band does not exist.
    SolveError
        If an engine is missing or fails, or the two differ by more than 1e-6.
    """
    assembly = assemble(description, _chosen(description, band))
    parts = assembly.parts
    stand = _settings(assembly)
    ladder = build_ladder(parts, stand.tune, stand.load)
    dipped = dip(parts, stand.load, antenna_connected=False)
    open_ladder = build_ladder(parts, dipped, stand.load, antenna_connected=False)
    orders, fundamental = np.arange(1.0, ORDERS + 1), np.ones(1)
    loaded, unloaded = two_port.solve(ladder, orders), two_port.solve(open_ladder, fundamental)
    apart: FloatArray | None = None
    pyspice = ngspice = None
    if engine == "both":
        # Imported here so that a run without ngspice does not need PySpice to load.
        from netsim.solvers import spice

        by_spice = spice.solve(ladder, orders), spice.solve(open_ladder, fundamental)
        apart = worst_relative(by_spice[0], loaded)
        _demand_agreement(np.maximum(apart, worst_voltage(by_spice[1], unloaded)), parts.frequency)
        loaded, unloaded = by_spice
        pyspice, ngspice = version("PySpice"), spice.version()
    evidence = gather(description, assembly, stand, ladder, loaded, unloaded)
    provenance = Provenance(
        netsim=__version__,
        python=platform.python_version(),
        numpy=np.__version__,
        pyspice=pyspice,
        ngspice=ngspice,
        scikit_rf=version("scikit-rf"),
        input_sha256=description.sha256,
    )
    drive = -evidence.scale[:, np.newaxis] * assembly.stage.current_peak
    return Study(
        description,
        result(evidence, apart, provenance),
        evidence,
        ladder,
        loaded,
        drive.astype(np.complex128),
    )


@dataclass(frozen=True)
class Response:
    """Antenna current per plate current over frequency, of one network.

    Attributes
    ----------
    frequency : ndarray
        [Hz], shape ``(points,)``, geometric from half to ten times the working frequency.
    relative_db : ndarray
        Relative to the working frequency [dB], shape ``(points,)``.
    """

    frequency: FloatArray
    relative_db: FloatArray


def response(walked: Study, rows: Sequence[int], points: int = 600) -> list[Response]:
    """Sweep some of the networks at their settings, all together.

    Parameters
    ----------
    walked : Study
        A solved amplifier.
    rows : sequence of int
        Which networks.
    points : int
        How many frequencies each.

    Returns
    -------
    list of Response
        One for each row.
    """
    orders = np.union1d(np.geomspace(0.5, 10.0, points), np.arange(1.0, ORDERS + 1))
    swept = batch.solve(walked.ladder, orders)
    current = np.abs(swept.branch_current["antenna"])
    reference = current[:, np.searchsorted(orders, 1.0)]
    relative = 20 * np.log10(current / reference[:, np.newaxis])
    return [Response(orders * walked.evidence.frequency[row], relative[row]) for row in rows]


def _settings(assembly: Assembly) -> Settings:
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


def _chosen(description: Description, band: str | None) -> list[int] | None:
    if band is None:
        return None
    names = [entry.name for entry in description.amplifier.bands]
    if band not in names:
        raise _unknown_band(description, band)
    return [names.index(band)]


def _unknown_band(description: Description, band: str) -> UsageError:
    names = ", ".join(repr(entry.name) for entry in description.amplifier.bands)
    return UsageError(
        Problem(
            "unknown_band",
            f"there is no band {band!r}; the file has {names}: name one of these",
            str(description.path),
        )
    )
