"""What was decided on the lines of reorder runs: accepted, changed, put off. The latest on a line stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

from sqlalchemy import ColumnElement, delete, func, insert, select

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx

Decision = Literal["accepted", "changed", "put off"]


@dataclass(frozen=True, slots=True)
class KeptDecision:
    """One decision. Quantity in mm or count; 0 where the line was put off."""

    id: int
    run: int
    item: str
    decision: Decision
    quantity: int
    because: str
    until: date | None
    """Put off: it is proposed again from this day on."""
    purchase_id: int | None
    reference: str
    """Of the purchase that it became; '' where it became none."""
    supplier: str
    """Code of whom it was bought of; '' where it was not bought."""
    job_id: int
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class NewDecision:
    """A decision to be written down."""

    run: int
    item: str
    decision: Decision
    quantity: int = 0
    because: str = ""
    until: date | None = None
    purchase_id: int | None = None


def decisions_of_week(tx: Tx, week: str) -> list[KeptDecision]:
    """What was decided on any run of a week ('2026-W48'), the first first."""
    return _decisions(tx, t.BuyingDecision.run_id.in_(select(t.ReorderRun.id).where(t.ReorderRun.week == week)))


def decisions_of_run(tx: Tx, run: int) -> list[KeptDecision]:
    """What was decided on one run, the first first."""
    return _decisions(tx, t.BuyingDecision.run_id == run)


def put_off_last(tx: Tx) -> list[KeptDecision]:
    """The items of which the last that was decided, in whatever run, was to put them off."""
    d = t.BuyingDecision
    last = select(func.max(d.id)).group_by(d.item)
    return _decisions(tx, d.id.in_(last) & (d.decision == "put off"))


def decisions_behind(tx: Tx, reference: str) -> list[KeptDecision]:
    """The decisions that became the lines of a purchase."""
    return _decisions(tx, t.Purchase.reference == reference)


def keep_decision(tx: Tx, one: NewDecision, job_id: int, stamp: Stamp) -> int:
    """Writes a decision down; gives the number of the row."""
    row = {
        "run_id": one.run, "item": one.item, "decision": one.decision, "quantity": one.quantity,
        "because": one.because, "until": one.until, "purchase_id": one.purchase_id, "job_id": job_id,
        "by": stamp.by, "at": stamp.at,
    }  # fmt: skip
    number: int = tx.execute(insert(t.BuyingDecision).returning(t.BuyingDecision.id), row).scalar_one()
    return number


def drop_decisions(tx: Tx, ids: Iterable[int]) -> None:
    """They are taken back: what was decided before them stands again."""
    tx.execute(delete(t.BuyingDecision).where(t.BuyingDecision.id.in_(list(ids))))


def _decisions(tx: Tx, which: ColumnElement[bool]) -> list[KeptDecision]:
    d, p = t.BuyingDecision, t.Purchase
    rows: Any = tx.execute(
        select(
            d.id, d.run_id, d.item, d.decision, d.quantity, d.because, d.until, d.purchase_id,
            func.coalesce(p.reference, ""), func.coalesce(p.supplier, ""), d.job_id, d.by, d.at,
        )
        .outerjoin(p, p.id == d.purchase_id)
        .where(which)
        .order_by(d.id)
    )  # fmt: skip
    return [KeptDecision(*row) for row in rows]
