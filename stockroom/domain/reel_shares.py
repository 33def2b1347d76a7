"""What each dye lot of narrow goods can take of the pieces of a matching group, and what it wastes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from stockroom.domain.portions import Portions, joined_until_few
from stockroom.domain.reels import LengthsPlan, ReelFree, RunNeeded, Take, runs_from

_FEW = 64


class ReelShares:
    """The pieces of a matching group that need narrow goods, and what every lot can take of them.

    Waste is what is left on a reel too short to be useful.
    """

    def __init__(self, runs: Sequence[RunNeeded], by_lot: Mapping[str, Sequence[ReelFree]], useful: int) -> None:
        self._by_lot = by_lot
        self._useful = useful
        self._kinds = _alike(runs)
        self.portions = Portions(tuple(len(some) for some in self._kinds.values()))
        self.needed = sum(run.quantity_mm for run in runs)
        self._found: dict[tuple[str, int], LengthsPlan | None] = {}
        self._takes: dict[str, int] = {}

    @property
    def is_told_soon(self) -> bool:
        """Whether there are few pieces."""
        return self.portions.whole < _FEW

    def room(self, lot: str) -> int:
        """What is free of it, in mm."""
        return sum(reel.free_mm for reel in self._by_lot[lot])

    def takes(self, lot: str) -> int:
        """The set of portions that it can take."""
        if lot not in self._takes:
            every = range(self.portions.whole + 1)
            self._takes[lot] = sum(1 << one for one in every if self._goes(lot, self._runs(one)))
        return self._takes[lot]

    def waste(self, lot: str, portion: int) -> int:
        """In mm, where it takes a portion that it can take."""
        left = {reel.holding_id: reel.free_mm for reel in self._by_lot[lot]}
        for take in self._plan(lot, self._runs(portion), "").takes:
            left[take.holding_id] -= take.quantity
        return sum(rest for rest in left.values() if 0 < rest < self._useful)

    def plan(self, shares: Sequence[tuple[str, int]], why: str) -> LengthsPlan:
        """What is taken for portions of lots that together are everything."""
        left = {kind: list(some) for kind, some in self._kinds.items()}
        takes: dict[tuple[int, int], Take] = {}
        for lot, portion in shares:
            numbers = zip(left.values(), self.portions.numbers(portion), strict=True)
            mine = [run for some, number in numbers for _ in range(number) for run in some.pop()]
            for take in self._plan(lot, _joined(mine), why).takes:
                at = take.holding_id, take.ref
                takes[at] = replace(take, quantity=take.quantity + takes[at].quantity) if at in takes else take
        return LengthsPlan(tuple(takes.values()), tuple(lot for lot, _ in shares))

    def _runs(self, portion: int) -> list[RunNeeded]:
        """The runs of a portion, or of another that is like it."""
        numbers = zip(self._kinds.values(), self.portions.numbers(portion), strict=True)
        return _joined([run for some, number in numbers for piece in some[:number] for run in piece])

    def _goes(self, lot: str, runs: Sequence[RunNeeded]) -> bool:
        wanted = sum(run.quantity_mm for run in runs)
        reels = self._by_lot[lot]
        if wanted > self.room(lot):
            return False
        return wanted <= max(reel.free_mm for reel in reels) or runs_from(runs, reels, self._useful, "") is not None

    def _plan(self, lot: str, runs: Sequence[RunNeeded], why: str) -> LengthsPlan:
        found = runs_from(runs, self._by_lot[lot], self._useful, why)
        if found is None:
            raise AssertionError("a portion that the lot does not take")
        return found


def _alike(runs: Sequence[RunNeeded]) -> dict[tuple[tuple[int, int], ...], list[tuple[RunNeeded, ...]]]:
    """Pieces that are alike, by the runs that they need."""
    pieces: dict[tuple[str, int], list[RunNeeded]] = {}
    for number, run in enumerate(runs):
        copies = run.copies if run.quantity_mm % run.copies == 0 else 1
        each = run.quantity_mm // copies
        if run.each_mm > each:
            copies, each = 1, run.quantity_mm
        for copy in range(copies):
            at = (run.piece, copy) if run.piece else (f" {number}", copy)
            pieces.setdefault(at, []).append(RunNeeded(run.ref, each, run.each_mm))
    names: dict[tuple[tuple[int, int], ...], int] = {}

    def kind(some: Sequence[RunNeeded]) -> tuple[tuple[int, int], ...]:
        return tuple(sorted((run.quantity_mm, run.each_mm) for run in some))

    every = list(pieces.values())
    sizes = [(names.setdefault(kind(some), len(names)), sum(run.quantity_mm for run in some)) for some in every]
    found: dict[tuple[tuple[int, int], ...], list[tuple[RunNeeded, ...]]] = {}
    for places in joined_until_few(sizes):
        joined = tuple(run for place in places for run in every[place])
        found.setdefault(kind(joined), []).append(joined)
    return found


def _joined(runs: Sequence[RunNeeded]) -> list[RunNeeded]:
    """Runs of one requirement together."""
    by_ref: dict[int, RunNeeded] = {}
    for run in runs:
        before = by_ref.get(run.ref, RunNeeded(run.ref, 0, 0))
        by_ref[run.ref] = RunNeeded(run.ref, before.quantity_mm + run.quantity_mm, max(before.each_mm, run.each_mm))
    return list(by_ref.values())
