"""From the file's tube to its constants, bias and drive as numbers."""

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import NoReturn

import numpy as np

from netsim.circuit.assembly import Assembly
from netsim.circuit.elements import IndexArray
from netsim.circuit.stage import OperatingConditions
from netsim.circuit.tube import curve_fit
from netsim.circuit.tube.curve_fit import Curves, Fit
from netsim.circuit.tube.operating_state import MOST_DRIVE, at_swing, bias_and_drive_for, bias_for
from netsim.circuit.tube.triode import TubeConstants
from netsim.description.models.amplifier import Description
from netsim.description.models.tube import CurvePoint, Tube
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError, Problem

_TIMES = 9.0
"""Miss of a point over its reading above which it is told as a multiple."""


def assemble_tube(
    amplifier: Amplifier, assembly: Assembly, description: Description | None = None
) -> tuple[TubeConstants, Fit | None]:
    """Return the described tube's law, with bias and drive of every network.

    Parameters
    ----------
    amplifier : Amplifier
        Its description has a tube.
    assembly : Assembly
        Whose stage gives, at each operating point, what the file leaves to be found.
    description : Description, optional
        What a search tries instead of what the file says; errors still name the file.

    Returns
    -------
    tube : TubeConstants
        Its law in numbers; bias and drive, as written or as found from the stage, of shape ``(networks,)``.
    fit : Fit or None
        How its constants were read out of curves, if they were.

    Raises
    ------
    DescriptionError
        ``contradicting_curves``, ``swapped_columns``, ``out_of_range``, ``no_bias_solution`` or
        ``tube_never_opens``, with their line.
    """
    description = amplifier.description if description is None else description
    described = description.tube
    assert described is not None
    found = _fit(amplifier, described) if described.curve_points else None
    source = described if found is None else found
    assert source.amplification_factor is not None  # all three or curves, by the file's rules
    assert source.perveance is not None
    assert source.knee_voltage is not None
    tube = TubeConstants(
        connection=described.connection,
        count=round(described.count),
        amplification_factor=source.amplification_factor,
        perveance=source.perveance,
        knee_voltage=source.knee_voltage,
        grid_perveance=source.grid_perveance,
        bias_voltage=described.bias_voltage or 0.0,
        drive_voltage_peak=described.drive_voltage_peak or 0.0,
        screen_voltage=described.screen_voltage,
        screen_amplification_factor=described.screen_amplification_factor,
    )
    points, first, point_of_row = np.unique(assembly.point_index, return_index=True, return_inverse=True)
    tube = _biased(amplifier, described, tube, assembly.stage.take(first), points)
    return tube.take(point_of_row), found


def remarks(amplifier: Amplifier, tube: TubeConstants, fit: Fit | None) -> Iterator[Problem]:
    """Yield what is to be said of the tube's constants though nothing is wrong: no error, never raised.

    Parameters
    ----------
    amplifier : Amplifier
        Its description has a tube.
    tube, fit
        As `assemble_tube` gives them.

    Returns
    -------
    tuple of Problem
        Codes ``rough_curves``, ``doubtful_point``, ``undetermined_constant``, ``grid_current_unknown`` and
        ``screen_not_calculated``, each with its line.
    """
    if fit is not None:
        yield from _of_fit(amplifier, fit)
    if tube.grid_perveance is None:
        yield _problem(
            "grid_current_unknown",
            "grid current, its heat and its share of the drive are not known; add grid_perveance, or a fourth "
            "entry, grid current, to curve_points",
            amplifier,
            ("tube",),
        )
    if tube.screen_voltage is not None:
        yield _problem(
            "screen_not_calculated",
            "current and heat of the screen are not calculated: secondary emission rules them",
            amplifier,
            ("tube", "screen_voltage"),
        )


def _of_fit(amplifier: Amplifier, fit: Fit) -> Iterator[Problem]:
    if fit.doubtful:
        off = f"lies {fit.worst_miss:+.0%} of the reading away"
        if np.isinf(fit.worst_miss):
            off = "lies where nothing was read"
        elif fit.worst_miss > _TIMES:
            off = f"is {1 + fit.worst_miss:.3g} times the reading"
        yield _problem(
            "doubtful_point",
            f"the fitted {fit.worst_of} {off} at entry {fit.worst + 1}, the worst of all: read that point again",
            amplifier,
            ("tube", "curve_points", fit.worst),
        )
    if max(fit.residual, fit.grid_residual or 0.0) > curve_fit.ROUGH:
        grid = "" if fit.grid_residual is None else f", the grid currents by {fit.grid_residual:.1%}"
        yield _problem(
            "rough_curves",
            f"the fitted law misses the plate currents by {fit.residual:.1%} rms{grid}; more than "
            f"{curve_fit.ROUGH:.0%} is more than readings off a curve usually are wrong by, and what follows "
            "from the tube is as rough",
            amplifier,
            ("tube", "curve_points"),
        )
    for name in fit.undetermined:
        what = f"no curve point tells {name}; {getattr(fit, name):.3g} is a guess"
        more = (
            ": read off points at low plate voltage" if name == "knee_voltage" else ": read off more points"
        )
        yield _problem("undetermined_constant", what + more, amplifier, ("tube", "curve_points"))


def _biased(
    amplifier: Amplifier, described: Tube, tube: TubeConstants, stage: OperatingConditions, points: IndexArray
) -> TubeConstants:
    """Find what of bias and drive the file leaves open at each operating point, and see that current flows."""
    description = amplifier.description
    swing = stage.plate_load * stage.fundamental_current_peak - stage.drive_voltage_peak
    wanted = stage.plate_voltage, np.maximum(stage.plate_voltage - swing, 1.0), stage.direct_current
    tube = replace(
        tube,
        bias_voltage=np.full(len(points), tube.bias_voltage),
        drive_voltage_peak=np.full(len(points), tube.drive_voltage_peak),
    )
    found = tube
    if described.drive_voltage_peak is None:
        found = bias_and_drive_for(tube, *wanted, stage.conduction_angle)
    elif described.bias_voltage is None:
        found = bias_for(tube, *wanted)
    bias, drive = np.asarray(found.bias_voltage), np.asarray(found.drive_voltage_peak)
    lift = found.opens_at(stage.plate_voltage)
    for row in np.flatnonzero(~(lift > 0)):  # NaN where there is no solution
        where = ""
        if points[row]:
            where = f"operating point {description.operating_points[points[row] - 1].name!r}: "
        if np.isnan(drive[row]):
            _fail(
                "no_bias_solution",
                f"{where}the stage's plate current and conduction angle would take a drive of more than "
                f"{MOST_DRIVE:g} V peak from this tube; check perveance and count, knee_voltage and the stage's "
                "plate swing",
                amplifier,
                ("tube", "connection"),
            )
        if np.isnan(bias[row]):
            full = at_swing(tube, stage.plate_voltage, wanted[0] - wanted[1] + tube.series_drive)
            _fail(
                "no_bias_solution",
                f"{where}no bias gives a plate current of {stage.direct_current[row]:.4g} A with a drive of "
                f"{drive[row]:.4g} V peak: even without bias it is {full.plate_current_dc[row]:.4g} A; give more "
                "drive, or check perveance and count",
                amplifier,
                ("tube", "drive_voltage_peak"),
            )
        _fail(
            "tube_never_opens",
            f"{where}at the crest of the drive the grid is still {-lift[row]:.4g} V below cutoff, so no plate current "
            "ever flows; raise drive_voltage_peak or make bias_voltage less negative by more than that",
            amplifier,
            ("tube", "drive_voltage_peak"),
        )
    return found


def _fit(amplifier: Amplifier, described: Tube) -> Fit:
    known = described.grid_perveance, described.screen_voltage, described.screen_amplification_factor
    found = _fitted(described.curve_points, *known)
    if found is not None and found.swapped:
        _fail(
            "swapped_columns",
            f"the columns look like grid voltage, plate voltage: so they fit well, and as they stand they miss by "
            f"{found.residual:.0%} rms; exchange the first two entries of every point",
            amplifier,
            ("tube", "curve_points"),
        )
    if found is None or found.residual > curve_fit.NONSENSE:
        worst = 0 if found is None else found.worst
        missed = "no current at all" if found is None else f"they miss by {found.residual:.0%} rms"
        _fail(
            "contradicting_curves",
            f"no amplification factor, perveance and knee fit these points: {missed}, entry {worst + 1} the most, and "
            f"beyond {curve_fit.NONSENSE:.0%} one current for all points would do as well; read it off again, and see "
            "that all are of one tube and in the order plate voltage, grid voltage, plate current",
            amplifier,
            ("tube", "curve_points", worst),
        )
    if (found.grid_residual or 0.0) > curve_fit.GRID_NONSENSE and any(p[3] for p in described.curve_points):
        _fail(
            "contradicting_curves",
            f"the fitted law misses the grid currents by {found.grid_residual:.3g} times what they are, rms, "
            f"entry {found.worst + 1} the most, and no grid current at all would miss by less; read it off again, and "
            "see that it is in the order plate voltage, grid voltage, plate current, grid current",
            amplifier,
            ("tube", "curve_points", found.worst),
        )
    if described.grid_perveance is not None and found.grid_perveance != described.grid_perveance:
        _fail(
            "out_of_range",
            f"must be below the perveance that curve_points give, {found.perveance:.3g}, for the grid cannot take more "
            f"than the cathode gives; found {described.grid_perveance:g}",
            amplifier,
            ("tube", "grid_perveance"),
        )
    return found


@lru_cache(maxsize=8)
def _fitted(
    points: tuple[CurvePoint, ...],
    grid_perveance: float | None,
    screen_voltage: float | None,
    screen_amplification_factor: float | None,
) -> Fit | None:
    """Fit once for every operating point; None where no start carries any current."""
    plate, grid, current = (np.array(column) for column in list(zip(*points, strict=True))[:3])
    read = np.array([np.nan if point[3] is None else point[3] for point in points])
    known = grid_perveance, screen_voltage, screen_amplification_factor
    try:
        return curve_fit.fit(Curves(plate, grid, current, read, *known))
    except ValueError:
        return None


def _fail(code: str, message: str, amplifier: Amplifier, key: tuple[str | int, ...]) -> NoReturn:
    raise DescriptionError(_problem(code, message, amplifier, key))


def _problem(code: str, message: str, amplifier: Amplifier, key: tuple[str | int, ...]) -> Problem:
    line, column = amplifier.position(*key)
    named = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in key).lstrip(".")
    return Problem(code, message, str(amplifier.path), line, column, named)
