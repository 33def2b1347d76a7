"""Allocation: which roll, which dye lot, which stretch, for the panels of one cloth and colour in one matching group.

The pieces that are seen side by side come from one dye lot. A lot that the group has already is kept to; where the
order asks to match what went out, that lot comes first, and then the nearest that matches it. Otherwise the lot is
chosen whose plan cuts no long roll (remnants are used up first); then leaves the fewest useless ends of long rolls;
cuts the least off long rolls; leaves the fewest useless ends of remnants; makes the fewest cuts; leaves the least of
the remnants it cuts; is the oldest. Where no lot is enough, the best mix that the group rule allows is proposed
(`stockroom.domain.best_mix`), and is used once somebody has approved it.

Guaranteed: a plan never takes what is not free, its cuts never overlap, and without an approved mix it is of one lot.
Where all the panels go together on one free stretch of a permitted lot, a plan is found; what is guaranteed of sharing
them out over several stretches is said in `stockroom.domain.cutting`, and every permitted lot is tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from stockroom.domain.catalogue import Cloth
from stockroom.domain.cloth_shares import ClothShares
from stockroom.domain.cut_plans import CutPlan, by_lot_of, each_its_own, settled, whole_pieces
from stockroom.domain.cutting import (
    Cut,
    Goods,
    RollFree,
    Stretch,
    all_go_somewhere,
    cut_from_lot,
    least_length_mm,
    roomy,
    stretches_of,
    usable,
)
from stockroom.domain.group_rule import MatchingGroup
from stockroom.domain.lay import PanelToLay, TooWide, arrange, fits_across
from stockroom.domain.mixing import (
    Mixing,
    choose_mix,
    known_lot_words,
    nearest_lot_words,
    nearest_that_match,
    nearest_words,
)
from stockroom.domain.quantities import show_length
from stockroom.domain.shortage import Short, lot_name, lots_free, short_of_length

LOTS_COMPARED = 6
"""So many lots are planned and compared; the others only where none of these will do."""
_SPLIT = {"one": "stretch", "many": "stretches"}
_ANY = MatchingGroup()


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
    panels: Sequence[PanelToLay], rolls: Sequence[RollFree], cloth: Cloth, group: MatchingGroup = _ANY
) -> CutPlan | Short:
    """Cuts for all the panels, or what is short and why.

    `group`: what binds the choice of the lot, and what is known of the lots' colours.
    """
    if not panels:
        return CutPlan((), ())
    panels = each_its_own(panels)
    goods = Goods(cloth.nap, cloth.shortest_useful_mm)
    too_wide = _too_wide(panels, rolls, cloth)
    if too_wide is not None:
        return too_wide
    stretches = stretches_of(rolls)
    by_lot = by_lot_of(usable(stretches, panels, goods))
    first = group.bound_to or group.to_match
    permitted = {lot: some for lot, some in by_lot.items() if not first or lot in first}
    cuts = _best_lot(permitted, panels, goods)
    if cuts is not None:
        return settled(cuts, goods, _why_one_lot(cuts[0].stretch.roll.lot, group, len(panels), by_lot))
    near = _nearest_lot(by_lot, panels, goods, group)
    if near is not None:
        return settled(near, goods, (nearest_lot_words(near[0].stretch.roll.lot, group),))
    mixing, mixed = _mixed(by_lot, panels, goods, group)
    if mixing.is_allowed:
        return settled(mixed, goods, (mixing.words,))
    return _short(panels, stretches, cloth, group, mixing)


def _nearest_lot(
    by_lot: Mapping[str, Sequence[Stretch]], panels: Sequence[PanelToLay], goods: Goods, group: MatchingGroup
) -> tuple[Cut, ...] | None:
    """All the panels from the lot that is nearest to what went out, of those that match it and have enough."""
    tried = (cut_from_lot(by_lot[lot], panels, goods) for lot in nearest_that_match(list(by_lot), group))
    return next((cuts for cuts in tried if cuts is not None), None)


def _mixed(
    by_lot: Mapping[str, Sequence[Stretch]], panels: Sequence[PanelToLay], goods: Goods, group: MatchingGroup
) -> tuple[Mixing, tuple[Cut, ...]]:
    """What becomes of mixing the lots, with its cuts."""
    every = [stretch for some in by_lot.values() for stretch in some]
    if not all_go_somewhere(every, panels, goods):
        lots = list(by_lot)
        return Mixing(None, False, " ".join(nearest_words(lots, group, group.pairs(lots)) if group.beside else ())), ()
    shares = ClothShares(whole_pieces(panels), by_lot, goods)
    mixing = choose_mix(sorted(by_lot, key=lambda lot: _promise(by_lot[lot], lot)), group, shares)
    return mixing, () if mixing.mix is None else shares.cuts(mixing.mix.shares)


def _promise(stretches: Iterable[Stretch], lot: str) -> tuple[int, int, str]:
    """Less is more promising: a lot with much in remnants, an old one."""
    some = list(stretches)
    return (
        -sum(stretch.free_mm for stretch in some if stretch.roll.remnant),
        min(stretch.roll.received for stretch in some),
        lot,
    )


def _best_lot(by_lot: dict[str, list[Stretch]], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...] | None:
    """The plan from the lot that suits best.

    The lots with most in remnants are compared; the others are tried while no plan is found, or only such as leaves a
    useless end of a long roll.
    """

    best: tuple[tuple[bool, int, int, int, int, int, int, str], tuple[Cut, ...]] | None = None
    for number, lot in enumerate(sorted(by_lot, key=lambda lot: _promise(by_lot[lot], lot))):
        if number >= LOTS_COMPARED and best is not None and not best[0][1]:
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
    group: MatchingGroup,
    mixing: Mixing,
) -> Short:
    needed = least_length_mm(panels, cloth.width_mm, cloth.nap)
    free = lots_free((stretch.roll.lot, stretch.free_mm) for stretch in stretches)
    sentence = short_of_length(needed, free, group.bound_to, group.to_match, _SPLIT)
    alone = max(least_length_mm([panel], cloth.width_mm, cloth.nap) for panel in panels)
    longest = max((one.longest_mm for one in free), default=0)
    if 0 < longest < alone:
        sentence += f" One panel alone needs {show_length(alone)}; the longest stretch is {show_length(longest)}."
    return Short(
        tuple(panel.ref for panel in panels),
        needed,
        f"{sentence} {mixing.words}".rstrip(),
        free[0].lot if free else "",
        mixing.would_mix,
    )


def _why_one_lot(
    lot: str, group: MatchingGroup, panels: int, by_lot: Mapping[str, Sequence[Stretch]]
) -> tuple[str, ...]:
    known = known_lot_words(lot, group)
    if known:
        return (known,)
    name = lot_name(lot)
    if panels == 1:
        return (f"From {name}.",)
    others = ", the only one there is" if len(by_lot) == 1 else ""
    return (f"All {panels} panels from {name}{others}: what is seen together comes from one dye lot.",)
