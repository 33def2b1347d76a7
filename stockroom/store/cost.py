"""What was booked for one order and what is held for it, with its worth: what a job reckons the order's cost from.

An order's own rows are few; they are found by its number, never by looking through the ledger.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, cast, exists, func, select
from sqlalchemy.orm import aliased

from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.worth import is_side_piece


class Booked(NamedTuple):
    """One movement of an order, or what went to the scrap bin by the same job."""

    movement_id: int
    holding_id: int
    holding: str
    """'roll', 'bin' or 'made'."""
    tag: str
    lot: str
    item: str
    title: str
    item_kind: str
    kind: str
    """Of the movement: 'cut', 'issued', 'made', 'scrapped'."""
    quantity: int
    """Signed: below nothing is out."""
    value_minor: int
    """Signed."""
    job_id: int
    reversed: bool
    """It was taken back since: its goods lie where they lay."""
    side_piece: bool
    """It is of a side piece, whose cloth was paid with the cut it was left from."""


class Laid(NamedTuple):
    """A panel on a cut, planned or made, or one that was on it and is spoilt."""

    cut_id: int
    movement_id: int | None
    """What booked the cut; `None`: it is only planned."""
    line: int
    area_mm2: int
    spoilt: bool


class Held(NamedTuple):
    """What is held for an order and not taken yet."""

    holding_id: int
    holding: str
    tag: str
    lot: str
    item: str
    title: str
    item_kind: str
    quantity: int
    """mm or count."""
    in_all: int
    """What all of the holding is."""
    value_minor: int
    """What all of it is worth."""
    cut_id: int | None
    """The planned cut; its lines are those of its panels."""
    line: int
    """0 of a planned cut."""
    side_piece: bool


_M, _H, _I, _Q = t.Movement, t.Holding, t.Item, t.Requirement


def booked_for(tx: Tx, order_id: int) -> list[Booked]:
    """Every movement of an order but the reversals, in order; then what its cuts sent to the scrap bin."""
    undone = aliased(t.Movement)
    columns = (
        _M.id, _M.holding_id, _H.kind, _H.tag, _H.lot, _I.code, _I.title, _I.kind, _M.kind, _M.quantity,
        _M.value_minor, _M.job_id, exists().where(undone.reverses_id == _M.id), is_side_piece(),
    )  # fmt: skip
    found = select(*columns).join_from(_M, _H, _H.id == _M.holding_id).join(_I, _I.code == _H.item)
    own = found.where(_M.order_id == order_id, _M.reverses_id.is_(None)).order_by(_M.id)
    cuts = aliased(t.Movement)
    jobs = select(cuts.job_id).where(cuts.order_id == order_id, cuts.kind == "cut")
    binned = found.where(_M.job_id.in_(jobs), _M.kind == "scrapped", _M.order_id.is_(None)).order_by(_M.id)
    return [
        Booked._make((*row[:3], row[3] or "", *row[4:12], bool(row[12]), bool(row[13])))
        for query in (own, binned)
        for row in tx.execute(query)
    ]


def laid_for(tx: Tx, order_id: int) -> list[Laid]:
    """The panels of every cut of an order, with the spoilt ones, in the order of the cuts."""
    p, s, cut = t.PlannedPanel, t.Spoilt, t.Cut
    columns = (cut.movement_id, _Q.line, _Q.shape)
    there = (
        select(p.cut_id, *columns)
        .join_from(p, _Q, _Q.id == p.requirement_id)
        .outerjoin(cut, cut.planned_cut_id == p.cut_id)
        .where(_Q.order_id == order_id)
        .order_by(p.cut_id, p.id)
    )
    spoilt = (
        select(s.cut_id, *columns, s.count)
        .join_from(s, _Q, _Q.id == s.requirement_id)
        .join(cut, cut.planned_cut_id == s.cut_id)
        .where(_Q.order_id == order_id)
        .order_by(s.id)
    )
    return [
        *(Laid(row[0], row[1], row[2], _area(row[3]), False) for row in tx.execute(there)),
        *(Laid(row[0], row[1], row[2], _area(row[3]) * row[4], True) for row in tx.execute(spoilt)),
    ]


def _area(shape: Any) -> int:
    return shape["width_mm"] * shape["length_mm"] if shape else 1


def spoilt_unknown(tx: Tx, order_id: int) -> int:
    """How many panels of an order were spoilt before it was written down which cut they were on."""
    s = t.Spoilt
    found = select(func.sum(s.count)).join_from(s, _Q, _Q.id == s.requirement_id)
    return int(tx.execute(found.where(_Q.order_id == order_id, s.cut_id.is_(None))).scalar() or 0)


def lines_of_picks(tx: Tx, order_id: int) -> dict[int, int]:
    """Movement → the line of the order that it was picked for."""
    rows = tx.execute(
        select(t.Pick.movement_id, _Q.line)
        .join_from(t.Pick, _Q, _Q.id == t.Pick.requirement_id)
        .where(_Q.order_id == order_id)
    )
    return {row.movement_id: row.line for row in rows}


def lines_of_finished(tx: Tx, order_id: int) -> dict[int, int]:
    """Holding of a finished thing → the line of the order that it is used for, or that it was kept from."""
    piece = t.Piece
    found: dict[int, int] = {}
    for table in (t.FromStock, t.LeftOver):
        rows = tx.execute(
            select(table.holding_id, piece.line)
            .join_from(table, piece, piece.id == table.piece_id)
            .where(piece.order_id == order_id, table.holding_id.is_not(None))
            .order_by(piece.id.desc())
        )
        found |= {row.holding_id: row.line for row in rows}
    return found


def held_for(tx: Tx, order_id: int) -> list[Held]:
    """What is held for an order and not taken: planned cuts, reservations, finished things that are to be fetched."""
    goods = (_H.id, _H.kind, _H.tag, _H.lot, _I.code, _I.title, _I.kind)
    whole = (_H.held, _H.value_minor)
    c, p, r, f = t.PlannedCut, t.PlannedPanel, t.Reservation, t.FromStock
    mine = select(p.cut_id).join_from(p, _Q, _Q.id == p.requirement_id).where(_Q.order_id == order_id)
    cuts = (
        select(*goods, c.to_mm - c.from_mm, *whole, c.id, _NOWHERE, is_side_piece())
        .join_from(c, _H, _H.id == c.holding_id)
        .join(_I, _I.code == _H.item)
        .where(c.id.in_(mine), c.state == "planned")
        .order_by(c.id)
    )
    takes = (
        select(*goods, r.quantity, *whole, _NO_CUT, _Q.line, is_side_piece())
        .join_from(r, _Q, _Q.id == r.requirement_id)
        .join(_H, _H.id == r.holding_id)
        .join(_I, _I.code == _H.item)
        .where(_Q.order_id == order_id)
        .order_by(r.id)
    )
    line = func.min(t.Piece.line)
    finished = (
        select(*goods, _ONE, *whole, _NO_CUT, line, is_side_piece())
        .join_from(f, t.Piece, t.Piece.id == f.piece_id)
        .join(_H, _H.id == f.holding_id)
        .join(_I, _I.code == _H.item)
        .where(t.Piece.order_id == order_id, f.movement_id.is_(None))
        .group_by(*goods, *whole)
        .order_by(_H.id)
    )
    queries: tuple[Any, ...] = (cuts, takes, finished)
    return [
        Held._make((*row[:2], row[2] or "", *row[3:12], bool(row[12])))
        for query in queries
        for row in tx.execute(query)
    ]


_NOWHERE = cast(0, BigInteger).label("nowhere")
_ONE = cast(1, BigInteger).label("one")
_NO_CUT = cast(None, BigInteger).label("no_cut")


def still_short(tx: Tx, order_id: int, line: int | None) -> list[tuple[str, str]]:
    """Code and title of what an order needs and nothing is held for."""
    rows = tx.execute(
        select(_I.code, _I.title)
        .join_from(_Q, _I, _I.code == _Q.item)
        .where(_Q.order_id == order_id, _Q.held < _Q.needed, *(() if line is None else (_Q.line == line,)))
        .distinct()
        .order_by(_I.code)
    )
    return [(code, title) for code, title in rows]


def paid_for(tx: Tx, items: Iterable[str]) -> dict[str, tuple[int, int]]:
    """Item → what all that ever came in of it with a price was worth, and how much that was: mm or count."""
    undone = aliased(t.Movement)
    rows = tx.execute(
        select(_H.item, cast(func.sum(_M.value_minor), BigInteger), cast(func.sum(_M.quantity), BigInteger))
        .join_from(_H, _M, _M.holding_id == _H.id)
        .where(
            _H.item.in_(sorted(set(items))), _H.kind != "past", _M.kind == "received", _M.value_minor > 0,
            ~exists().where(undone.reverses_id == _M.id),
        )
        .group_by(_H.item)
    )  # fmt: skip
    return {item: (value, quantity) for item, value, quantity in rows}
