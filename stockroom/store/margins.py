"""Margins: stretches of rolls that stay held for an order, of its lot, in case one of its panels is spoilt.

What is held of a lot until the customer has answered to its swatch is kept in the same way, told apart by `sent_id`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows, refusing

_HOLDING: Any = t.Holding.__table__
_MARGIN: Any = t.Margin.__table__
_MORE_RESERVED = (
    update(_HOLDING)
    .where(_HOLDING.c.id == bindparam("row_id"))
    .values(reserved=_HOLDING.c.reserved + bindparam("more"))
)
_NOT_FREE = {
    "ck_holding_reserved_within_held": "Somebody else has just reserved what would be held as a margin. Try again.",
    "ck_holding_nothing_reserved_in_quarantine": "The roll of the margin has just been quarantined. Try again.",
}


@dataclass(frozen=True, slots=True)
class KeptMargin:
    """A stretch that is held as a margin."""

    id: int
    order: str
    """Number of the order that it is held for."""
    holding_id: int
    tag: str
    item: str
    lot: str
    from_mm: int
    """From the roll's inner end."""
    to_mm: int
    sent_id: int | None = None
    """The swatch for whose answer it is held; `None`: it is a margin."""


def margins_of(tx: Tx, order_id: int) -> list[KeptMargin]:
    """The margins that are held for an order."""
    return _margins(tx, (t.Margin.order_id == order_id) & t.Margin.sent_id.is_(None))


def held_for_swatches(tx: Tx, order_id: int) -> list[KeptMargin]:
    """What is held for an order until the customer has answered to a swatch."""
    return _margins(tx, (t.Margin.order_id == order_id) & t.Margin.sent_id.is_not(None))


def margins_on(tx: Tx, holding_id: int) -> list[KeptMargin]:
    """The margins that are held on a roll, and what is held there for swatches."""
    return _margins(tx, t.Margin.holding_id == holding_id)


def _margins(tx: Tx, which: Any) -> list[KeptMargin]:
    m, h, o = t.Margin, t.Holding, t.CustomerOrder
    rows = tx.execute(
        select(m.id, o.number, h.id.label("holding_id"), h.tag, h.item, h.lot, m.from_mm, m.to_mm, m.sent_id)
        .join(h, h.id == m.holding_id)
        .join(o, o.id == m.order_id)
        .where(which)
        .order_by(m.id)
    )
    return [KeptMargin(row[0], row[1], row[2], row[3] or "", *row[4:]) for row in rows]


def lots_used(tx: Tx, order_id: int) -> list[tuple[str, str]]:
    """Item and lot of the panels in an order's matching groups: planned, or cut already."""
    q, h = t.Requirement, t.Holding
    rows = tx.execute(
        select(h.item, h.lot)
        .join(t.PlannedCut, t.PlannedCut.holding_id == h.id)
        .join(t.PlannedPanel, t.PlannedPanel.cut_id == t.PlannedCut.id)
        .join(q, q.id == t.PlannedPanel.requirement_id)
        .where(q.order_id == order_id, q.group != "")
        .distinct()
        .order_by(h.item, h.lot)
    )
    return [(item, lot) for item, lot in rows]


def hold_margin(
    tx: Tx, order_id: int, holding_id: int, stretch: tuple[int, int], stamp: Stamp, sent_id: int | None = None
) -> None:
    """Holds a stretch of a roll, from and to in mm, as a margin for an order, or for the answer to a swatch."""
    first, last = stretch
    _reserve_more(tx, {holding_id: last - first})
    row = {"order_id": order_id, "holding_id": holding_id, "from_mm": first, "to_mm": last, "sent_id": sent_id}
    tx.execute(insert(t.Margin), {**row, "by": stamp.by, "at": stamp.at})


def shift_margins(tx: Tx, positions: Sequence[tuple[int, int, int]]) -> None:
    """Margins move along their roll: (margin, from, to)."""
    if positions:
        tx.execute(
            update(_MARGIN)
            .where(_MARGIN.c.id == bindparam("row_id"))
            .values(from_mm=bindparam("first"), to_mm=bindparam("last")),
            [{"row_id": margin_id, "first": first, "last": last} for margin_id, first, last in positions],
        )


def drop_margins(tx: Tx, margin_ids: Iterable[int]) -> None:
    """Lets go of these margins."""
    _drop(tx, t.Margin.id.in_(sorted(set(margin_ids))))


def let_go(tx: Tx, order_id: int) -> None:
    """Lets go of every margin of an order, and of what is held for its swatches."""
    _drop(tx, t.Margin.order_id == order_id)


def let_go_of_margins(tx: Tx, order_id: int) -> None:
    """Lets go of every margin of an order, but not of what is held for its swatches."""
    _drop(tx, (t.Margin.order_id == order_id) & t.Margin.sent_id.is_(None))


def let_go_of_swatches(tx: Tx, sent_ids: Iterable[int]) -> None:
    """Lets go of what is held for these swatches that were sent."""
    _drop(tx, t.Margin.sent_id.in_(sorted(set(sent_ids))))


_PAST = (
    select(t.Margin.id, t.Holding.item, t.SwatchSent.order_id, t.Swatch.tag, t.SwatchSent.until)
    .join(t.SwatchSent, t.SwatchSent.id == t.Margin.sent_id)
    .join(t.Swatch, t.Swatch.id == t.SwatchSent.swatch_id)
    .join(t.Holding, t.Holding.id == t.Margin.holding_id)
    .where(t.SwatchSent.until < bindparam("today"))
    .order_by(t.Margin.id)
)
_OF_ITEMS = select(t.Holding.id).where(t.Holding.item.in_(bindparam("items", expanding=True)), t.Holding.kind != "past")


@dataclass(frozen=True, slots=True)
class PastDay:
    """A stretch that is held for the answer to a swatch until a day that is past."""

    margin_id: int
    item: str
    order_id: int
    swatch: str
    """Its tag."""
    until: date


def past_day(tx: Tx, today: date) -> list[PastDay]:
    """What is held for swatches until a day that is past: nobody answered."""
    return [PastDay(*row) for row in tx.execute(_PAST, {"today": today})]


def let_go_past(tx: Tx, items: Iterable[str], past: Iterable[PastDay]) -> None:
    """Lets go of these stretches, with everything stocked of some items locked first.

    Whoever plans cuts of these items locks all that is free of them, in this order: so two never meet in a ring.
    """
    if tx.dialect.name != "sqlite":
        lock_rows(tx, _HOLDING, tx.execute(_OF_ITEMS, {"items": sorted(set(items))}).scalars().all())
    drop_margins(tx, [one.margin_id for one in past])


def _drop(tx: Tx, which: Any) -> None:
    rolls = sorted(set(tx.execute(select(t.Margin.holding_id).where(which)).scalars()))
    if not rolls:
        return
    # The rolls are locked first, as whoever moves a margin along its roll has locked that.
    lock_rows(tx, _HOLDING, rolls)
    less: defaultdict[int, int] = defaultdict(int)
    for holding_id, first, last in tx.execute(
        select(t.Margin.holding_id, t.Margin.from_mm, t.Margin.to_mm).where(which)
    ):
        less[holding_id] -= last - first
    tx.execute(delete(t.Margin).where(which))
    _reserve_more(tx, less)


def _reserve_more(tx: Tx, by_holding: Mapping[int, int]) -> None:
    with refusing(_NOT_FREE):
        tx.execute(_MORE_RESERVED, [{"row_id": one, "more": more} for one, more in sorted(by_holding.items())])
