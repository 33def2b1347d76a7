"""Where a closed outline crosses or touches itself, found without comparing every side with every other."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stockroom.domain.refusal import Refusal

Point = tuple[int, int]
_MOST_COMPARED = 400_000
"""Pairs of sides that are compared before an outline is given up as tangled."""


def crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Two sides of the closed outline that cross, touch or fold back on each other; `None` where it is simple.

    A side is told by the number (from 0) of the point it begins at. Sides are met in the order of their left ends and
    compared only with those they overlap in x and y, so an outline of thousands of points takes no time to speak of.
    Raises `Refusal` where that is not so: thousands of long sides that lie across each other.

    >>> crossing([(0, 0), (10, 10), (10, 0), (0, 10)])
    (0, 2)
    """
    count = len(points)
    sides = [(points[index], points[(index + 1) % count]) for index in range(count)]
    order = sorted(range(count), key=lambda index: min(sides[index][0][0], sides[index][1][0]))
    near: list[int] = []
    compared = 0
    for index in order:
        (ax, ay), (bx, by) = sides[index]
        left, low, high = min(ax, bx), min(ay, by), max(ay, by)
        near = [other for other in near if max(sides[other][0][0], sides[other][1][0]) >= left]
        compared += len(near)
        if compared > _MOST_COMPARED:
            raise Refusal(f"The outline of {count} points is too tangled to be checked. Draw it with fewer points.")
        for other in near:
            (_, cy), (_, dy) = sides[other]
            if min(cy, dy) <= high and max(cy, dy) >= low and _collide(sides, index, other):
                return min(index, other), max(index, other)
        near.append(index)
    return None


def room(points: Sequence[Point], centre: Point) -> float:
    """How far (mm) the nearest side of the closed outline is from `centre`."""
    return min(_distance(start, end, centre) for start, end in zip(points, [*points[1:], points[0]], strict=True))


def _collide(sides: Sequence[tuple[Point, Point]], one: int, other: int) -> bool:
    count = len(sides)
    if (one + 1) % count == other:
        return _folds_back(*sides[one], sides[other][1])
    if (other + 1) % count == one:
        return _folds_back(*sides[other], sides[one][1])
    return _meet(*sides[one], *sides[other])


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the sides a–b and c–d, whose boxes overlap, have a point in common."""
    one, two = _turn(a, b, c), _turn(a, b, d)
    three, four = _turn(c, d, a), _turn(c, d, b)
    return not ((one > 0 and two > 0) or (one < 0 and two < 0) or (three > 0 and four > 0) or (three < 0 and four < 0))


def _folds_back(a: Point, b: Point, c: Point) -> bool:
    return _turn(a, b, c) == 0 and (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0


def _turn(a: Point, b: Point, c: Point) -> int:
    """Positive where the way from a by b to c turns left, negative right, 0 straight."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _distance(a: Point, b: Point, p: Point) -> float:
    along_x, along_y = b[0] - a[0], b[1] - a[1]
    square = along_x * along_x + along_y * along_y
    share = 0.0 if square == 0 else ((p[0] - a[0]) * along_x + (p[1] - a[1]) * along_y) / square
    share = min(1.0, max(0.0, share))
    return math.hypot(p[0] - a[0] - share * along_x, p[1] - a[1] - share * along_y)
