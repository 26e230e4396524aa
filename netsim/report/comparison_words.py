"""What the quantities of a comparison are called, and how their values are written."""

from netsim.advice.quantities import Quantity
from netsim.description.formatting import NOTHING, format_quantity

LABELS = {
    "plate_load_ohm": "plate load",
    "dc_input_watt": "DC input",
    "parts": "parts",
    "over": "findings over",
    "close": "findings close",
    "loaded_q": "loaded Q",
    "tune_farad": "tune setting",
    "load_farad": "load setting",
    "coil_henry": "coil",
    "output_coil_henry": "output coil",
    "efficiency": "least efficiency",
    "output_watt": "least output",
    "plate_dissipation_watt": "most dissipation",
    "harmonic_level_dbc": "worst harmonic",
    "used_fraction": "worst used",
    "least_plate_load_ohm": "serves from",
    "most_plate_load_ohm": "serves up to",
}
"""What is not here is left out."""

FOOTNOTE = (
    "Settings, coils and loaded Q at each band's first frequency; plate loads with loaded Q in its window."
)

_PERCENT = {"efficiency", "used_fraction"}


def shown(quantity: Quantity, value: float | None) -> str:
    """Write a value of a quantity."""
    if value is None:
        return NOTHING
    if quantity.name in _PERCENT:
        return f"{value:.1%}"
    if quantity.unit == "dB":
        return f"{value:.1f} dB"
    if quantity.name in ("parts", "over", "close"):
        return f"{value:.0f}"
    return format_quantity(value, quantity.unit)


def difference_shown(quantity: Quantity) -> str:
    """Write how far the second is from the first, with its sign."""
    step = quantity.difference
    text = shown(quantity, step)
    is_nothing = not text.partition(" ")[0].strip("0.%")
    return f"{'+' if step is not None and step > 0 and not is_nothing else ''}{text}"
