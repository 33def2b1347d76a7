"""What is free of the rolls of some items: of each dye lot the longest rolls, and how much there is of it in all."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, Integer, bindparam, cast, false, func, select

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
_LOT = (_H.item, _H.lot)
_RANKED = (
    select(
        _H.id, _H.tag, _H.item, _H.lot, _H.place, _FREE,
        func.row_number().over(partition_by=_LOT, order_by=(_FREE.desc(), _H.id)).label("turn"),
        cast(func.count().over(partition_by=_LOT), Integer).label("rolls"),
        cast(func.sum(_FREE).over(partition_by=_LOT), BigInteger).label("all_free"),
    )
    .where(
        _H.item.in_(bindparam("items", expanding=True)),
        _H.kind == "roll",
        _H.quarantined.is_(false()),
        _H.held > _H.reserved,
        _H.tag != bindparam("but_not"),
    )
    .subquery()
)  # fmt: skip
_LONGEST: Any = (
    select(
        _RANKED.c.tag, _RANKED.c.item, _RANKED.c.lot, _RANKED.c.place, _RANKED.c.free, t.Roll.remnant, _RANKED.c.rolls,
        _RANKED.c.all_free,
    )
    .join(t.Roll, t.Roll.holding_id == _RANKED.c.id)
    .where(_RANKED.c.turn <= bindparam("most"))
    .order_by(_RANKED.c.free.desc(), _RANKED.c.id)
)  # fmt: skip


def free_rolls(tx: Tx, items: Collection[str], most_of_a_lot: int, but_not: str = "") -> list[FreeRoll]:
    """The rolls of these items, the longest first, at most so many of a lot. `but_not`: the tag of one left out."""
    asked = {"items": sorted(set(items)), "most": most_of_a_lot, "but_not": but_not}
    rows = tx.execute(_LONGEST, asked)
    return [FreeRoll(row[0] or "", row[1], row[2], row[3] or "", row[4], bool(row[5]), row[6], row[7]) for row in rows]
