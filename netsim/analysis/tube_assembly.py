"""From the file's tube to its constants, bias and drive as numbers."""

from typing import NoReturn

import numpy as np

from netsim.circuit.stage import Stage
from netsim.circuit.tube.operating_state import bias_and_drive_for, bias_for
from netsim.circuit.tube.triode import Fit, Tube, fit
from netsim.description.models.tube import Tube as DescribedTube
from netsim.description.reader import Description
from netsim.errors import DescriptionError, Problem

WORST_RESIDUAL = 0.15
"""Root mean square of a fit's misses over that of the currents, above which the curves are no triode's."""


def assemble_tube(description: Description, stage: Stage) -> tuple[Tube, Fit | None]:
    """Turn the described tube into its law, with bias and drive.

    Parameters
    ----------
    description : Description
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
    described = description.amplifier.tube
    assert described is not None
    found = _fit(description, described) if described.curve_points else None
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
    return _biased(description, described, tube, stage), found


def _biased(description: Description, described: DescribedTube, tube: Tube, stage: Stage) -> Tube:
    """Find what of bias and drive the file leaves open, and see that current flows at all."""
    amplifier = description.amplifier
    swing = stage.plate_load * stage.fundamental_current_peak - stage.drive_voltage_peak
    least = max(stage.plate_voltage - swing, 1.0)
    try:
        if described.drive_voltage_peak is None:
            tube = bias_and_drive_for(
                tube, stage.plate_voltage, least, stage.direct_current, amplifier.stage.conduction_angle
            )
        elif described.bias_voltage is None:
            tube = bias_for(tube, stage.plate_voltage, least, stage.direct_current)
    except DescriptionError as error:
        problem = error.problems[0]
        key = "connection" if described.drive_voltage_peak is None else "drive_voltage_peak"
        _fail(problem.code, problem.message, description, "tube", key)
    lift = tube.opens_at(stage.plate_voltage)
    if not lift > 0:
        _fail(
            "tube_never_opens",
            f"at the crest of the drive the grid is still {-lift:.4g} V below cutoff, so no plate current ever flows; "
            "raise drive_voltage_peak or make bias_voltage less negative by more than that",
            description,
            "tube",
            "drive_voltage_peak",
        )
    return tube


def _fit(description: Description, described: DescribedTube) -> Fit:
    plate, grid, current = (np.array(column) for column in zip(*described.curve_points, strict=True))
    found = fit(plate, grid, current)
    if found.residual > WORST_RESIDUAL:
        _fail(
            "contradicting_curves",
            f"no amplification factor, perveance and knee fit these points: they miss by {found.residual:.0%} rms, "
            f"entry {found.worst + 1} the most; read it off again, and see that all are of one tube and "
            "in the order plate voltage, grid voltage, plate current",
            description,
            "tube",
            "curve_points",
            found.worst,
        )
    return found


def _fail(code: str, message: str, description: Description, *key: str | int) -> NoReturn:
    line, column = description.position(*key)
    named = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in key).lstrip(".")
    raise DescriptionError(Problem(code, message, str(description.path), line, column, named))
