"""What to do about an amplifier, and on its bench: taps, changes, comparisons, designs, readings, fits."""

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from io import StringIO
from typing import TYPE_CHECKING, Any

from netsim.analysis import Engine
from netsim.api.networks import value_of
from netsim.api.result import Result
from netsim.description.reader import WITHOUT_FILE, Amplifier

if TYPE_CHECKING:
    from rich.console import RenderableType


_WIDTH = 100


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


def bench(
    amplifier: Amplifier, *, plate_resistor: str | float | None = None, engine: Engine = "both"
) -> Advice:
    """Work out what to measure cold and what to expect, and hold readings against what is calculated.

    Parameters
    ----------
    amplifier : Amplifier
        With or without readings.
    plate_resistor : str or float, optional
        At hand, such as ``"3.3 kohm"`` or 3300; by default what preferred ones come nearest to the plate load.
    engine : {"both", "two-port"}
        As of `analyse`.

    Returns
    -------
    Advice
        Of `netsim.advice.bench.bench.Bench`: ``cold_match``, ``readings``, ``points_to``.

    Raises
    ------
    DescriptionError, SolveError
        As in `analyse`, or if the plate resistor is none.

    Examples
    --------
    >>> import netsim
    >>> card = netsim.bench(netsim.read("circuits/old-tubes.toml"), engine="two-port")
    >>> [test.band for test in card.cold_match]
    ['80 m', '40 m', '30 m', '20 m', '15 m', '10 m']
    """
    from netsim.advice.bench.bench import bench as worked_out
    from netsim.report.export import bench_json
    from netsim.report.terminal import bench_text

    ohms = None if plate_resistor is None else value_of(plate_resistor, "ohm")
    found = worked_out(amplifier, plate_resistor=ohms, engine=engine)
    return Advice(
        found, lambda: bench_json.dump_bench(found), lambda: bench_text.render(found, amplifier.path)
    )


def fit(amplifier: Amplifier, *, engine: Engine = "both") -> Advice:
    """Fit what is known of an amplifier within limits to what its bench showed.

    Parameters
    ----------
    amplifier : Amplifier
        With readings.
    engine : {"both", "two-port"}
        As of `analyse`, for the verdicts before and after.

    Returns
    -------
    Advice
        Of `netsim.advice.fit.fit.Fit`: ``unknowns``, ``explained``, ``suspects``, ``measure_next``, ``text``.

    Raises
    ------
    UsageError
        If there are no readings.
    DescriptionError, SolveError
        As in `analyse`.
    """
    from netsim.advice.fit.fit import fit as fitted
    from netsim.report.export import bench_json
    from netsim.report.terminal import fit_text

    found = fitted(amplifier, engine=engine)
    return Advice(found, lambda: bench_json.dump_fit(found), lambda: fit_text.render(found, amplifier.path))
