"""Customers' parts that came in with their orders: what each is, where it lies, and when it went back.

They are no holdings: nothing here is counted, reserved or worth anything to the shop.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, insert, select, update

from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.tags import next_tags


@dataclass(frozen=True, slots=True)
class KeptPart:
    """One customer's part."""

    id: int
    tag: str
    order: str
    """Number of the order that it came in with."""
    customer: str
    car: str
    """Key of its car; '' where the order has several."""
    what: str
    place: str
    """Code of the place where it lies; '' once it is given back."""
    received_by: str
    received_at: datetime
    given_back_by: str
    """'' while it is here."""
    given_back_at: datetime | None


def _parts() -> Select[*tuple[Any, ...]]:
    g, o, c = t.CustomerPart, t.CustomerOrder, t.Car
    return (
        select(
            g.id, g.tag, o.number, o.customer, c.key, g.what, g.place, g.received_by, g.received_at, g.given_back_by,
            g.given_back_at,
        )
        .join(o, o.id == g.order_id)
        .outerjoin(c, c.id == g.car_id)
        .order_by(g.id)
    )  # fmt: skip


def _kept(row: Any) -> KeptPart:
    return KeptPart(
        row.id, row.tag, row.number, row.customer, row.key or "", row.what, row.place or "", row.received_by,
        row.received_at, row.given_back_by or "", row.given_back_at,
    )  # fmt: skip


def part_by_tag(tx: Tx, tag: str) -> KeptPart | None:
    """The customer's part that a tag names."""
    row = tx.execute(_parts().where(t.CustomerPart.tag == tag)).one_or_none()
    return None if row is None else _kept(row)


def parts_of(tx: Tx, order_id: int) -> list[KeptPart]:
    """The customer's parts of an order, those given back too, in the order in which they came."""
    return [_kept(row) for row in tx.execute(_parts().where(t.CustomerPart.order_id == order_id))]


def parts_in(tx: Tx, place: str) -> list[KeptPart]:
    """The customers' parts that lie in a place."""
    return [_kept(row) for row in tx.execute(_parts().where(t.CustomerPart.place == place))]


def parts_here(tx: Tx) -> list[KeptPart]:
    """The customers' parts that lie in any place."""
    return [_kept(row) for row in tx.execute(_parts().where(t.CustomerPart.place.is_not(None)))]


def keep_part(tx: Tx, order_id: int, car_id: int | None, what: str, place: str, stamp: Stamp) -> str:
    """Writes down a part that came in; gives its new tag. `car_id`: its car, where the order has but one."""
    (tag,) = next_tags(tx, "G", 1)
    row = {"tag": tag, "order_id": order_id, "car_id": car_id, "what": what, "place": place}
    tx.execute(insert(t.CustomerPart), {**row, "received_by": stamp.by, "received_at": stamp.at})
    return tag


def put_in_place(tx: Tx, part_id: int, place: str) -> None:
    """A part lies in another place now."""
    tx.execute(update(t.CustomerPart).where(t.CustomerPart.id == part_id).values(place=place))


def mark_given_back(tx: Tx, part_id: int, stamp: Stamp) -> None:
    """A part is with its owner again, and lies in no place of the shop."""
    tx.execute(
        update(t.CustomerPart)
        .where(t.CustomerPart.id == part_id)
        .values(place=None, given_back_by=stamp.by, given_back_at=stamp.at)
    )
