"""The table of the tube: its constants or points of its curves, and how it is biased and driven."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from netsim.description.formatting import format_quantity
from netsim.description.models import rules
from netsim.description.models.rules import Breach
from netsim.description.models.tables import Table
from netsim.description.quantity import Measure

Count = Annotated[float, Measure("1", 1, 16, "2")]
Factor = Annotated[float, Measure("1", 1, 5e3, "110")]
Perveance = Annotated[float, Measure("1", 1e-7, 1, "1.1e-3")]
GridPerveance = Annotated[float, Measure("1", 0, 1, "3e-4")]
KneeVolts = Annotated[float, Measure("V", 1, 5e3, "90 V")]
GridVolts = Annotated[float, Measure("V", -3e3, 2e3, "-6 V")]
PeakDriveVolts = Annotated[float, Measure("V", 0.1, 5e3, "95 V")]
CurvePlateVolts = Annotated[float, Measure("V", 1, 30e3, "2 kV")]
CurveAmperes = Annotated[float, Measure("A", 0, 200, "310 mA")]
CurvePoint = tuple[CurvePlateVolts, GridVolts, CurveAmperes]

CONSTANTS = ("amplification_factor", "perveance", "knee_voltage")
LEAST_POINTS = 6
READING = 0.02
"""Share of the current by which two readings off a curve may contradict each other."""


class Tube(Table):
    """The tube for the large-signal calculation. Volts to the cathode, amperes; perveance in A/V^1.5, each tube."""

    connection: Literal["grounded grid", "grounded cathode"] = Field(
        description="Which electrode is at radio-frequency ground"
    )
    count: Count = Field(default=1.0, description="Tubes in parallel, a whole number")
    amplification_factor: Factor | None = Field(default=None, description="Amplification factor")
    perveance: Perveance | None = Field(default=None, description="Perveance of each tube, A/V^1.5")
    knee_voltage: KneeVolts | None = Field(
        default=None, description="Plate voltage at which the plate takes three quarters of the current"
    )
    curve_points: tuple[CurvePoint, ...] = Field(
        default=(),
        description="Plate voltage, grid voltage, plate current of one tube, read off published curves; "
        "instead of amplification_factor, perveance and knee_voltage",
    )
    bias_voltage: GridVolts | None = Field(
        default=None,
        description="Grid to cathode without signal; if absent, what makes the plate current that of [stage]",
    )
    drive_voltage_peak: PeakDriveVolts | None = Field(
        default=None,
        description="Peak drive between grid and cathode; if absent with the bias, both follow from [stage]",
    )
    grid_perveance: GridPerveance = Field(
        default=0.0, description="Grid current of each tube is this x max(grid voltage, 0)^1.5, A/V^1.5"
    )

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(breaches(self))
        return self


def breaches(tube: Tube) -> Iterator[Breach]:
    """Want whole tubes, constants or curves but not both, curves that agree, and drive where there is bias."""
    if tube.count != round(tube.count):
        yield Breach(("count",), "out_of_range", f"a whole number of tubes is wanted; found {tube.count:g}")
    given = [key for key in CONSTANTS if getattr(tube, key) is not None]
    if tube.curve_points and given:
        yield Breach(
            ("curve_points",),
            "conflict",
            f"curve_points are fitted to give {_listed(given)}, which the file gives as well; keep one of the two",
        )
    elif tube.curve_points:
        yield from _curves(tube.curve_points)
    else:
        for key in CONSTANTS:
            if key not in given:
                yield Breach(
                    (key,),
                    "missing_key",
                    f"{_listed(CONSTANTS)} are required together; add {key}, or give curve_points instead",
                )
    if tube.bias_voltage is not None and tube.drive_voltage_peak is None:
        yield Breach(
            ("bias_voltage",),
            "conflict",
            "bias_voltage is given without drive_voltage_peak; give the drive as well, or neither to have both follow "
            "from plate current and conduction angle of [stage]",
        )


def _curves(points: Sequence[CurvePoint]) -> Iterator[Breach]:
    here: tuple[str | int, ...] = ("curve_points",)
    flowing = [point for point in points if point[2] > 0]
    plates, grids = ({point[column] for point in flowing} for column in (0, 1))
    if len(flowing) < LEAST_POINTS or len(plates) < 2 or len(grids) < 2:
        yield Breach(
            here,
            "too_few_points",
            f"three constants are fitted: at least {LEAST_POINTS} points with current are wanted, at two or more plate "
            f"and two or more grid voltages; found {len(flowing)} points at {len(plates)} plate and "
            f"{len(grids)} grid voltages: read off more",
        )
    for (i, one), (j, other) in combinations(enumerate(points), 2):
        if _contradict(one, other):
            yield Breach(
                (*here, j),
                "contradicting_curves",
                f"{_shown(other)} contradicts entry {i + 1}, {_shown(one)}: current must not fall when plate or grid "
                "voltage rises while the other does not fall; read both off again",
            )


def _contradict(one: CurvePoint, other: CurvePoint) -> bool:
    """Whether one point has clearly more current at no higher voltages, or twice the same voltages differ."""
    low, high = sorted((one, other), key=lambda point: point[2])
    tolerance = READING * high[2]
    return high[2] - low[2] > tolerance and high[0] <= low[0] and high[1] <= low[1]


def _shown(point: CurvePoint) -> str:
    return ", ".join(format_quantity(v, u, trim=True) for v, u in zip(point, ("V", "V", "A"), strict=True))


def _listed(keys: Sequence[str]) -> str:
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} and {keys[-1]}"
