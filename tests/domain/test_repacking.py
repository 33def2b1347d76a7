"""What becomes of the promises on a roll: none lies on another, on a flaw or beyond the end, and need goes first."""

from __future__ import annotations

import doctest
import itertools

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import repacking
from stockroom.domain.repacking import Promise, repacked


def test_the_example_in_the_docstring_is_true() -> None:
    assert doctest.testmod(repacking).failed == 0


def test_promises_that_may_stay_stay() -> None:
    promises = [Promise(1, 4_000, 6_000), Promise(2, 1_000, 2_000)]
    assert repacked(6_000, [(2_500, 2_600)], promises).kept == tuple(promises)


def test_a_flaw_moves_the_promise_that_lies_on_it() -> None:
    found = repacked(6_000, [(5_500, 5_600)], [Promise(1, 4_000, 6_000)])
    assert found.kept == (Promise(1, 3_500, 5_500),)


def test_where_there_is_too_little_the_last_in_need_loses_its_place() -> None:
    earlier, later = Promise(7, 0, 2_000), Promise(3, 2_000, 4_000)
    found = repacked(3_000, [], [earlier, later])
    assert found.kept == (earlier,)
    assert found.lost == (3,)


@st.composite
def rolls(draw: st.DrawFn) -> tuple[int, list[tuple[int, int]], list[Promise]]:
    """What a roll holds now, its flaws, and promises that were good while it was longer and unflawed."""
    lengths = draw(st.lists(st.integers(1, 3_000), max_size=6))
    gaps = draw(st.lists(st.integers(0, 500), min_size=len(lengths), max_size=len(lengths)))
    promises, at = [], 0
    for number, (length, gap) in enumerate(zip(lengths, gaps, strict=True), start=1):
        promises.append(Promise(number, at + gap, at + gap + length))
        at += gap + length
    held = draw(st.integers(0, at + 1_000))
    starts = draw(st.lists(st.integers(0, max(0, held - 1)), max_size=3))
    flaws = [(start, min(held, start + draw(st.integers(1, 200)))) for start in starts if start < held]
    return held, flaws, draw(st.permutations(promises))


@given(rolls())
def test_nothing_overlaps_and_every_promise_is_kept_whole_or_named_as_lost(
    roll: tuple[int, list[tuple[int, int]], list[Promise]],
) -> None:
    held, flaws, promises = roll
    found = repacked(held, flaws, promises)
    length_of = {one.cut_id: one.length_mm for one in promises}
    assert sorted([one.cut_id for one in found.kept] + list(found.lost)) == sorted(length_of)
    assert all(one.length_mm == length_of[one.cut_id] for one in found.kept)
    stretches = sorted([*flaws, *((one.from_mm, one.to_mm) for one in found.kept)])
    in_order = sorted((one.from_mm, one.to_mm) for one in found.kept)
    assert all(0 <= first < last <= held for first, last in in_order)
    assert all(one[1] <= other[0] for one, other in itertools.pairwise(in_order))
    for first, last in in_order:
        assert not any(a < last and first < b for a, b in flaws), stretches


@given(rolls())
def test_the_most_pressing_promise_is_kept_where_the_roll_has_room_for_it_at_all(
    roll: tuple[int, list[tuple[int, int]], list[Promise]],
) -> None:
    held, flaws, promises = roll
    if not promises:
        return
    first = promises[0]
    alone = repacked(held, flaws, [first])
    together = repacked(held, flaws, promises)
    assert (first.cut_id in together.lost) == bool(alone.lost)
