"""Coils: what is rated, and how they are wound. Metres, henries, degrees Celsius; turns are plain numbers."""

from typing import Literal

from pydantic import Field, StrictBool

from netsim.description.models import keys as m
from netsim.description.models import winding_rules
from netsim.description.models.tables import Part, Table


class WindingSection(Table):
    """One section of a winding, in series with the one before: a solenoid, or a toroid on a ring core."""

    between_keys = (winding_rules.section,)

    kind: Literal["solenoid", "toroid"] = Field(description="solenoid, single layer; or toroid, ring core")
    turns: m.Turns = Field(description="Turns of the section; whole on a toroid")
    mean_diameter: m.CoilMetres | None = m.optional(
        "Solenoid: diameter of the turns, centre to centre of the conductor; this or one of the next two"
    )
    outside_diameter: m.CoilMetres | None = m.optional(
        "Solenoid: over the turns; mean_diameter is this less a conductor"
    )
    inside_diameter: m.CoilMetres | None = m.optional(
        "Solenoid: within the turns, as of its former; mean_diameter is this and a conductor"
    )
    pitch: m.PitchMetres | None = m.optional("Solenoid: distance from turn to turn; this or length")
    length: m.CoilMetres | None = m.optional("Solenoid: turns times pitch; this or pitch")
    conductor_diameter: m.ConductorMetres | None = m.optional("Solenoid: outer diameter of the wire or tube")
    wall: m.WallMetres | None = m.optional("Solenoid of tube: its wall, held against the skin depth")
    metal: Literal["copper", "aluminium", "silver", "silver-plated"] | None = m.optional(
        "Solenoid: copper if absent; silver-plated counts as copper, plating is seldom a skin deep"
    )
    gap: m.GapMetres | None = m.optional(
        "Solenoid: from the end of the solenoid before, along the same axis; of the output coil's "
        "first one: from the end of the tank coil"
    )
    perpendicular: StrictBool = m.optional(
        "Solenoid: on an axis of its own, at a right angle: no coupling", False
    )
    inductance_per_turn_squared: m.TurnHenries | None = m.optional(
        "Toroid: figure of the core, inductance over the square of the turns"
    )
    unloaded_q: m.UnloadedQ | None = m.optional("Toroid: unloaded Q at the working frequency")
    core_loss_share: m.Share = m.optional(
        "Toroid: share of its loss that is the core's, the rest the wire's", 0.5
    )

    @property
    def turn_diameter(self) -> float:
        """Diameter of the turns, centre to centre of the conductor [m]; of a solenoid."""
        wire = 0.0 if self.conductor_diameter is None else self.conductor_diameter
        if self.outside_diameter is not None:
            return self.outside_diameter - wire
        if self.inside_diameter is not None:
            return self.inside_diameter + wire
        # One of the three, by the rules of a section.
        return 0.0 if self.mean_diameter is None else self.mean_diameter

    @property
    def conducting_metal(self) -> Literal["copper", "aluminium", "silver"]:
        """Metal that carries the current; a plating is seldom as thick as the skin, so it counts as copper."""
        return self.metal if self.metal in ("aluminium", "silver") else "copper"

    @property
    def turn_pitch(self) -> float:
        """From turn to turn [m]; of a solenoid."""
        if self.pitch is not None:
            return self.pitch
        assert self.length is not None  # one of the two, by the rules of a section
        return self.length / self.turns


class Coil(Part):
    """The tank coil, or the output coil of a pi-L; inductances or turns in use stand with the bands."""

    between_keys = (winding_rules.coil,)

    q: m.UnloadedQ | None = m.optional("Unloaded Q at the working frequency where a band gives an inductance")
    current_rating: m.RatedAmperes | None = m.optional("Rated current, rms")
    power_rating: m.Watts | None = m.optional("Heat the coil can shed continuously")
    temperature_rating: m.HotCelsius | None = m.optional(
        "Highest temperature that former and joints bear; needs a winding"
    )
    winding: tuple[WindingSection, ...] = Field(
        default=(),
        max_length=m.MOST_SECTIONS,
        description="Sections in series from the plate end, coaxial unless perpendicular",
    )
    unused_turns: Literal["strap", "progressive", "open"] | None = m.optional(
        "strap: one loop from the tap to the far end; progressive: every switch segment a loop; "
        "strap if absent, open if a section is a toroid"
    )
    taps: tuple[m.Turns, ...] = Field(
        default=(),
        max_length=m.MOST_TAPS,
        description="Turns of the switch segments, rising from the plate end; those of the bands if absent",
    )
    tap_step: m.Turns = m.optional("Finest move of a tap worth naming, in turns", 0.25)
    lead_inductance: m.LeadHenries = m.optional("Of the leads and the switch", 0.0)
    strap_inductance: m.LeadHenries = m.optional("Of each strap that shorts turns, with its contacts", 20e-9)
    temperature: m.Celsius = m.optional("Of the coil's metal at work", 60.0)
    q_allowance: m.Allowance = m.optional("Share of the computed Q that leads, switch and cabinet leave", 0.7)
    unloaded_q: m.UnloadedQ | None = m.optional(
        "Measured on the coil in place: replaces the computed Q, no allowance"
    )

    @property
    def turns(self) -> float:
        """Turns of the whole winding."""
        return sum(section.turns for section in self.winding)

    @property
    def shorting(self) -> Literal["strap", "progressive", "open"]:
        """What becomes of the unused turns, as written or by default."""
        wound_on_core = any(section.kind == "toroid" for section in self.winding)
        return self.unused_turns or ("open" if wound_on_core else "strap")


class OutputCoil(Coil):
    """The output coil of a pi-L."""

    coupling: m.CouplingCoefficient | None = m.optional(
        "Coefficient to the tank coil; negative where their windings oppose"
    )

    @property
    def is_placed(self) -> bool:
        """Whether the winding says how it stands to the tank coil's: so far on along its axis, or at a right angle."""
        return any(section.perpendicular or section.gap is not None for section in self.winding[:1])


class PlainWinding(Table):
    """A single layer of wire, for what is known well enough by its outline. Metres."""

    between_keys = (winding_rules.plain,)

    turns: m.Turns = Field(description="Turns")
    diameter: m.CoilMetres = Field(description="Diameter of the turns, centre to centre of the wire")
    length: m.CoilMetres = Field(description="Length of the winding")
    conductor_diameter: m.ConductorMetres | None = m.optional("Diameter of the wire without insulation")
