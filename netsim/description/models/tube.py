"""The table of the tube: its constants or points of its curves, and how it is biased and driven."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from netsim.description.formatting import format_quantity
from netsim.description.key_path import KeyPath
from netsim.description.models import keys as m
from netsim.description.models import rules
from netsim.description.models.rules import Breach, conflict, lacking
from netsim.description.models.tables import Table
from netsim.description.quantity import Measure

Count = Annotated[float, Measure("1", 1, 16, "2", fixed="it is a whole number")]
Factor = Annotated[float, Measure("1", 1, 5e3, "110")]
Perveance = Annotated[float, Measure("1", 1e-7, 1, "1.1e-3")]
GridPerveance = Annotated[float, Measure("1", 0, 1, "3e-4")]
KneeVolts = Annotated[float, Measure("V", 1, 5e3, "90 V")]
GridVolts = Annotated[float, Measure("V", -3e3, 2e3, "-6 V")]
PeakDriveVolts = Annotated[float, Measure("V", 0.1, 5e3, "95 V")]
ScreenVolts = Annotated[float, Measure("V", 1, 5e3, "350 V")]
ScreenFactor = Annotated[float, Measure("1", 1, 200, "6")]
CurveVolts = Annotated[float, Measure("V", -30e3, 30e3, "2 kV")]
CurveAmperes = Annotated[float, Measure("A", 0, 200, "310 mA")]
CurvePoint = tuple[CurveVolts, CurveVolts, CurveAmperes, CurveAmperes | None]

CONSTANTS = ("amplification_factor", "perveance", "knee_voltage")
SCREEN = ("screen_voltage", "screen_amplification_factor")
LEAST_POINTS = 6
LEAST_GRID_POINTS = 2
LEAST_PLATE_VOLTS = 1.0
MOST_GRID_VOLTS = 2e3
MISREAD = 0.6
"""Share of the current from which no misreading explains that two points contradict each other: both off by half."""
LINE_WIDTH = 0.02
"""Share of the largest current that is not read off a printed curve."""


def _three_or_four(schema: dict[str, Any]) -> None:
    """Let the fourth entry of a curve point be left out."""
    point = schema["items"]
    point["minItems"] = 3
    point["prefixItems"][3] = next(arm for arm in point["prefixItems"][3]["anyOf"] if arm != {"type": "null"})


class Tube(Table):
    """The tube for the large-signal calculation. Volts to the cathode, amperes; perveance in A/V^1.5, each tube."""

    connection: Literal["grounded grid", "grounded cathode"] = Field(
        description="Which electrode is at radio-frequency ground"
    )
    count: Count = m.optional("Tubes in parallel, a whole number", 1.0)
    amplification_factor: Factor | None = m.optional("Amplification factor")
    perveance: Perveance | None = m.optional(
        "Perveance of each tube's cathode, which plate and grid share, A/V^1.5"
    )
    knee_voltage: KneeVolts | None = m.optional(
        "Plate voltage at which the plate takes three quarters of what the grid leaves it"
    )
    curve_points: tuple[CurvePoint, ...] = Field(
        default=(),
        max_length=m.MOST_CURVE_POINTS,
        description="Plate voltage, grid voltage, plate current and, where it was read, grid current of one tube, "
        "off published curves; instead of amplification_factor, perveance and knee_voltage",
        json_schema_extra=_three_or_four,
    )
    bias_voltage: GridVolts | None = m.optional(
        "Grid to cathode without signal; if absent, what makes the plate current that of [stage]"
    )
    drive_voltage_peak: PeakDriveVolts | None = m.optional(
        "Peak drive between grid and cathode; if absent with the bias, both follow from [stage]"
    )
    grid_perveance: GridPerveance | None = m.optional(
        "Over perveance: the grid's share of the current where grid and plate (or screen) stand at the "
        "same voltage, A/V^1.5; grid current is not known without it"
    )
    screen_voltage: ScreenVolts | None = m.optional(
        "DC from screen to cathode; none in a triode. The screen's own current is not given"
    )
    screen_amplification_factor: ScreenFactor | None = m.optional(
        "Volts at the screen that do as much as one volt at the grid"
    )

    @field_validator("curve_points", mode="before")
    @classmethod
    def _without_grid_current(cls, points: object) -> object:
        """Let the fourth entry be left out; anything else that is wrong is found later."""
        if not isinstance(points, list | tuple):
            return points
        return [[*p, None] if isinstance(p, list | tuple) and len(p) == 3 else p for p in points]

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        rules.enforce(breaches(self))
        return self


def breaches(tube: Tube) -> Iterator[Breach]:
    """Want whole tubes, constants or curves but not both, curves of a tube, drive with bias, screens whole."""
    if tube.count != round(tube.count):
        yield Breach(("count",), "out_of_range", f"a whole number of tubes is wanted; found {tube.count:g}")
    given = [key for key in CONSTANTS if getattr(tube, key) is not None]
    if tube.curve_points and given:
        yield conflict(
            "curve_points",
            f"curve_points are fitted to give {_listed(given)}, which the file gives as well; keep one of the two",
        )
    elif tube.curve_points:
        yield from _curves(tube.curve_points)
    else:
        for key in CONSTANTS:
            if key not in given:
                yield lacking(
                    key,
                    f"{_listed(CONSTANTS)} are required together; add {key}, or give curve_points instead",
                )
    if tube.bias_voltage is not None and tube.drive_voltage_peak is None:
        yield conflict(
            "bias_voltage",
            "bias_voltage is given without drive_voltage_peak; give the drive as well, or neither to have both follow "
            "from plate current and conduction angle of [stage]",
        )
    yield from _grid(tube)
    missing = [key for key in SCREEN if getattr(tube, key) is None]
    if len(missing) == 1:
        yield lacking(
            missing[0], f"{_listed(SCREEN)} are required together; add {missing[0]}, or give neither"
        )


def _grid(tube: Tube) -> Iterator[Breach]:
    """Want one source for the grid's current, and a grid that takes less than the cathode gives."""
    read = [point for point in tube.curve_points if point[3] is not None]
    if read and tube.grid_perveance is not None:
        yield conflict(
            "grid_perveance",
            "the grid currents among curve_points are fitted to give grid_perveance, which the file gives as well; "
            "keep one of the two",
        )
    positive = sum(point[1] > 0 for point in read)
    if read and positive < LEAST_GRID_POINTS:
        yield Breach(
            ("curve_points",),
            "too_few_points",
            f"for the grid's share at least {LEAST_GRID_POINTS} points with grid current at a positive grid are "
            f"wanted; found {positive}: read off more, or leave the fourth entries out",
        )
    if (
        tube.grid_perveance is not None
        and tube.perveance is not None
        and tube.grid_perveance >= tube.perveance
    ):
        yield Breach(
            ("grid_perveance",),
            "out_of_range",
            f"must be below perveance, {tube.perveance:g}, for the grid cannot take more than the cathode gives; "
            f"found {tube.grid_perveance:g}",
        )


def _curves(points: Sequence[CurvePoint]) -> Iterator[Breach]:
    here: KeyPath = ("curve_points",)
    outside = [i for i, p in enumerate(points) if p[0] < LEAST_PLATE_VOLTS or p[1] > MOST_GRID_VOLTS]
    if outside:
        yield from _out_of_place(points, outside)
        return
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
        return
    largest = max(point[2] for point in points)
    for (i, one), (j, other) in combinations(enumerate(points), 2):
        if _contradict(one, other, largest):
            yield Breach(
                (*here, j),
                "contradicting_curves",
                f"{_shown(other)} contradicts entry {i + 1}, {_shown(one)}: current must not fall when plate or grid "
                "voltage rises while the other does not fall, and these are too far apart for a misreading; "
                "read both off again",
            )


def _out_of_place(points: Sequence[CurvePoint], outside: Sequence[int]) -> Iterator[Breach]:
    """Tell plate and grid voltages that no tube has, and say so where the columns are exchanged."""
    exchanged = all(p[1] >= LEAST_PLATE_VOLTS and p[0] <= MOST_GRID_VOLTS for p in points)
    for i in outside:
        plate, grid, *_ = points[i]
        if exchanged:
            message = (
                "the columns look like grid voltage, plate voltage; they are to be plate voltage, grid voltage, plate "
                "current: exchange the first two of every point"
            )
        elif plate < LEAST_PLATE_VOLTS:
            message = f"a plate voltage must be {LEAST_PLATE_VOLTS:g} V to 30 kV; found {_volts(plate)}"
        else:
            message = f"a grid voltage must be -30 kV to {_volts(MOST_GRID_VOLTS)}; found {_volts(grid)}"
        yield Breach(
            ("curve_points", i, 0 if exchanged or plate < LEAST_PLATE_VOLTS else 1),
            "swapped_columns" if exchanged else "out_of_range",
            message,
        )
        if exchanged:
            return


def _contradict(one: CurvePoint, other: CurvePoint, largest: float) -> bool:
    """Whether one point has far more current at no higher voltages, or twice the same voltages differ much."""
    low, high = sorted((one, other), key=lambda point: point[2])
    tolerance = max(MISREAD * high[2], LINE_WIDTH * largest)
    return high[2] - low[2] > tolerance and high[0] <= low[0] and high[1] <= low[1]


def _shown(point: CurvePoint) -> str:
    return ", ".join(
        format_quantity(v, u, trim=True) for v, u in zip(point[:3], ("V", "V", "A"), strict=True)
    )


def _volts(value: float) -> str:
    return format_quantity(value, "V", trim=True)


def _listed(keys: Sequence[str]) -> str:
    return keys[0] if len(keys) == 1 else f"{', '.join(keys[:-1])} and {keys[-1]}"
