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
_WHERE = (
    _H.item.in_(bindparam("items", expanding=True)),
    _H.kind == "roll",
    _H.quarantined.is_(false()),
    _H.held > _H.reserved,
    _H.tag != bindparam("but_not"),
)
# Of thousands of rolls only what is told is brought over; counting in the window would take twice as long as apart.
_SUMS: Any = (
    select(_H.item, _H.lot, cast(func.count(), Integer), cast(func.sum(_FREE), BigInteger))
    .where(*_WHERE)
    .group_by(_H.item, _H.lot)
)
_RANKED = (
    select(
        _H.id,
        func.row_number().over(partition_by=(_H.item, _H.lot), order_by=(_FREE.desc(), _H.id)).label("turn"),
    )
    .where(*_WHERE)
    .subquery()
)
_ROLLS: Any = (
    select(_H.tag, _H.item, _H.lot, _H.place, _FREE, t.Roll.remnant)
    .join(_RANKED, _RANKED.c.id == _H.id)
    .join(t.Roll, t.Roll.holding_id == _H.id)
    .where(_RANKED.c.turn <= bindparam("most"))
    .order_by(_FREE.desc(), _H.id)
)


def free_rolls(tx: Tx, items: Collection[str], most_of_a_lot: int, but_not: str = "") -> list[FreeRoll]:
    """The rolls of these items, the longest first, at most so many of a lot. `but_not`: the tag of one left out."""
    asked = {"items": sorted(set(items)), "but_not": but_not, "most": most_of_a_lot}
    sums = {(item, lot): (rolls, free_mm) for item, lot, rolls, free_mm in tx.execute(_SUMS, asked).all()}
    return [
        FreeRoll(tag or "", item, lot, place or "", free_mm, bool(remnant), *sums[item, lot])
        for tag, item, lot, place, free_mm, remnant in tx.execute(_ROLLS, asked).all()
    ]
