"""Cuts for as much as there is, in whole pieces, where there is not enough for all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from stockroom.domain.allocation import LOTS_COMPARED, plan_cuts
from stockroom.domain.catalogue import Cloth
from stockroom.domain.cut_plans import CutPlan, by_lot_of, each_its_own, settled, whole_pieces
from stockroom.domain.cutting import (
    Cut,
    Goods,
    RollFree,
    Stretch,
    cut_from_lot,
    fill,
    least_length_mm,
    stretches_of,
    usable,
)
from stockroom.domain.group_rule import MOST_LOTS, MatchingGroup
from stockroom.domain.lay import PanelToLay
from stockroom.domain.shortage import Short, lot_name
from stockroom.domain.wording import listed

_ANY = MatchingGroup()


def cuts_for_what_there_is(
    panels: Sequence[PanelToLay], rolls: Sequence[RollFree], cloth: Cloth, group: MatchingGroup = _ANY
) -> tuple[CutPlan, Short | None]:
    """Cuts for as many whole pieces as one lot has cloth for, and what is short; of an approved mix, three lots."""
    panels = each_its_own(panels)
    found = plan_cuts(panels, rolls, cloth, group)
    if isinstance(found, CutPlan):
        return found, None
    goods = Goods(cloth.nap, cloth.shortest_useful_mm)
    by_lot = by_lot_of(usable(stretches_of(rolls), panels, goods))
    best: tuple[Cut, ...] = ()
    for lot in _in_order(by_lot, group)[:LOTS_COMPARED]:
        cuts = _as_many_pieces(by_lot[lot], panels, goods)
        if _area(cuts) > _area(best):
            best = cuts
    best = _topped_up(best, by_lot, panels, goods, group)
    missing = _left(panels, best)
    short = Short(
        tuple(panel.ref for panel in missing),
        least_length_mm(missing, cloth.width_mm, cloth.nap),
        found.sentence,
        found.longest_lot,
        found.would_mix,
    )
    lots = listed(dict.fromkeys(lot_name(cut.stretch.roll.lot) for cut in best))
    return settled(
        best, goods, (f"What there is, from {lots}: {len(panels) - len(missing)} of {len(panels)} panels.",)
    ), short


def _in_order(by_lot: Mapping[str, Sequence[Stretch]], group: MatchingGroup) -> list[str]:
    """The lots that may be taken from alone: what the group has, or is to match, else that with most free first."""
    permitted = [lot for lot in by_lot if group.may_begin_with(lot)]
    return sorted(permitted, key=lambda lot: (lot not in group.beside, -_free(by_lot[lot]), lot))


def _free(stretches: Sequence[Stretch]) -> int:
    return sum(stretch.free_mm for stretch in stretches)


def _as_many_pieces(stretches: Sequence[Stretch], panels: Sequence[PanelToLay], goods: Goods) -> tuple[Cut, ...]:
    """As many whole pieces as go on these stretches of one lot, the largest first."""
    cuts: tuple[Cut, ...] = ()
    chosen: list[PanelToLay] = []
    for some in whole_pieces(panels):
        more = cut_from_lot(stretches, [*chosen, *some], goods)
        if more is None and cuts:
            # The plan so far may stand, with the next piece on what it leaves free.
            beside, left = fill(_without(stretches, cuts), some, goods)
            more = (*cuts, *beside) if not left else None
        if more is not None:
            cuts, chosen = more, [*chosen, *some]
    return cuts


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
    cuts: tuple[Cut, ...],
    by_lot: Mapping[str, Sequence[Stretch]],
    panels: Sequence[PanelToLay],
    goods: Goods,
    group: MatchingGroup,
) -> tuple[Cut, ...]:
    """More pieces from other lots, where the group may be of them all, up to three lots."""
    lots = frozenset(cut.stretch.roll.lot for cut in cuts)
    for lot in sorted(by_lot, key=lambda lot: (-_free(by_lot[lot]), lot)):
        left = _left(panels, cuts)
        if not cuts or not left or lot in lots or len(lots | group.bound_to) >= MOST_LOTS:
            continue
        if group.allows(lots | {lot}):
            more = _as_many_pieces(by_lot[lot], left, goods)
            if more:
                cuts, lots = (*cuts, *more), lots | {lot}
    return cuts
