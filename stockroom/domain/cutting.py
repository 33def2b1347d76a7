"""Cutting panels from the free stretches of one dye lot.

Every cut is contiguous and is taken from the outer end of a free stretch. What is guaranteed of `cut_from_lot`:

- where all the panels, arranged together, go on one free stretch of the lot, a plan is found;
- where they must be shared out over several stretches, a plan is found whenever filling the remnants (the longest
  stretch first, the longest panel first) and then rolls does it, or filling all stretches so, or, for up to
  `EXHAUSTIVE_PANELS` panels on up to `EXHAUSTIVE_STRETCHES` usable stretches, whenever any sharing out does it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from stockroom.domain.lay import (
    GAP_MM,
    Extent,
    Lay,
    PanelToLay,
    arrange,
    extent_of,
    fits_across,
    laid_length,
    least_length,
)

EXHAUSTIVE_PANELS = 5
EXHAUSTIVE_STRETCHES = 3


class RollFree(NamedTuple):
    """What is free of one roll or remnant. Quarantined stock is never given."""

    holding_id: int
    tag: str
    lot: str
    width_mm: int
    """Its own usable width."""
    held_mm: int
    free: tuple[tuple[int, int], ...]
    """Stretches (from, to) in mm from the inner end that are not promised and clear of flaws."""
    remnant: bool
    received: int
    """Order of arrival: smaller is older."""


class Stretch(NamedTuple):
    """One free stretch of a roll."""

    roll: RollFree
    from_mm: int
    to_mm: int

    @property
    def free_mm(self) -> int:
        """How long it is."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True, slots=True)
class Cut:
    """Panels on one stretch, from its outer end."""

    stretch: Stretch
    panels: tuple[PanelToLay, ...]
    length_mm: int
    """What the panels take of it. They are arranged when a plan is settled: most cuts are only compared."""

    @property
    def rest_mm(self) -> int:
        """What is left of the stretch."""
        return self.stretch.free_mm - self.length_mm


@dataclass(frozen=True, slots=True)
class Goods:
    """What matters of the cloth: whether it has a nap, and how short a useless rest is."""

    nap: bool
    shortest_useful_mm: int

    def useless(self, rest_mm: int) -> bool:
        """Whether so much left over is of no use to anybody."""
        return 0 < rest_mm < self.shortest_useful_mm


def stretches_of(rolls: Iterable[RollFree]) -> list[Stretch]:
    """Every free stretch of the rolls."""
    return [Stretch(roll, first, last) for roll in rolls for first, last in roll.free if last > first]


def usable(stretches: Iterable[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> list[Stretch]:
    """The stretches on which at least one of the panels goes."""
    by_width: dict[int, int | None] = {}
    kept = []
    for stretch in stretches:
        width = stretch.roll.width_mm
        if width not in by_width:
            lengths = (fits_across(panel.shape, width, goods.nap) for panel in panels)
            by_width[width] = min((length for length in lengths if length is not None), default=None)
        least = by_width[width]
        if least is not None and least <= stretch.free_mm:
            kept.append(stretch)
    return kept


def cut_from_lot(stretches: Sequence[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...] | None:
    """All the panels cut from these stretches of one lot, or nothing where no plan is found (see above).

    One remnant that takes them all comes first, then several remnants, then remnants with a roll for what is left, then
    rolls alone.
    """
    remnants = [stretch for stretch in stretches if stretch.roll.remnant]
    rolls = [stretch for stretch in stretches if not stretch.roll.remnant]
    whole = cut_whole(remnants, panels, goods)
    if whole is not None:
        return (whole,)
    if not (roomy(stretches, panels) and all_go_somewhere(stretches, panels, goods)):
        return None
    if remnants:
        cuts, left = fill(remnants, panels, goods)
        more = _from_rolls(rolls, left, goods) if cuts and left and rolls else None
        if not left or more is not None:
            return (*_tightened(cuts, remnants, goods), *(more or ()))
    from_rolls = _from_rolls(rolls, panels, goods) if rolls else None
    if from_rolls is not None:
        return from_rolls
    if remnants and rolls:
        cuts, left = fill(stretches, panels, goods)
        if not left:
            return cuts
    return _exhaustive(stretches, panels, goods)


def cut_whole(stretches: Iterable[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> Cut | None:
    """All the panels on the one stretch that suits best, or nothing where they go on none.

    A stretch that is left without a useless end comes first; then the tightest remnant, then the oldest roll.
    """
    best: tuple[tuple[int, ...], Stretch, int] | None = None
    extents = [extent_of(panel.shape, goods.nap) for panel in panels]
    lengths: dict[int, int | None] = {}
    for stretch in stretches:
        width = stretch.roll.width_mm
        if width not in lengths:
            going = all(least_length(extent, width) is not None for extent in extents)
            lengths[width] = laid_length(extents, width) if going else None
        length = lengths[width]
        if length is None or length > stretch.free_mm:
            continue
        rest = stretch.free_mm - length
        age = (rest, stretch.roll.received) if stretch.roll.remnant else (stretch.roll.received, rest)
        key = (int(goods.useless(rest)), int(not stretch.roll.remnant), *age, stretch.roll.holding_id, stretch.from_mm)
        if best is None or key < best[0]:
            best = (key, stretch, length)
    return None if best is None else Cut(best[1], tuple(panels), best[2])


@dataclass(frozen=True, slots=True)
class _Measured:
    """A panel with what it takes by itself."""

    panel: PanelToLay
    extent: Extent
    least_mm: int
    """On the width in question."""
    area_mm2: int


def fill(
    stretches: Iterable[Stretch], panels: Sequence[PanelToLay], goods: Goods
) -> tuple[tuple[Cut, ...], tuple[PanelToLay, ...]]:
    """Fills the stretches, the longest first, with as many of the panels as go on each; and what is left over."""
    taken: set[int] = set()
    cuts = []
    measured: dict[int, list[_Measured]] = {}
    for stretch in longest(stretches, len(panels)):
        width = stretch.roll.width_mm
        if width not in measured:
            measured[width] = _measured(panels, width, goods)
        left = [one for one in measured[width] if id(one.panel) not in taken]
        chosen = _as_many_as_go(stretch, left)
        if chosen:
            extents = (extent_of(panel.shape, goods.nap) for panel in chosen)
            cuts.append(Cut(stretch, tuple(chosen), laid_length(extents, width)))
            taken |= {id(panel) for panel in chosen}
        if len(taken) == len(panels):
            break
    return tuple(cuts), tuple(panel for panel in panels if id(panel) not in taken)


def _measured(panels: Sequence[PanelToLay], width_mm: int, goods: Goods) -> list[_Measured]:
    """The panels that go on the width, the longest first."""
    found = []
    for panel in panels:
        extent = extent_of(panel.shape, goods.nap)
        least = least_length(extent, width_mm)
        if least is not None:
            found.append(_Measured(panel, extent, least, _area(panel, width_mm)))
    return sorted(found, key=lambda one: -one.least_mm)


def longest(stretches: Iterable[Stretch], count: int) -> list[Stretch]:
    """The `count` longest stretches of every width, the longest first: so many panels never need more of them."""
    seen: Counter[int] = Counter()
    kept = []
    for stretch in sorted(stretches, key=lambda s: (-s.free_mm, s.roll.received, s.roll.holding_id, s.from_mm)):
        seen[stretch.roll.width_mm] += 1
        if seen[stretch.roll.width_mm] <= count:
            kept.append(stretch)
    return kept


def all_go_somewhere(stretches: Iterable[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> bool:
    """Whether every panel by itself goes on one of the stretches."""
    most: dict[int, int] = {}
    for stretch in stretches:
        width = stretch.roll.width_mm
        most[width] = max(most.get(width, 0), stretch.free_mm)
    return all(any(_goes(panel, width, free, goods) for width, free in most.items()) for panel in panels)


def _goes(panel: PanelToLay, width_mm: int, free_mm: int, goods: Goods) -> bool:
    length = fits_across(panel.shape, width_mm, goods.nap)
    return length is not None and length <= free_mm


def _as_many_as_go(stretch: Stretch, panels: Sequence[_Measured]) -> list[PanelToLay]:
    """As many of the panels as go on a stretch, in the order given."""
    width, free = stretch.roll.width_mm, stretch.free_mm
    possible = [one for one in panels if one.least_mm <= free]
    room = width * free
    if sum(one.area_mm2 for one in possible) <= room and laid_length((one.extent for one in possible), width) <= free:
        return [one.panel for one in possible]
    chosen: list[PanelToLay] = []
    extents: list[Extent] = []
    for one in possible:
        if one.area_mm2 <= room and laid_length(tried := [*extents, one.extent], width) <= free:
            chosen.append(one.panel)
            extents = sorted(tried)  # so that the next sorting has nearly nothing to do
            room -= one.area_mm2
    return chosen


def _from_rolls(rolls: Sequence[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...] | None:
    whole = cut_whole(rolls, panels, goods)
    if whole is not None:
        return (whole,)
    cuts, left = fill(rolls, panels, goods)
    return cuts if not left else None


def _tightened(cuts: Sequence[Cut], stretches: Sequence[Stretch], goods: Goods) -> tuple[Cut, ...]:
    """Moves each cut to the tightest unused stretch of the same width that takes it, where that is better."""
    used = {id(cut.stretch) for cut in cuts}
    moved = []
    for cut in cuts:
        best = cut.stretch
        for other in stretches:
            if id(other) in used or other.roll.width_mm != cut.stretch.roll.width_mm:
                continue
            if cut.length_mm <= other.free_mm and _tightness(other, cut.length_mm, goods) < _tightness(
                best, cut.length_mm, goods
            ):
                best = other
        used = (used - {id(cut.stretch)}) | {id(best)}
        moved.append(Cut(best, cut.panels, cut.length_mm))
    return tuple(moved)


def _tightness(stretch: Stretch, length_mm: int, goods: Goods) -> tuple[bool, int, int]:
    rest = stretch.free_mm - length_mm
    return goods.useless(rest), rest, stretch.roll.received


def _area(panel: PanelToLay, width_mm: int) -> int:
    return (panel.shape.width_mm or width_mm) * panel.shape.length_mm


def roomy(stretches: Sequence[Stretch], panels: Sequence[PanelToLay]) -> bool:
    """Whether the boxes of the panels are no larger than all the stretches together: without that there is no plan."""
    narrowest = min((stretch.roll.width_mm for stretch in stretches), default=0)
    wanted = sum(_area(panel, narrowest) for panel in panels)
    return wanted <= sum(stretch.roll.width_mm * stretch.free_mm for stretch in stretches)


def _exhaustive(stretches: Sequence[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...] | None:
    """Tries every way of sharing a few panels out over a few stretches."""
    if len(panels) > EXHAUSTIVE_PANELS or len(stretches) > EXHAUSTIVE_STRETCHES:
        return None
    for shares in product(range(len(stretches)), repeat=len(panels)):
        cuts = []
        for number, stretch in enumerate(stretches):
            mine = tuple(panel for panel, share in zip(panels, shares, strict=True) if share == number)
            if not mine:
                continue
            lay = arrange(mine, stretch.roll.width_mm, goods.nap)
            if not isinstance(lay, Lay) or lay.length_mm > stretch.free_mm:
                break
            cuts.append(Cut(stretch, mine, lay.length_mm))
        else:
            return tuple(cuts)
    return None


def panels_over(panels: Sequence[PanelToLay], width_mm: int, length_mm: int, nap: bool) -> list[PanelToLay]:
    """The panels that do not go on a length of cloth on which as many as go are laid, the longest first.

    None where all of them go without a gap for the knife: whoever cuts may have had a thin one.
    """
    extents = [extent_of(panel.shape, nap) for panel in panels]
    going = all(least_length(extent, width_mm) is not None for extent in extents)
    if going and laid_length(extents, width_mm, gap_mm=0) <= length_mm:
        return []
    stretch = Stretch(RollFree(0, "", "", width_mm, length_mm, ((0, length_mm),), False, 0), 0, length_mm)
    laid = {id(panel) for panel in _as_many_as_go(stretch, _measured(panels, width_mm, Goods(nap, 1)))}
    return [panel for panel in panels if id(panel) not in laid]


def least_length_mm(panels: Sequence[PanelToLay], width_mm: int, nap: bool) -> int:
    """The length the panels would take on cloth of this width; one that is too wide counts with its length alone."""
    going = [panel for panel in panels if fits_across(panel.shape, width_mm, nap) is not None]
    lay = arrange(going, width_mm, nap)
    along = lay.length_mm if isinstance(lay, Lay) else 0
    wide = [panel.shape.length_mm for panel in panels if fits_across(panel.shape, width_mm, nap) is None]
    return along + sum(wide) + GAP_MM * (len(wide) if along else max(0, len(wide) - 1))
