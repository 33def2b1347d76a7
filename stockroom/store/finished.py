"""Finished things of the stock: what each consists of, which pieces they came from, and which pieces they are to be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, delete, insert, select, update

from stockroom.domain.finished import Cover
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, refusing
from stockroom.store.edition import new_edition
from stockroom.store.kept_shapes import given_back, kept
from stockroom.store.stock import add_holdings, empty_holding
from stockroom.store.tags import next_tags

_HOLDING: Any = t.Holding.__table__
_REQUIREMENT: Any = t.Requirement.__table__


@dataclass(frozen=True, slots=True)
class KeptFinished:
    """One finished thing as it is now."""

    holding_id: int
    tag: str
    item: str
    place: str
    walk: int
    held: int
    reserved: int
    quarantined_because: str
    title: str
    kit: str
    piece: str
    """Code of the piece; '': it is the whole kit."""
    hand: str
    book: str
    """Code of the kit book that it was made by."""
    order: str
    """Number of the order that it was made for."""
    car: str
    """Key of the car that it was made for."""
    covers: tuple[Cover, ...]
    lacks: tuple[str, ...]
    changes: tuple[str, ...]

    @property
    def is_free(self) -> bool:
        """Whether it is there and promised to nobody."""
        return self.held == 1 and self.reserved == 0 and not self.quarantined_because

    @property
    def lots(self) -> tuple[str, ...]:
        """The dye lots that are in it."""
        return tuple(dict.fromkeys(lot for one in self.covers for lot in one.lots if lot))


@dataclass(frozen=True, slots=True)
class NewFinished:
    """What is written down of a finished thing when it becomes stock."""

    title: str
    kit: str
    piece: str
    hand: str
    book_id: int
    order_id: int
    covers: tuple[Cover, ...]
    lacks: tuple[str, ...]
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Became:
    """What became of a piece that no order took."""

    piece_id: int
    holding_id: int | None
    tag: str
    """Of the finished thing that it became, or is in; '': it was scrapped."""
    because: str
    amounts: Mapping[int, int]
    """Requirement id → how much of what was taken went with it."""
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class FromStock:
    """A piece of an order that a finished thing is to be."""

    piece_id: int
    holding_id: int
    tag: str
    title: str
    place: str
    walk: int
    amounts: Mapping[int, int]
    """Requirement id → how much of it the finished thing covers."""
    movement_id: int | None
    """What booked it out; `None` until it is fetched."""
    by: str


_F, _H, _O = t.Finished, t.Holding, t.CustomerOrder
_FINISHED = (
    select(
        _H.id, _H.tag, _H.item, _H.place, t.Place.walk, _H.held, _H.reserved, _H.quarantined, _H.quarantined_because,
        _F.title, _F.kit, _F.piece, _F.hand, t.KitBook.code, _O.number, _F.order_id, _F.covers, _F.lacks, _F.changes,
    )
    .join(_F, _F.holding_id == _H.id)
    .join(t.KitBook, t.KitBook.id == _F.book_id)
    .join(_O, _O.id == _F.order_id)
    .outerjoin(t.Place, t.Place.code == _H.place)
)  # fmt: skip
_OF_TAG = _FINISHED.where(_H.tag == bindparam("tag"))
_THERE = _FINISHED.where(_H.kind == "made", _H.held > 0).order_by(_H.id)
_USED = (
    select(
        t.FromStock.piece_id, t.FromStock.holding_id, _H.tag, _F.title, _H.place, t.Place.walk, t.FromStock.amounts,
        t.FromStock.movement_id, t.FromStock.by,
    )
    .join(t.Piece, t.Piece.id == t.FromStock.piece_id)
    .join(_H, _H.id == t.FromStock.holding_id)
    .join(_F, _F.holding_id == _H.id)
    .outerjoin(t.Place, t.Place.code == _H.place)
    .where(t.Piece.order_id == bindparam("order"))
    .order_by(t.FromStock.piece_id)
)  # fmt: skip
_BECAME = (
    select(
        t.LeftOver.piece_id, t.LeftOver.holding_id, _H.tag, t.LeftOver.because, t.LeftOver.amounts, t.LeftOver.by,
        t.LeftOver.at,
    )
    .join(t.Piece, t.Piece.id == t.LeftOver.piece_id)
    .outerjoin(_H, _H.id == t.LeftOver.holding_id)
)  # fmt: skip
_BECAME_OF_ORDER = _BECAME.where(t.Piece.order_id == bindparam("order"))
_BECAME_BY_TAG = _BECAME.where(t.Piece.tag == bindparam("tag"))


# --- finished things ---------------------------------------------------------------------------------------------


def finished_by_tag(tx: Tx, tag: str) -> KeptFinished | None:
    """The finished thing of a tag, there or gone."""
    found = _finished(tx, tx.execute(_OF_TAG, {"tag": tag}).all())
    return found[0] if found else None


def finished_there(tx: Tx) -> list[KeptFinished]:
    """Every finished thing that is there, promised or not, oldest first."""
    return _finished(tx, tx.execute(_THERE).all())


def _finished(tx: Tx, rows: Sequence[Any]) -> list[KeptFinished]:
    car_of = _cars(tx, {row.order_id for row in rows})
    return [
        KeptFinished(
            row.id, row.tag or "", row.item, row.place or "", row.walk or 0, row.held, row.reserved,
            (row.quarantined_because or "quarantined") if row.quarantined else "", row.title, row.kit, row.piece,
            row.hand, row.code, row.number, car_of.get(row.order_id, ""),
            tuple(given_back(Cover, one) for one in row.covers), tuple(row.lacks), tuple(row.changes),
        )
        for row in rows
    ]  # fmt: skip


def _cars(tx: Tx, order_ids: set[int]) -> dict[int, str]:
    """Order id → the key of the car of its first line."""
    if not order_ids:
        return {}
    rows = tx.execute(
        select(t.OrderLine.order_id, t.Car.key)
        .join(t.Car, t.Car.id == t.OrderLine.car_id)
        .where(t.OrderLine.order_id.in_(sorted(order_ids)))
        .order_by(t.OrderLine.number.desc())
    )
    return {row[0]: row[1] for row in rows}


def add_finished(tx: Tx, new: NewFinished, place: str) -> tuple[int, str]:
    """A finished thing with a tag of its own, of which nothing is held yet. Gives its holding's id and its tag."""
    kind = "piece" if new.piece else "kit"
    item = _item_of(tx, kind, new)
    (tag,) = next_tags(tx, "P" if new.piece else "K", 1)
    (holding_id,) = add_holdings(tx, [empty_holding("made", tag, item, place, "")])
    row = {
        "holding_id": holding_id,
        "title": new.title,
        "kit": new.kit,
        "piece": new.piece,
        "hand": new.hand,
        "book_id": new.book_id,
        "order_id": new.order_id,
        "covers": [kept(one) for one in new.covers],
        "lacks": list(new.lacks),
        "changes": list(new.changes),
    }
    tx.execute(insert(_F), row)
    return holding_id, tag


def _item_of(tx: Tx, kind: str, new: NewFinished) -> str:
    """Code of the item that finished things of this piece or kit are of; made where there is none yet."""
    code = f"finished-{kind}/{(new.piece or new.kit).lower()}"
    if tx.execute(select(t.Item.code).where(t.Item.code == code)).first() is None:
        with refusing({"pk_item": "Somebody else has just kept the first of these. Keep it again."}):
            tx.execute(
                insert(t.Item),
                {
                    "code": code,
                    "title": new.title,
                    "title_folded": new.title.casefold(),
                    "kind": kind,
                    "mass_g": 0,
                    "group": "",
                    "hazards": "",
                    "storage": "",
                    "made_here": True,
                },
            )
        new_edition(tx)
    return code


# --- what became of the pieces of an order -----------------------------------------------------------------------


def became_of(tx: Tx, order_id: int) -> dict[int, Became]:
    """Piece id → what became of it, for the pieces of an order that were kept or scrapped."""
    return {row.piece_id: _became(row) for row in tx.execute(_BECAME_OF_ORDER, {"order": order_id})}


def became_by_tag(tx: Tx, piece_tag: str) -> Became | None:
    """What became of the piece of this tag; `None` where it was neither kept nor scrapped."""
    row = tx.execute(_BECAME_BY_TAG, {"tag": piece_tag}).one_or_none()
    return None if row is None else _became(row)


def _became(row: Any) -> Became:
    amounts = dict(row.amounts)
    return Became(row.piece_id, row.holding_id, row.tag or "", row.because, amounts, row.by, row.at)


def keep_became(
    tx: Tx, amounts: Mapping[int, Mapping[int, int]], holding_id: int | None, because: str, stamp: Stamp
) -> None:
    """Writes down what became of pieces: piece id → requirement id → how much of what was taken went with it."""
    tx.execute(
        insert(t.LeftOver),
        [
            {
                "piece_id": piece_id,
                "holding_id": holding_id,
                "because": because,
                "amounts": [list(one) for one in sorted(mine.items())],
                "by": stamp.by,
                "at": stamp.at,
            }
            for piece_id, mine in amounts.items()
        ],
    )


def cancelled_begun(tx: Tx) -> list[str]:
    """Numbers of the cancelled orders that something was taken for, oldest first."""
    q = t.Requirement
    begun = select(q.order_id).where(q.taken > 0)
    fetched = (
        select(t.Piece.order_id)
        .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
        .where(t.FromStock.movement_id.is_not(None))
    )
    rows = select(_O.number).where(_O.state == "cancelled", _O.id.in_(begun.union(fetched))).order_by(_O.id)
    return list(tx.execute(rows).scalars())


# --- finished things that an order uses --------------------------------------------------------------------------


def from_stock_of(tx: Tx, order_id: int) -> dict[int, FromStock]:
    """Piece id → the finished thing that it is to be, for the pieces of an order."""
    return {
        row.piece_id: FromStock(
            row.piece_id, row.holding_id, row.tag or "", row.title, row.place or "", row.walk or 0,
            dict(row.amounts), row.movement_id, row.by,
        )
        for row in tx.execute(_USED, {"order": order_id})
    }  # fmt: skip


def used_for(tx: Tx, holding_id: int) -> tuple[str, bool] | None:
    """Number of the order that uses a finished thing, and whether it was fetched; `None` where none does."""
    row = tx.execute(
        select(_O.number, t.FromStock.movement_id)
        .join(t.Piece, t.Piece.order_id == _O.id)
        .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
        .where(t.FromStock.holding_id == holding_id)
        .limit(1)
    ).one_or_none()
    return None if row is None else (row.number, row.movement_id is not None)


_LOTS_USED = (
    select(
        t.OrderLine.car_id, t.Requirement.id, t.Requirement.group, t.Requirement.item, t.Requirement.piece,
        t.Requirement.part, t.Requirement.hand, t.FromStock.amounts, _F.covers,
    )
    .join(_O, _O.id == t.OrderLine.order_id)
    .join(t.Piece, (t.Piece.order_id == _O.id) & (t.Piece.line == t.OrderLine.number))
    .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
    .join(_F, _F.holding_id == t.FromStock.holding_id)
    .join(
        t.Requirement,
        (t.Requirement.order_id == _O.id)
        & (t.Requirement.line == t.Piece.line)
        & (t.Requirement.piece == t.Piece.piece)
        & t.Requirement.need.in_(("panel", "length")),
    )
    .where(
        t.OrderLine.car_id.in_(bindparam("cars", expanding=True)),
        _O.state != "cancelled",
        t.Requirement.group != "",
    )
)  # fmt: skip


def lots_used(tx: Tx, car_ids: Sequence[int]) -> list[tuple[int, str, str, str, int]]:
    """Car, matching group, item, lot and requirement id of what finished things brought, or are to bring, to cars."""
    found = []
    for row in tx.execute(_LOTS_USED, {"cars": list(car_ids)}):
        if row.id not in dict(row.amounts):
            continue
        for cover in row.covers:
            if (cover["piece"], cover["part"], cover["hand"]) == (row.piece, row.part, row.hand):
                found += [(row.car_id, row.group, row.item, lot, row.id) for lot in cover["lots"]]
    return found


def piece_from_stock(tx: Tx, tag: str) -> str | None:
    """Tag of the one piece of an order that the finished thing of this tag is; `None` where it is none, or several."""
    found = list(
        tx.execute(
            select(t.Piece.tag)
            .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
            .join(_H, _H.id == t.FromStock.holding_id)
            .where(_H.tag == tag)
        ).scalars()
    )
    return found[0] if len(found) == 1 else None


_PROMISED = {
    "ck_holding_reserved_within_held": "Somebody else has just taken that finished thing. Look what there is now.",
    "ck_holding_nothing_reserved_in_quarantine": "That finished thing has just been put into quarantine.",
}


def stock_of_piece(tx: Tx, piece_tag: str) -> str:
    """Tag and state of the finished thing that the piece of this tag is to be; '' where it is none."""
    row = tx.execute(
        select(_H.tag, t.FromStock.movement_id)
        .join(t.FromStock, t.FromStock.holding_id == _H.id)
        .join(t.Piece, t.Piece.id == t.FromStock.piece_id)
        .where(t.Piece.tag == piece_tag)
    ).one_or_none()
    return "" if row is None else f"{row.tag}, {'to be fetched' if row.movement_id is None else 'fetched'}"


def promise(tx: Tx, holding_id: int, amounts: Mapping[int, Mapping[int, int]], stamp: Stamp) -> None:
    """A finished thing is promised to pieces of an order: piece id → requirement id → how much of it it covers."""
    reserve_one(tx, holding_id)
    rows = [
        {
            "piece_id": piece_id,
            "holding_id": holding_id,
            "amounts": [list(one) for one in sorted(mine.items())],
            "movement_id": None,
            "by": stamp.by,
            "at": stamp.at,
        }
        for piece_id, mine in amounts.items()
    ]
    with refusing({"pk_from_stock": "Somebody else has just found something else for that piece. Look again."}):
        tx.execute(insert(t.FromStock), rows)
    _cover(tx, amounts.values(), 1)


def end_promise(tx: Tx, used: Sequence[FromStock]) -> None:
    """A finished thing that was not fetched is promised to its pieces no longer."""
    tx.execute(delete(t.FromStock).where(t.FromStock.piece_id.in_([one.piece_id for one in used])))
    release_one(tx, used[0].holding_id)
    _cover(tx, [one.amounts for one in used], -1)


def note_fetched(tx: Tx, holding_id: int, movement_id: int | None) -> None:
    """A promised finished thing was booked out by this movement, or is back again (`None`)."""
    tx.execute(update(t.FromStock).where(t.FromStock.holding_id == holding_id).values(movement_id=movement_id))


def reserve_one(tx: Tx, holding_id: int) -> None:
    """The one thing that is held here is reserved."""
    _reserve_more(tx, holding_id, 1)


def release_one(tx: Tx, holding_id: int) -> None:
    """The one thing that is held here is reserved no longer."""
    _reserve_more(tx, holding_id, -1)


def _reserve_more(tx: Tx, holding_id: int, more: int) -> None:
    with refusing(_PROMISED):
        tx.execute(update(_HOLDING).where(_HOLDING.c.id == holding_id).values(reserved=_HOLDING.c.reserved + more))


def _cover(tx: Tx, amounts: Iterable[Mapping[int, int]], sign: int) -> None:
    more: defaultdict[int, int] = defaultdict(int)
    for mine in amounts:
        for requirement_id, amount in mine.items():
            more[requirement_id] += sign * amount
    if more:
        tx.execute(
            update(_REQUIREMENT)
            .where(_REQUIREMENT.c.id == bindparam("row_id"))
            .values(covered=_REQUIREMENT.c.covered + bindparam("more")),
            [{"row_id": row_id, "more": amount} for row_id, amount in sorted(more.items())],
        )


# --- what was taken for an order ---------------------------------------------------------------------------------


def _panels_cut(order_id: int) -> Any:
    """Requirement id, lot, worth and cut of every panel that was cut for an order."""
    q, p, c = t.Requirement, t.PlannedPanel, t.PlannedCut
    return (
        select(q.id, _H.lot, p.cut_id, t.Movement.value_minor)
        .join(p, p.requirement_id == q.id)
        .join(c, c.id == p.cut_id)
        .join(t.Cut, t.Cut.planned_cut_id == c.id)
        .join(t.Movement, t.Movement.id == t.Cut.movement_id)
        .join(_H, _H.id == c.holding_id)
        .where(q.order_id == order_id, c.state == "cut")
        .order_by(p.id)
    )


def _picks(order_id: int) -> Any:
    q = t.Requirement
    return (
        select(q.id, _H.lot, t.Movement.value_minor)
        .join(t.Pick, t.Pick.requirement_id == q.id)
        .join(t.Movement, t.Movement.id == t.Pick.movement_id)
        .join(_H, _H.id == t.Pick.holding_id)
        .where(q.order_id == order_id)
        .order_by(t.Pick.id)
    )


@dataclass(frozen=True, slots=True)
class TakenOf:
    """What was taken for the requirements of an order, by requirement id."""

    lots: Mapping[int, tuple[str, ...]]
    worth_minor: Mapping[int, int]
    """What all of it was worth when it was taken; of a cut, shared out evenly among its panels, rounded down."""


def taken_for(tx: Tx, order_id: int) -> TakenOf:
    """Which lots, and how much worth, went into what was taken for an order."""
    lots: defaultdict[int, dict[str, None]] = defaultdict(dict)
    worth: defaultdict[int, int] = defaultdict(int)
    panels = tx.execute(_panels_cut(order_id)).all()
    on_cut: defaultdict[int, int] = defaultdict(int)
    for row in panels:
        on_cut[row.cut_id] += 1
    for row in panels:
        lots[row.id][row.lot] = None
        worth[row.id] += -row.value_minor // on_cut[row.cut_id]
    for row in tx.execute(_picks(order_id)):
        lots[row.id][row.lot] = None
        worth[row.id] += -row.value_minor
    return TakenOf({one: tuple(some) for one, some in lots.items()}, worth)
