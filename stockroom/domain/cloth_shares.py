"""What each dye lot of a cloth can take of the pieces of a matching group, and what it wastes.

A portion of the pieces goes on a lot where it can be shared out over its free stretches so that on each stretch whole
pieces lie together, and, where there are few panels, also where the panels of a piece go on several stretches of the
lot (see `stockroom.domain.cutting`). Waste is what is cut off and is no panel, and what is left over too short to be
useful.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from stockroom.domain.cutting import EXHAUSTIVE_PANELS, Cut, Goods, Stretch, cut_from_lot, longest, roomy
from stockroom.domain.lay import Extent, PanelToLay, extent_of, laid_length, least_length
from stockroom.domain.portions import Portions, joined_until_few, members

Piece = tuple[PanelToLay, ...]
_FEW = 64
_WIDTHS = 3
_LARGEST = 6
"""Where there are more than a few portions, so many of the largest are tried on each stretch of a lot."""


@dataclass(slots=True)
class _Width:
    """What every portion takes on cloth of one width."""

    width_mm: int
    lengths: dict[int, int]
    """Of what goes on the longest stretch of the width."""
    panels_mm2: dict[int, int]
    in_order: list[int] = field(default_factory=list)
    """Lengths, the shortest first."""
    sets: list[int] = field(default_factory=lambda: [1])
    """The set of portions that take no more than nothing, than the first of these lengths, and so on."""
    most: list[int] = field(default_factory=lambda: [0])
    """As much as the largest of each of these sets has, in mm²."""

    def __post_init__(self) -> None:
        """Orders the portions by their length."""
        for portion in sorted(self.lengths, key=self.lengths.__getitem__):
            self.in_order.append(self.lengths[portion])
            self.sets.append(self.sets[-1] | 1 << portion)
            self.most.append(max(self.most[-1], self.panels_mm2[portion]))

    def going_on(self, free_mm: int) -> int:
        """The set of portions that go on so much of it."""
        return self.sets[bisect_right(self.in_order, free_mm)]

    def most_on(self, free_mm: int) -> int:
        """How much the largest portion has that goes on so much of it, in mm²."""
        return self.most[bisect_right(self.in_order, free_mm)]


@dataclass(slots=True)
class _LotOfCloth:
    """One lot: what goes on each of its stretches, and on that one and those after it."""

    stretches: list[Stretch]
    going: list[int]
    after: list[int]
    takes: int


Laid = list[tuple[Stretch, int]]
"""Stretches, each with the portion on it."""


class ClothShares:
    """The pieces of a matching group, and what every lot can take of them."""

    def __init__(self, pieces: Sequence[Piece], by_lot: Mapping[str, Sequence[Stretch]], goods: Goods) -> None:
        self._goods = goods
        self._by_lot = by_lot
        self._kinds = _kinds(pieces, goods)
        self.portions = Portions(tuple(len(alike) for alike in self._kinds.values()))
        self._extents = [self._extents_of(portion) for portion in range(self.portions.whole + 1)]
        self._boxes_mm2 = [_area(extents, 0) for extents in self._extents]
        self._across_mm = [sum(one.length for one in extents if not one.width) for extents in self._extents]
        """Of what takes the whole width."""
        narrowest = min((one.roll.width_mm for some in by_lot.values() for one in some), default=0)
        self.needed = self._panels_mm2(self.portions.whole, narrowest)
        self._longest: dict[int, int] = {}
        for some in by_lot.values():
            for one in some:
                self._longest[one.roll.width_mm] = max(self._longest.get(one.roll.width_mm, 0), one.free_mm)
        self._widths: dict[int, _Width] = {}
        self._lots: dict[str, _LotOfCloth] = {}
        self._split: dict[tuple[str, int], tuple[Cut, ...] | None] = {}
        self._laid: dict[tuple[str, int], tuple[int, Laid]] = {}

    @property
    def is_told_soon(self) -> bool:
        """Whether there are few widths."""
        return len(self._longest) <= _WIDTHS

    def room(self, lot: str) -> int:
        """At least as much as all panels have that it can take, in mm²."""
        stretches = self._by_lot[lot]
        if not self.is_told_soon or self._may_be_in_parts(stretches):
            return sum(one.roll.width_mm * one.free_mm for one in stretches)
        return sum(self._width(one.roll.width_mm).most_on(one.free_mm) for one in stretches)

    def takes(self, lot: str) -> int:
        """The set of portions that it can take."""
        return self._lot(lot).takes

    def waste(self, lot: str, portion: int) -> int:
        """In mm², where it takes a portion that it can take."""
        return self._how(lot, portion)[0]

    def cuts(self, shares: Sequence[tuple[str, int]]) -> tuple[Cut, ...]:
        """The cuts for portions of lots that together are everything, or a part of it."""
        left = {kind: list(alike) for kind, alike in self._kinds.items()}

        def panels_of(portion: int) -> list[PanelToLay]:
            numbers = zip(left.values(), self.portions.numbers(portion), strict=True)
            return [panel for alike, number in numbers for _ in range(number) for panel in alike.pop()]

        cuts: list[Cut] = []
        for lot, portion in shares:
            if in_parts := self._split.get((lot, portion)):
                cuts += self._with(in_parts, panels_of(portion))
                continue
            for stretch, mine in self._how(lot, portion)[1]:
                length = self._width(stretch.roll.width_mm).lengths[mine]
                cuts.append(Cut(stretch, tuple(panels_of(mine)), length))
        return tuple(cuts)

    def _with(self, cuts: Sequence[Cut], panels: Sequence[PanelToLay]) -> list[Cut]:
        """The same cuts with these panels instead of others that are like them."""
        by_extent: dict[Extent, list[PanelToLay]] = {}
        for panel in panels:
            by_extent.setdefault(extent_of(panel.shape, self._goods.nap), []).append(panel)
        return [
            replace(cut, panels=tuple(by_extent[extent_of(one.shape, self._goods.nap)].pop() for one in cut.panels))
            for cut in cuts
        ]

    def _extents_of(self, portion: int) -> list[Extent]:
        numbers = zip(self._kinds, self.portions.numbers(portion), strict=True)
        return sorted(extent for kind, number in numbers for extent in kind * number)

    def _width(self, width_mm: int) -> _Width:
        """What every portion takes on this width; it is worked out when it is first asked for."""
        if width_mm not in self._widths:
            self._widths[width_mm] = self._of_width(width_mm, self._longest[width_mm])
        return self._widths[width_mm]

    def _panels_mm2(self, portion: int, width: int) -> int:
        return self._boxes_mm2[portion] + self._across_mm[portion] * width

    def _of_width(self, width: int, free_mm: int) -> _Width:
        lengths, panels = dict[int, int](), dict[int, int]()
        for portion in range(1, self.portions.whole + 1):
            area, extents = self._panels_mm2(portion, width), self._extents[portion]
            if area <= width * free_mm and _may_go(extents, width, free_mm):
                length = laid_length(extents, width)
                if length <= free_mm:
                    lengths[portion], panels[portion] = length, area
        return _Width(width, lengths, panels)

    def _lot(self, lot: str) -> _LotOfCloth:
        found = self._lots.get(lot)
        if found is None:
            # Remnants first, so that of equals they are used up.
            some = longest(self._by_lot[lot], sum(self.portions.counts))
            stretches = sorted(some, key=lambda one: (not one.roll.remnant, one.free_mm, one.roll.received))
            going = [self._width(one.roll.width_mm).going_on(one.free_mm) for one in stretches]
            after = [1]
            for fitting in reversed(going):
                after.append(self.portions.together(fitting, after[-1]))
            after.reverse()
            found = self._lots[lot] = _LotOfCloth(stretches, going, after, after[0] | self._in_parts(lot, after[0]))
        return found

    def _may_be_in_parts(self, stretches: Sequence[Stretch]) -> bool:
        return len(stretches) > 1 and self.portions.whole < _FEW and any(len(kind) > 1 for kind in self._kinds)

    def _in_parts(self, lot: str, whole: int) -> int:
        """The set of portions besides `whole` that the lot takes where the panels of a piece are shared out too."""
        stretches = self._by_lot[lot]
        if not self._may_be_in_parts(stretches):
            return 0
        found = 0
        for portion, extents in enumerate(self._extents):
            if not whole >> portion & 1 and len(extents) <= EXHAUSTIVE_PANELS:
                panels = self._alike(portion)
                if roomy(stretches, panels):
                    cuts = self._split[lot, portion] = cut_from_lot(stretches, panels, self._goods)
                    found |= (cuts is not None) << portion
        return found

    def _alike(self, portion: int) -> list[PanelToLay]:
        """The panels of a portion, or of another that is like it."""
        numbers = zip(self._kinds.values(), self.portions.numbers(portion), strict=True)
        return [panel for alike, number in numbers for piece in alike[:number] for panel in piece]

    def _how(self, lot: str, portion: int) -> tuple[int, Laid]:
        """The waste, and what lies on which stretch; on none where the panels of a piece are shared out."""
        found = self._laid.get((lot, portion))
        if found is None:
            cuts, stretches = self._split.get((lot, portion)), self._lot(lot).stretches
            if not portion:
                found = 0, []
            elif cuts is not None:
                found = sum(self._wasted(cut) for cut in cuts), []
            elif len(stretches) == 1:
                found = self._wasted_on(stretches[0], portion), [(stretches[0], portion)]
            else:
                found = self._least(self._lot(lot), 0, portion, {})
            self._laid[lot, portion] = found
        return found

    def _least(
        self, lot: _LotOfCloth, at: int, left: int, known: dict[tuple[int, int], tuple[int, Laid]]
    ) -> tuple[int, Laid]:
        """The least waste of laying `left` on the stretches from `at` on."""
        if not left:
            return 0, []
        if (at, left) in known:
            return known[at, left]
        stretch = lot.stretches[at]
        fits = lot.going[at] & self.portions.below(left)
        possible = list(members(fits & self.portions.rest_of(lot.after[at + 1], left)))
        if self.portions.whole >= _FEW:
            panels = self._width(stretch.roll.width_mm).panels_mm2
            possible = sorted(possible, key=lambda mine: -panels.get(mine, 0))[:_LARGEST]
        best: tuple[int, Laid] | None = None
        for mine in possible:
            waste, rest = self._least(lot, at + 1, left - mine, known)
            waste += self._wasted_on(stretch, mine) if mine else 0
            if best is None or waste < best[0]:
                best = waste, [(stretch, mine), *rest] if mine else rest
        if best is None:
            raise AssertionError("a portion that the lot does not take")
        known[at, left] = best
        return best

    def _wasted_on(self, stretch: Stretch, portion: int) -> int:
        width = self._width(stretch.roll.width_mm)
        length = width.lengths[portion]
        return self._lost(stretch, length) - width.panels_mm2[portion]

    def _wasted(self, cut: Cut) -> int:
        extents = [extent_of(panel.shape, self._goods.nap) for panel in cut.panels]
        return self._lost(cut.stretch, cut.length_mm) - _area(extents, cut.stretch.roll.width_mm)

    def _lost(self, stretch: Stretch, length_mm: int) -> int:
        """What nobody can use any more of a stretch, in mm²."""
        rest = stretch.free_mm - length_mm
        return (length_mm + (rest if self._goods.useless(rest) else 0)) * stretch.roll.width_mm


def _kinds(pieces: Sequence[Piece], goods: Goods) -> dict[tuple[Extent, ...], list[Piece]]:
    """Pieces that are alike to whoever lays them, by what they take."""

    def kind(piece: Piece) -> tuple[Extent, ...]:
        return tuple(sorted(extent_of(panel.shape, goods.nap) for panel in piece))

    widest = max((panel.shape.width_mm for piece in pieces for panel in piece), default=0)
    numbers: dict[tuple[Extent, ...], int] = {}
    sizes = [(numbers.setdefault(kind(piece), len(numbers)), _area(kind(piece), widest)) for piece in pieces]
    found: dict[tuple[Extent, ...], list[Piece]] = {}
    for places in joined_until_few(sizes):
        joined = tuple(panel for place in places for panel in pieces[place])
        found.setdefault(kind(joined), []).append(joined)
    return found


def _area(extents: Sequence[Extent], width_mm: int) -> int:
    return sum((one.width or width_mm) * one.length for one in extents)


def _may_go(extents: Sequence[Extent], width_mm: int, free_mm: int) -> bool:
    """Whether each goes on the width, and those that cannot lie beside each other are no longer than the stretch."""
    behind = 0
    for one in extents:
        least = least_length(one, width_mm)
        if least is None:
            return False
        if 2 * min(one.width or width_mm, one.length if one.way != "along" else one.width or width_mm) > width_mm:
            behind += least
    return behind <= free_mm
