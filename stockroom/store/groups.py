"""What of an order is found together: each matching group of each of its cars, item by item."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import bindparam, func, select

from stockroom.domain.order import LineRequest
from stockroom.store import tables as t
from stockroom.store.database import Tx
from stockroom.store.kept_shapes import given_back


class Group(NamedTuple):
    """One item in one matching group of one car."""

    car_id: int
    group: str
    """'': it is seen beside nothing."""
    item: str
    match: str
    """What the order's line asks to match; '' where it asks for nothing."""


_Q, _L = t.Requirement, t.OrderLine
_GROUPS = (
    select(_L.car_id, _Q.group, _Q.item, _L.number)
    .select_from(_L)
    .join(t.CustomerOrder, t.CustomerOrder.id == _L.order_id)
    .join(_Q, (_Q.order_id == _L.order_id) & (_Q.line == _L.number))
    .where(t.CustomerOrder.number == bindparam("number"), _Q.need.in_(("panel", "length")), _Q.needed > 0)
    .group_by(_L.car_id, _Q.group, _Q.item, _L.number)
    .order_by(func.min(_Q.id))
)
_ASKS = (
    select(_L.number, _L.request)
    .join(t.CustomerOrder, t.CustomerOrder.id == _L.order_id)
    .where(t.CustomerOrder.number == bindparam("number"))
)


def groups_of(tx: Tx, number: str) -> list[Group]:
    """The groups of an order, as its bill of materials comes to them; what two lines ask to match makes two of one."""
    asked = {"number": number}
    asks = {line: given_back(LineRequest, request).match for line, request in tx.execute(_ASKS, asked)}
    return list(
        dict.fromkeys(Group(car, group, item, asks[line]) for car, group, item, line in tx.execute(_GROUPS, asked))
    )
