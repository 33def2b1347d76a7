"""What is free of the rolls of some items: of each dye lot the longest rolls, and how much there is of it in all."""

from __future__ import annotations

from collections.abc import Collection
from heapq import nlargest
from typing import Any, NamedTuple

from sqlalchemy import bindparam, false, select

from stockroom.store import tables as t
from stockroom.store.database import Tx


class FreeRoll(NamedTuple):
    """One roll, reel or remnant that has something free and is not in quarantine."""

    tag: str
    item: str
    lot: str
    place: str
    free_mm: int
    remnant: bool
    rolls_of_lot: int
    """Rolls of its lot that have something free."""
    free_of_lot_mm: int


_H = t.Holding
_FREE = (_H.held - _H.reserved).label("free")
# Of thousands of rolls only the figures are read; a window over them would take the database twice as long.
_LENGTHS: Any = select(_H.item, _H.lot, _FREE, _H.id).where(
    _H.item.in_(bindparam("items", expanding=True)),
    _H.kind == "roll",
    _H.quarantined.is_(false()),
    _H.held > _H.reserved,
    _H.tag != bindparam("but_not"),
)
_ROLLS: Any = (
    select(_H.id, _H.tag, _H.item, _H.lot, _H.place, _FREE, t.Roll.remnant)
    .join(t.Roll, t.Roll.holding_id == _H.id)
    .where(_H.id.in_(bindparam("ids", expanding=True)))
    .order_by(_FREE.desc(), _H.id)
)


def free_rolls(tx: Tx, items: Collection[str], most_of_a_lot: int, but_not: str = "") -> list[FreeRoll]:
    """The rolls of these items, the longest first, at most so many of a lot. `but_not`: the tag of one left out."""
    by_lot: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for item, lot, free_mm, id_ in tx.execute(_LENGTHS, {"items": sorted(set(items)), "but_not": but_not}).all():
        by_lot.setdefault((item, lot), []).append((free_mm, -id_))
    sums = {lot: (len(rolls), sum(free_mm for free_mm, _ in rolls)) for lot, rolls in by_lot.items()}
    ids = [-id_ for rolls in by_lot.values() for _, id_ in nlargest(most_of_a_lot, rolls)]
    return [
        FreeRoll(tag or "", item, lot, place or "", free_mm, bool(remnant), *sums[item, lot])
        for _, tag, item, lot, place, free_mm, remnant in tx.execute(_ROLLS, {"ids": ids}).all()
    ]
