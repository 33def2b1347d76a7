"""Count sheets and the figures on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows
from stockroom.store.stock import OPENING


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A count of a place, or of an item."""

    id: int
    place: str
    """Code; '' where an item is counted."""
    item: str
    state: str
    """'open', 'closed' or 'left'."""
    begun_by: str
    begun_at: datetime


@dataclass(frozen=True, slots=True)
class KeptFigure:
    """One holding's figure on a sheet."""

    id: int
    holding_id: int
    tag: str
    first: int
    second: int | None
    expected: int
    """What the books held when the figure that stands was entered."""
    by: str

    @property
    def stands(self) -> int:
        """The figure that counts, once it is in."""
        return self.first if self.second is None else self.second


_SHEET = (
    t.CountSheet.id, t.CountSheet.place, t.CountSheet.item, t.CountSheet.state, t.CountSheet.begun_by,
    t.CountSheet.begun_at,
)  # fmt: skip


def _kept(row: Any) -> KeptSheet:
    return KeptSheet(row.id, row.place or "", row.item or "", row.state, row.begun_by, row.begun_at)


def open_sheets(tx: Tx) -> list[KeptSheet]:
    """The sheets that somebody goes round with, oldest first."""
    rows = tx.execute(select(*_SHEET).where(t.CountSheet.state == "open").order_by(t.CountSheet.id))
    return [_kept(row) for row in rows]


def sheet_by(tx: Tx, number: int) -> KeptSheet | None:
    """The sheet of this number."""
    row = tx.execute(select(*_SHEET).where(t.CountSheet.id == number)).one_or_none()
    return None if row is None else _kept(row)


def sheet_to_change(tx: Tx, number: int) -> KeptSheet | None:
    """`sheet_by`, for whoever enters figures or closes it: others who do so wait."""
    lock_rows(tx, t.CountSheet.__table__, [number])
    return sheet_by(tx, number)


def begin_sheet(tx: Tx, place: str, item: str, stamp: Stamp) -> tuple[KeptSheet, bool]:
    """The open sheet of a place or of an item, and whether it is new: who begins it second joins the first."""
    if item:
        lock_rows(tx, t.Item.__table__, [item])
    else:
        lock_rows(tx, t.Place.__table__, [place])
    known = next((one for one in open_sheets(tx) if (one.place, one.item) == (place, item)), None)
    if known is not None:
        return known, False
    row = {"place": place or None, "item": item or None, "state": "open", "begun_by": stamp.by, "begun_at": stamp.at}
    number: int = tx.execute(insert(t.CountSheet).returning(t.CountSheet.id), row).scalar_one()
    return KeptSheet(number, place, item, "open", stamp.by, stamp.at), True


def end_sheet(tx: Tx, number: int, state: str, stamp: Stamp) -> None:
    """A sheet is 'closed', or 'left' with nothing booked."""
    s = t.CountSheet
    tx.execute(update(s).where(s.id == number).values(state=state, ended_by=stamp.by, ended_at=stamp.at))


def figures_of(tx: Tx, number: int) -> list[KeptFigure]:
    """What was entered on a sheet, in the order in which it was begun."""
    c = t.Counted
    rows = tx.execute(
        select(c.id, c.holding_id, t.Holding.tag, c.first, c.second, c.expected, c.by)
        .join(t.Holding, t.Holding.id == c.holding_id)
        .where(c.sheet_id == number)
        .order_by(c.id)
    )
    return [KeptFigure(row[0], row[1], row[2] or "", *row[3:]) for row in rows]


def keep_first(tx: Tx, number: int, holding_id: int, figure: int, expected: int, stamp: Stamp) -> int:
    """Writes down a first figure beside what the books hold. Gives the row's number."""
    row = {"sheet_id": number, "holding_id": holding_id, "first": figure, "expected": expected}
    made = insert(t.Counted).returning(t.Counted.id)
    id_: int = tx.execute(made, {**row, "by": stamp.by, "at": stamp.at}).scalar_one()
    return id_


def keep_second(tx: Tx, figure_id: int, figure: int, expected: int, stamp: Stamp) -> None:
    """Writes down the figure of counting again, beside what the books hold now."""
    values = {"second": figure, "expected": expected, "by": stamp.by, "at": stamp.at}
    tx.execute(update(t.Counted).where(t.Counted.id == figure_id).values(**values))


def keep_movement(tx: Tx, figure_id: int, movement: int) -> None:
    """The movement that put the books right by a figure."""
    tx.execute(update(t.Counted).where(t.Counted.id == figure_id).values(movement_id=movement))


def last_counts(tx: Tx) -> dict[str, datetime]:
    """Place → when a count of it was last closed."""
    s = t.CountSheet
    rows = tx.execute(
        select(s.place, func.max(s.ended_at)).where(s.state == "closed", s.place.is_not(None)).group_by(s.place)
    )
    return {place: at for place, at in rows if place is not None and at is not None}


def movements_since(tx: Tx, since: datetime) -> dict[str, int]:
    """Place → how often something there came or went since then; opening stock and counts are no movement of goods."""
    m, h = t.Movement, t.Holding
    rows = tx.execute(
        select(h.place, func.count())
        .select_from(m)
        .join(h, h.id == m.holding_id)
        .where(h.place.is_not(None), h.kind != "past", m.at >= since, m.kind != "counted", m.note != OPENING)
        .group_by(h.place)
    )
    return {place: int(number) for place, number in rows if place is not None}
