"""The tube's constants out of points read off published curves."""

from dataclasses import dataclass, replace

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.circuit.tube.triode import TubeConstants

READING = 0.05
"""Share of itself by which a current read off a curve is honestly uncertain; common practice."""

LINE_WIDTH = 0.01
"""Share of the largest current by which any current is: the width of a printed line; common practice."""

ROUGH = 0.05
"""Residual above which the fit is worth a remark: more than honest readings make."""

NONSENSE = 0.5
"""Residual above which there is nothing to fit: one and the same current for all points would do as well."""

GRID_NONSENSE = 1.0
"""The same of the grid currents, which a weaker law gives: no grid current at all would miss by no more."""

DOUBTFUL = 0.15
"""Miss of one point, over its own reading, from which it is the one to read again."""

_SURE = 2.0  # uncertainties that a doubtful point misses by at least
_OFF = 1.5  # uncertainties from which a point counts less than with its square
_TYPICAL_KNEE = 0.04  # of the highest plate voltage; where no point tells; common practice
_WEAK = 0.05  # uncertainties that a factor of e in the knee is worth
_FACTORS = (5.0, 20.0, 80.0, 250.0)
_KNEES = (30.0, 150.0, 500.0)
_LEAST, _MOST = np.array([1.0, 1e-9, 0.1, 1e-4]), np.array([1e4, 10.0, 2e4, 0.95])
_NAMES = ("amplification_factor", "perveance", "knee_voltage", "grid_perveance")


@dataclass(frozen=True)
class Fit:
    """Constants read out of curves.

    Attributes
    ----------
    amplification_factor, perveance, knee_voltage : float
        As in `TubeConstants`.
    grid_perveance : float or None
        As fitted to grid currents, or as given; None where there is neither.
    residual : float
        Root mean square of the plate current's differences over that of the currents.
    grid_residual : float or None
        The same of the grid currents, where there are any.
    worst : int
        Index of the point that lies farthest off, in uncertainties of its reading.
    worst_miss : float
        What the fit gives there over what was read, less one; infinite where nothing was read.
    worst_of : {"plate current", "grid current"}
        Which of the two.
    doubtful : bool
        Whether that point misses by more than `DOUBTFUL` and twice its uncertainty: it is to be read again.
    swapped : bool
        Whether plate and grid voltages fit far better if exchanged.
    undetermined : tuple of str
        Constants that no point tells: their own uncertainty is a factor of e or more. A knee is then near
        four per cent of the highest plate voltage.
    """

    amplification_factor: float
    perveance: float
    knee_voltage: float
    grid_perveance: float | None
    residual: float
    grid_residual: float | None
    worst: int
    worst_miss: float
    worst_of: str
    doubtful: bool
    swapped: bool
    undetermined: tuple[str, ...]


@dataclass(frozen=True)
class Curves:
    """Points read off the curves of one tube, voltages to the cathode; arrays of shape ``(points,)``.

    Attributes
    ----------
    plate, grid : ndarray
        [V].
    current, grid_current : ndarray
        Of plate and grid [A]; the grid's is NaN where it was not read.
    grid_perveance : float or None
        Where it is known and not to be fitted [A/V^1.5].
    screen_voltage, screen_amplification_factor : float or None
        Of the curves, as in `TubeConstants`.
    """

    plate: FloatArray
    grid: FloatArray
    current: FloatArray
    grid_current: FloatArray
    grid_perveance: float | None = None
    screen_voltage: float | None = None
    screen_amplification_factor: float | None = None

    @property
    def with_grid(self) -> bool:
        """Whether there are grid currents to fit."""
        return bool(np.isfinite(self.grid_current).any())

    def tube(self, constants: FloatArray) -> TubeConstants:
        """Return one tube with the constants of a fit, the fourth the grid's share."""
        factor, perveance, knee = (float(value) for value in constants[:3])
        grid = self.grid_perveance
        if self.with_grid:
            grid = float(constants[3]) * perveance
        elif grid is not None:  # it stays what it is, but below the cathode's
            grid = min(grid, float(_MOST[3]) * perveance)
        return TubeConstants(
            connection="grounded cathode",
            count=1,
            amplification_factor=factor,
            perveance=perveance,
            knee_voltage=knee,
            grid_perveance=grid,
            bias_voltage=0.0,
            drive_voltage_peak=0.0,
            screen_voltage=self.screen_voltage,
            screen_amplification_factor=self.screen_amplification_factor,
        )

    def differences(self, constants: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return how far the law lies above plate and grid current [A], the latter zero where none was read."""
        tube = self.tube(constants)
        grid = tube.grid_current(self.plate, self.grid)
        read = np.isfinite(self.grid_current) if grid is not None else np.zeros(len(self.plate), bool)
        above = np.where(read, (0.0 if grid is None else grid) - self.grid_current, 0.0)
        return tube.plate_current(self.plate, self.grid) - self.current, above

    def swapped(self) -> "Curves":
        """Return them with plate and grid voltages exchanged."""
        return replace(self, plate=self.grid, grid=self.plate)


def fit(curves: Curves) -> Fit:
    """Fit the law's constants to points of published curves.

    Parameters
    ----------
    curves : Curves
        Four points at least.

    Returns
    -------
    Fit
        The best from several starts, however poor: see its residual.

    Notes
    -----
    Least squares of the currents in units of their uncertainty, `READING` of themselves and `LINE_WIDTH` of
    the largest, with the loss ``ln(1 + z)`` of their squares over 1.5^2, so that one wrong reading does not
    bend the rest (Cauchy's, as scipy has it). The logarithms of the constants are the unknowns, within
    bounds; a very weak pull holds the knee where no point tells it. Perveance starts at the linear least-squares value.
    """
    found = _fit(curves)
    if found.residual <= ROUGH:
        return found
    try:
        other = _fit(curves.swapped())
    except ValueError:
        return found
    return replace(found, swapped=other.residual < min(found.residual / 2, 3 * ROUGH))


def _fit(curves: Curves) -> Fit:
    from scipy.optimize import least_squares

    unknowns = 4 if curves.with_grid else 3
    uncertainty = _uncertainty(curves.current), _uncertainty(curves.grid_current)
    knee = np.log(_TYPICAL_KNEE * max(float(curves.plate.max()), 1.0))

    def off(logarithms: FloatArray) -> FloatArray:
        above = curves.differences(np.exp(logarithms))
        pull = [_WEAK * (logarithms[2] - knee)]
        return np.concatenate([above[0] / uncertainty[0], above[1] / uncertainty[1], pull])

    best = None
    for start in _starts(curves):
        begin = np.log(np.clip(start, _LEAST, _MOST))[:unknowns]
        bounds = np.log(_LEAST[:unknowns]), np.log(_MOST[:unknowns])
        tried = least_squares(off, begin, bounds=bounds, loss="cauchy", f_scale=_OFF)
        if best is None or tried.cost < best.cost:
            best = tried
    if best is None:
        raise ValueError("at every start no current flows at any of the points")
    constants = np.exp(best.x)
    tube = curves.tube(constants)
    plate, grid = curves.differences(constants)
    misses = np.abs(np.stack([plate / uncertainty[0], grid / uncertainty[1]]))
    row, worst = (int(i) for i in np.unravel_index(np.argmax(misses), misses.shape))
    reading = float((curves.current, curves.grid_current)[row][worst])
    miss = float((plate, grid)[row][worst]) / reading if reading else np.inf
    # Curvature of the misses alone, without the pull, in units of the readings' uncertainties.
    sharpness = np.square(np.asarray(best.jac)[:-1]).sum(axis=0)
    return Fit(
        amplification_factor=float(constants[0]),
        perveance=float(constants[1]),
        knee_voltage=float(constants[2]),
        grid_perveance=None if tube.grid_perveance is None else float(tube.grid_perveance),
        residual=_ratio(plate, curves.current),
        grid_residual=_ratio(grid, np.nan_to_num(curves.grid_current)) if curves.with_grid else None,
        worst=worst,
        worst_miss=miss,
        worst_of=("plate current", "grid current")[row],
        doubtful=abs(miss) > DOUBTFUL and float(misses[row, worst]) > _SURE,
        swapped=False,
        undetermined=tuple(name for name, sharp in zip(_NAMES, sharpness, strict=False) if sharp < 1),
    )


def _starts(curves: Curves) -> list[FloatArray]:
    starts = []
    for factor in _FACTORS:
        for knee in _KNEES:
            unit = replace(curves, grid_perveance=None).tube(np.array([factor, 1.0, knee, 0.1]))
            shape = unit.plate_current(curves.plate, curves.grid)
            if shape.any():
                perveance = float(shape @ curves.current / (shape @ shape))
                starts.append(np.array([factor, perveance, knee, 0.1]))
    return starts


def _uncertainty(current: FloatArray) -> FloatArray:
    known = np.nan_to_num(current)
    return np.hypot(READING * known, LINE_WIDTH * max(float(known.max()), 1e-12))


def _ratio(difference: FloatArray, current: FloatArray) -> float:
    return float(np.sqrt(np.mean(difference**2) / max(float(np.mean(current**2)), 1e-300)))
