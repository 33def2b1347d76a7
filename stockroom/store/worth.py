"""What stock was worth at an instant: the books as they stood then, added up by the database.

What is held now is known of every holding, so only what was moved after the instant is read, and taken off it: today's
worth costs no look at the ledger at all.

The order of the ledger is a movement's number within its holding, not the clock. From the first movement that is dated
after the instant, all that follow in that holding were later too, even where a clock that was set back says otherwise.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, Boolean, ColumnElement, case, cast, exists, func, select, true
from sqlalchemy.orm import aliased

from stockroom.store import tables as t
from stockroom.store.database import Tx

_QUARANTINED, _RELEASED = "quarantined: %", "released: %"
"""Notes of the movements of nothing by which a whole holding goes into quarantine, and out of it."""


class ItemWorth(NamedTuple):
    """All there was of an item, in quarantine or not."""

    item: str
    title: str
    kind: str
    """Of the item."""
    group: str
    quarantined: bool
    held: int
    """mm or count."""
    value_minor: int
    priced: int
    """Of `held`, what has a worth in the books."""
    side_pieces: int
    """Of what has none, what was kept beside a cut: its cloth was paid with that."""


class HoldingWorth(NamedTuple):
    """What one roll, bin or finished thing was worth."""

    item: str
    holding_id: int
    kind: str
    """'roll', 'bin' or 'made'."""
    tag: str
    lot: str
    quarantined: bool
    held: int
    value_minor: int
    side_piece: bool


def _later(instant: datetime) -> Any:
    """By holding, what was moved after an instant, and whether it was in quarantine until it was turned (0 or 1)."""
    m, undone = t.Movement, aliased(t.Movement)
    first = (
        select(m.holding_id, func.min(m.number).label("number")).where(m.at > instant).group_by(m.holding_id)
    ).subquery("first_later")
    note = func.coalesce(undone.note, m.note)
    # Before it went into quarantine it was not in it; where that was taken back, before that it was.
    was = case(
        (note.like(_QUARANTINED), case((m.reverses_id.is_(None), 0), else_=1)),
        (note.like(_RELEASED), case((m.reverses_id.is_(None), 1), else_=0)),
    )
    return (
        select(
            m.holding_id,
            _whole(func.sum(m.quantity)).label("quantity"),
            _whole(func.sum(m.value_minor)).label("value_minor"),
            (func.min(case((m.quantity == 0, m.number * 2 + was))) % 2).label("was_quarantined"),
        )
        .join_from(first, m, (m.holding_id == first.c.holding_id) & (m.number >= first.c.number))
        .outerjoin(undone, undone.id == m.reverses_id)
        .group_by(m.holding_id)
        .subquery("later")
    )


def _then(instant: datetime, *which: ColumnElement[bool]) -> Any:
    """Every holding as it stood at an instant, of those that held something."""
    h, later = t.Holding, _later(instant)
    held = h.held - func.coalesce(later.c.quantity, 0)
    return (
        select(
            h.id, h.item, h.kind, h.tag, h.lot,
            _whole(held).label("held"),
            _whole(h.value_minor - func.coalesce(later.c.value_minor, 0)).label("value_minor"),
            cast(
                case(
                    (later.c.was_quarantined.is_(None), h.quarantined), else_=(later.c.was_quarantined == 1)
                ),
                Boolean,
            ).label("quarantined"),
            is_side_piece().label("side_piece"),
        )
        .join(t.Item, t.Item.code == h.item)
        .outerjoin(later, later.c.holding_id == h.id)
        .where(h.kind != "past", held > 0, *which)
        .subquery("then")
    )  # fmt: skip


def is_side_piece() -> ColumnElement[bool]:
    """Whether a holding is what was left beside a cut: its cloth was paid with that."""
    first = aliased(t.Movement)
    return exists().where(first.holding_id == t.Holding.id, first.number == 1, first.kind == "returned")


def _which(item: str, group: str | None) -> tuple[ColumnElement[bool], ...]:
    return (
        t.Holding.item == item if item else true(),
        t.Item.group == group if group is not None else true(),
    )


def worth_by_item(tx: Tx, instant: datetime, item: str = "", group: str | None = None) -> list[ItemWorth]:
    """What was held at an instant and what it was worth, by item: of all, of one, or of one group."""
    then = _then(instant, *_which(item, group))
    i = t.Item
    priced = case((then.c.value_minor > 0, then.c.held), else_=0)
    beside = case(((then.c.value_minor == 0) & then.c.side_piece, then.c.held), else_=0)
    rows = tx.execute(
        select(
            i.code, i.title, i.kind, i.group, then.c.quarantined, _whole(func.sum(then.c.held)),
            _whole(func.sum(then.c.value_minor)), _whole(func.sum(priced)), _whole(func.sum(beside)),
        )
        .join_from(then, i, i.code == then.c.item)
        .group_by(i.code, i.title, i.kind, i.group, then.c.quarantined)
        .order_by(i.code, then.c.quarantined)
    )  # fmt: skip
    return [ItemWorth(*row) for row in rows]


def worth_by_holding(tx: Tx, instant: datetime, item: str = "", group: str | None = None) -> list[HoldingWorth]:
    """What each roll, bin and finished thing was worth at an instant, at what was paid for that very one."""
    then = _then(instant, *_which(item, group)).c
    rows = tx.execute(
        select(
            then.item, then.id, then.kind, then.tag, then.lot, then.quarantined, then.held, then.value_minor,
            then.side_piece,
        ).order_by(then.item, then.id)
    )  # fmt: skip
    return [
        HoldingWorth(row[0], row[1], row[2], row[3] or "", row[4], bool(row[5]), row[6], row[7], bool(row[8]))
        for row in rows
    ]


def diluted_bins(tx: Tx, instant: datetime) -> list[tuple[str, str]]:
    """Item and tag of the bins that goods came into both with a price and without one: their average is too low.

    Looked at is how a bin began and what was received into it.
    """
    h, m, undone = t.Holding, t.Movement, aliased(t.Movement)
    unpriced = (
        select(h.item, h.tag)
        .join_from(h, m, m.holding_id == h.id)
        .where(h.kind == "bin", h.value_minor > 0, m.quantity > 0, m.value_minor == 0, m.at <= instant)
        .where(~exists().where(undone.reverses_id == m.id))
    )
    # Two looks by an index each: one with an OR would go through the whole ledger.
    began = unpriced.where(m.number == 1)
    received = unpriced.join(t.Receipt, t.Receipt.movement_id == m.id)
    return sorted({(row.item, row.tag or "") for query in (began, received) for row in tx.execute(query)})


def groups_in_use(tx: Tx) -> list[str]:
    """The groups that some item is in, by name."""
    i = t.Item
    return list(tx.execute(select(i.group).where(i.group != "").distinct().order_by(i.group)).scalars())


def bought_abroad(tx: Tx, currency: str) -> dict[str, tuple[str, ...]]:
    """Item → the other currencies in which goods of it were bought that came in and are worth nothing in the books."""
    r, p, s, m = t.Receipt, t.Purchase, t.Supplier, t.Movement
    rows = tx.execute(
        select(p.item, s.currency)
        .join_from(r, p, p.id == r.purchase_id)
        .join(s, s.code == p.supplier)
        .join(m, m.id == r.movement_id)
        .where(s.currency != currency, p.price_minor > 0, m.value_minor == 0)
        .distinct()
        .order_by(p.item, s.currency)
    )
    found: dict[str, tuple[str, ...]] = {}
    for item, other in rows:
        found[item] = (*found.get(item, ()), other)
    return found


def _whole(sum_of: Any) -> Any:
    """A sum of whole numbers, which PostgreSQL would make a decimal one."""
    return cast(sum_of, BigInteger)
