"""A first way to mend a finding, with a number in it."""

import math

import numpy as np

from netsim.circuit.coil_choice import coil_for_loaded_q, coils_in_range
from netsim.circuit.parts import Parts
from netsim.circuit.sections import loaded_q
from netsim.circuit.tuning import largest_coil
from netsim.description.formatting import format_quantity
from netsim.verdict.judged import HARMONIC_MARGIN_DB
from netsim.verdict.solved import Solved

_CLEAR = 1.02
"""A setting this far inside its stop is taken as reachable."""

_ROUNDING = 1.006
"""Numbers are shown with three digits; what is to be a bound is moved first by what rounding may take."""


def for_rating(solved: Solved, name: str, code: str, rating: float, value: float, row: int) -> str:
    """Suggest how to bring a part's stress within its rating.

    Parameters
    ----------
    solved : Solved
        Of all networks.
    name, code : str
        Part and finding code.
    rating, value : float
        In the unit of the finding.
    row : int
        The network in question.
    """
    match code:
        case "part_voltage" | "part_unloaded_voltage":
            needed = at_least(_ask(solved, value), "V")
            if code == "part_unloaded_voltage":
                return f"a part rated {needed} pk or more; until then never tune at full supply with the antenna off"
            if value <= rating:
                return f"for more margin a part rated {needed} pk or more"
            return f"a part rated {needed} pk or more, or a plate voltage lower by {1 - rating / value:.0%}"
        case "part_power" if name == "suppressor":
            present = float(solved.assembly.parts.suppressor_inductance)
            smaller = present * math.sqrt(rating / _ask(solved, value))
            return (
                f"a suppressor coil of {at_most(smaller, 'H')} instead of "
                f"{format_quantity(present, 'H')} (loss goes as f^4 L^2), or a resistor rated "
                f"{at_least(_ask(solved, value), 'W')}"
            )
        case "part_power":
            part = getattr(solved.description.network, name)
            # ``unloaded_q`` where the winding's Q was measured; a computed Q is not for the owner to choose.
            present_q = part.unloaded_q or (None if part.winding else part.q)
            better = f", or a coil of q {present_q * value / rating:.0f} or more" if present_q else ""
            return f"a coil that sheds {at_least(_ask(solved, value), 'W')}{better}, or a lower loaded Q"
        case "part_reactive_power":
            return f"a part rated {at_least(_ask(solved, value), 'VA')} or more, or several in parallel"
    needed = at_least(_ask(solved, value), "A")
    if name == "plate_choke":
        return f"a choke rated {needed} rms or more"
    return f"a part rated {needed} rms or more, or a lower loaded Q (now {solved.loaded_q[row]:.1f})"


def for_loaded_q(solved: Solved, row: int) -> str:
    """Suggest the coil that brings the loaded Q to its target, if the capacitors allow it."""
    parts = solved.assembly.parts.take(np.array([row]))
    limits = solved.description.limits
    least = float(loaded_q(parts, parts.tune_minimum)[0])
    frequency = format_quantity(float(solved.frequency[row]), "Hz")
    if least > limits.loaded_q[1]:
        omega = 2 * math.pi * float(solved.frequency[row])
        surplus = (least - limits.loaded_q[1]) / omega / float(parts.plate_load[0])
        return (
            f"no coil helps while the plate side cannot go lower: at its minimum it already gives {least:.1f} "
            f"at {frequency}; take away {at_least(surplus, 'F')} of minimum, stray or padding"
        )
    aim, reason = limits.target_loaded_q, "the target"
    if least * _CLEAR > aim:
        aim, reason = least * _CLEAR, "about the least that the tune capacitor's minimum allows"
    coil = float(coil_for_loaded_q(parts, aim)[0])
    if math.isnan(coil):
        return f"no coil gives a loaded Q of {aim:.3g} at {frequency} with this plate load"
    return (
        f"a coil of {format_quantity(coil, 'H')} instead of {_present_coil(parts)} "
        f"for a loaded Q of {aim:.3g}, {reason}"
    )


def for_tuning_range(solved: Solved, quantity: str, row: int) -> str:
    """Suggest the padding that brings a capacitor's setting into its range, or a coil for the whole band."""
    parts = solved.assembly.parts.take(np.array([row]))
    needed = float(getattr(solved.settings, f"{quantity}_needed")[row])
    if math.isnan(needed):
        return for_no_match(solved, row)
    minimum, maximum = (float(getattr(parts, f"{quantity}_{end}")[0]) for end in ("minimum", "maximum"))
    if needed > maximum:
        short = at_least(needed - maximum, "F")
        present = float(getattr(parts, f"{quantity}_padding")[0])
        beside = f" beside the {format_quantity(present, 'F')} there" if present else ""
        return f"{short} or more of {quantity} padding{beside}{_or_coil(solved, row)}"
    surplus = minimum - needed
    removable = float(getattr(parts, f"{quantity}_padding")[0])
    if minimum <= needed:
        return f"no change needed yet; the setting is near its stop{_or_coil(solved, row)}"
    what = "padding" if removable >= surplus else "stray or minimum capacitance"
    return f"{at_least(surplus, 'F')} less {what} on the {quantity} side{_or_coil(solved, row)}"


def for_no_match(solved: Solved, row: int) -> str:
    """Name the largest coil for which the capacitors could match at all, on the whole band."""
    parts = _band(solved, row)
    largest = float(largest_coil(parts).min())
    load = format_quantity(float(parts.plate_load[0]), "ohm")
    if not math.isfinite(largest):
        return f"no coil near {_present_coil(parts)} transforms the antenna to {load}: check antenna and plate load"
    if largest < float(parts.coil[0]):
        return f"a coil of {at_most(largest, 'H')} at most (now {_present_coil(parts)}) for {load}"
    return f"a larger coil than {_present_coil(parts)}, up to {at_most(largest, 'H')}, for {load}"


def for_harmonic_level(solved: Solved, excess: float, row: int) -> str:
    """Suggest how to win the missing attenuation, `excess` in [dB].

    Well above the lowest loaded Q that matches, both capacitors grow with it and the coil shrinks, so the
    attenuation of every order rises by 20 log10 of the ratio; near that lowest Q it rises faster.
    """
    missing = f"{format_quantity(abs(excess), 'dB')} {'more attenuation' if excess > 0 else 'in hand'}"
    other = "a pi-L or a low-pass filter" if solved.assembly.parts.topology == "pi" else "a low-pass filter"
    if not solved.tuned[row]:
        return f"{missing}: first mend the match (SWR {solved.swr[row]:.2f} at the plate); then {other}"
    raised = float(solved.loaded_q[row]) * 10 ** ((excess + HARMONIC_MARGIN_DB) / 20)
    if raised > solved.description.limits.loaded_q[1]:
        return f"{missing}: {other}; a higher loaded Q would leave its window first"
    return (
        f"{missing}: {other}, or a loaded Q of about {raised:.0f} to end {HARMONIC_MARGIN_DB:g} dB "
        "below the limit (6 dB or more for each doubling)"
    )


def at_least(value: float, unit: str) -> str:
    """Write a lower bound, with enough to spare that rounding does not break it."""
    return format_quantity(value * _ROUNDING, unit)


def at_most(value: float, unit: str) -> str:
    """Write an upper bound in the same way."""
    return format_quantity(value / _ROUNDING, unit)


def _ask(solved: Solved, value: float) -> float:
    """Rating to ask for, so that the part ends below the mark for close."""
    return value / solved.description.limits.close_to_rating


def _present_coil(parts: Parts) -> str:
    return format_quantity(float(parts.coil[0]), "H")


def _band(solved: Solved, row: int) -> Parts:
    """Take all frequencies of the row's band: they share one coil."""
    index = solved.assembly.band_index
    return solved.assembly.parts.take(index == index[row])


def _or_coil(solved: Solved, row: int) -> str:
    parts = _band(solved, row)
    reach = coils_in_range(parts)
    low, high, present = float(reach.low.max()), float(reach.high.min()), float(parts.coil[0])
    if math.isnan(low) or low > high:
        return "; no coil alone brings both capacitors into range on the whole band"
    if low <= present <= high:
        return ""
    nearest = at_least(low, "H") if present < low else at_most(high, "H")
    return f", or a coil of {nearest} instead of {_present_coil(parts)}"
