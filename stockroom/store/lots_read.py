"""What was read of each lot of some items, when, and when the lot came in."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import func, select

from stockroom.domain.catalogue import Reading
from stockroom.store import tables as t
from stockroom.store.database import Tx


class ReadingTaken(NamedTuple):
    """One reading."""

    item: str
    lot: str
    reading: Reading
    at: datetime


def readings_taken(tx: Tx, items: Collection[str]) -> list[ReadingTaken]:
    """All that was read of the rolls of these items, those too that are used up, in the order it was written down."""
    r, h = t.Reading, t.Holding
    rows = tx.execute(
        select(h.item, h.lot, r.lightness, r.a, r.b, r.illuminant, r.observer, r.at)
        .join_from(r, h, h.id == r.holding_id)
        .where(h.item.in_(items))
        .order_by(r.id)
    )
    return [ReadingTaken(row[0], row[1], Reading(*row[2:7]), row[7]) for row in rows]


def days_lots_came(tx: Tx, items: Collection[str]) -> dict[tuple[str, str], date]:
    """Item and lot → the day its first roll came in; without those of which that is not known."""
    h, r = t.Holding, t.Roll
    rows = tx.execute(
        select(h.item, h.lot, func.min(r.received_on))
        .join_from(h, r, r.holding_id == h.id)
        .where(h.item.in_(items), r.received_on.is_not(None))
        .group_by(h.item, h.lot)
    )
    return {(item, lot): day for item, lot, day in rows if day is not None}
