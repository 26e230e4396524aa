"""What all tables of the amplifier file have in common."""

from pydantic import BaseModel, ConfigDict, Field

from netsim.description.models import keys as m


class Table(BaseModel):
    """One table of the file: unknown keys are mistakes, values never change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Part(Table):
    """A part that may say where its figures come from."""

    source: m.Text | None = Field(default=None, description="Where the figures of this part come from")
