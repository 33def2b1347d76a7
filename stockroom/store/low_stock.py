"""What runs out, as somebody at the shelf says: low-stock tags that were scanned, until it is bought or not wanted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, delete, insert, select, true, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows


@dataclass(frozen=True, slots=True)
class KeptLow:
    """One item that stands on the buying list."""

    id: int
    item: str
    title: str
    item_kind: str
    by: str
    at: datetime
    hazards: str
    storage: str
    posting: str


def standing_low(tx: Tx) -> list[KeptLow]:
    """What stands on the buying list, what was scanned first first."""
    return _standing(tx, true())


def _standing(tx: Tx, which: ColumnElement[bool]) -> list[KeptLow]:
    low, item = t.LowStock, t.Item
    rows = tx.execute(
        select(low.id, low.item, item.title, item.kind, low.by, low.at, item.hazards, item.storage, item.posting)
        .join(item, item.code == low.item)
        .where(low.ended_because == "", which)
        .order_by(low.at, low.id)
    )
    return [KeptLow(*row) for row in rows]


def low_of(tx: Tx, item: str) -> KeptLow | None:
    """What stands on the buying list of an item; nobody else adds or ends it until the job is done."""
    lock_rows(tx, t.Item.__table__, [item])
    return next(iter(_standing(tx, t.LowStock.item == item)), None)


def keep_low(tx: Tx, item: str, stamp: Stamp) -> int:
    """Writes down that an item is running out; gives the number of the row."""
    row = {"item": item, "by": stamp.by, "at": stamp.at, "ended_because": ""}
    low_id: int = tx.execute(insert(t.LowStock).returning(t.LowStock.id), row).scalar_one()
    return low_id


def drop_low(tx: Tx, low_id: int) -> bool:
    """It was scanned by mistake. False, and nothing changed, where it was bought or came meanwhile."""
    return bool(tx.execute(delete(t.LowStock).where(t.LowStock.id == low_id, t.LowStock.ended_because == "")).rowcount)


def end_low_stock(tx: Tx, item: str, because: str, stamp: Stamp) -> list[int]:
    """What was scanned as running out is bought or has come: it stands on the buying list no more. Gives its rows."""
    low = t.LowStock
    standing = list(tx.scalars(select(low.id).where(low.item == item, low.ended_because == "")))
    tx.execute(
        update(low).where(low.id.in_(standing)).values(ended_because=because, ended_by=stamp.by, ended_at=stamp.at)
    )
    return standing


def reopen_low_stock(tx: Tx, ids: Sequence[int], because: str) -> None:
    """It is running out again, where nothing else has ended it since."""
    low = t.LowStock
    tx.execute(
        update(low)
        .where(low.id.in_(list(ids)), low.ended_because == because)
        .values(ended_because="", ended_by=None, ended_at=None)
    )


def item_in(tx: Tx, tag: str) -> str | None:
    """The item that is in the roll or bin of a tag."""
    found: str | None = tx.execute(select(t.Holding.item).where(t.Holding.tag == tag)).scalar()
    return found


def on_order(tx: Tx, items: Iterable[str]) -> defaultdict[str, list[tuple[str, date]]]:
    """Item → reference and day due of the purchases by which more of it is to come, the earliest first."""
    p = t.Purchase
    rows = tx.execute(
        select(p.item, p.reference, p.due)
        .where(p.item.in_(sorted(set(items))), p.quantity > p.received, p.closed_because == "")
        .order_by(p.due, p.reference)
    )
    found: defaultdict[str, list[tuple[str, date]]] = defaultdict(list)
    for row in rows:
        found[row.item].append((row.reference, row.due))
    return found
