"""From the file's tube to its constants, bias and drive as numbers."""

from typing import NoReturn

import numpy as np

from netsim.circuit.stage import Stage
from netsim.circuit.tube.operating_state import bias_and_drive_for, bias_for
from netsim.circuit.tube.triode import Fit, Tube, fit
from netsim.description.models.tube import Tube as DescribedTube
from netsim.description.reader import Amplifier
from netsim.errors import DescriptionError, Problem

WORST_RESIDUAL = 0.15
"""Root mean square of a fit's misses over that of the currents, above which the curves are no triode's."""


def assemble_tube(amplifier: Amplifier, stage: Stage) -> tuple[Tube, Fit | None]:
    """Turn the described tube into its law, with bias and drive.

    Parameters
    ----------
    amplifier : Amplifier
        Its amplifier has a tube.
    stage : Stage
        Whose plate voltage, current and load give what the file leaves to be found.

    Returns
    -------
    tube : Tube
        Bias and drive as written, or as found from the stage.
    fit : Fit or None
        How its constants were read out of curves, if they were.

    Raises
    ------
    DescriptionError
        ``contradicting_curves``, ``no_bias_solution`` or ``tube_never_opens``, with their line.
    """
    described = amplifier.description.tube
    assert described is not None
    found = _fit(amplifier, described) if described.curve_points else None
    factor, perveance, knee = (
        (described.amplification_factor, described.perveance, described.knee_voltage)
        if found is None
        else (found.amplification_factor, found.perveance, found.knee_voltage)
    )
    assert factor is not None  # all three or curves, by the file's rules
    assert perveance is not None
    assert knee is not None
    tube = Tube(
        connection=described.connection,
        count=round(described.count),
        amplification_factor=factor,
        perveance=perveance,
        knee_voltage=knee,
        grid_perveance=described.grid_perveance,
        bias_voltage=described.bias_voltage or 0.0,
        drive_voltage_peak=described.drive_voltage_peak or 0.0,
    )
    return _biased(amplifier, described, tube, stage), found


def _biased(amplifier: Amplifier, described: DescribedTube, tube: Tube, stage: Stage) -> Tube:
    """Find what of bias and drive the file leaves open, and see that current flows at all."""
    description = amplifier.description
    supply, mean = float(stage.plate_voltage[0]), float(stage.direct_current[0])
    swing = stage.plate_load * stage.fundamental_current_peak - stage.drive_voltage_peak
    least = max(supply - float(swing[0]), 1.0)
    try:
        if described.drive_voltage_peak is None:
            tube = bias_and_drive_for(tube, supply, least, mean, description.stage.conduction_angle)
        elif described.bias_voltage is None:
            tube = bias_for(tube, supply, least, mean)
    except DescriptionError as error:
        problem = error.problems[0]
        key = "connection" if described.drive_voltage_peak is None else "drive_voltage_peak"
        _fail(problem.code, problem.message, amplifier, "tube", key)
    lift = tube.opens_at(supply)
    if not lift > 0:
        _fail(
            "tube_never_opens",
            f"at the crest of the drive the grid is still {-lift:.4g} V below cutoff, so no plate current ever flows; "
            "raise drive_voltage_peak or make bias_voltage less negative by more than that",
            amplifier,
            "tube",
            "drive_voltage_peak",
        )
    return tube


def _fit(amplifier: Amplifier, described: DescribedTube) -> Fit:
    plate, grid, current = (np.array(column) for column in zip(*described.curve_points, strict=True))
    found = fit(plate, grid, current)
    if found.residual > WORST_RESIDUAL:
        _fail(
            "contradicting_curves",
            f"no amplification factor, perveance and knee fit these points: they miss by {found.residual:.0%} rms, "
            f"entry {found.worst + 1} the most; read it off again, and see that all are of one tube and "
            "in the order plate voltage, grid voltage, plate current",
            amplifier,
            "tube",
            "curve_points",
            found.worst,
        )
    return found


def _fail(code: str, message: str, amplifier: Amplifier, *key: str | int) -> NoReturn:
    line, column = amplifier.position(*key)
    named = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in key).lstrip(".")
    raise DescriptionError(Problem(code, message, str(amplifier.path), line, column, named))
