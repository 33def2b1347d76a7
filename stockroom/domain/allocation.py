"""Allocation: which roll, which dye lot, which stretch, for the panels of one cloth and colour in one matching group.

The pieces that are seen side by side come from one dye lot. A lot that the group has already is kept to. Otherwise the
lot is chosen whose plan cuts no long roll (remnants are used up first); then leaves the fewest useless ends of long
rolls; cuts the least off long rolls; leaves the fewest useless ends of remnants; makes the fewest cuts; leaves the
least of the remnants it cuts; is the oldest. Only where somebody has approved a mix do several lots serve one group: as
few as possible, never more than three, and no piece from two.

Guaranteed: a plan never takes what is not free, its cuts never overlap, and without an approved mix it is of one lot.
Where all the panels go together on one free stretch of a permitted lot, a plan is found; what is guaranteed of sharing
them out over several stretches is said in `stockroom.domain.cutting`, and every permitted lot is tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from stockroom.domain.catalogue import Cloth
from stockroom.domain.cutting import (
    Cut,
    Goods,
    RollFree,
    Stretch,
    all_go_somewhere,
    cut_from_lot,
    fill,
    least_length_mm,
    roomy,
    stretches_of,
    usable,
)
from stockroom.domain.lay import PanelToLay, Placement, TooWide, arrange, fits_across
from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import Short, lot_name, lots_free, short_of_length
from stockroom.domain.takes import (
    MOST_LOTS,
    BinFree,
    CountsPlan,
    LengthsPlan,
    ReelFree,
    RunNeeded,
    Take,
    lengths_for_what_there_is,
    plan_counts,
    plan_lengths,
)
from stockroom.domain.wording import listed

__all__ = [
    "BinFree",
    "CountsPlan",
    "CutPlan",
    "LengthsPlan",
    "PlannedCut",
    "ReelFree",
    "RollFree",
    "RunNeeded",
    "Short",
    "Take",
    "cuts_for_what_there_is",
    "free_stretches",
    "lengths_for_what_there_is",
    "plan_counts",
    "plan_cuts",
    "plan_lengths",
]

_LOTS_COMPARED = 6
"""So many lots are planned and compared; the others only where none of these will do."""
_LOTS_MIXED = 4
"""So many lots are tried in a mix."""
_SPLIT = {"one": "stretch", "many": "stretches"}


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """One contiguous stretch of one roll, with what is cut from it and why."""

    holding_id: int
    from_mm: int
    """From the roll's inner end."""
    to_mm: int
    placements: tuple[Placement, ...]
    """x across the roll, y along it from `from_mm`."""
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Cuts that serve all the panels."""

    cuts: tuple[PlannedCut, ...]
    lots: tuple[str, ...]
    """One, unless a mix was approved."""


def free_stretches(held_mm: int, taken: Iterable[tuple[int, int]], shortest_mm: int = 1) -> tuple[tuple[int, int], ...]:
    """What is free of a roll: (from, to) in mm from its inner end, without what is promised or flawed.

    Stretches shorter than `shortest_mm` are left out.

    >>> free_stretches(10_000, [(9_000, 10_000), (2_000, 2_050), (2_040, 2_100)])
    ((0, 2000), (2100, 9000))
    """
    promised = sorted(taken)
    if not promised:  # most rolls by far
        return ((0, held_mm),) if held_mm >= max(1, shortest_mm) else ()
    free, at = [], 0
    for first, last in promised:
        if first - at >= max(1, shortest_mm):
            free.append((at, min(first, held_mm)))
        at = max(at, last)
    if held_mm - at >= max(1, shortest_mm):
        free.append((at, held_mm))
    return tuple(stretch for stretch in free if stretch[0] < stretch[1])


def plan_cuts(
    panels: Sequence[PanelToLay],
    rolls: Sequence[RollFree],
    cloth: Cloth,
    bound_to: frozenset[str] = frozenset(),
    mix_approved: bool = False,
) -> CutPlan | Short:
    """Cuts for all the panels, or what is short and why.

    `bound_to` are the lots that the car's matching group has already (held, or used in an earlier order); empty where
    the choice is free.
    """
    if not panels:
        return CutPlan((), ())
    panels = _each_its_own(panels)
    goods = Goods(cloth.nap, cloth.shortest_useful_mm)
    too_wide = _too_wide(panels, rolls, cloth)
    if too_wide is not None:
        return too_wide
    stretches = stretches_of(rolls)
    by_lot = _by_lot(usable(stretches, panels, goods))
    permitted = {lot: some for lot, some in by_lot.items() if not bound_to or lot in bound_to}
    cuts = _best_lot(permitted, panels, goods)
    if cuts is not None:
        return _plan(cuts, goods, _why_one_lot(cuts[0].stretch.roll.lot, bound_to, len(panels), by_lot))
    mixed = _mixed(by_lot, panels, goods, bound_to)
    if mixed is not None and mix_approved:
        return _plan(mixed, goods, _why_mixed(mixed))
    return _short(panels, stretches, cloth, bound_to, mixed)


def cuts_for_what_there_is(
    panels: Sequence[PanelToLay],
    rolls: Sequence[RollFree],
    cloth: Cloth,
    bound_to: frozenset[str] = frozenset(),
    mix_approved: bool = False,
) -> tuple[CutPlan, Short | None]:
    """Cuts for as many whole pieces as one lot has cloth for, and what is short; three lots with an approved mix."""
    panels = _each_its_own(panels)
    found = plan_cuts(panels, rolls, cloth, bound_to, mix_approved)
    if isinstance(found, CutPlan):
        return found, None
    goods = Goods(cloth.nap, cloth.shortest_useful_mm)
    by_lot = _by_lot(usable(stretches_of(rolls), panels, goods))
    permitted = [lot for lot in by_lot if not bound_to or lot in bound_to or mix_approved]
    best: tuple[Cut, ...] = ()
    for lot in sorted(permitted, key=lambda lot: (lot not in bound_to, -_free(by_lot[lot]), lot))[:_LOTS_COMPARED]:
        cuts, _ = _as_many_pieces(by_lot[lot], panels, goods)
        if _area(cuts) > _area(best):
            best = cuts
    if mix_approved and best:
        best = _topped_up(best, by_lot, panels, goods)
    missing = _left(panels, best)
    short = Short(
        tuple(panel.ref for panel in missing),
        least_length_mm(missing, cloth.width_mm, cloth.nap),
        found.sentence,
        found.longest_lot,
        found.would_mix,
    )
    lots = listed(dict.fromkeys(lot_name(cut.stretch.roll.lot) for cut in best))
    return _plan(
        best, goods, (f"What there is, from {lots}: {len(panels) - len(missing)} of {len(panels)} panels.",)
    ), short


def _by_lot(stretches: Iterable[Stretch]) -> dict[str, list[Stretch]]:
    by_lot: dict[str, list[Stretch]] = {}
    for stretch in stretches:
        by_lot.setdefault(stretch.roll.lot, []).append(stretch)
    return by_lot


def _free(stretches: Iterable[Stretch]) -> int:
    return sum(stretch.free_mm for stretch in stretches)


def _best_lot(by_lot: dict[str, list[Stretch]], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...] | None:
    """The plan from the lot that suits best.

    The lots with most in remnants are compared; the others are tried while no plan is found, or only such as leaves a
    useless end of a long roll.
    """

    def promise(lot: str) -> tuple[int, int, str]:
        remnants = sum(stretch.free_mm for stretch in by_lot[lot] if stretch.roll.remnant)
        return -remnants, min(stretch.roll.received for stretch in by_lot[lot]), lot

    best: tuple[tuple[bool, int, int, int, int, int, int, str], tuple[Cut, ...]] | None = None
    for number, lot in enumerate(sorted(by_lot, key=promise)):
        if number >= _LOTS_COMPARED and best is not None and not best[0][1]:
            break
        if best is not None and not best[0][0] and not _may_spare_rolls(by_lot[lot], panels):
            continue
        cuts = cut_from_lot(by_lot[lot], panels, goods)
        if cuts is not None:
            key = (*_cost(cuts, goods), lot)
            if best is None or key < best[0]:
                best = (key, cuts)
    return None if best is None else best[1]


def _may_spare_rolls(stretches: Iterable[Stretch], panels: Sequence[PanelToLay]) -> bool:
    """Whether the remnants may do without a long roll. Where not, the lot never beats one of which they did."""
    remnants = [stretch for stretch in stretches if stretch.roll.remnant]
    return bool(remnants) and roomy(remnants, panels)


def _cost(cuts: Sequence[Cut], goods: Goods) -> tuple[bool, int, int, int, int, int, int]:
    """Less is better; the parts are named at the top."""
    rolls = [cut for cut in cuts if not cut.stretch.roll.remnant]
    remnants = [cut for cut in cuts if cut.stretch.roll.remnant]
    return (
        bool(rolls),
        sum(goods.useless(cut.rest_mm) for cut in rolls),
        sum(cut.length_mm for cut in rolls),
        sum(goods.useless(cut.rest_mm) for cut in remnants),
        len(cuts),
        sum(cut.rest_mm for cut in remnants),
        min(cut.stretch.roll.received for cut in cuts),
    )


def _each_its_own(panels: Sequence[PanelToLay]) -> list[PanelToLay]:
    """Copies, so that two panels are two even where the asker gave one twice."""
    return [PanelToLay(panel.ref, panel.shape, panel.piece) for panel in panels]


def _pieces(panels: Sequence[PanelToLay]) -> list[tuple[PanelToLay, ...]]:
    """Panels that stay together, the largest first."""
    by_piece: dict[tuple[str, int], list[PanelToLay]] = {}
    for number, panel in enumerate(panels):
        by_piece.setdefault((panel.piece, -1 if panel.piece else number), []).append(panel)
    return sorted(
        (tuple(some) for some in by_piece.values()),
        key=lambda some: -sum(panel.shape.length_mm * max(1, panel.shape.width_mm) for panel in some),
    )


def _as_many_pieces(
    stretches: Sequence[Stretch], panels: Sequence[PanelToLay], goods: Goods
) -> tuple[tuple[Cut, ...], list[PanelToLay]]:
    """As many whole pieces as go on these stretches of one lot, the largest first, and the panels of them."""
    cuts: tuple[Cut, ...] = ()
    chosen: list[PanelToLay] = []
    for some in _pieces(panels):
        more = cut_from_lot(stretches, [*chosen, *some], goods)
        if more is None and cuts:
            # The plan so far may stand, with the next piece on what it leaves free.
            beside, left = fill(_without(stretches, cuts), some, goods)
            more = (*cuts, *beside) if not left else None
        if more is not None:
            cuts, chosen = more, [*chosen, *some]
    return cuts, chosen


def _without(stretches: Iterable[Stretch], cuts: Sequence[Cut]) -> list[Stretch]:
    """What the stretches have left once these cuts are taken."""
    taken = {(cut.stretch.roll.holding_id, cut.stretch.from_mm): 0 for cut in cuts}
    for cut in cuts:
        taken[cut.stretch.roll.holding_id, cut.stretch.from_mm] += cut.length_mm
    left = (Stretch(s.roll, s.from_mm, s.to_mm - taken.get((s.roll.holding_id, s.from_mm), 0)) for s in stretches)
    return [stretch for stretch in left if stretch.free_mm > 0]


def _left(panels: Sequence[PanelToLay], cuts: Sequence[Cut]) -> list[PanelToLay]:
    """The panels that no cut serves."""
    served = {id(panel) for cut in cuts for panel in cut.panels}
    return [panel for panel in panels if id(panel) not in served]


def _area(cuts: Sequence[Cut]) -> int:
    return sum(cut.length_mm * cut.stretch.roll.width_mm for cut in cuts)


def _topped_up(
    cuts: tuple[Cut, ...], by_lot: dict[str, list[Stretch]], panels: Sequence[PanelToLay], goods: Goods
) -> tuple[Cut, ...]:
    """More pieces from other lots, up to three lots in all."""
    lots = {cut.stretch.roll.lot for cut in cuts}
    for lot in sorted(by_lot, key=lambda lot: (-_free(by_lot[lot]), lot)):
        left = _left(panels, cuts)
        if lot in lots or len(lots) == MOST_LOTS or not left:
            continue
        more, _ = _as_many_pieces(by_lot[lot], left, goods)
        if more:
            cuts, lots = (*cuts, *more), lots | {lot}
    return cuts


def _mixed(
    by_lot: dict[str, list[Stretch]], panels: Sequence[PanelToLay], goods: Goods, bound_to: frozenset[str]
) -> tuple[Cut, ...] | None:
    """The fewest lots, up to three, that together do, no piece from two of them; the group's own lots first."""
    if not all_go_somewhere((stretch for some in by_lot.values() for stretch in some), panels, goods):
        return None
    if bound_to:
        other = _best_lot({lot: some for lot, some in by_lot.items() if lot not in bound_to}, panels, goods)
        if other is not None and not any(lot in by_lot for lot in bound_to):
            return other
    lots = sorted(by_lot, key=lambda lot: (lot not in bound_to, -_free(by_lot[lot]), lot))[:_LOTS_MIXED]
    for count in range(2, MOST_LOTS + 1):
        for chosen in combinations(lots, count):
            cuts: tuple[Cut, ...] = ()
            for lot in chosen:
                more, _ = _as_many_pieces(by_lot[lot], _left(panels, cuts), goods)
                cuts = (*cuts, *more)
            if not _left(panels, cuts):
                return cuts
    return other if bound_to else None


def _too_wide(panels: Sequence[PanelToLay], rolls: Sequence[RollFree], cloth: Cloth) -> Short | None:
    """Panels that do not go on the width of anything there is."""
    widest = max((roll.width_mm for roll in rolls), default=cloth.width_mm)
    found = arrange(panels, widest, cloth.nap)
    if not isinstance(found, TooWide):
        return None
    refs = tuple(p.ref for p in panels if fits_across(p.shape, widest, cloth.nap) is None)
    wide = [p for p in panels if fits_across(p.shape, widest, cloth.nap) is None]
    missing = least_length_mm(wide, cloth.width_mm, cloth.nap)
    return Short(refs, missing, f"{found.sentence.rstrip('.')} at the most: buy it wider, or change the piece.")


def _short(
    panels: Sequence[PanelToLay],
    stretches: Sequence[Stretch],
    cloth: Cloth,
    bound_to: frozenset[str],
    mixed: tuple[Cut, ...] | None,
) -> Short:
    needed = least_length_mm(panels, cloth.width_mm, cloth.nap)
    free = lots_free((stretch.roll.lot, stretch.free_mm) for stretch in stretches)
    would_mix = tuple(dict.fromkeys(cut.stretch.roll.lot for cut in mixed)) if mixed else ()
    sentence = short_of_length(needed, free, bound_to, would_mix, _SPLIT)
    alone = max(least_length_mm([panel], cloth.width_mm, cloth.nap) for panel in panels)
    longest = max((one.longest_mm for one in free), default=0)
    if 0 < longest < alone:
        sentence += f" One panel alone needs {show_length(alone)}; the longest stretch is {show_length(longest)}."
    return Short(tuple(panel.ref for panel in panels), needed, sentence, free[0].lot if free else "", would_mix)


def _why_one_lot(lot: str, bound_to: frozenset[str], panels: int, by_lot: dict[str, list[Stretch]]) -> tuple[str, ...]:
    name = lot_name(lot)
    if lot in bound_to:
        return (f"From {name}, which this car's matching group has already.",)
    if panels == 1:
        return (f"From {name}.",)
    others = ", the only one there is" if len(by_lot) == 1 else ""
    return (f"All {panels} panels from {name}{others}: what is seen together comes from one dye lot.",)


def _why_mixed(cuts: Sequence[Cut]) -> tuple[str, ...]:
    lots = listed(dict.fromkeys(lot_name(cut.stretch.roll.lot) for cut in cuts))
    return (f"From {lots}: no single lot is enough, and here they may be mixed.",)


def _plan(cuts: Sequence[Cut], goods: Goods, why: tuple[str, ...]) -> CutPlan:
    planned, taken = [], dict[tuple[int, int], int]()
    for cut in cuts:
        stretch, lay = cut.stretch, arrange(cut.panels, cut.stretch.roll.width_mm, goods.nap)
        if isinstance(lay, TooWide):  # its length was worked out on this width
            raise AssertionError(lay.sentence)
        at = (stretch.roll.holding_id, stretch.from_mm)
        to_mm = min(stretch.to_mm, taken.get(at, stretch.to_mm))
        from_mm = taken[at] = to_mm - lay.length_mm
        reasons = (*why, _why_stretch(cut, from_mm - stretch.from_mm, goods))
        planned.append(PlannedCut(stretch.roll.holding_id, from_mm, to_mm, lay.placements, reasons))
    return CutPlan(tuple(planned), tuple(dict.fromkeys(cut.stretch.roll.lot for cut in cuts)))


def _why_stretch(cut: Cut, rest_mm: int, goods: Goods) -> str:
    roll = cut.stretch.roll
    what = f"Remnant {roll.tag}, used up before a long roll is cut" if roll.remnant else f"Roll {roll.tag}"
    panels = "1 panel" if len(cut.panels) == 1 else f"{len(cut.panels)} panels"
    if not rest_mm:
        left = "nothing of the stretch is left"
    elif goods.useless(rest_mm):
        left = f"the {show_length(rest_mm)} left is too short to be useful"
    else:
        left = f"{show_length(rest_mm)} of the stretch is left"
    return f"{what}: {show_length(cut.length_mm)} takes {panels}; {left}."
