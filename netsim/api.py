"""What ``import netsim`` offers: an amplifier in, results out that show as tables in a notebook."""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from netsim.analysis import SAMPLES, Engine
from netsim.analysis import Result as Analysis
from netsim.analysis import analyse as analysed
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.tuning import BoolArray
from netsim.description.reader import WITHOUT_FILE, Amplifier
from netsim.description.units import parse_quantity
from netsim.verdict.result import BandResult, Finding, StageResult, Verdict

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import RenderableType

Values = str | ArrayLike
"""A text with a unit, such as ``"58 pF"``, or numbers in SI units."""

_WIDTH = 100
_POINT = ("tuned", "tune_farad", "load_farad", "tune_needed_farad", "load_needed_farad", "coil_henry")
_FIGURES = ("loaded_q", "stored_energy_q", "efficiency", "output_watt", "plate_dissipation_watt")


@dataclass(frozen=True, repr=False)
class Result:
    """An amplifier, solved and judged; made by `analyse`.

    Attributes
    ----------
    analysis : netsim.analysis.Result
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

        states = ("over", "close", "not_rated", "pass")
        rows = []
        for band in self.bands:
            found = [states.index(f.state) for f in self.findings if f.band == band.name]
            for point in band.points:
                levels = [h.level_dbc for h in point.harmonics if h.level_dbc is not None]
                rows.append(
                    {"band": band.name, "frequency_hertz": point.frequency_hertz}
                    | {name: getattr(point, name) for name in _POINT}
                    | {"plate_impedance_ohm": complex(*point.plate_impedance_ohm)}
                    | {name: getattr(point, name) for name in _FIGURES}
                    | {"worst_level_dbc": max(levels, default=None), "state": states[min(found, default=3)]}
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


@dataclass(frozen=True, repr=False)
class Advice:
    """What was found out about an amplifier: taps, a fix, a comparison or a design.

    Attributes
    ----------
    found : object
        All of it; its attributes are this object's too.
    """

    found: Any
    _written: Callable[[], str]
    _shown: Callable[[], "RenderableType"]

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_") or name == "found":  # while it is being made or copied
            raise AttributeError(name)
        return getattr(self.found, name)

    def to_json(self) -> str:
        """Return what the command of the same name prints with ``--json``."""
        return self._written()

    def __repr__(self) -> str:
        from rich.console import Console

        paper = Console(file=StringIO(), width=_WIDTH, color_system=None)
        with paper.capture() as shown:
            paper.print(self._shown())
        return shown.get()

    def _repr_html_(self) -> str:
        """Return the tables as the terminal shows them."""
        return f"<pre>{escape(repr(self))}</pre>"


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
    """Return the whole report of an analysis as a page, with taps, the smallest change and ranges worked out."""
    from netsim.advice.coverage_maps import coverage_maps
    from netsim.advice.fix.attribution import explained_fix
    from netsim.advice.fix.tap_reasons import with_reasons
    from netsim.advice.taps.taps import taps as advised
    from netsim.report.page import page

    engine: Engine = "both" if analysis.verdict.cross_checked else "two-port"
    amplifier = analysis.amplifier
    remedy = explained_fix(amplifier, engine=engine, before=analysis)
    advice = with_reasons(advised(amplifier, engine=engine), remedy.fix)
    return page.render(analysis, advice, remedy, coverage_maps(amplifier))


def taps(amplifier: Amplifier, *, plate_load: str | float | None = None, engine: Engine = "both") -> Advice:
    """Return where the taps of the coil serve each band, and where they should be.

    Parameters
    ----------
    amplifier : Amplifier
        Whose bands count in turns or in inductance.
    plate_load : str or float, optional
        Of another tube, such as ``"3.2 kohm"`` or 3200.
    engine : {"both", "two-port"}
        Which solvers solve what is proposed.

    Returns
    -------
    Advice
        Of `netsim.advice.taps.tap_advice.TapsAdvice`.

    Raises
    ------
    DescriptionError, UsageError, SolveError
        As in `analyse`, or if the plate load is none.

    Examples
    --------
    >>> import netsim
    >>> advice = netsim.taps(netsim.read("circuits/new-tube.toml"), plate_load="2 kohm", engine="two-port")
    >>> [band.name for band in advice.bands]
    ['80 m', '40 m', '30 m', '20 m', '15 m', '10 m']
    """
    from netsim.advice.taps.taps import taps as advised
    from netsim.report.export import advice_json
    from netsim.report.terminal import taps_text

    ohms = None if plate_load is None else value_of(plate_load, "ohm")
    found = advised(amplifier, plate_load=ohms, engine=engine)
    return Advice(
        found,
        lambda: advice_json.dump_taps(found),
        lambda: taps_text.render(found, amplifier.path, another_tube=ohms is not None),
    )


def fix(amplifier: Amplifier, *, engine: Engine = "both") -> Advice:
    """Search the smallest set of changes after which nothing is over.

    Parameters
    ----------
    amplifier : Amplifier
        As it is.
    engine : {"both", "two-port"}
        Which solvers solve what is proposed.

    Returns
    -------
    Advice
        Of `netsim.advice.fix.fix.Fix`: ``clears``, ``changes``, ``text``, ``diff``, ``after``.

    Raises
    ------
    DescriptionError, SolveError
        As in `analyse`.

    Examples
    --------
    >>> import netsim
    >>> netsim.fix(netsim.read("circuits/old-tubes.toml"), engine="two-port").diff
    ''
    """
    from netsim.advice.fix.fix import fix as searched
    from netsim.report.export import advice_json
    from netsim.report.terminal import fix_text

    found = searched(amplifier, engine=engine)
    return Advice(found, lambda: advice_json.dump_fix(found), lambda: fix_text.render(found))


def compare(first: Amplifier | Result, second: Amplifier | Result, *, engine: Engine = "both") -> Advice:
    """Put two amplifiers side by side: what the second gains and what it loses.

    Parameters
    ----------
    first, second : Amplifier or Result
        What is not solved yet is.
    engine : {"both", "two-port"}
        Which solvers do that.

    Returns
    -------
    Advice
        Of `netsim.advice.comparison.Comparison`: ``better``, ``worse``, ``bands``.

    Raises
    ------
    UsageError
        If they have no band of the same name.
    DescriptionError, SolveError
        As in `analyse`.
    """
    from netsim.advice.comparison import compare as compared
    from netsim.report.export import advice_json
    from netsim.report.terminal import comparison_text

    one, other = (item.analysis if isinstance(item, Result) else item for item in (first, second))
    found = compared(one, other, engine=engine)
    return Advice(found, lambda: advice_json.dump_comparison(found), lambda: comparison_text.render(found))


def design(
    text: str, path: str = WITHOUT_FILE, *, target_loaded_q: float | None = None, engine: Engine = "both"
) -> Advice:
    """Fill in what the text of an amplifier file leaves out: coils, taps and paddings.

    Parameters
    ----------
    text : str
        TOML, whose bands may lack ``coil``, ``output_coil`` and paddings.
    path : str, optional
        The file as errors are to name it.
    target_loaded_q : float, optional
        Instead of the file's.
    engine : {"both", "two-port"}
        Which solvers solve the completed file.

    Returns
    -------
    Advice
        Of `netsim.advice.design.Design`: ``text``, ``diff``, ``bands``, ``result``.

    Raises
    ------
    DescriptionError, UsageError, SolveError
        As in `analyse`, or if there is nothing to design.
    """
    from netsim.advice.design import design as designed
    from netsim.report.export import advice_json
    from netsim.report.terminal import design_text

    found = designed(text, path, target=target_loaded_q, engine=engine)
    return Advice(found, lambda: advice_json.dump_design(found), lambda: design_text.render(found))


@dataclass(frozen=True)
class Networks:
    """One band at many settings; arrays of the settings' shape, ``(...)``.

    Attributes
    ----------
    frequency, tune, load : ndarray
        [Hz], [F].
    plate_impedance : ndarray
        Complex [ohm].
    tuned : ndarray of bool
        Whether the plate sees its load within 0.1 %.
    loaded_q, efficiency, output, plate_dissipation : ndarray
        The powers in [W], with the pulse's voltage limit or in the tube's steady state.
    attenuation : ndarray
        Of orders 1 to 10 [dB], shape ``(..., 10)``.
    voltage_peak, current_rms, loss : dict of str to ndarray
        By part [V], [A], [W].
    """

    frequency: FloatArray
    tune: FloatArray
    load: FloatArray
    plate_impedance: ComplexArray
    tuned: BoolArray
    loaded_q: FloatArray
    efficiency: FloatArray
    output: FloatArray
    plate_dissipation: FloatArray
    attenuation: FloatArray
    voltage_peak: Mapping[str, FloatArray]
    current_rms: Mapping[str, FloatArray]
    loss: Mapping[str, FloatArray]


def networks(
    amplifier: Amplifier, band: str, *, tune: Values, load: Values, frequency: Values | None = None
) -> Networks:
    """Solve one band at any settings: arrays in, arrays out, in numpy alone.

    Parameters
    ----------
    amplifier : Amplifier
        Whose parts they are; neither capacitor's range limits the settings.
    band : str
        Its name.
    tune, load : array_like or str
        Settings of the variable capacitors without stray and padding [F], of shapes that broadcast.
    frequency : array_like or str, optional
        [Hz], of a shape that broadcasts with them; the band's first frequency by default.

    Returns
    -------
    Networks
        Without a cross-check by ngspice.

    Raises
    ------
    UsageError
        If there is no such band, or a setting is negative or not finite.
    BalanceError
        If a tube finds no steady state somewhere.

    Examples
    --------
    >>> import netsim
    >>> amplifier = netsim.read("circuits/old-tubes.toml")
    >>> found = netsim.networks(amplifier, "40 m", tune=[150e-12, 180e-12], load="1.2 nF")
    >>> found.plate_impedance.shape, found.attenuation.shape
    ((2,), (2, 10))
    """
    from netsim.analysis.networks import solve_at_settings

    at = None if frequency is None else value_of(frequency, "Hz")
    solved, shape = solve_at_settings(amplifier, band, value_of(tune, "F"), value_of(load, "F"), at)

    def shaped(values: NDArray[Any]) -> NDArray[Any]:
        return values.reshape((*shape, *values.shape[1:]))

    there = {name: stress for name, stress in solved.stress.items() if stress.present.any()}
    return Networks(
        frequency=shaped(solved.frequency),
        tune=shaped(solved.settings.tune),
        load=shaped(solved.settings.load),
        plate_impedance=shaped(solved.plate_impedance),
        tuned=shaped(solved.tuned),
        loaded_q=shaped(solved.loaded_q),
        efficiency=shaped(solved.efficiency),
        output=shaped(solved.output_power),
        plate_dissipation=shaped(solved.current.dissipation),
        attenuation=shaped(solved.attenuation),
        voltage_peak={name: shaped(stress.voltage_peak) for name, stress in there.items()},
        current_rms={name: shaped(stress.current_rms) for name, stress in there.items()},
        loss={name: shaped(stress.loss) for name, stress in there.items()},
    )


def value_of(value: Any, unit: str) -> Any:
    """Return numbers as they are, and texts as their values in a unit."""
    if isinstance(value, str):
        return parse_quantity(value, unit)
    if isinstance(value, list | tuple):
        return np.asarray([value_of(item, unit) for item in value])
    return np.asarray(value, dtype=np.float64)
