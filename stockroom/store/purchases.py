"""Purchases as they are kept: what was bought of whom, how much of it has come, and that no more of it will."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, delete, func, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows

_PURCHASE: Any = t.Purchase.__table__


@dataclass(frozen=True, slots=True)
class PurchaseLine:
    """One item of a purchase. Quantities in mm or count."""

    id: int
    reference: str
    supplier: str
    """Code of the supplier."""
    supplier_name: str
    currency: str
    """The supplier's, in which the price is."""
    item: str
    title: str
    item_kind: str
    quantity: int
    received: int
    ordered: date
    due: date
    price_minor: int
    """Of one, or of one metre; 0 where it is not known."""
    closed_because: str
    closed_by: str
    closed_at: datetime | None

    @property
    def still_due(self) -> int:
        """What has not come and is expected."""
        return 0 if self.closed_because else max(0, self.quantity - self.received)


@dataclass(frozen=True, slots=True)
class NewPurchase:
    """A line of a purchase to be written down. Quantity in mm or count."""

    reference: str
    supplier: str
    item: str
    quantity: int
    ordered: date
    due: date
    price_minor: int


def references(tx: Tx) -> tuple[str, ...]:
    """The reference of every purchase."""
    return tuple(tx.scalars(select(t.Purchase.reference).distinct().order_by(t.Purchase.reference)))


def lines_of(tx: Tx, reference: str) -> tuple[PurchaseLine, ...]:
    """The lines of a purchase, in the order of their items; none where there is no such purchase."""
    return _lines(tx, t.Purchase.reference == reference)


def lines_to_change(tx: Tx, reference: str) -> tuple[PurchaseLine, ...]:
    """`lines_of`, locked until the transaction ends."""
    lock_rows(tx, _PURCHASE, tx.scalars(select(t.Purchase.id).where(t.Purchase.reference == reference)).all())
    return lines_of(tx, reference)


def open_lines(tx: Tx) -> tuple[PurchaseLine, ...]:
    """Every line that something is still expected of, the earliest due first."""
    p = t.Purchase
    return tuple(
        sorted(
            _lines(tx, (p.closed_because == "") & (p.received < p.quantity)),
            key=lambda one: (one.due, one.reference, one.item),
        )
    )


def add_purchase(tx: Tx, one: NewPurchase, stamp: Stamp) -> int:
    """Writes a line of a purchase down; its supplier and item must be there. Gives its number."""
    return int(
        tx.execute(
            insert(t.Purchase).returning(t.Purchase.id),
            {
                "reference": one.reference,
                "supplier": one.supplier,
                "item": one.item,
                "quantity": one.quantity,
                "received": 0,
                "ordered": one.ordered,
                "due": one.due,
                "price_minor": one.price_minor,
                "by": stamp.by,
                "at": stamp.at,
            },
        ).scalar_one()
    )


def add_received(tx: Tx, purchase_id: int, quantity: int) -> None:
    """So much more of a purchase has come; less than nothing: it was taken back. The line is locked."""
    tx.execute(update(t.Purchase).where(t.Purchase.id == purchase_id).values(received=t.Purchase.received + quantity))


def close(tx: Tx, purchase_ids: Iterable[int], because: str, stamp: Stamp) -> None:
    """No more of these lines will come, or is wanted."""
    tx.execute(
        update(t.Purchase)
        .where(t.Purchase.id.in_(list(purchase_ids)))
        .values(closed_because=because, closed_by=stamp.by, closed_at=stamp.at)
    )


def open_again(tx: Tx, purchase_ids: Iterable[int], closed_at: datetime) -> bool:
    """More of these lines is expected again; whether all of them were still as they were closed at that moment."""
    wanted = sorted(set(purchase_ids))
    lock_rows(tx, _PURCHASE, wanted)
    p = t.Purchase
    found = tx.execute(select(p.id, p.closed_at).where(p.id.in_(wanted), p.closed_because != "")).all()
    if {row.id for row in found} != set(wanted) or any(row.closed_at != closed_at for row in found):
        return False
    tx.execute(update(p).where(p.id.in_(wanted)).values(closed_because="", closed_by=None, closed_at=None))
    return True


def is_untouched(tx: Tx, purchase_id: int) -> bool:
    """Whether nothing of a line has come, with or without having been bought, and nobody has closed it."""
    p = t.Purchase
    row = tx.execute(select(p.received, p.closed_because).where(p.id == purchase_id)).first()
    came = tx.execute(select(t.Receipt.id).where(t.Receipt.purchase_id == purchase_id).limit(1)).first()
    return row is not None and not row.received and not row.closed_because and came is None


def written_since_run(tx: Tx, run: int, items: Iterable[str]) -> defaultdict[str, list[str]]:
    """Item → purchases of it that were written down after a run was made, and not by deciding on its lines."""
    p, d, r = t.Purchase, t.BuyingDecision, t.ReorderRun
    decided = select(d.purchase_id).where(d.purchase_id.is_not(None))
    made_at = select(r.at).where(r.id == run).scalar_subquery()
    rows = tx.execute(
        select(p.item, p.reference)
        .where(p.item.in_(sorted(set(items))), p.at > made_at, p.id.not_in(decided.where(d.run_id == run)))
        .order_by(p.item, p.id)
    )
    found: defaultdict[str, list[str]] = defaultdict(list)
    for item, reference in rows:
        found[item].append(reference)
    return found


def take_away(tx: Tx, purchase_id: int) -> bool:
    """A line that was written down by mistake is gone again; whether it could be: nothing of it had come."""
    lock_rows(tx, _PURCHASE, [purchase_id])
    if not is_untouched(tx, purchase_id):
        return False
    tx.execute(delete(t.Purchase).where(t.Purchase.id == purchase_id))
    return True


def _lines(tx: Tx, wanted: ColumnElement[bool]) -> tuple[PurchaseLine, ...]:
    p, s, i = t.Purchase, t.Supplier, t.Item
    rows: Sequence[Any] = tx.execute(
        select(
            p.id, p.reference, p.supplier, s.name, s.currency, p.item, i.title, i.kind, p.quantity, p.received,
            p.ordered, p.due, p.price_minor, p.closed_because, func.coalesce(p.closed_by, ""), p.closed_at,
        )
        .join(s, s.code == p.supplier)
        .join(i, i.code == p.item)
        .where(wanted)
        .order_by(p.item)
    ).all()  # fmt: skip
    return tuple(PurchaseLine(*row) for row in rows)
