"""Suppliers' notices: until when an item can be ordered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import delete, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows


@dataclass(frozen=True, slots=True)
class KeptNotice:
    """A notice that holds."""

    id: int
    item: str
    title: str
    until: date
    weeks: int
    note: str
    by: str
    at: datetime


def standing_notices(tx: Tx) -> list[KeptNotice]:
    """The notices that hold, by the last day to order; one an item."""
    n = t.LastOrder
    rows = tx.execute(
        select(n.id, n.item, t.Item.title, n.until, n.weeks, n.note, n.by, n.at)
        .join(t.Item, t.Item.code == n.item)
        .where(n.ended_because == "")
        .order_by(n.until, n.item, n.id)
    )
    return [KeptNotice(*row) for row in rows]


def notice_of(tx: Tx, item: str) -> KeptNotice | None:
    """The notice that holds of an item; nobody else gives or ends one until the job is done."""
    lock_rows(tx, t.Item.__table__, [item])
    return next((one for one in standing_notices(tx) if one.item == item), None)


def keep_notice(tx: Tx, item: str, until: date, weeks: int, note: str, stamp: Stamp) -> int:
    """Writes a notice down; gives the number of the row."""
    row = {"item": item, "until": until, "weeks": weeks, "note": note, "by": stamp.by, "at": stamp.at}
    new = insert(t.LastOrder).returning(t.LastOrder.id)
    number: int = tx.execute(new, {**row, "ended_because": ""}).scalar_one()
    return number


def drop_notice(tx: Tx, number: int) -> bool:
    """It was written down by mistake. False, and nothing changed, where it holds no longer."""
    n = t.LastOrder
    return bool(tx.execute(delete(n).where(n.id == number, n.ended_because == "")).rowcount)


def end_notice(tx: Tx, number: int, because: str, stamp: Stamp) -> None:
    """It holds no longer."""
    n = t.LastOrder
    ended = {"ended_because": because, "ended_by": stamp.by, "ended_at": stamp.at}
    tx.execute(update(n).where(n.id == number, n.ended_because == "").values(**ended))


def reopen_notice(tx: Tx, number: int) -> None:
    """It holds again."""
    n = t.LastOrder
    tx.execute(update(n).where(n.id == number).values(ended_because="", ended_by=None, ended_at=None))
