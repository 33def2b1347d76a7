"""Where an outline crosses itself, against a plain comparison of every side with every other."""

from __future__ import annotations

import math
import random
import time
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stockroom.domain.crossing import crossing, room
from stockroom.domain.refusal import Refusal

Point = tuple[int, int]
points_lists = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=9)


def share_a_point(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two closed sides have a point in common, in exact fractions of the first side."""
    from fractions import Fraction

    rx, ry, sx, sy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    cross = rx * sy - ry * sx
    qx, qy = c[0] - a[0], c[1] - a[1]
    if cross:
        t, u = Fraction(qx * sy - qy * sx, cross), Fraction(qx * ry - qy * rx, cross)
        return 0 <= t <= 1 and 0 <= u <= 1
    if qx * ry - qy * rx:
        return False
    length = rx * rx + ry * ry
    first, last = sorted((qx * rx + qy * ry, (qx + sx) * rx + (qy + sy) * ry))
    return first <= length and last >= 0


def crosses(points: list[Point]) -> bool:
    count = len(points)
    sides = [(points[n], points[(n + 1) % count]) for n in range(count)]
    for one, other in combinations(range(count), 2):
        if other - one in (1, count - 1):
            a, b, c = (*sides[one], sides[other][1]) if other - one == 1 else (*sides[other], sides[one][1])
            straight = (b[0] - a[0]) * (c[1] - b[1]) == (b[1] - a[1]) * (c[0] - b[0])
            if straight and (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0:
                return True
        elif share_a_point(*sides[one], *sides[other]):
            return True
    return False


@given(points_lists)
def test_an_outline_is_found_to_cross_itself_exactly_where_it_does(points: list[Point]) -> None:
    assume(all(points[n - 1] != points[n] for n in range(len(points))))
    assume(len(points) > 3 or len(set(points)) == 3)
    assert (crossing(points) is not None) == crosses(points)


def test_the_sides_that_meet_are_named() -> None:
    assert crossing([(0, 0), (10, 10), (10, 0), (0, 10)]) == (0, 2)
    assert crossing([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)]) is not None
    assert crossing([(0, 0), (10, 0), (10, 10), (0, 10)]) is None


def test_thousands_of_points_take_no_time_to_speak_of() -> None:
    chance = random.Random(1)
    circle = [
        (
            round(9000 * math.cos(n / 5000 * math.tau)),
            round((9000 - chance.randrange(3)) * math.sin(n / 5000 * math.tau)),
        )
        for n in range(5000)
    ]
    plain = [point for number, point in enumerate(circle) if point != circle[number - 1]]
    start = time.perf_counter()
    crossing(plain)
    assert time.perf_counter() - start < 2


def test_thousands_of_teeth_across_each_other_are_refused_before_they_take_long() -> None:
    teeth = [(10 * n + 5000 * (n % 2), 10 * n - 5000 * (n % 2)) for n in range(4900)] + [(60000, 60000), (-6000, 60000)]
    start = time.perf_counter()
    with pytest.raises(Refusal, match="too tangled"):
        crossing(teeth)
    assert time.perf_counter() - start < 10


def test_room_is_the_distance_of_the_nearest_side() -> None:
    square = [(0, 0), (100, 0), (100, 100), (0, 100)]
    assert room(square, (30, 50)) == 30
    assert room([(0, 0), (30, 0), (0, 40)], (30, 40)) == 24
    assert math.isclose(room([(0, 0), (30, 0), (0, 40)], (0, 0)), 0)
