"""Goods that come in as they are kept: holdings for them, which purchase each came with, and who waits for such goods.

What is on a holding is booked by `stockroom.store.ledger`; here stand the rows that say what it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import insert, or_, select, update
from sqlalchemy.orm import aliased

from stockroom.domain.arrival_questions import CameBefore
from stockroom.domain.catalogue import Flaw, Reading
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows, refusing
from stockroom.store.readings import keep_readings
from stockroom.store.stock import add_holdings, empty_holding
from stockroom.store.tags import next_tags

_HOLDING: Any = t.Holding.__table__


@dataclass(frozen=True, slots=True)
class NewRolls:
    """Rolls that came in together: one lot, one width, one place."""

    item: str
    lot: str
    place: str
    width_mm: int
    measured: bool
    flaws: tuple[Flaw, ...]
    reading: Reading | None
    quarantined: str
    """Reason, or empty."""
    expires: date | None
    received: date


@dataclass(frozen=True, slots=True)
class Stowed:
    """A holding that goods are put into."""

    id: int
    tag: str
    is_new: bool
    held: int
    """Before."""
    expires: date | None


@dataclass(frozen=True, slots=True)
class Came:
    """How a holding came in."""

    purchase: str
    """Reference, or ''."""
    supplier: str
    """Name, or ''."""
    delivery: str
    at: datetime


@dataclass(frozen=True, slots=True)
class StillShort:
    """An order that the last attempt to reserve found short of an item, and that still is."""

    order: str
    customer: str
    wanted: date | None
    sentence: str


def lots_of(tx: Tx, item: str) -> frozenset[str]:
    """Every dye lot that the shop ever held of an item."""
    return frozenset(tx.scalars(select(t.Holding.lot).where(t.Holding.item == item, t.Holding.kind != "past")))


def add_rolls(tx: Tx, rolls: NewRolls, how_many: int, stamp: Stamp) -> list[Stowed]:
    """So many rolls with a tag each, and nothing on them yet."""
    tags = next_tags(tx, "R", how_many)
    row = {"expires": rolls.expires}
    holdings = [
        {**empty_holding("roll", tag, rolls.item, rolls.place, rolls.lot, rolls.quarantined), **row} for tag in tags
    ]
    ids = add_holdings(tx, holdings)
    described = {
        "label": None,
        "width_mm": rolls.width_mm,
        "measured": rolls.measured,
        "remnant": False,
        "parent_id": None,
        "flaws": [[flaw.from_mm, flaw.to_mm, flaw.what] for flaw in rolls.flaws],
        "received_on": rolls.received,
    }
    tx.execute(insert(t.Roll), [{"holding_id": id_, **described} for id_ in ids])
    if rolls.reading is not None:
        keep_readings(tx, [(id_, rolls.reading) for id_ in ids], stamp)
    return [Stowed(id_, tag, True, 0, rolls.expires) for id_, tag in zip(ids, tags, strict=True)]


def bin_for(tx: Tx, item: str, place: str, lot: str, *, is_quarantined: bool) -> int | None:
    """The bin of an item and lot in a place, usable or in quarantine, locked; `None` where there is none yet."""
    h = t.Holding
    known = tx.execute(
        select(h.id).where(
            h.kind == "bin", h.item == item, h.place == place, h.lot == lot, h.quarantined == is_quarantined
        )
    ).scalar()
    if known is not None:
        lock_rows(tx, _HOLDING, [known])
    return known


def add_bin(tx: Tx, item: str, place: str, lot: str, quarantined: str, expires: date | None) -> Stowed:
    """A bin with a tag, and nothing in it yet. `quarantined`: the reason, or empty."""
    is_kit = tx.execute(select(t.Item.kind).where(t.Item.code == item)).scalar_one() == "kit"
    (tag,) = next_tags(tx, "K" if is_kit else "B", 1)
    row = {**empty_holding("bin", tag, item, place, lot, quarantined), "expires": expires}
    with refusing({"uq_holding_bin": f"Somebody else has just begun a bin of {item} in {place}. Receive it again."}):
        (id_,) = add_holdings(tx, [row])
    return Stowed(id_, tag, True, 0, expires)


def open_bin(tx: Tx, holding_id: int, expires: date | None) -> Stowed:
    """A bin that was locked, for more to be put in. It keeps the earlier use-by day, unless it was empty."""
    h = t.Holding
    found = tx.execute(select(h.tag, h.held, h.expires).where(h.id == holding_id)).one()
    days = [day for day in ((found.expires if found.held else None), expires) if day is not None]
    earliest = min(days, default=None)
    tx.execute(update(h).where(h.id == holding_id).values(expires=earliest))
    return Stowed(holding_id, found.tag, False, found.held, earliest)


def keep_receipts(
    tx: Tx,
    job_id: int,
    stamp: Stamp,
    booked: Sequence[tuple[int, int, int]],
    purchase_id: int | None,
    supplier: str | None,
    delivery: str,
) -> None:
    """Which purchase and supplier goods came with. `booked`: holding, movement and quantity of each."""
    tx.execute(
        insert(t.Receipt),
        [
            {
                "purchase_id": purchase_id,
                "supplier": supplier,
                "delivery": delivery,
                "holding_id": holding,
                "movement_id": movement,
                "quantity": quantity,
                "job_id": job_id,
                "by": stamp.by,
                "at": stamp.at,
            }
            for holding, movement, quantity in booked
        ],
    )


def came_before(tx: Tx, item: str, lot: str, delivery: str, since: datetime) -> list[CameBefore]:
    """What came in of an item and lot since then, or at any time with this delivery note.

    What was taken back is left out. Newest first.
    """
    r, h, p, undone = t.Receipt, t.Holding, t.Purchase, aliased(t.Movement)
    same = r.at >= since
    rows = tx.execute(
        select(h.tag, r.quantity, p.reference, r.delivery, r.by, r.at)
        .join_from(r, h, h.id == r.holding_id)
        .outerjoin(p, p.id == r.purchase_id)
        .outerjoin(undone, undone.reverses_id == r.movement_id)
        .where(h.item == item, h.lot == lot, undone.id.is_(None))
        .where(or_(same, r.delivery == delivery) if delivery else same)
        .order_by(r.id.desc())
    )
    return [CameBefore(row.tag or "", row.quantity, row.reference or "", row.delivery, row.by, row.at) for row in rows]


def came_with(tx: Tx, holding_id: int) -> Came | None:
    """How the goods in a holding came in last; `None` where they were not received so."""
    r, p, s, undone = t.Receipt, t.Purchase, t.Supplier, aliased(t.Movement)
    row = tx.execute(
        select(p.reference, s.name, r.delivery, r.at)
        .outerjoin(p, p.id == r.purchase_id)
        .outerjoin(s, s.code == r.supplier)
        .outerjoin(undone, undone.reverses_id == r.movement_id)
        .where(r.holding_id == holding_id, undone.id.is_(None))
        .order_by(r.id.desc())
        .limit(1)
    ).first()
    return None if row is None else Came(row.reference or "", row.name or "", row.delivery, row.at)


def still_short_of(tx: Tx, item: str) -> tuple[StillShort, ...]:
    """The open orders that were found short of an item and do not hold all of it yet, the earliest wanted first."""
    s, o, q = t.Shortage, t.CustomerOrder, t.Requirement
    lacking = select(q.id).where(q.order_id == s.order_id, q.item == item, q.held < q.needed).exists()
    rows = tx.execute(
        select(o.number, o.customer, o.wanted, s.sentence)
        .join_from(s, o, o.id == s.order_id)
        .where(s.item == item, o.state == "open", lacking)
        .order_by(s.id)
    )
    found: dict[str, StillShort] = {}
    for row in rows:
        found.setdefault(row.number, StillShort(row.number, row.customer, row.wanted, row.sentence))
    return tuple(sorted(found.values(), key=lambda one: (one.wanted or date.max, one.order)))


def lots_that_wait(tx: Tx, item: str) -> dict[str, set[str]]:
    """Lots of an item that are held for, or went into, a matching group that is short of more → the orders short."""
    s, o, q, line = t.Shortage, t.CustomerOrder, t.Requirement, t.OrderLine
    lacking = (
        select(line.car_id, q.group, o.number)
        .join_from(q, line, (line.order_id == q.order_id) & (line.number == q.line))
        .join(o, o.id == q.order_id)
        .where(q.item == item, q.group != "", q.held < q.needed, o.state == "open")
        .where(select(s.id).where(s.order_id == o.id, s.item == item).exists())
        .distinct()
        .subquery()
    )
    laid = select(t.PlannedPanel.requirement_id, t.PlannedCut.holding_id).join(
        t.PlannedCut, t.PlannedCut.id == t.PlannedPanel.cut_id
    )
    held = laid.union(
        select(t.Reservation.requirement_id, t.Reservation.holding_id), select(t.Pick.requirement_id, t.Pick.holding_id)
    ).subquery()
    h = t.Holding
    rows = tx.execute(
        select(h.lot, lacking.c.number)
        .join_from(held, h, h.id == held.c.holding_id)
        .join(q, q.id == held.c.requirement_id)
        .join(o, o.id == q.order_id)
        .join(line, (line.order_id == q.order_id) & (line.number == q.line))
        .join(lacking, (lacking.c.car_id == line.car_id) & (lacking.c["group"] == q.group))
        .where(h.item == item, q.item == item, o.state.not_in(("cancelled", "kept")))
        .distinct()
    )
    found: dict[str, set[str]] = {}
    for lot, number in rows:
        found.setdefault(lot, set()).add(number)
    return found


def used_since(tx: Tx, job_id: int) -> tuple[int, str] | None:
    """Number and tag of a roll or bin of which less is free than this job brought in; `None`: all is still there."""
    r, h = t.Receipt, t.Holding
    row = tx.execute(
        select(h.id, h.tag)
        .join_from(r, h, h.id == r.holding_id)
        .where(r.job_id == job_id, h.held - h.reserved < r.quantity)
        .order_by(h.id)
        .limit(1)
    ).first()
    return None if row is None else (row.id, row.tag or "")
