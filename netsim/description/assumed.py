"""Typical values, with limits, for what an amplifier file leaves out. Common practice, no source."""

from typing import NamedTuple

from netsim.description.key_path import KeyPath
from netsim.description.limited import Limited
from netsim.description.models.amplifier import Description
from netsim.description.models.capacitors import Padding
from netsim.description.models.tables import value_at, with_value

_COIL_Q = Limited(200, 100, 400)
_Q_ALLOWANCE = Limited(0.7, 0.6, 0.8)
_VARIABLE_CAPACITOR_Q = Limited(1500, 500, 5000)
_FIXED_CAPACITOR_Q = Limited(1000, 300, 3000)
_CHOKE_Q = Limited(100, 30, 200)
TYPICAL: dict[KeyPath, Limited] = {
    ("network", "plate_choke", "q"): _CHOKE_Q,
    ("network", "blocking_capacitor", "q"): _FIXED_CAPACITOR_Q,
    ("network", "tune_capacitor", "q"): _VARIABLE_CAPACITOR_Q,
    ("network", "tune_capacitor", "stray"): Limited(8e-12, 4e-12, 16e-12),
    ("network", "tune_padding", "q"): _FIXED_CAPACITOR_Q,
    ("network", "coil", "q"): _COIL_Q,
    ("network", "coil", "q_allowance"): _Q_ALLOWANCE,
    ("network", "load_capacitor", "q"): _VARIABLE_CAPACITOR_Q,
    ("network", "load_capacitor", "stray"): Limited(15e-12, 8e-12, 30e-12),
    ("network", "load_padding", "q"): _FIXED_CAPACITOR_Q,
    ("network", "output_coil", "q"): _COIL_Q,
    ("network", "output_coil", "q_allowance"): _Q_ALLOWANCE,
    ("network", "output_choke", "q"): _CHOKE_Q,
    ("input", "coil_q"): _COIL_Q,
}


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
        for path, typical in TYPICAL.items()
        if _counts(description, path) and not _is_given(description, path)
    )


def completed(description: Description) -> Description:
    """Return the description with typical values for what it leaves out."""
    for assumed in assumed_values(description):
        *table, _ = assumed.path
        if value_at(description, tuple(table)) is None:  # paddings are used without a table of their own
            description = with_value(description, tuple(table), Padding())
        description = with_value(description, assumed.path, assumed.nominal)
    return description


def _counts(description: Description, path: KeyPath) -> bool:
    """Tell whether anything in the circuit depends on a key."""
    if path[0] == "input":
        return description.input is not None and description.input.topology == "pi"
    _, name, key = (str(step) for step in path)
    part, bands = getattr(description.network, name), description.bands
    if name.endswith("_padding"):
        return any(getattr(band, name) is not None for band in bands)
    if part is None or name not in ("coil", "output_coil"):
        return part is not None
    if key == "q":  # of the coils that bands give by inductance
        return any(getattr(band, name) is not None for band in bands)
    return part.unloaded_q is None and any(getattr(band, f"{name}_turns") is not None for band in bands)


def _is_given(description: Description, path: KeyPath) -> bool:
    *table, key = path
    part = value_at(description, tuple(table))
    return part is not None and key in part.model_fields_set and getattr(part, str(key)) is not None
