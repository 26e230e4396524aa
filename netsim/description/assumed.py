"""Typical values, with limits, for what an amplifier file leaves out. Common practice, no source."""

from collections.abc import Iterator
from typing import NamedTuple

from netsim.description.key_path import KeyPath
from netsim.description.models.amplifier import Band, Description
from netsim.description.models.capacitors import Padding
from netsim.description.models.coils import Coil
from netsim.description.models.tables import value_at, with_value


class Typical(NamedTuple):
    """A usual value and the limits it lies between, in SI units."""

    nominal: float
    low: float
    high: float


COIL_Q = Typical(200, 100, 400)
Q_ALLOWANCE = Typical(0.7, 0.6, 0.8)
VARIABLE_CAPACITOR_Q = Typical(1500, 500, 5000)
FIXED_CAPACITOR_Q = Typical(1000, 300, 3000)
CHOKE_Q = Typical(100, 30, 200)
STRAY = {"tune": Typical(8e-12, 4e-12, 16e-12), "load": Typical(15e-12, 8e-12, 30e-12)}


class AssumedValue(NamedTuple):
    """What stands in for a key that a file leaves out.

    Attributes
    ----------
    path : tuple of str
        Such as ``("network", "coil", "q")``.
    nominal, low, high : float
        In ``unit``.
    unit : str
        ``F``, or ``1`` for a plain number.
    """

    path: KeyPath
    nominal: float
    low: float
    high: float
    unit: str


def assumed_values(description: Description) -> tuple[AssumedValue, ...]:
    """Return what is assumed of the parts that are there; of an absent part nothing is."""
    return tuple(
        AssumedValue(path, *typical, "F" if path[-1] == "stray" else "1")
        for path, typical in _candidates(description)
        if not _is_given(description, path)
    )


def completed(description: Description) -> Description:
    """Return the description with typical values for what it leaves out."""
    for assumed in assumed_values(description):
        *table, _ = assumed.path
        if value_at(description, tuple(table)) is None:  # paddings are used without a table of their own
            description = with_value(description, tuple(table), Padding())
        description = with_value(description, assumed.path, assumed.nominal)
    return description


def _candidates(description: Description) -> Iterator[tuple[KeyPath, Typical]]:
    network, bands = description.network, description.bands
    for side in ("tune", "load"):
        yield ("network", f"{side}_capacitor", "q"), VARIABLE_CAPACITOR_Q
        yield ("network", f"{side}_capacitor", "stray"), STRAY[side]
        if any(getattr(band, f"{side}_padding") is not None for band in bands):
            yield ("network", f"{side}_padding", "q"), FIXED_CAPACITOR_Q
    if network.blocking_capacitor is not None:
        yield ("network", "blocking_capacitor", "q"), FIXED_CAPACITOR_Q
    for name in ("plate_choke", "output_choke"):
        if getattr(network, name) is not None:
            yield ("network", name, "q"), CHOKE_Q
    for name in ("coil", "output_coil"):
        yield from _of_coil(getattr(network, name), name, bands)


def _of_coil(part: Coil | None, name: str, bands: tuple[Band, ...]) -> Iterator[tuple[KeyPath, Typical]]:
    if part is None:
        return
    if any(getattr(band, name) is not None for band in bands):
        yield ("network", name, "q"), COIL_Q
    wound = any(getattr(band, f"{name}_turns") is not None for band in bands)
    if wound and part.unloaded_q is None:
        yield ("network", name, "q_allowance"), Q_ALLOWANCE


def _is_given(description: Description, path: KeyPath) -> bool:
    *table, key = path
    part = value_at(description, tuple(table))
    return part is not None and key in part.model_fields_set and getattr(part, str(key)) is not None
