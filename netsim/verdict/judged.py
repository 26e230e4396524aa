"""One limit held against every network: value, limit, used fraction, and where close begins."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from netsim.circuit.elements import FloatArray, IndexArray
from netsim.circuit.tuning import BoolArray
from netsim.description.key_path import KeyPath
from netsim.verdict.result import Case, State

if TYPE_CHECKING:
    from netsim.verdict.solved import Solved

HARMONIC_MARGIN_DB = 3.0
"""Levels within this distance below the limit count as close."""

MATCH_LIMIT = 1.5
"""SWR of the plate impedance against the plate load above which power and dissipation suffer."""


class Check(NamedTuple):
    """What tells a finding from the others of its band and operating point."""

    code: str
    part: str
    quantity: str
    case: Case = "matched"


@dataclass(frozen=True)
class Judged:
    """One check of all networks; arrays of shape ``(networks,)``.

    Attributes
    ----------
    check : Check
        Which.
    value, limit : ndarray
        In SI; the value NaN where there is none.
    unit : str
        Of both.
    used : ndarray
        Used fraction as reported; NaN where none can be formed.
    close : float
        Strain above which a network counts as close.
    key : callable
        Gives, for a network, where in the file the limit is written, or failing that the part.
    strain : ndarray
        What decides: above 1 is over. The used fraction unless the rule says otherwise, infinite where there
        is none.
    applies : ndarray of bool
        Where there is something to judge.
    at_most : {"over", "close"}
        The worst that it can be.
    rating : str or None
        Key of the rating that is the limit, if it is one that another part could have higher.
    order, load : ndarray of int or None
        Which harmonic, and which antenna, is the worst of each network.
    apart : ndarray or None
        What tells the worse of networks that have no fraction.
    absent : ndarray of bool or None
        Where there is no value by the nature of the check, such as the setting of a match that does not exist.
    whole : bool
        Whether it is of the amplifier as a whole: one value, shape ``(1,)``, of no band and no frequency.
    """

    check: Check
    value: FloatArray
    limit: FloatArray
    unit: str
    used: FloatArray
    close: float
    key: Callable[[int], KeyPath]
    strain: FloatArray
    applies: BoolArray
    at_most: State = "over"
    rating: str | None = None
    order: IndexArray | None = None
    load: IndexArray | None = None
    apart: FloatArray | None = None
    absent: BoolArray | None = None
    whole: bool = False

    @property
    def undefined(self) -> BoolArray:
        """Where a value should stand and none does; an infinite one may stand for what is over."""
        wrong = np.isnan(self.value) | (np.isinf(self.value) & ~self.over)
        return np.asarray(self.applies & wrong & (True if self.absent is None else ~self.absent))

    @property
    def over(self) -> BoolArray:
        """Where the limit is exceeded."""
        return np.asarray(self.applies & (self.strain > 1) & (self.at_most == "over"))

    @property
    def near(self) -> BoolArray:
        """Where it is close."""
        return np.asarray(self.applies & (self.strain > self.close) & ~self.over)

    def state(self, row: int) -> State:
        """Return the state of one network."""
        return "over" if self.over[row] else "close" if self.near[row] else "pass"

    def worst(self, rows: IndexArray) -> int:
        """Return the network with the highest strain, the first of equals."""
        strain = self.strain[rows]
        alike = rows[strain == strain.max()]
        return int(alike[0] if self.apart is None else alike[np.argmax(self.apart[alike])])


def judged(
    check: Check,
    value: FloatArray,
    limit: FloatArray | float,
    unit: str,
    used: FloatArray,
    close: float,
    key: Callable[[int], KeyPath] | KeyPath,
    *,
    strain: FloatArray | None = None,
    applies: BoolArray | None = None,
    **more: Any,
) -> Judged:
    """Return one check of all networks, what follows from the rest filled in; see `Judged`."""
    shape = value.shape
    if strain is None:
        strain = np.where(np.isnan(used), np.inf, used)
    path = key if callable(key) else _always(key)
    applies = np.ones(shape, dtype=np.bool_) if applies is None else applies
    limit = np.broadcast_to(np.asarray(limit, dtype=np.float64), shape)
    return Judged(check, value, limit, unit, used, close, path, strain, applies, **more)


def _always(key: KeyPath) -> Callable[[int], KeyPath]:
    return lambda _: key


def rated(
    solved: "Solved",
    check: Check,
    value: FloatArray,
    limit: FloatArray | float,
    unit: str,
    key: KeyPath,
    **more: Any,
) -> Judged:
    """Return one check against a rating: used is their ratio, close what the file says."""
    close = solved.description.limits.close_to_rating
    return judged(check, value, limit, unit, value / limit, close, key, **more)


def rated_where_known(
    solved: "Solved", check: Check, value: FloatArray, limit: FloatArray, unit: str, key: KeyPath
) -> "Judged | NotRated":
    """Return the same where the rating, NaN where the file has none, is known in any network."""
    known = ~np.isnan(limit)
    if not known.any():
        return NotRated(check, unit, key[:-1], value, ~known)
    return rated(solved, check, value, limit, unit, key, applies=known)


def of_band(solved: "Solved", *key: str) -> Callable[[int], KeyPath]:
    """Return what gives, for a network, a key of its band, or the band's table."""
    return lambda row: ("bands", int(solved.assembly.band_index[row]), *key)


@dataclass(frozen=True)
class NotRated:
    """A check for which the file gives no limit.

    Attributes
    ----------
    check, unit, key
        As of `Judged`; the key is that of the table in which the limit is missing.
    value : ndarray
        What would be held against it, shape ``(networks,)``; NaN where it is not known.
    applies : ndarray of bool
        Where there is something to judge.
    """

    check: Check
    unit: str
    key: KeyPath
    value: FloatArray
    applies: BoolArray

    @property
    def worst(self) -> int:
        """The network with the highest value."""
        return int(np.argmax(np.where(self.applies & ~np.isnan(self.value), self.value, -np.inf)))


def fraction_of_window(value: FloatArray, low: FloatArray | float, high: FloatArray | float) -> FloatArray:
    """Return the use of a window, ``max(value / high, low / value)``; NaN where the value is not positive.

    A variable part's range is one, for the setting needed.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        used = np.maximum(value / high, low / value)
        return np.where(value > 0, used, np.nan)


def highest_level(levels: FloatArray, unknown: BoolArray) -> tuple[FloatArray, IndexArray]:
    """Return the highest level of orders 2 and on that are known, and its order.

    Parameters
    ----------
    levels : ndarray
        Of orders 1 to 10 [dBc], minus infinity where none flows, shape ``(networks, 10)``.
    unknown : ndarray of bool
        Orders to pass over, of that shape.

    Returns
    -------
    highest, order : ndarray
        Minus infinity and 0 where no order has a level; NaN where one that is not unknown is NaN.
    """
    levels = np.where(unknown, -np.inf, levels)[:, 1:]
    highest = levels.max(axis=1)
    return highest, np.where(highest == -np.inf, 0, np.argmax(levels, axis=1) + 2)


def strain_of_level(used: FloatArray, unknown: BoolArray, least: float = 1.0) -> FloatArray:
    """Return the strain of a level: at least `least` where an order is unknown, over where it is no number."""
    strain = np.maximum(used, np.where(unknown[:, 1:].any(axis=1), least, 0.0))
    return np.where(np.isnan(used), np.inf, strain)


def fraction_of_level(level: FloatArray, limit: float) -> FloatArray:
    """Return the use of a limit in decibels, as a ratio of amplitudes."""
    return np.asarray(10 ** ((level - limit) / 20))


def fraction_of_match(swr: FloatArray) -> FloatArray:
    """Return the use of the tolerated mismatch: 0 at a match, 1 at an SWR of 1.5."""
    return np.asarray((swr - 1) / (MATCH_LIMIT - 1))


def number(value: float) -> float | None:
    """Return a plain float, or None for what is not finite."""
    return float(value) if math.isfinite(value) else None
