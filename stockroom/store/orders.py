"""Orders that are kept: their lines, what they wait for, and their exploded bill of materials."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import bindparam, delete, func, insert, select, update

from stockroom.domain.order import LineRequest
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import quoted
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows, refusing
from stockroom.store.kept_shapes import given_back, kept
from stockroom.store.replaced_tags import refuse_replaced
from stockroom.store.tags import next_serial, next_tags, tags_for


@dataclass(frozen=True, slots=True)
class KeptLine:
    """One line of a kept order."""

    id: int
    number: int
    title: str
    car_id: int
    request: LineRequest
    on_car: tuple[tuple[str, str, str, int, str], ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """A kept order with its lines."""

    id: int
    number: str
    tag: str
    customer: str
    wanted: date | None
    fitted_here: bool
    book_id: int
    note: str
    state: str
    taken_at: datetime
    taken_by: str
    lines: tuple[KeptLine, ...]
    for_stock: bool = False
    """Nobody ordered it: what is made becomes stock."""


@dataclass(frozen=True, slots=True)
class NewOrder:
    """What is written down of an order when it is taken, besides its lines."""

    number: str
    customer: str
    wanted: date | None
    fitted_here: bool
    book_id: int
    note: str
    digest: str
    tag: str = ""
    """The tag it bears already; empty: it gets the next."""
    for_stock: bool = False


# Made once: building a statement takes longer than sending it.
_ID_BY_NUMBER = select(t.CustomerOrder.id).where(t.CustomerOrder.number == bindparam("number"))
_IDS_BY_NUMBERS = select(t.CustomerOrder.number, t.CustomerOrder.id).where(
    t.CustomerOrder.number.in_(bindparam("numbers", expanding=True))
)
_BY_NUMBER = select(t.CustomerOrder).where(t.CustomerOrder.number == bindparam("number"))
_BY_TAG = select(t.CustomerOrder).where(t.CustomerOrder.tag == bindparam("tag"))
_BY_SMALL = (
    select(t.CustomerOrder).where(func.lower(t.CustomerOrder.number) == func.lower(bindparam("number"))).limit(2)
)
_LINES = select(t.OrderLine).where(t.OrderLine.order_id == bindparam("order")).order_by(t.OrderLine.number)
_INSERT_ORDER = insert(t.CustomerOrder).returning(t.CustomerOrder.id)
_INSERT_LINES = insert(t.OrderLine).returning(t.OrderLine.id, sort_by_parameter_order=True)
OWN_NUMBERS = "order number"
"""The counter of the numbers that the shop gives its orders itself."""
_LINE: Any = t.OrderLine.__table__
"""As a plain table: an update by number goes without the ORM's bookkeeping."""
_FINDINGS = (
    update(_LINE)
    .where(t.OrderLine.id == bindparam("line"))
    .values(on_car=bindparam("now_on_car"), advice=bindparam("now_advice"))
)
_CHANGES = (
    select(t.OrderChange.what, t.OrderChange.by, t.OrderChange.at)
    .where(t.OrderChange.order_id == bindparam("order"))
    .order_by(t.OrderChange.id)
)


def number_is_taken(tx: Tx, number: str) -> bool:
    """Whether an order of this number is kept."""
    return tx.execute(_ID_BY_NUMBER, {"number": number}).first() is not None


def open_twin(tx: Tx, digest: str) -> str | None:
    """Number of an open order that asked for exactly the same."""
    found: str | None = tx.execute(
        select(t.CustomerOrder.number).where(t.CustomerOrder.state == "open", t.CustomerOrder.digest == digest)
    ).scalar()
    return found


def next_number(tx: Tx) -> str:
    """The shop's next order number that is not taken."""
    while True:
        number = str(1000 + next_serial(tx, OWN_NUMBERS, 1))
        if not number_is_taken(tx, number):
            return number


def keep_order(tx: Tx, order: NewOrder, lines: Sequence[tuple[int, str, int, LineRequest]], stamp: Stamp) -> KeptOrder:
    """Writes an order with its tag and its lines (number, title of the kit, car id, request), and gives it back."""
    row: dict[str, Any] = {
        "number": order.number,
        "tag": _tag(tx, order.tag),
        "customer": order.customer,
        "customer_folded": order.customer.casefold(),
        "wanted": order.wanted,
        "fitted_here": order.fitted_here,
        "book_id": order.book_id,
        "note": order.note,
        "state": "open",
        "taken_at": stamp.at,
        "taken_by": stamp.by,
        "fitting": {},
        "digest": order.digest,
        "for_stock": order.for_stock,
    }
    with refusing({"uq_customer_order_number": f"Order {order.number} has just been taken by somebody else."}):
        order_id: int = tx.execute(_INSERT_ORDER, row).scalar_one()
    return KeptOrder(
        order_id,
        order.number,
        row["tag"],
        order.customer,
        order.wanted,
        order.fitted_here,
        order.book_id,
        order.note,
        "open",
        stamp.at,
        stamp.by,
        keep_lines(tx, order_id, lines),
        order.for_stock,
    )


def _tag(tx: Tx, own: str) -> str:
    if not own:
        return next_tags(tx, "O", 1)[0]
    return tags_for(tx, "O", [own], set(tx.scalars(select(t.CustomerOrder.tag))))[0]


def keep_lines(tx: Tx, order_id: int, lines: Sequence[tuple[int, str, int, LineRequest]]) -> tuple[KeptLine, ...]:
    """Writes new lines: number, title of the kit, car id, request."""
    ids = tx.execute(
        _INSERT_LINES,
        [
            {
                "order_id": order_id,
                "number": number,
                "kit": request.kit,
                "title": title,
                "quantity": request.quantity,
                "car_id": car_id,
                "request": kept(request),
                "on_car": [],
                "advice": [],
            }
            for number, title, car_id, request in lines
        ],
    ).scalars()
    return tuple(
        KeptLine(line_id, number, title, car_id, request, (), ())
        for line_id, (number, title, car_id, request) in zip(ids, lines, strict=True)
    )


def order_by(tx: Tx, number_or_tag: str) -> KeptOrder:
    """The order of this number or tag. Raises Refusal if there is none."""
    name = number_or_tag.strip()
    row: Any = tx.execute(_BY_NUMBER, {"number": name}).one_or_none()
    if row is None:
        row = tx.execute(_BY_TAG, {"tag": name.upper()}).one_or_none()
    if row is None:  # typed in a hurry: small letters do, where only one order is meant
        alike = tx.execute(_BY_SMALL, {"number": name}).all()
        row = alike[0] if len(alike) == 1 else None
    if row is None:
        refuse_replaced(tx, name.upper())
        raise Refusal(f"There is no order {quoted(name)}. The rail (F2, or 'stockroom rail') lists the orders in hand.")
    return _kept_order(tx, row)


def ids_of(tx: Tx, numbers_or_tags: Sequence[str]) -> dict[int, str]:
    """Id → number of the orders of these numbers or tags, each once, in their order. Raises Refusal as `order_by`."""
    rows = tx.execute(_IDS_BY_NUMBERS, {"numbers": list(numbers_or_tags)})
    known: dict[str, int] = {row.number: row.id for row in rows}
    found: dict[int, str] = {}
    for name in numbers_or_tags:
        if name in known:
            found[known[name]] = name
        else:
            order = order_by(tx, name)
            found[order.id] = order.number
    return found


def order_to_change(tx: Tx, number_or_tag: str) -> KeptOrder:
    """`order_by`, for a job that changes the order or what is held for it: nobody else does so until it is done."""
    found = order_by(tx, number_or_tag)
    if tx.dialect.name == "sqlite":  # a write transaction keeps every other writer out from its beginning
        return found
    lock_rows(tx, t.CustomerOrder.__table__, [found.id])
    return order_by(tx, found.number)


def orders_to_change(tx: Tx, order_ids: Iterable[int]) -> list[KeptOrder]:
    """The orders of these ids, by id; nobody else changes them until the job is done."""
    found = sorted(set(order_ids))
    lock_rows(tx, t.CustomerOrder.__table__, found)
    rows = tx.execute(select(t.CustomerOrder).where(t.CustomerOrder.id.in_(found)).order_by(t.CustomerOrder.id))
    return [_kept_order(tx, row) for row in rows.all()]


def states_of(tx: Tx, order_ids: Iterable[int]) -> list[tuple[str, str]]:
    """Number and state of the orders of these ids, by id."""
    o = t.CustomerOrder
    rows = tx.execute(select(o.number, o.state).where(o.id.in_(set(order_ids))).order_by(o.id))
    return [(number, state) for number, state in rows]


def orders_of_cars(tx: Tx, car_ids: Sequence[int]) -> list[KeptOrder]:
    """The open orders with a line for any of these cars, by id; nobody else changes them until the job is done."""
    ids = tx.execute(
        select(t.OrderLine.order_id)
        .join(t.CustomerOrder, t.CustomerOrder.id == t.OrderLine.order_id)
        .where(t.OrderLine.car_id.in_(sorted(set(car_ids))), t.CustomerOrder.state == "open")
        .distinct()
    ).scalars()
    return orders_to_change(tx, ids)


def _kept_order(tx: Tx, row: Any) -> KeptOrder:
    lines = tx.execute(_LINES, {"order": row.id}).all()
    return KeptOrder(
        row.id,
        row.number,
        row.tag,
        row.customer,
        row.wanted,
        row.fitted_here,
        row.book_id,
        row.note,
        row.state,
        row.taken_at,
        row.taken_by,
        tuple(
            KeptLine(
                line.id,
                line.number,
                line.title,
                line.car_id,
                given_back(LineRequest, line.request),
                tuple(tuple(entry) for entry in line.on_car),
                tuple(line.advice),
            )
            for line in lines
        ),
        row.for_stock,
    )


def rewrite_line(tx: Tx, line: KeptLine, request: LineRequest) -> KeptLine:
    """Writes down that a line now asks for `request`; gives the line as it is now."""
    tx.execute(
        update(t.OrderLine)
        .where(t.OrderLine.id == line.id)
        .values(kit=request.kit, quantity=request.quantity, request=kept(request))
    )
    return replace(line, request=request)


def drop_lines(tx: Tx, lines: Sequence[KeptLine]) -> None:
    """Takes lines out of their order, with what they waited for. Their requirements must be gone."""
    ids = [line.id for line in lines]
    tx.execute(delete(t.Waiting).where(t.Waiting.line_id.in_(ids)))
    tx.execute(delete(t.OrderLine).where(t.OrderLine.id.in_(ids)))


def keep_findings(
    tx: Tx, line_id: int, on_car: Sequence[tuple[str, str, str, int, str]], advice: Sequence[str]
) -> None:
    """Writes down what the explosion found for a line besides its requirements."""
    tx.execute(
        _FINDINGS,
        {"line": line_id, "now_on_car": [list(entry) for entry in on_car], "now_advice": list(advice)},
    )


def set_state(tx: Tx, order_id: int, state: str) -> None:
    """Moves the order to 'open', 'cancelled', 'cut', 'sent' or 'kept'."""
    tx.execute(update(t.CustomerOrder).where(t.CustomerOrder.id == order_id).values(state=state))


def set_wanted(tx: Tx, order_id: int, wanted: date | None) -> None:
    """The order is now wanted on this day; `None`: open."""
    tx.execute(update(t.CustomerOrder).where(t.CustomerOrder.id == order_id).values(wanted=wanted))


def rewrite_head(
    tx: Tx, order_id: int, customer: str, wanted: date | None, fitted_here: bool, note: str, digest: str
) -> None:
    """Who an order is for, when it is wanted and how it leaves are now these."""
    tx.execute(
        update(t.CustomerOrder)
        .where(t.CustomerOrder.id == order_id)
        .values(
            customer=customer,
            customer_folded=customer.casefold(),
            wanted=wanted,
            fitted_here=fitted_here,
            note=note,
            digest=digest,
        )
    )


def log_change(tx: Tx, order_id: int, job_id: int, what: str, stamp: Stamp) -> None:
    """Writes down, in a sentence, what was changed about an order."""
    tx.execute(
        insert(t.OrderChange), {"order_id": order_id, "job_id": job_id, "what": what, "by": stamp.by, "at": stamp.at}
    )


def changes_logged(tx: Tx, order_id: int) -> list[tuple[str, str, datetime]]:
    """What was changed about an order, who did it and when, oldest first."""
    return [(what, by, at) for what, by, at in tx.execute(_CHANGES, {"order": order_id})]
