"""Arithmetic of outlines drawn as points in whole mm: areas, boxes, edges, mirror images and allowances.

Everything is rounded so that a piece is never smaller, and an edge never shorter, than it is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from stockroom.domain.kitbook import Outline

Point = tuple[int, int]
Points = tuple[Point, ...]
CORNER_DEGREES = 30
"""A turn sharper than this is a corner; a gentler one is part of a curve drawn as points."""
_CORNER_COSINE = math.cos(math.radians(CORNER_DEGREES))
_FINE = 10**6
"""Parts of a mm that single lengths are reckoned in before they are added up."""


@dataclass(frozen=True, slots=True)
class Box:
    """The upright rectangle around an outline, in mm.

    >>> Box.around([(10, 5), (40, 5), (40, 90)]).width_mm
    30
    """

    left: int
    bottom: int
    right: int
    top: int

    @classmethod
    def around(cls, points: Iterable[Point]) -> Box:
        """The smallest box that holds every point."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))

    @property
    def width_mm(self) -> int:
        """Extent in x."""
        return self.right - self.left

    @property
    def length_mm(self) -> int:
        """Extent in y."""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True)
class Run:
    """One run of edging along an outline, with what it passes."""

    length_mm: int
    """Along the edge, rounded up."""
    corners: int
    """Corners it is taken round."""
    closed: bool
    """It meets itself: one join and no free end."""
    edges: tuple[str, ...]


def twice_area(points: Sequence[Point]) -> int:
    """Twice the area in mm²; positive where the points run anticlockwise.

    >>> twice_area([(0, 0), (10, 0), (10, 10)])
    100
    """
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True))


def area_mm2(points: Sequence[Point]) -> int:
    """Area in whole mm², rounded up."""
    return -(-abs(twice_area(points)) // 2)


def moved(points: Sequence[Point], dx: int, dy: int) -> Points:
    """The same points, moved."""
    return tuple((x + dx, y + dy) for x, y in points)


def mirrored(outline: Outline) -> Outline:
    """The mirror image about the upright middle of its own box. Points keep their numbers, so edges keep their names.

    >>> mirrored(Outline('w', ((0, 0), (30, 0), (0, 40)), {'low': (0, 1)})).points
    ((30, 0), (0, 0), (30, 40))
    """
    box = Box.around(outline.points)
    across = box.left + box.right
    return Outline(
        outline.code,
        tuple((across - x, y) for x, y in outline.points),
        outline.edges,
        tuple((across - x, y) for x, y in outline.notches),
    )


def run_points(outline: Outline, edge: str) -> Points:
    """The points of a named edge, first to last; where both are the same point, once round."""
    first, last = outline.edges[edge]
    return _between(outline.points, first, last)


def edge_length_mm(outline: Outline, edge: str) -> int:
    """Length along a named edge, rounded up."""
    return length_mm(run_points(outline, edge))


def length_mm(points: Sequence[Point]) -> int:
    """Length along open points, rounded up to whole mm; never less than it is.

    >>> length_mm([(0, 0), (3, 4)]), length_mm([(0, 0), (1, 1), (2, 2)])
    (5, 3)
    """
    fine = 0
    for (ax, ay), (bx, by) in pairwise(points):
        square = ((bx - ax) ** 2 + (by - ay) ** 2) * _FINE * _FINE
        root = math.isqrt(square)
        fine += root if root * root == square else root + 1
    return -(-fine // _FINE)


def corners(points: Sequence[Point]) -> int:
    """How many corners lie between the ends of open points.

    >>> corners([(0, 0), (100, 0), (100, 100), (101, 200)])
    1
    """
    return sum(_is_corner(a, b, c) for a, b, c in zip(points, points[1:], points[2:], strict=False))


def edging_runs(outline: Outline, edges: Sequence[str]) -> tuple[Run, ...]:
    """Named edges joined into runs: those that touch are one run, and one that meets itself is closed."""
    chains: list[list[str]] = []
    left = list(edges)
    while left:
        chain = [left.pop(0)]
        while (touching := _touching(outline, chain, left)) is not None:
            edge, at = touching
            left.remove(edge)
            chain.insert(at, edge)
        chains.append(chain)
    return tuple(_run(outline, chain) for chain in chains)


def grown(points: Points, runs: Sequence[tuple[int, int, int]]) -> Points:
    """The outline with an allowance outside some of its edges: `runs` are (first point, last point, allowance in mm).

    Everything within the allowance straight out from a named edge is inside the result, and so is the whole of the
    outline. Where the edge is so hollow that the allowance would fold over itself, the result is the convex hull:
    larger, and safe.

    >>> grown(((0, 0), (100, 0), (100, 50), (0, 50)), [(0, 1, 20)])
    ((0, 0), (0, -20), (100, -20), (100, 0), (100, 50), (0, 50))
    """
    return _grown(points, tuple(run for run in runs if run[2] > 0))


def grown_edges(outline: Outline, overlong_mm: Mapping[str, int]) -> Points:
    """`grown` by edge names."""
    return grown(outline.points, [(*outline.edges[edge], mm) for edge, mm in overlong_mm.items()])


@lru_cache(maxsize=4096)
def _grown(points: Points, runs: tuple[tuple[int, int, int], ...]) -> Points:
    allowances = [0] * len(points)
    for first, last, allowance in runs:
        sides = (last - first) % len(points) or len(points)
        for side in range(first, first + sides):
            allowances[side % len(points)] = max(allowances[side % len(points)], allowance)
    outward = 1 if twice_area(points) > 0 else -1
    strips: list[Point] = []
    result: list[Point] = []
    for index, point in enumerate(points):
        before, after = points[index - 1], points[(index + 1) % len(points)]
        outer = _moved_out(
            point,
            _normal(before, point, outward),
            _normal(point, after, outward),
            (allowances[index - 1], allowances[index]),
        )
        result += outer
        for normal, allowance in (
            (_normal(before, point, outward), allowances[index - 1]),
            (_normal(point, after, outward), allowances[index]),
        ):
            strips.append(_stepped(point, normal, allowance))
    if runs and not (is_simple(result) and abs(twice_area(result)) >= abs(twice_area(points))):
        return convex_hull([*points, *strips])
    return tuple(result)


def _moved_out(
    point: Point, before: tuple[float, float], after: tuple[float, float], allowances: tuple[int, int]
) -> list[Point]:
    """Where a point goes when its two sides (given by their outward normals) are moved out, each by its allowance."""
    first, second = allowances
    if not first and not second:
        return [point]
    if not first:
        return [point, _stepped(point, after, second)]
    if not second:
        return [_stepped(point, before, first), point]
    mitre = _mitre(before, after, first, second)
    if mitre is not None:
        return [(point[0] + mitre[0], point[1] + mitre[1])]
    return [_stepped(point, before, first), _stepped(point, after, second)]


def _mitre(before: tuple[float, float], after: tuple[float, float], first: int, second: int) -> Point | None:
    """Where two sides meet once both are moved out; nothing where that is far away."""
    for more in (0, 1):
        a, b = first + more, second + more
        across = before[0] * after[1] - before[1] * after[0]
        if abs(across) < 1e-6:
            if a != b or before[0] * after[0] + before[1] * after[1] < 0:
                return None
            x, y = before[0] * a, before[1] * a
        else:
            x, y = (a * after[1] - b * before[1]) / across, (b * before[0] - a * after[0]) / across
        if math.hypot(x, y) > 2 * max(a, b):
            return None
        if more or (abs(x - round(x)) < 1e-6 and abs(y - round(y)) < 1e-6):
            return round(x), round(y)
    return None


def _stepped(point: Point, by: tuple[float, float], allowance: int) -> Point:
    """A point moved out, to whole mm away from it: never short of the allowance."""
    return point[0] + _away(by[0] * allowance), point[1] + _away(by[1] * allowance)


def _away(part: float) -> int:
    return math.floor(part + 1e-9) if part < 0 else math.ceil(part - 1e-9)


def _normal(a: Point, b: Point, outward: int) -> tuple[float, float]:
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy) or 1.0
    return dy / length * outward, -dx / length * outward


def convex_hull(points: Sequence[Point]) -> Points:
    """The tightest outline without hollows around all points, anticlockwise.

    >>> convex_hull([(0, 0), (4, 0), (2, 1), (4, 4), (0, 4)])
    ((0, 0), (4, 0), (4, 4), (0, 4))
    """
    ordered = sorted(set(points))
    halves: list[Point] = []
    for line in (ordered, ordered[::-1]):
        half: list[Point] = []
        for point in line:
            while len(half) > 1 and _turn(half[-2], half[-1], point) <= 0:
                half.pop()
            half.append(point)
        halves += half[:-1]
    return tuple(halves)


def is_simple(points: Sequence[Point]) -> bool:
    """Whether the closed outline neither crosses nor touches itself."""
    count = len(points)
    sides = [(points[index], points[(index + 1) % count]) for index in range(count)]
    if count < 3 or len(set(points)) < count:
        return False
    for i in range(count):
        for j in range(i + 2, count):
            if (i or j < count - 1) and _meet(*sides[i], *sides[j]):
                return False
    return all(not _folds_back(points[i - 1], points[i], points[(i + 1) % count]) for i in range(count))


def contains(points: Sequence[Point], point: Point) -> bool:
    """Whether `point` lies inside the closed outline or on it."""
    inside = False
    x, y = point
    for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True):
        on_line = _turn((ax, ay), (bx, by), point) == 0
        if on_line and min(ax, bx) <= x <= max(ax, bx) and min(ay, by) <= y <= max(ay, by):
            return True
        if (ay > y) != (by > y) and (x - ax) * abs(by - ay) < (y - ay) * (bx - ax) * (1 if by > ay else -1):
            inside = not inside
    return inside


def _turn(a: Point, b: Point, c: Point) -> int:
    """Positive where the way from a by b to c turns left, negative right, 0 straight."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the two sides a–b and c–d touch."""
    one, two, three, four = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if ((one > 0) != (two > 0)) and ((three > 0) != (four > 0)) and one and two and three and four:
        return True
    return any(
        turn == 0 and min(p[0], q[0]) <= r[0] <= max(p[0], q[0]) and min(p[1], q[1]) <= r[1] <= max(p[1], q[1])
        for turn, p, q, r in ((one, a, b, c), (two, a, b, d), (three, c, d, a), (four, c, d, b))
    )


def _folds_back(a: Point, b: Point, c: Point) -> bool:
    return _turn(a, b, c) == 0 and (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0


def _is_corner(a: Point, b: Point, c: Point) -> bool:
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return ux * vx + uy * vy < _CORNER_COSINE * math.hypot(ux, uy) * math.hypot(vx, vy) - 1e-9


def _between(points: Points, first: int, last: int) -> Points:
    """The points from `first` to `last`, past the end where needed; once round where they are the same."""
    if first < last:
        return points[first : last + 1]
    return points[first:] + points[: last + 1]


def _touching(outline: Outline, chain: Sequence[str], left: Sequence[str]) -> tuple[str, int] | None:
    """An edge of `left` that begins where the chain ends, or ends where it begins, and where it goes in the chain."""
    begins, ends = outline.edges[chain[0]][0], outline.edges[chain[-1]][1]
    if begins == ends:
        return None
    for edge in left:
        first, last = outline.edges[edge]
        if first == ends:
            return edge, len(chain)
        if last == begins:
            return edge, 0
    return None


def _run(outline: Outline, chain: Sequence[str]) -> Run:
    points: list[Point] = []
    for edge in chain:
        along = run_points(outline, edge)
        points += along if not points else along[1:]
    closed = points[0] == points[-1]
    turned = corners([*points, points[1]] if closed else points)
    return Run(length_mm(points), turned, closed, tuple(chain))
