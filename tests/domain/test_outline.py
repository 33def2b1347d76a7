"""Outlines: never smaller and never shorter than they are drawn."""

from __future__ import annotations

import doctest
import math
from itertools import pairwise

from hypothesis import assume, given
from hypothesis import strategies as st

from stockroom.domain import outline
from stockroom.domain.kitbook import Outline
from stockroom.domain.outline import (
    Box,
    area_mm2,
    contains,
    edge_length_mm,
    edging_runs,
    grown,
    grown_edges,
    is_simple,
    length_mm,
    mirrored,
    run_points,
)

MAT = Outline(
    "mat",
    ((0, 0), (840, 0), (840, 500), (420, 560), (0, 500)),
    {"front": (0, 1), "right": (1, 2), "rear": (2, 4), "left": (4, 0), "all": (0, 0)},
    ((420, 0),),
)


@st.composite
def stars(draw: st.DrawFn) -> tuple[tuple[int, int], ...]:
    """Simple outlines with hollows, running either way round."""
    count = draw(st.integers(3, 14))
    radii = draw(st.lists(st.integers(60, 900), min_size=count, max_size=count))
    points = tuple(
        (round(r * math.cos(2 * math.pi * i / count)), round(r * math.sin(2 * math.pi * i / count)))
        for i, r in enumerate(radii)
    )
    assume(is_simple(points))
    return points if draw(st.booleans()) else points[::-1]


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(outline).failed == 0


@given(st.lists(st.tuples(st.integers(-3000, 3000), st.integers(-3000, 3000)), min_size=2, max_size=12))
def test_a_length_is_rounded_up_by_less_than_a_millimetre(points: list[tuple[int, int]]) -> None:
    exact = sum(math.dist(a, b) for a, b in pairwise(points))
    assert exact - 1e-6 <= length_mm(points) < exact + 1.001


@given(stars())
def test_a_mirror_image_keeps_its_edges_its_size_and_its_place(points: tuple[tuple[int, int], ...]) -> None:
    drawn = Outline("o", points, {"a": (0, 2), "b": (2, 0)}, points[:1])
    image = mirrored(drawn)
    assert Box.around(image.points) == Box.around(points)
    assert area_mm2(image.points) == area_mm2(points)
    assert [edge_length_mm(image, e) for e in "ab"] == [edge_length_mm(drawn, e) for e in "ab"]
    assert mirrored(image) == drawn


def test_an_edge_may_wrap_past_the_last_point() -> None:
    assert run_points(MAT, "left") == ((0, 500), (0, 0))
    assert edge_length_mm(MAT, "left") == 500


def test_edges_that_touch_are_one_run_and_those_that_do_not_are_two() -> None:
    (run,) = edging_runs(MAT, ["front", "right"])
    assert (run.length_mm, run.corners, run.closed) == (1340, 1, False)
    assert [r.edges for r in edging_runs(MAT, ["left", "right"])] == [("left",), ("right",)]
    (joined,) = edging_runs(MAT, ["right", "left", "front"])
    assert joined.edges == ("left", "front", "right")


def test_a_run_all_round_is_closed_and_goes_round_every_corner() -> None:
    (named,) = edging_runs(MAT, ["all"])
    (joined,) = edging_runs(MAT, ["rear", "front", "left", "right"])
    rear = 2 * math.hypot(420, 60)
    for run in (named, joined):
        assert run.closed
        assert run.corners == 4, "the two slight turns of the rear are a curve, not corners"
        assert run.length_mm == math.ceil(840 + 500 + 500 + rear)


def test_an_allowance_is_added_outside_the_named_edges_only() -> None:
    box = Box.around(grown_edges(MAT, {"front": 20, "left": 30}))
    assert (box.left, box.bottom, box.right, box.top) == (-30, -20, 840, 560)
    assert (-30, -20) in grown_edges(MAT, {"front": 20, "left": 30}), "the corner between them is filled"


@given(stars(), st.data())
def test_an_outline_with_allowances_is_never_smaller(points: tuple[tuple[int, int], ...], data: st.DataObject) -> None:
    first = data.draw(st.integers(0, len(points) - 1))
    last = data.draw(st.integers(0, len(points) - 1))
    allowance = data.draw(st.integers(0, 60))
    larger = grown(points, [(first, last, allowance)])
    assert is_simple(larger)
    assert all(contains(larger, point) for point in points)
    assert all(contains(larger, (round((a[0] + b[0]) / 2), round((a[1] + b[1]) / 2))) for a, b in _pairs_inside(points))
    assert area_mm2(larger) >= area_mm2(points)
    assert allowance or larger == points


def _pairs_inside(points: tuple[tuple[int, int], ...]) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Sides whose middle is a whole point, so that no rounding moves it outside."""
    sides = [(a, points[(i + 1) % len(points)]) for i, a in enumerate(points)]
    return [(a, b) for a, b in sides if (a[0] + b[0]) % 2 == 0 and (a[1] + b[1]) % 2 == 0]
