"""What is in stock and is not to be used after some day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class KeptExpiry:
    """One roll or bin with its day."""

    tag: str
    item: str
    title: str
    item_kind: str
    place: str
    lot: str
    held: int
    expires: date
    hazards: str
    storage: str
    posting: str


def expiring_until(tx: Tx, last: date) -> list[KeptExpiry]:
    """What is held and is not to be used after `last`, or sooner; the earliest first."""
    h = t.Holding
    rows = tx.execute(
        select(
            h.tag,
            h.item,
            t.Item.title,
            t.Item.kind,
            h.place,
            h.lot,
            h.held,
            h.expires,
            t.Item.hazards,
            t.Item.storage,
            t.Item.posting,
        )
        .join(t.Item, t.Item.code == h.item)
        .where(h.held > 0, h.expires <= last)
        .order_by(h.expires, h.id)
    )
    return [
        KeptExpiry(
            row.tag or "",
            row.item,
            row.title,
            row.kind,
            row.place or "",
            row.lot,
            row.held,
            row.expires or last,
            row.hazards,
            row.storage,
            row.posting,
        )
        for row in rows
    ]
