"""What becomes of the planned cuts of a roll when the roll turns out shorter, or flawed, or is cut elsewhere first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockroom.domain.allocation import free_stretches


@dataclass(frozen=True, slots=True)
class Promise:
    """A planned cut as it stands: a stretch of the roll, measured from its inner end."""

    cut_id: int
    from_mm: int
    to_mm: int

    @property
    def length_mm(self) -> int:
        """How long it is."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True, slots=True)
class Repacked:
    """Where every planned cut lies now, and which have no place any more."""

    kept: tuple[Promise, ...]
    lost: tuple[int, ...]
    """Ids of the cuts that no longer go on the roll."""


def repacked(held_mm: int, flaws: Iterable[tuple[int, int]], promises: Sequence[Promise]) -> Repacked:
    """The promises on a roll that now holds `held_mm` and has these flaws, the most pressing promise first.

    A promise that can stay where it is stays; another moves to the outermost free stretch that takes it; the last in
    the line loses its place first. Nothing overlaps, and nothing lies on a flaw.

    >>> repacked(5_000, [], [Promise(1, 4_000, 6_000), Promise(2, 2_000, 4_000)]).kept
    (Promise(cut_id=1, from_mm=3000, to_mm=5000), Promise(cut_id=2, from_mm=1000, to_mm=3000))
    """
    bad = list(flaws)
    stays: list[Promise] = []
    in_place = [one for one in promises if one.to_mm <= held_mm and not _hits(one, bad)]
    if len(in_place) == len(promises):
        return Repacked(tuple(promises), ())
    lost: list[int] = []
    for one in promises:
        taken = [*bad, *((other.from_mm, other.to_mm) for other in stays)]
        if one in in_place and not _hits(one, taken):
            stays.append(one)
            continue
        place = _outermost(held_mm, taken, one.length_mm)
        if place is None:
            lost.append(one.cut_id)
        else:
            stays.append(Promise(one.cut_id, place - one.length_mm, place))
    return Repacked(tuple(stays), tuple(lost))


def _hits(one: Promise, taken: Iterable[tuple[int, int]]) -> bool:
    return any(first < one.to_mm and one.from_mm < last for first, last in taken)


def _outermost(held_mm: int, taken: Sequence[tuple[int, int]], length_mm: int) -> int | None:
    """The outer end of the outermost free stretch that takes so much."""
    for first, last in reversed(free_stretches(held_mm, taken)):
        if last - first >= length_mm:
            return last
    return None
