"""Rules between keys of the amplifier file. Each rule yields what it finds broken, so that all are told at once."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import ValidationError
from pydantic_core import InitErrorDetails, PydanticCustomError

if TYPE_CHECKING:
    from netsim.description import models


@dataclass(frozen=True)
class Breach:
    """A broken rule: the key it stands at, a stable code, the rule with the values found and the remedy."""

    key: tuple[str | int, ...]
    code: str
    message: str


def enforce(breaches: Iterable[Breach]) -> None:
    """Raise all breaches as one pydantic ValidationError, each at its own key; nothing if there is none."""
    details = [
        InitErrorDetails(
            type=PydanticCustomError(breach.code, "{rule}", {"rule": breach.message}),
            loc=breach.key,
            input=None,
        )
        for breach in breaches
    ]
    if details:
        raise ValidationError.from_exception_data("rules", details)


def stage(stage: "models.Stage") -> Iterator[Breach]:
    yield from ()


def limits(limits: "models.Limits") -> Iterator[Breach]:
    yield from ()


def variable_capacitor(part: "models.VariableCapacitor") -> Iterator[Breach]:
    yield from ()


def network(network: "models.Network") -> Iterator[Breach]:
    yield from ()


def band(band: "models.Band") -> Iterator[Breach]:
    yield from ()


def amplifier(network: "models.Network", bands: Sequence["models.Band"]) -> Iterator[Breach]:
    yield from ()
