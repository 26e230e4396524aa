"""Other ways of running the same amplifier: a lower supply tap, carrier mode, reduced current."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, Field, ValidationError

from netsim.description.key_path import KeyPath, folded
from netsim.description.models import keys as m
from netsim.description.models import rules
from netsim.description.models.tables import Table

if TYPE_CHECKING:
    from netsim.description.models.amplifier import Band, Stage

_StageT = TypeVar("_StageT", bound=BaseModel)
_EXCLUSIVE = {"plate_load": "minimum_plate_voltage", "minimum_plate_voltage": "plate_load"}


class OperatingPoint(Table):
    """The stage under other conditions: keys of [stage] that differ. Units as there."""

    between_keys = (rules.swing_or_load,)

    name: m.Text = Field(description="Name of the operating point, different from all others")
    bands: tuple[m.Text, ...] | None = Field(
        default=None, min_length=1, description="Names of the bands it is used on; all if absent"
    )
    plate_voltage: m.PlateVolts | None = m.optional("Instead of stage.plate_voltage")
    no_load_plate_voltage: m.PlateVolts | None = m.optional("Instead of stage.no_load_plate_voltage")
    plate_current: m.Amperes | None = m.optional("Instead of stage.plate_current")
    conduction_angle: m.Angle | None = m.optional("Instead of stage.conduction_angle")
    pulse: m.Pulse | None = m.optional("Instead of stage.pulse")
    minimum_plate_voltage: m.MinimumVolts | None = m.optional(
        "Instead of stage.minimum_plate_voltage or stage.plate_load"
    )
    plate_load: m.PlateOhms | None = m.optional("Instead of stage.plate_load or stage.minimum_plate_voltage")
    duty: m.DutyFraction | None = m.optional("Instead of stage.duty")
    drive_voltage_peak: m.DriveVolts | None = m.optional("Instead of stage.drive_voltage_peak")
    output_capacitance: m.SmallFarads | None = m.optional("Instead of stage.output_capacitance")
    dissipation_rating: m.Watts | None = m.optional("Instead of stage.dissipation_rating")
    grid_current_rating: m.GridAmperes | None = m.optional("Instead of stage.grid_current_rating")
    grid_dissipation_rating: m.Watts | None = m.optional("Instead of stage.grid_dissipation_rating")

    def serves(self, band: str) -> bool:
        """Tell whether the operating point is used on a band."""
        return self.bands is None or folded(band) in map(folded, self.bands)

    def of(self, stage: _StageT) -> _StageT:
        """Give the stage as it runs at this point; `breaches` tells whether it keeps the rules of a stage."""
        differing = {
            key: getattr(self, key) for key in type(self).model_fields if key not in ("name", "bands")
        }
        differing = {key: value for key, value in differing.items() if value is not None}
        displaced = {_EXCLUSIVE[key]: None for key in differing if key in _EXCLUSIVE}
        return stage.model_copy(update={**displaced, **differing})


def breaches(
    points: Sequence[OperatingPoint], stage: "Stage", bands: Sequence["Band"]
) -> Iterator[rules.Breach]:
    """Want names of their own, bands that exist, and stages that keep the rules of [stage]."""
    names = [band.name for band in bands]
    at_points = sum(len(band.frequencies) for point in points for band in bands if point.serves(band.name))
    networks = sum(len(band.frequencies) for band in bands) + at_points
    if at_points and networks > m.MOST_FREQUENCIES:
        yield rules.Breach(
            ("operating_points",),
            "too_many_frequencies",
            f"{m.MOST_FREQUENCIES} frequencies in all bands and at all operating points are the most that is "
            f"solved; found {networks}: name the bands that a point serves, or give the ends of each band",
        )
    seen: set[str] = set()
    for index, point in enumerate(points):
        here: KeyPath = ("operating_points", index)
        if folded(point.name) in seen:
            yield rules.Breach(
                (*here, "name"),
                "duplicate_name",
                f"{point.name!r} is the name of an earlier operating point; change one",
            )
        seen.add(folded(point.name))
        for number, name in enumerate(point.bands or ()):
            if folded(name) not in map(folded, names):
                have = ", ".join(repr(entry) for entry in names)
                yield rules.Breach(
                    (*here, "bands", number),
                    "unknown_band",
                    f"there is no band {name!r}; the file has {have}: name one of these",
                )
        try:
            type(stage).model_validate(point.of(stage).model_dump(exclude_none=True))
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                key = detail["loc"] if detail["loc"] and detail["loc"][0] in point.model_fields_set else ()
                yield rules.Breach((*here, *key), detail["type"], f"with [stage] as it is: {detail['msg']}")
