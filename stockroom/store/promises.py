"""What is promised from a holding and to whom, the latest wanted first: for whoever must let some of it go."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select

from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows


@dataclass(frozen=True, slots=True)
class ReservedHere:
    """A requirement's reservation on one holding, with its order."""

    requirement_id: int
    order: str
    """Number."""
    wanted: date | None
    quantity: int
    """mm or count."""


def reservations_on(tx: Tx, holding_id: int) -> list[ReservedHere]:
    """The reservations on a holding: those of the order that is wanted latest (or at no date) first."""
    r, q, o = t.Reservation, t.Requirement, t.CustomerOrder
    rows = tx.execute(
        select(q.id, o.number, o.wanted, r.quantity, o.id.label("order_id"))
        .join(q, q.id == r.requirement_id)
        .join(o, o.id == q.order_id)
        .where(r.holding_id == holding_id)
    ).all()
    latest_first = sorted(rows, key=lambda row: (row.wanted or date.max, row.order_id, row.id), reverse=True)
    return [ReservedHere(row.id, row.number, row.wanted, row.quantity) for row in latest_first]


def lock_with_orders(tx: Tx, holding_ids: Iterable[int], order_ids: Iterable[int] = ()) -> None:
    """Locks the orders that hold something of these holdings, and then everything stocked of the same items.

    So whoever lets go of some of it, and looks for it elsewhere, meets nobody half way. `order_ids`: orders to be
    locked besides, together with the others.
    """
    if tx.dialect.name == "sqlite":  # a write transaction keeps every other writer out from its beginning
        return
    ids = sorted(set(holding_ids))
    lock_rows(tx, t.CustomerOrder.__table__, {*order_ids, *orders_on(tx, ids)})
    lock_of_same_items(tx, ids)


def lock_of_same_items(tx: Tx, holding_ids: Iterable[int]) -> None:
    """Locks everything stocked of the items of these holdings, for a job that moves what is held between them.

    Two that do so crosswise wait for each other, and not in a ring.
    """
    if tx.dialect.name == "sqlite":
        return
    ids = sorted(set(holding_ids))
    of_same = select(t.Holding.item).where(t.Holding.id.in_(ids))
    same = tx.execute(select(t.Holding.id).where(t.Holding.item.in_(of_same), t.Holding.kind != "past")).scalars()
    lock_rows(tx, t.Holding.__table__, same.all())


def orders_on(tx: Tx, holding_ids: list[int]) -> list[int]:
    """Ids of the orders that hold something of these holdings, as a margin too."""
    q, c, p = t.Requirement, t.PlannedCut, t.PlannedPanel
    cuts = (
        select(q.order_id)
        .join(p, p.requirement_id == q.id)
        .join(c, c.id == p.cut_id)
        .where(c.holding_id.in_(holding_ids), c.state == "planned")
    )
    reserved = (
        select(q.order_id)
        .join(t.Reservation, t.Reservation.requirement_id == q.id)
        .where(t.Reservation.holding_id.in_(holding_ids))
    )
    margins: Any = select(t.Margin.order_id).where(t.Margin.holding_id.in_(holding_ids))
    finished: Any = (
        select(t.Piece.order_id)
        .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
        .where(t.FromStock.holding_id.in_(holding_ids))
    )
    return list(tx.execute(cuts.union(reserved, margins, finished)).scalars())
