"""What all tables of the amplifier file have in common, and how values in them are found and exchanged."""

from collections.abc import Callable, Iterator
from typing import Any, ClassVar, Self, TypeVar

from pydantic import BaseModel, ConfigDict, model_validator

from netsim.description.key_path import KeyPath
from netsim.description.models import keys as m
from netsim.description.models.rules import Breach, enforce

Rules = tuple[Callable[[Any], Iterator[Breach]], ...]
_ModelT = TypeVar("_ModelT", bound=BaseModel)


class Table(BaseModel):
    """One table of the file: unknown keys are mistakes, values never change once read, and its rules hold."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    between_keys: ClassVar[Rules] = ()

    @model_validator(mode="after")
    def _check_rules(self) -> Self:
        enforce(breach for rule in self.between_keys for breach in rule(self))
        return self


class Part(Table):
    """A part that may say where its figures come from."""

    source: m.Text | None = m.optional("Where the figures of this part come from")


def value_at(model: Any, path: KeyPath) -> Any:
    """Return what stands at a path of a model; None where a table on the way is absent."""
    for step in path:
        model = model[step] if isinstance(step, int) else getattr(model, step, None)
    return model


def with_value(model: _ModelT, path: KeyPath, value: Any) -> _ModelT:
    """Return a model with the value at a path exchanged; rules of the format are not checked."""
    name, *rest = path
    inner = value if not rest else _exchanged(getattr(model, str(name)), tuple(rest), value)
    return model.model_copy(update={str(name): inner})


def _exchanged(inner: Any, path: KeyPath, value: Any) -> Any:
    if not isinstance(inner, tuple):
        return with_value(inner, path, value)
    index, rest = int(path[0]), path[1:]
    changed = value if not rest else _exchanged(inner[index], rest, value)
    return (*inner[:index], changed, *inner[index + 1 :])
