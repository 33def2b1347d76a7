"""What is in stock and is not to be used after some day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, false, select

from stockroom.store import tables as t
from stockroom.store.database import Tx

_H = t.Holding


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
    return _with_their_day(tx, _H.held > 0, _H.expires <= last)


def past_their_day(tx: Tx, items: Iterable[str], today: date) -> list[KeptExpiry]:
    """What of these items would be free in part if its day were not past; the earliest first."""
    usable = (_H.kind.in_(("roll", "bin")), _H.quarantined.is_(false()), _H.held > _H.reserved)
    return _with_their_day(tx, _H.item.in_(sorted(set(items))), _H.expires < today, *usable)


def _with_their_day(tx: Tx, *which: ColumnElement[bool]) -> list[KeptExpiry]:
    rows = tx.execute(
        select(
            _H.tag, _H.item, t.Item.title, t.Item.kind, _H.place, _H.lot, _H.held, _H.expires,
            t.Item.hazards, t.Item.storage, t.Item.posting,
        )
        .join(t.Item, t.Item.code == _H.item)
        .where(*which, _H.expires.is_not(None))
        .order_by(_H.expires, _H.id)
    )  # fmt: skip
    return [
        KeptExpiry(
            row.tag or "", row.item, row.title, row.kind, row.place or "", row.lot, row.held, row.expires,
            row.hazards, row.storage, row.posting,
        )
        for row in rows
        if row.expires is not None
    ]  # fmt: skip
