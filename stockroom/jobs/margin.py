"""The stated margin of a cloth: so much of its lot stays held for an order until it is packed.

It is only ever held from what is free, and it gives way to the order's own panels, so it makes no order short by
itself. Where a panel is spoilt it is what the panel is cut from again.
"""

from __future__ import annotations

from collections.abc import Sequence

from stockroom.domain.allocation import free_stretches
from stockroom.domain.catalogue import Cloth
from stockroom.domain.quantities import show_length
from stockroom.domain.stamp import Stamp
from stockroom.jobs.lookup import Catalogue
from stockroom.store import holds, margins
from stockroom.store.database import Tx
from stockroom.store.holds import Candidate
from stockroom.store.orders import KeptOrder


def are_stated(catalogue: Catalogue) -> bool:
    """Whether the shop states a margin for any cloth."""
    return any(cloth.margin_mm for cloth in catalogue.cloths.values())


def hold_margins(catalogue: Catalogue, tx: Tx, order: KeptOrder, stamp: Stamp) -> tuple[str, ...]:
    """Holds the margins that an order lacks, as far as there is cloth free for them; tells of each in a sentence."""
    if not are_stated(catalogue):
        return ()
    there = {(one.item, one.lot) for one in margins.margins_of(tx, order.id)}
    wanted = [
        (item, lot, cloth)
        for item, lot in margins.lots_used(tx, order.id)
        if (cloth := catalogue.cloths[catalogue.items[item].cloth]).margin_mm and (item, lot) not in there
    ]
    told = []
    free = holds.candidates(tx, [item for item, _, _ in wanted], stamp.at.date()) if wanted else {}
    for item, lot, cloth in wanted:
        found = _stretch([one for one in free[item] if one.kind == "roll" and one.lot == lot], cloth)
        if found is not None:
            roll, stretch = found
            margins.hold_margin(tx, order.id, roll.holding_id, stretch, stamp)
            told.append(margin_words(catalogue, item, lot, roll.tag, stretch))
    return tuple(told)


def margin_words(catalogue: Catalogue, item: str, lot: str, roll_tag: str, stretch: tuple[int, int]) -> str:
    """A margin in a sentence. `stretch`: from and to in mm from the roll's inner end."""
    return (
        f"{show_length(stretch[1] - stretch[0])} of {catalogue.items[item].title}, lot {lot or 'unknown'}, is held on "
        f"{roll_tag} as a margin until the order is packed."
    )


def _stretch(rolls: Sequence[Candidate], cloth: Cloth) -> tuple[Candidate, tuple[int, int]] | None:
    """The stretch for a margin: on the widest roll, the shortest free one that takes it, at its inner end.

    Where none takes it whole, the longest that is still useful. Cuts are planned from the outer end, so that a margin
    at the inner end is in nobody's way.
    """
    free = [
        (one, first, last)
        for one in rolls
        for first, last in free_stretches(one.held, (*one.promised, *one.flaws), cloth.shortest_useful_mm)
    ]
    whole = [one for one in free if one[2] - one[1] >= cloth.margin_mm]
    if whole:
        roll, first, _ = min(whole, key=lambda one: (-one[0].width_mm, one[2] - one[1], one[0].holding_id, one[1]))
        return roll, (first, first + cloth.margin_mm)
    if free:
        roll, first, last = max(free, key=lambda one: (one[2] - one[1], one[0].width_mm, -one[0].holding_id))
        return roll, (first, last)
    return None
