"""What is written down of where a roll came from and how long it was found to be: what a claim is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import aliased

from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class RollOrigin:
    """The roll as it came in; of a remnant, the roll that it was cut from first of all."""

    holding_id: int
    tag: str
    label: str
    """The shop's own mark for it in the file it was loaded from; '' where it has none."""
    received_on: date | None


@dataclass(frozen=True, slots=True)
class Counted:
    """One time that the length of a roll was put right."""

    by_mm: int
    """Signed: below 0 where it was shorter than the books said."""
    by: str
    at: datetime


def origin_of(tx: Tx, holding_id: int) -> RollOrigin:
    """Where a roll or a remnant comes from."""
    r, h = t.Roll, t.Holding
    asked = select(r.holding_id, r.parent_id, h.tag, r.label, r.received_on).join(h, h.id == r.holding_id)
    row = tx.execute(asked.where(r.holding_id == holding_id)).one()
    while row.parent_id is not None:
        row = tx.execute(asked.where(r.holding_id == row.parent_id)).one()
    return RollOrigin(row.holding_id, row.tag or "", row.label or "", row.received_on)


def received_mm(tx: Tx, holding_id: int) -> int:
    """The length that a roll came in with, mm; 0 for a remnant that was made here."""
    m = t.Movement
    rows = tx.execute(select(m.quantity).where(m.holding_id == holding_id, m.kind == "received")).scalars()
    return sum(rows)


def missing_mm(tx: Tx, holding_id: int) -> int:
    """How much shorter a roll was found than it came in with, mm; below 0: longer. 0 for a remnant: we cut that."""
    if tx.execute(select(t.Roll.remnant).where(t.Roll.holding_id == holding_id)).scalar_one():
        return 0
    return -sum(one.by_mm for one in counts_of(tx, holding_id))


def counts_of(tx: Tx, holding_id: int) -> list[Counted]:
    """Every time that the length of a roll was put right and stayed so, oldest first."""
    m, undone = t.Movement, aliased(t.Movement)
    rows = tx.execute(
        select(m.quantity, m.by, m.at)
        .outerjoin(undone, undone.reverses_id == m.id)
        .where(m.holding_id == holding_id, m.kind == "counted", undone.id.is_(None))
        .order_by(m.number)
    )
    return [Counted(row.quantity, row.by, row.at) for row in rows]


def purchases_of(tx: Tx, item: str) -> list[tuple[str, str]]:
    """Reference and supplier's name of every purchase of an item, in the order of the references."""
    p, s = t.Purchase, t.Supplier
    rows = tx.execute(
        select(p.reference, s.name).join(s, s.code == p.supplier).where(p.item == item).order_by(p.reference)
    )
    return [(row.reference, row.name) for row in rows]


def sellers_of(tx: Tx, item: str) -> list[str]:
    """Names of the suppliers whose terms for an item are kept, in the order of their codes."""
    s = t.Supplier
    return list(
        tx.execute(
            select(s.name).join(t.Terms, t.Terms.supplier == s.code).where(t.Terms.item == item).order_by(s.code)
        ).scalars()
    )
