"""What ``import netsim`` offers for the bench: what to measure, and what readings make of what is known."""

from netsim.analysis import Engine
from netsim.api.advice import Advice
from netsim.api.values import value_of
from netsim.description.reader import Amplifier


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
