"""An amplifier in, a result out that shows as tables in a notebook."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from netsim.analysis import SAMPLES, Analysis, Engine
from netsim.analysis import analyse as analysed
from netsim.description.reader import Amplifier
from netsim.verdict.findings import STATES
from netsim.verdict.result import BandResult, Finding, StageResult, Verdict

if TYPE_CHECKING:
    import pandas as pd


_POINT = ("tuned", "tune_farad", "load_farad", "tune_needed_farad", "load_needed_farad", "coil_henry")
_FIGURES = ("loaded_q", "stored_energy_q", "efficiency", "output_watt", "plate_dissipation_watt")


@dataclass(frozen=True, repr=False)
class Result:
    """An amplifier, solved and judged; made by `analyse`.

    Attributes
    ----------
    analysis : netsim.analysis.Analysis
        The verdict, and the arrays it rests on.
    """

    analysis: Analysis

    @property
    def amplifier(self) -> Amplifier:
        """The amplifier that was solved."""
        return self.analysis.amplifier

    @property
    def verdict(self) -> Verdict:
        """Everything that the JSON says, as dataclasses."""
        return self.analysis.verdict

    @property
    def stage(self) -> StageResult:
        """Nominal figures of the stage."""
        return self.verdict.stage

    @property
    def bands(self) -> tuple[BandResult, ...]:
        """Bands with their points, in the order of the file."""
        return self.verdict.bands

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every limit judged, worst first."""
        return self.verdict.findings

    @property
    def counts(self) -> Mapping[str, int]:
        """How many findings are over, close, not_rated and pass."""
        return self.verdict.counts

    def frame(self) -> "pd.DataFrame":
        """Return a table with a row for each band and frequency, at the stage as it stands in the file.

        Returns
        -------
        pandas.DataFrame
            Columns as the points of the JSON have them, SI units; ``plate_impedance_ohm`` is complex,
            ``worst_level_dbc`` the highest harmonic, ``state`` the band's worst over all frequencies.
        """
        import pandas as pd

        rows = []
        for band in self.bands:
            found = [STATES.index(f.state) for f in self.findings if f.band == band.name]
            for point in band.points:
                levels = [h.level_dbc for h in point.harmonics if h.level_dbc is not None]
                rows.append(
                    {"band": band.name, "frequency_hertz": point.frequency_hertz}
                    | {name: getattr(point, name) for name in _POINT}
                    | {"plate_impedance_ohm": complex(*point.plate_impedance_ohm)}
                    | {name: getattr(point, name) for name in _FIGURES}
                    | {"worst_level_dbc": max(levels, default=None), "state": STATES[min(found, default=3)]}
                )
        return pd.DataFrame(rows)

    def to_json(self) -> str:
        """Return what ``netsim check --json`` prints."""
        from netsim.report.export import json_text

        return json_text.dump(self.verdict)

    def page(self, path: str | os.PathLike[str]) -> None:
        """Write the page that ``netsim report`` writes: whole, or not at all.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        from netsim.output import write_text

        write_text(Path(path), page_of(self.analysis))

    def __repr__(self) -> str:
        told = ", ".join(f"{count} {state.replace('_', ' ')}" for state, count in self.counts.items())
        return f"<{type(self).__name__} of {self.amplifier.path}: {told}>"

    def _repr_html_(self) -> str:
        """Return the table of bands, and what is over or close."""
        import pandas as pd

        listed = [f for f in self.findings if f.state in ("over", "close")]
        found = pd.DataFrame(
            [(f.state, f.band or "", f.message) for f in listed], columns=["", "band", "finding"]
        )
        shown = (found.to_html(index=False), self.frame().to_html(index=False))
        return f"<p>{escape(repr(self))}</p>{''.join(shown)}"


def analyse(
    amplifier: Amplifier,
    *,
    band: str | None = None,
    engine: Engine = "both",
    swr: float | None = None,
    samples: int = SAMPLES,
) -> Result:
    """Solve every band of an amplifier and judge it.

    Parameters
    ----------
    amplifier : Amplifier
        From `read` or `loads`.
    band : str, optional
        Only this one.
    engine : {"both", "two-port"}
        Whether ngspice takes part; without it nothing is cross-checked.
    swr : float, optional
        Worst standing wave ratio of any antenna, 1 to 100, instead of the file's.
    samples : int
        Amplifiers drawn from within the limits of what is known; 1 leaves limits out.

    Returns
    -------
    Result
        Bands, findings and their remedies.

    Raises
    ------
    DescriptionError
        If the stage is impossible.
    UsageError
        If the band does not exist.
    SolveError
        If an engine is missing or fails, or the two differ by more than 1e-6.

    Examples
    --------
    >>> import netsim
    >>> result = netsim.analyse(netsim.read("circuits/old-tubes.toml"), engine="two-port")
    >>> result.counts["over"], len(result.bands)
    (0, 6)
    >>> result.frame().set_index("band").loc["40 m", "loaded_q"].round(1).tolist()
    [12.6, 12.2]
    """
    from netsim.advice.remedies import with_remedies

    return Result(with_remedies(analysed(amplifier, band=band, engine=engine, swr=swr, samples=samples)))


def page_of(analysis: Analysis) -> str:
    """Return the whole report of an analysis as a page, with all advice on it worked out.

    That is taps, the smallest change, ranges, the bench and, where the file has readings, their fit.

    Raises
    ------
    DescriptionError, SolveError
        As of `analyse`; a measurement file that is unusable.
    """
    from netsim.advice.bench.bench import bench
    from netsim.advice.coverage import coverage_maps
    from netsim.advice.fit.fit import fit
    from netsim.advice.fix.attribution import explained_fix
    from netsim.advice.fix.tap_reasons import with_reasons
    from netsim.advice.taps.taps import taps as advised
    from netsim.report.page import page

    engine: Engine = "both" if analysis.verdict.cross_checked else "two-port"
    amplifier = analysis.amplifier
    remedy = explained_fix(amplifier, engine=engine, before=analysis)
    advice = with_reasons(advised(amplifier, engine=engine), remedy.fix)
    fitted = None
    if amplifier.description.measured:
        whole = len(analysis.verdict.bands) == len(amplifier.description.bands)
        fitted = fit(amplifier, engine=engine, before=analysis if whole else None)
    return page.render(
        analysis,
        advice,
        remedy,
        coverage_maps(amplifier),
        bench(amplifier, engine=engine, solved=analysis),
        fitted,
    )
