"""Swatches of dye lots, where each lies, which went to a customer, and what the customer said to it.

A swatch is no holding: what it took of its roll is booked out when it is cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Select, bindparam, false, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows
from stockroom.store.tags import next_tags

_SWATCH: Any = t.Swatch.__table__


@dataclass(frozen=True, slots=True)
class KeptSwatch:
    """One swatch."""

    id: int
    tag: str
    item: str
    title: str
    colour: str
    """Its name."""
    lot: str
    holding_id: int
    roll: str
    """Tag of the roll or reel that it is of."""
    length_mm: int
    """So much of the roll it took; 0: it was cut from an offcut."""
    place: str
    """'' where a customer has it, or it is gone."""
    gone_because: str
    """'' while there is one."""
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class KeptSent:
    """One swatch that went to a customer."""

    id: int
    swatch_id: int
    tag: str
    item: str
    title: str
    lot: str
    holding_id: int
    order_id: int
    order: str
    """Number."""
    customer: str
    line: int
    name: str
    """What the line waits for."""
    until: date
    """The last day on which its lot is held without an answer."""
    hold_mm: int
    by: str
    at: datetime
    answer: str
    """'yes', 'no', 'not needed'; '' while it is awaited."""
    said_by: str
    note: str
    answered_by: str
    answered_at: datetime | None


def _swatches() -> Select[*tuple[Any, ...]]:
    s, h, i, c = t.Swatch, t.Holding, t.Item, t.Colour
    return (
        select(
            s.id, s.tag, s.item, i.title, c.name, s.lot, s.holding_id, h.tag.label("roll"), s.length_mm, s.place,
            s.gone_because, s.by, s.at,
        )
        .join(h, h.id == s.holding_id)
        .join(i, i.code == s.item)
        .outerjoin(c, c.code == i.colour)
        .order_by(s.id)
    )  # fmt: skip


def _kept(row: Any) -> KeptSwatch:
    return KeptSwatch(
        row.id, row.tag, row.item, row.title, row.name or "", row.lot, row.holding_id, row.roll or "", row.length_mm,
        row.place or "", row.gone_because, row.by, row.at,
    )  # fmt: skip


def swatch_by_tag(tx: Tx, tag: str) -> KeptSwatch | None:
    """The swatch that a tag names."""
    row = tx.execute(_swatches().where(t.Swatch.tag == tag)).one_or_none()
    return None if row is None else _kept(row)


def swatch_to_change(tx: Tx, swatch_id: int) -> KeptSwatch:
    """A swatch that nobody else changes until the transaction ends."""
    lock_rows(tx, _SWATCH, [swatch_id])
    return _kept(tx.execute(_swatches().where(t.Swatch.id == swatch_id)).one())


def swatches(tx: Tx) -> list[KeptSwatch]:
    """Every swatch that there still is, by item and lot."""
    found = [_kept(row) for row in tx.execute(_swatches().where(t.Swatch.gone_because == ""))]
    return sorted(found, key=lambda one: (one.item, one.lot, one.id))


def swatches_of_lot(tx: Tx, item: str, lot: str) -> list[KeptSwatch]:
    """The swatches that there still are of a lot."""
    mine = (t.Swatch.gone_because == "", t.Swatch.item == item, t.Swatch.lot == lot)
    return [_kept(row) for row in tx.execute(_swatches().where(*mine))]


def swatches_in(tx: Tx, place: str) -> list[KeptSwatch]:
    """The swatches that lie in a place."""
    return [_kept(row) for row in tx.execute(_swatches().where(t.Swatch.place == place))]


def swatches_lying(tx: Tx) -> list[KeptSwatch]:
    """The swatches that lie in any place."""
    return [_kept(row) for row in tx.execute(_swatches().where(t.Swatch.place.is_not(None)))]


def keep_swatches(
    tx: Tx, roll: tuple[int, str, str], lengths: Sequence[tuple[int, int | None]], place: str, stamp: Stamp
) -> list[str]:
    """Writes down swatches of a roll (its number, item and lot), each with its mm and movement; gives their tags."""
    holding_id, item, lot = roll
    tags = next_tags(tx, "S", len(lengths))
    rows = [
        {
            "tag": tag,
            "item": item,
            "lot": lot,
            "holding_id": holding_id,
            "length_mm": length_mm,
            "movement_id": movement_id,
            "place": place,
            "gone_because": "",
            "by": stamp.by,
            "at": stamp.at,
        }
        for tag, (length_mm, movement_id) in zip(tags, lengths, strict=True)
    ]
    tx.execute(insert(t.Swatch), rows)
    return tags


def put_in_place(tx: Tx, swatch_id: int, place: str | None) -> None:
    """A swatch lies in another place now, or in none: a customer has it."""
    tx.execute(update(t.Swatch).where(t.Swatch.id == swatch_id).values(place=place))


def mark_gone(tx: Tx, swatch_id: int, because: str) -> None:
    """There is no such swatch any more."""
    tx.execute(update(t.Swatch).where(t.Swatch.id == swatch_id).values(place=None, gone_because=because))


def lots_without(tx: Tx) -> list[tuple[str, str, str, str, str]]:
    """Item, its title, lot, and a roll of it with its place: of every lot on the racks of which no swatch lies here."""
    h, s = t.Holding, t.Swatch
    there = select(s.id).where(s.item == h.item, s.lot == h.lot, s.place.is_not(None)).exists()
    rows = tx.execute(
        select(h.item, t.Item.title, h.lot, h.tag, h.place)
        .join(t.Item, t.Item.code == h.item)
        .where(h.kind == "roll", h.held > 0, t.Item.kind == "cloth", ~there)
        .order_by(h.item, h.lot, h.held.desc(), h.id)
    )
    first: dict[tuple[str, str], tuple[str, str, str, str, str]] = {}
    for item, title, lot, tag, place in rows:
        first.setdefault((item, lot), (item, title, lot, tag or "", place or ""))
    return list(first.values())


# --- sent to a customer ----------------------------------------------------------------------------------------------


def _sent() -> Select[*tuple[Any, ...]]:
    n, s, i, o = t.SwatchSent, t.Swatch, t.Item, t.CustomerOrder
    return (
        select(
            n.id, n.swatch_id, s.tag, s.item, i.title, s.lot, s.holding_id, n.order_id, o.number.label("order"),
            o.customer, n.line, n.name, n.until, n.hold_mm, n.by, n.at, n.answer, n.said_by, n.note, n.answered_by,
            n.answered_at,
        )
        .join(s, s.id == n.swatch_id)
        .join(i, i.code == s.item)
        .join(o, o.id == n.order_id)
        .order_by(n.until, n.id)
    )  # fmt: skip


def _kept_sent(row: Any) -> KeptSent:
    values = dict(row._mapping)
    return KeptSent(**{**values, "answer": row.answer or "", "answered_by": row.answered_by or ""})


_AWAITED = t.SwatchSent.answer.is_(None)
_OF_ORDER = _sent().where(t.SwatchSent.order_id == bindparam("order"))
_AWAITED_OF_ORDER = _OF_ORDER.where(_AWAITED)


def sent_of_order(tx: Tx, order_id: int) -> list[KeptSent]:
    """The swatches that went out for an order, answered or not, by the day until which their lots are held."""
    return [_kept_sent(row) for row in tx.execute(_OF_ORDER, {"order": order_id})]


def awaited_of_order(tx: Tx, order_id: int) -> list[KeptSent]:
    """Those of them that are not answered."""
    return [_kept_sent(row) for row in tx.execute(_AWAITED_OF_ORDER, {"order": order_id})]


def awaited(tx: Tx) -> list[KeptSent]:
    """Every swatch that is not answered, by the day until which its lot is held."""
    return [_kept_sent(row) for row in tx.execute(_sent().where(_AWAITED))]


def sent_of_swatch(tx: Tx, swatch_id: int) -> list[KeptSent]:
    """Every time that a swatch went out, the earliest first."""
    found = [_kept_sent(row) for row in tx.execute(_sent().where(t.SwatchSent.swatch_id == swatch_id))]
    return sorted(found, key=lambda one: one.id)


def keep_sent(tx: Tx, swatch_id: int, waits: tuple[int, int, str], until: date, hold_mm: int, stamp: Stamp) -> int:
    """Writes down that a swatch went out for what waits (order, line, name); gives the number of that."""
    order_id, line, name = waits
    row = {
        "swatch_id": swatch_id,
        "order_id": order_id,
        "line": line,
        "name": name,
        "until": until,
        "hold_mm": hold_mm,
        "by": stamp.by,
        "at": stamp.at,
        "said_by": "",
        "note": "",
    }
    number: int = tx.execute(insert(t.SwatchSent).returning(t.SwatchSent.id), row).scalar_one()
    return number


def answer_sent(tx: Tx, sent_id: int, said: str, said_by: str, note: str, stamp: Stamp) -> None:
    """What the customer said; 'not needed' where the line waits for it no more for another reason."""
    values = {"answer": said, "said_by": said_by, "note": note, "answered_by": stamp.by, "answered_at": stamp.at}
    tx.execute(update(t.SwatchSent).where(t.SwatchSent.id == sent_id).values(values))


def hold_longer(tx: Tx, sent_id: int, until: date) -> None:
    """The answer is awaited until another day."""
    tx.execute(update(t.SwatchSent).where(t.SwatchSent.id == sent_id).values(until=until))


_AGREED = (
    select(t.OrderLine.car_id, t.Requirement.id, t.Requirement.group, t.Requirement.item, t.Swatch.lot)
    .select_from(t.SwatchSent)
    .join(t.Swatch, t.Swatch.id == t.SwatchSent.swatch_id)
    .join(t.OrderLine, (t.OrderLine.order_id == t.SwatchSent.order_id) & (t.OrderLine.number == t.SwatchSent.line))
    .join(
        t.Requirement,
        (t.Requirement.order_id == t.SwatchSent.order_id)
        & (t.Requirement.line == t.SwatchSent.line)
        & (t.Requirement.item == t.Swatch.item),
    )
    .join(t.CustomerOrder, t.CustomerOrder.id == t.SwatchSent.order_id)
    .where(
        t.SwatchSent.answer == "yes",
        t.OrderLine.car_id.in_(bindparam("cars", expanding=True)),
        t.CustomerOrder.state.not_in(("cancelled", "kept")),
        t.CustomerOrder.for_stock.is_(false()),
    )
    .order_by(t.SwatchSent.answered_at, t.SwatchSent.id)
)


def agreed_lots(tx: Tx, car_ids: Sequence[int]) -> list[tuple[int, int, str, str, str]]:
    """Car, requirement, matching group, item and the lot whose swatch the customer agreed to, over all orders.

    Of several that were agreed to for one line the last stands.
    """
    rows = tx.execute(_AGREED, {"cars": sorted(set(car_ids))})
    latest = {row[1]: (row[0], row[1], row[2], row[3], row[4]) for row in rows}
    return list(latest.values())
