"""The outline of where a map is positive, column by column."""

import numpy as np

from netsim.circuit.elements import FloatArray
from netsim.report.figures.chart import line

Run = tuple[float, float]

_FINEST = 0.15
"""What no eye sees in a drawing [px]."""


def outline(field: FloatArray, x: FloatArray, y: FloatArray) -> str:
    """Trace where a field ``(rows, columns)`` is positive, at places ``(columns,)`` and ``(rows,)`` of the drawing.

    The result is the data of a path: one closed polygon for each stretch of columns whose runs belong together.
    Between rows the field is taken to be straight; NaN counts as negative.
    """
    columns = [_runs(column, y) for column in np.nan_to_num(field, nan=-1.0).T]
    shapes: list[str] = []
    first = 0
    for place in range(1, len(columns) + 1):
        if place < len(columns) and _go_on(columns[place - 1], columns[place]):
            continue
        shapes += _polygons(columns[first:place], _places(x, first, place))
        first = place
    return "".join(shapes)


def _runs(column: FloatArray, y: FloatArray) -> list[Run]:
    """Give both ends of every run of positive values."""
    positive = np.concatenate([[False], column > 0, [False]])
    changes = np.flatnonzero(positive[1:] != positive[:-1])
    ends = []
    for change in changes.tolist():
        if change in (0, len(column)):
            ends.append(float(y[min(change, len(column) - 1)]))
            continue
        below, above = float(column[change - 1]), float(column[change])
        share = below / (below - above)
        ends.append(float(y[change - 1] + share * (y[change] - y[change - 1])))
    return list(zip(ends[::2], ends[1::2], strict=True))


def _go_on(before: list[Run], after: list[Run]) -> bool:
    """Tell whether the runs of two neighbouring columns belong together one by one."""
    return len(before) == len(after) and all(
        min(a) <= max(b) and min(b) <= max(a) for a, b in zip(before, after, strict=True)
    )


def _places(x: FloatArray, first: int, end: int) -> FloatArray:
    """Give the columns' places, the outer ones moved half-way to their neighbours outside."""
    places = x[first:end].astype(np.float64)
    left = places[0] if first == 0 else (x[first - 1] + x[first]) / 2
    right = places[-1] if end == len(x) else (x[end - 1] + x[end]) / 2
    return np.concatenate([[left], places, [right]])


def _polygons(columns: list[list[Run]], places: FloatArray) -> list[str]:
    shapes = []
    for number in range(len(columns[0])):
        runs = np.array([column[number] for column in (columns[0], *columns, columns[-1])])
        x, y = _kept(places, runs[:, 0])
        back_x, back_y = _kept(places, runs[:, 1])
        shapes.append(line(np.concatenate([x, back_x[::-1]]), np.concatenate([y, back_y[::-1]])) + "Z")
    return shapes


def _kept(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Leave out points that a line through the others meets all the same."""
    keep = np.zeros(len(x), dtype=np.bool_)
    keep[[0, -1]] = True
    waiting = [(0, len(x) - 1)]
    while waiting:
        first, last = waiting.pop()
        between = slice(first + 1, last)
        slope = (y[last] - y[first]) / max(x[last] - x[first], _FINEST)
        off = np.abs(y[between] - y[first] - slope * (x[between] - x[first]))
        if off.size and off.max() > _FINEST:
            farthest = first + 1 + int(np.argmax(off))
            keep[farthest] = True
            waiting += [(first, farthest), (farthest, last)]
    return x[keep], y[keep]
