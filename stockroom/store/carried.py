"""What a shop carries from one database to another, read as the very shapes that loading writes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any, cast, get_args
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import aliased

from stockroom.domain.catalogue import (
    Flaw,
    ItemKind,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    PastKind,
    PastMovement,
    Place,
    Reading,
)
from stockroom.domain.order import CarriedOrder, OrderRequest
from stockroom.domain.readings import middle
from stockroom.domain.tags import KINDS
from stockroom.store import tables as t
from stockroom.store.books import books
from stockroom.store.cars import cars_by_id
from stockroom.store.database import Tx
from stockroom.store.finished import cancelled_begun
from stockroom.store.history import BROUGHT_FORWARD, CLOSED
from stockroom.store.orders import OWN_NUMBERS, order_by
from stockroom.store.pieces import pieces_of
from stockroom.store.readings import readings_by_roll
from stockroom.store.stock import OPENING

_LOT = re.compile(r"lot (?P<lot>.+?)(?:; (?P<note>.+))?")
"""How the history keeps a lot: at the head of the note."""


def carried_places(tx: Tx) -> tuple[Place, ...]:
    """Every place with the tag that is on it, in walking order."""
    query = select(t.Place.code, t.Place.title, t.Place.walk, t.Place.tag).order_by(t.Place.walk, t.Place.code)
    return tuple(Place(*row) for row in tx.execute(query))


def carried_rolls(tx: Tx) -> tuple[OpeningRoll, ...]:
    """Every roll, reel and remnant as it is now, parents first, those that are used up too: their marks stay known."""
    parent = aliased(t.Holding)
    query = (
        select(
            t.Holding.__table__,
            *(column for column in t.Roll.__table__.c if column.name != "holding_id"),
            parent.tag.label("parent_tag"),
        )
        .join_from(t.Holding, t.Roll, t.Roll.holding_id == t.Holding.id)
        .outerjoin(parent, parent.id == t.Roll.parent_id)
        .where(t.Holding.kind == "roll")
        .order_by(t.Holding.id)
    )
    read = {one: middle(some) for one, some in readings_by_roll(tx).items()}
    return tuple(_roll(row, read) for row in tx.execute(query).mappings())


def _roll(row: Mapping[Any, Any], read: Mapping[int, Reading]) -> OpeningRoll:
    held = row["held"]
    return OpeningRoll(
        label=row["label"] or "",
        item=row["item"],
        lot=row["lot"],
        length_mm=held,
        width_mm=row["width_mm"],
        place=row["place"] or "",
        measured=row["measured"],
        remnant=row["remnant"],
        value_minor=row["value_minor"],
        # What lay on the part that was cut off is gone with it.
        flaws=tuple(Flaw(first, min(last, held), what) for first, last, what in row["flaws"] if first < held),
        reading=read.get(row["id"]),
        quarantined=row["quarantined_because"] if row["quarantined"] else "",
        received=row["received_on"],
        expires=row["expires"],
        tag=row["tag"],
        parent=row["parent_tag"] or "",
    )


def carried_bins(tx: Tx) -> tuple[OpeningBin, ...]:
    """Every bin as it is now, empty ones too: their tags are on the shelf."""
    query = select(t.Holding.__table__).where(t.Holding.kind == "bin").order_by(t.Holding.id)
    return tuple(
        OpeningBin(
            item=row["item"],
            lot=row["lot"],
            place=row["place"] or "",
            count=row["held"],
            value_minor=row["value_minor"],
            quarantined=row["quarantined_because"] if row["quarantined"] else "",
            expires=row["expires"],
            tag=row["tag"],
        )
        for row in tx.execute(query).mappings()
    )


def carried_purchases(tx: Tx) -> tuple[OpeningPurchase, ...]:
    """Everything that was ever on order, with what has come of it, oldest first."""
    return tuple(
        OpeningPurchase(
            reference=row["reference"],
            supplier=row["supplier"],
            item=row["item"],
            quantity=row["quantity"],
            received=row["received"],
            ordered=row["ordered"],
            due=row["due"],
            price_minor=row["price_minor"],
            closed=row["closed_because"],
        )
        for row in tx.execute(select(t.Purchase.__table__).order_by(t.Purchase.id)).mappings()
    )


def carried_opening(tx: Tx, opening: date, time_zone: str) -> date:
    """The day on which a shop that carries on with this stock opens its books: after all that has moved in this one."""
    latest: datetime | None = tx.execute(
        select(func.max(t.Movement.at))
        .join(t.Holding, t.Holding.id == t.Movement.holding_id)
        .where(t.Holding.kind != "past", t.Movement.note != OPENING)
    ).scalar()
    if latest is None:
        return opening
    return max(opening, _local_day(latest, ZoneInfo(time_zone)) + timedelta(days=1))


def carried_history(tx: Tx, time_zone: str) -> tuple[PastMovement, ...]:
    """What came in and went out since the history begins, by item and day; opening stock and what was reversed is not.

    What moved from place to place, or was counted otherwise, is no use of anything: it is left out too.
    """
    zone = ZoneInfo(time_zone)
    reversal = aliased(t.Movement)
    query = (
        select(t.Movement.at, t.Holding.item, t.Movement.kind, t.Movement.quantity, t.Holding.lot, t.Movement.note)
        .join_from(t.Movement, t.Holding, t.Holding.id == t.Movement.holding_id)
        .outerjoin(reversal, reversal.reverses_id == t.Movement.id)
        .where(
            t.Holding.kind != "made",
            t.Movement.kind.in_(get_args(PastKind)),
            t.Movement.note.not_in((OPENING, BROUGHT_FORWARD, CLOSED)),
            reversal.id.is_(None),
        )
        .order_by(t.Movement.id)
    )
    lines = [_past(row, zone) for row in tx.execute(query) if row.quantity]
    return tuple(sorted(lines, key=lambda line: (line.item, line.day)))


def _past(row: Any, zone: ZoneInfo) -> PastMovement:
    note = f"lot {row.lot}; {row.note}".removesuffix("; ") if row.lot else row.note
    found = _LOT.fullmatch(note)
    lot, rest = (found["lot"], found["note"] or "") if found else ("", note)
    return PastMovement(_local_day(row.at, zone), row.item, cast(PastKind, row.kind), abs(row.quantity), lot, rest)


def _local_day(moment: datetime, zone: ZoneInfo) -> date:
    return moment.astimezone(zone).date()


def carried_orders(tx: Tx) -> tuple[tuple[OrderRequest, CarriedOrder], ...]:
    """The orders in hand as they now ask, with the marks they bear, in the order in which they were taken."""
    book = {row.id: (row.code, row.version) for row in books(tx)}
    kept = t.CustomerOrder
    query = select(kept.number, kept.digest).where(kept.state == "open").order_by(kept.id)
    found = []
    for number, digest in tx.execute(query).all():
        order = order_by(tx, number)
        known = cars_by_id(tx, [line.car_id for line in order.lines])
        code, version = book[order.book_id]
        request = OrderRequest(
            number=order.number,
            customer=order.customer,
            wanted=order.wanted,
            fitted_here=order.fitted_here,
            book=code,
            cars=tuple(known[id_].told for id_ in dict.fromkeys(line.car_id for line in order.lines)),
            lines=tuple(replace(line.request, car=known[line.car_id].key) for line in order.lines),
            note=order.note,
            for_stock=order.for_stock,
        )
        # By name: pieces that an answer brought are among the others in an order that is taken whole.
        marked = tuple(
            sorted(
                (one.piece.line, one.piece.path, one.piece.piece, one.piece.copy, one.tag)
                for one in pieces_of(tx, order.id)
            )
        )
        found.append((request, CarriedOrder(order.tag, version, order.taken_by, order.taken_at, digest, marked)))
    return tuple(found)


def begun_orders(tx: Tx) -> tuple[str, ...]:
    """Numbers of the orders in hand for which something was picked, cut or fetched."""
    fetched = (
        select(t.Piece.order_id)
        .join(t.FromStock, t.FromStock.piece_id == t.Piece.id)
        .where(t.FromStock.movement_id.is_not(None))
    )
    begun = select(t.Requirement.order_id).where(t.Requirement.taken > 0).union(fetched)
    query = (
        select(t.CustomerOrder.number)
        .where(t.CustomerOrder.state == "open", t.CustomerOrder.id.in_(begun))
        .order_by(t.CustomerOrder.number)
    )
    return tuple(tx.scalars(query))


def last_tags(tx: Tx) -> dict[str, int]:
    """Kind letter → the last serial given, so that no tag that is on something is ever given again."""
    query = select(t.Counter.name, t.Counter.last)
    given = {name.removeprefix("tag "): last for name, last in tx.execute(query) if name.startswith("tag ")}
    return {kind: given[kind] for kind in KINDS if kind in given}


def last_number(tx: Tx) -> int:
    """How many order numbers the shop has given itself."""
    return tx.execute(select(t.Counter.last).where(t.Counter.name == OWN_NUMBERS)).scalar() or 0


def book_sources(tx: Tx) -> tuple[tuple[str, str, str], ...]:
    """Code, version and text of every kit book, in the order in which they were loaded."""
    kept = t.KitBook
    return tuple(
        (code, version, text)
        for code, version, text in tx.execute(select(kept.code, kept.version, kept.source).order_by(kept.id))
    )


def kinds_carried() -> tuple[str, ...]:
    """Kinds of items that a file can tell of."""
    return get_args(ItemKind)


def left_behind(tx: Tx) -> tuple[str, ...]:
    """What no file carries, in words, a sentence each; what there is none of is not named."""

    def count(table: type[Any], *where: Any) -> int:
        return int(tx.execute(select(func.count()).select_from(table).where(*where)).scalar_one())

    of_orders = count(t.CustomerOrder, t.CustomerOrder.state != "open")
    parts = [
        f"{what} {tag}"
        for tag, what in tx.execute(
            select(t.CustomerPart.tag, t.CustomerPart.what)
            .where(t.CustomerPart.given_back_at.is_(None))
            .order_by(t.CustomerPart.id)
        )
    ]
    finished = [
        f"{title} {tag}"
        for tag, title in tx.execute(
            select(t.Holding.tag, t.Finished.title)
            .join(t.Finished, t.Finished.holding_id == t.Holding.id)
            .where(t.Holding.held > 0)
            .order_by(t.Holding.id)
        )
    ]
    said = {
        "The ledger line by line (moves and counts are in what is held, use is in the history)": count(t.Movement),
        "The log of jobs, who did what and when": count(t.Job),
        "What was said of orders in hand when they were changed": count(t.OrderChange),
        "What is held for orders in hand (reserve them again)": count(t.PlannedCut, t.PlannedCut.state == "planned")
        + count(t.Reservation),
        "Mixes of lots that were approved (approve them again)": count(
            t.MixApproval,
            t.MixApproval.order_id.in_(select(t.CustomerOrder.id).where(t.CustomerOrder.state == "open")),
        ),
        "Orders that are sent, cancelled or kept": of_orders,
        "Pieces of orders that were kept as stock or scrapped": count(t.LeftOver),
        "Pieces of orders in hand that are to come from finished stock (they will be made)": count(
            t.FromStock, t.FromStock.movement_id.is_(None)
        ),
        "Which delivery each roll came with": count(t.Receipt),
        "Readings of rolls that have several (the middle of them is in rolls.csv)": sum(
            len(some) for some in readings_by_roll(tx).values() if len(some) > 1
        ),
        "Master readings of one cloth, or that others took the place of (who read them, and when)": count(
            t.MasterReading
        )
        - count(t.Colour, t.Colour.lightness.is_not(None)),
        "Eye verdicts on two lots": count(t.EyeVerdict),
        "Inspections of rolls": count(t.Inspection),
        "Count sheets": count(t.CountSheet),
        "Low-stock tags that were scanned": count(t.LowStock),
        "Tags that took the place of torn ones": count(t.ReplacedTag),
        "Suppliers' notices until when something can be ordered": count(t.LastOrder, t.LastOrder.ended_because == ""),
        "Reorder runs, with what was decided on their lines": count(t.ReorderRun),
    }
    sentences = [f"{what}: {number}." for what, number in said.items() if number]
    begun = begun_orders(tx)
    if begun:
        sentences.append(
            f"What was picked, cut or packed for orders that are begun: {', '.join(begun)}. Finish them first."
        )
    if parts:
        sentences.append(f"Customers' parts in the house, write them down by hand: {', '.join(parts)}.")
    if finished:
        sentences.append(f"Finished things in stock, use or scrap them first ({len(finished)}): {', '.join(finished)}.")
    lying = cancelled_begun(tx)
    if lying:
        sentences.append(f"What lies about of orders that were cancelled after they were begun: {', '.join(lying)}.")
    return tuple(sentences)
