"""What a tag names, whatever kind of thing that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select

from stockroom.store import tables as t
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class TaggedHolding:
    """A roll or a bin with everything that is written down of it."""

    id: int
    kind: str
    tag: str
    item: str
    title: str
    item_kind: str
    colour: str
    place: str
    lot: str
    held: int
    reserved: int
    quarantined_because: str
    width_mm: int
    measured: bool
    remnant: bool
    flaws: tuple[tuple[int, int, str], ...]
    received_on: date | None
    mass_g: int
    """Of one, counted; 0 otherwise."""
    mass_g_m2: int
    hazards: str
    storage: str
    posting: str
    expires: date | None


@dataclass(frozen=True, slots=True)
class TaggedPiece:
    """A piece of an order."""

    tag: str
    order: str
    customer: str
    line: int
    piece: str
    title: str
    hand: str
    copy: int
    note: str
    steps: tuple[int, ...]
    steps_in_all: int
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlaceKept:
    """A place and what lies in it."""

    code: str
    tag: str
    title: str
    walk: int
    holds: tuple[tuple[str, str, str, int], ...]
    """Tag, title and kind of the item, held."""


def holdings_by_tag(tx: Tx, tags: Sequence[str]) -> list[TaggedHolding]:
    """The rolls and bins of these tags; all of them where `tags` is empty."""
    h, r, i, c = t.Holding, t.Roll, t.Item, t.Cloth
    query = (
        select(
            h.id, h.kind, h.tag, h.item, i.title, i.kind.label("item_kind"), t.Colour.name.label("colour"), h.place,
            h.lot, h.held, h.reserved, h.quarantined_because, r.width_mm, r.measured, r.remnant, r.flaws,
            r.received_on, i.mass_g, c.mass_g_m2, i.hazards, c.hazards.label("cloth_hazards"),
            i.storage, i.posting, h.expires,
        )
        .join(i, i.code == h.item)
        .outerjoin(c, c.code == i.cloth)
        .outerjoin(t.Colour, t.Colour.code == i.colour)
        .outerjoin(r, r.holding_id == h.id)
        .where(h.tag.in_(sorted(set(tags))) if tags else h.kind.in_(("roll", "bin")))
        .order_by(h.id)
    )  # fmt: skip
    return [
        TaggedHolding(
            row.id, row.kind, row.tag, row.item, row.title, row.item_kind, row.colour or "", row.place or "", row.lot,
            row.held, row.reserved, row.quarantined_because, row.width_mm or 0, bool(row.measured), bool(row.remnant),
            tuple((flaw[0], flaw[1], flaw[2]) for flaw in row.flaws or ()), row.received_on, row.mass_g,
            row.mass_g_m2 or 0, row.hazards or row.cloth_hazards or "", row.storage, row.posting, row.expires,
        )
        for row in tx.execute(query)
    ]  # fmt: skip


def promised_from(tx: Tx, holding_id: int) -> list[tuple[str, str, int, int | None, int | None]]:
    """What is reserved from a holding: order number, customer, amount, and from/to for a planned cut."""
    o, q = t.CustomerOrder, t.Requirement
    cuts = tx.execute(
        select(o.number, o.customer, t.PlannedCut.from_mm, t.PlannedCut.to_mm)
        .select_from(t.PlannedCut)
        .join(t.PlannedPanel, t.PlannedPanel.cut_id == t.PlannedCut.id)
        .join(q, q.id == t.PlannedPanel.requirement_id)
        .join(o, o.id == q.order_id)
        .where(t.PlannedCut.holding_id == holding_id, t.PlannedCut.state == "planned")
        .distinct()
        .order_by(t.PlannedCut.from_mm)
    )
    takes = tx.execute(
        select(o.number, o.customer, t.Reservation.quantity)
        .join(q, q.id == t.Reservation.requirement_id)
        .join(o, o.id == q.order_id)
        .where(t.Reservation.holding_id == holding_id)
        .order_by(t.Reservation.id)
    )
    margins = tx.execute(
        select(o.number, o.customer, t.Margin.from_mm, t.Margin.to_mm, t.Swatch.tag, t.SwatchSent.until)
        .join(t.Margin, t.Margin.order_id == o.id)
        .outerjoin(t.SwatchSent, t.SwatchSent.id == t.Margin.sent_id)
        .outerjoin(t.Swatch, t.Swatch.id == t.SwatchSent.swatch_id)
        .where(t.Margin.holding_id == holding_id)
        .order_by(t.Margin.from_mm)
    )
    found: list[tuple[str, str, int, int | None, int | None]] = [
        (row.number, row.customer, row.to_mm - row.from_mm, row.from_mm, row.to_mm) for row in cuts
    ]
    found += [
        (
            row.number,
            f"{row.customer}, "
            + (f"until swatch {row.tag} is answered, or {row.until} is past" if row.tag else "as a margin"),
            row.to_mm - row.from_mm,
            row.from_mm,
            row.to_mm,
        )
        for row in margins
    ]
    return found + [(row.number, row.customer, row.quantity, None, None) for row in takes]


def latest_movements(tx: Tx, holding_id: int, at_most: int) -> list[tuple[datetime, str, int, int, str, str]]:
    """When, kind, quantity, balance, note and initials of a holding's latest movements, newest first."""
    m = t.Movement
    rows = tx.execute(
        select(m.at, m.kind, m.quantity, m.balance, m.note, m.by)
        .where(m.holding_id == holding_id)
        .order_by(m.number.desc())
        .limit(at_most)
    )
    return [(row.at, row.kind, row.quantity, row.balance, row.note, row.by) for row in rows]


def piece_by_tag(tx: Tx, tag: str) -> TaggedPiece | None:
    """The piece that a tag names."""
    p = t.Piece
    row = tx.execute(
        select(p, t.CustomerOrder.number, t.CustomerOrder.customer)
        .join(t.CustomerOrder, t.CustomerOrder.id == p.order_id)
        .where(p.tag == tag)
    ).one_or_none()
    if row is None:
        return None
    return TaggedPiece(
        row.tag, row.number, row.customer, row.line, row.piece, row.title, row.hand, row.copy, row.note,
        tuple(row.steps), row.steps_in_all, tuple(row.changes),
    )  # fmt: skip


def place_by_tag(tx: Tx, tag: str) -> PlaceKept | None:
    """The place that a tag names, with what lies there."""
    row = tx.execute(select(t.Place).where(t.Place.tag == tag)).one_or_none()
    if row is None:
        return None
    there = tx.execute(
        select(t.Holding.tag, t.Item.title, t.Item.kind, t.Holding.held)
        .join(t.Item, t.Item.code == t.Holding.item)
        .where(t.Holding.place == row.code, t.Holding.held > 0)
        .order_by(t.Holding.id)
    )
    return PlaceKept(
        row.code, row.tag, row.title, row.walk, tuple((one.tag, one.title, one.kind, one.held) for one in there)
    )


def places(tx: Tx) -> list[tuple[str, str, str]]:
    """Tag, code and title of every place, in walking order."""
    rows = tx.execute(select(t.Place.tag, t.Place.code, t.Place.title).order_by(t.Place.walk, t.Place.code))
    return [(row.tag, row.code, row.title) for row in rows]


def orders_of_car(tx: Tx, car_id: int) -> list[tuple[str, str, str]]:
    """Number, customer and state of every order for a car, oldest first."""
    o = t.CustomerOrder
    rows = tx.execute(
        select(o.id, o.number, o.customer, o.state)
        .join(t.OrderLine, t.OrderLine.order_id == o.id)
        .where(t.OrderLine.car_id == car_id)
        .distinct()
        .order_by(o.id)
    )
    return [(row.number, row.customer, row.state) for row in rows]
