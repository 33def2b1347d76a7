"""Giving the answer that a line waits for: a choice, a fact of the car, a measurement, a customer's yes to a swatch."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from stockroom.domain.order import CarRequest, LineRequest, Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.bill import rewrite_bill
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.reserve import Reserved, holds_something, reserve_in
from stockroom.jobs.swatch_sent import answer_in
from stockroom.jobs.way_back import remember
from stockroom.store import cars, changed_rows, ledger, orders, swatches, waits
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptLine, KeptOrder
from stockroom.store.swatches import KeptSent
from stockroom.store.waits import KeptWait

FACTS = {
    "series": "series",
    "works": "works",
    "chassis": "chassis_number",
    "built": "built",
    "hand": "hand",
    "body colour": "body_colour",
    "trim colour": "trim_colour",
    "hood colour": "hood_colour",
}
"""Name of a fact → the field of `CarRequest` that keeps it."""


@dataclass(frozen=True, slots=True)
class Answered:
    """What an answer let go on."""

    number: str
    still_waits: tuple[tuple[int, Wait], ...]
    orders_touched: tuple[str, ...]
    """Orders of the same car that went on too."""
    reserved: Reserved | None
    """What could be held at once, where the order held something already."""
    told: tuple[str, ...] = ()
    """What came of the answer to a swatch, and what else there is after a no: sentences."""


def answer(shop: Shop, number: str, name: str, said: str, stamp: Stamp, line: int | None = None) -> Answered:
    """Answers what an order waits for under `name`. `line` says which line is meant where several wait for it.

    Raises Refusal where nothing waits under that name, or the answer cannot be.
    """
    with shop.write() as tx:
        order = orders.order_to_change(tx, number)
        if order.state != "open":
            raise Refusal(f"Order {order.number} is {order.state}: it waits for nothing.")
        waiting = _waiting_for(order, waits.waits_of(tx, order.id), name, line)
        sent = _sent_for(tx, order, waiting)
        if sent is not None:
            return _answered_to_swatch(shop, tx, order, sent, said, stamp)
        job = ledger.begin_job(tx, f"answer for order {order.number}", stamp)
        kind = waiting[0].wait.kind
        touched = [order]
        alone: set[str] = set()
        if kind == "fact":
            car_id = _car_meant(order, waiting)
            alone.add(f"car {car_id}")
            touched = orders.orders_of_cars(tx, [car_id])
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[one.id for one in touched])
        if kind == "fact":
            _tell_car(shop, tx, car_id, waiting[0].wait.name, said)
        else:
            for one in waiting:
                _rewrite(tx, order, one, said)
        answered: dict[tuple[str, str], str] = {(kind, waiting[0].wait.name): said}
        reserved: dict[int, Reserved | None] = {}
        for one_order in touched:
            held_before = holds_something(tx, one_order)
            now = orders.order_by(tx, one_order.number)
            for misfit in rewrite_bill(shop, tx, now, stamp, answered).misfits:
                orders.log_change(tx, one_order.id, job, misfit, stamp)
            orders.log_change(tx, one_order.id, job, f"{waiting[0].wait.question} {said}", stamp)
            reserved[one_order.id] = reserve_in(shop, tx, now, stamp) if held_before else None
        remember(tx, job, before, alone=alone)
        return Answered(
            order.number,
            tuple((one.line, one.wait) for one in waits.waits_of(tx, order.id)),
            tuple(one.number for one in touched if one.id != order.id),
            reserved.get(order.id),
        )


def _sent_for(tx: Tx, order: KeptOrder, waiting: list[KeptWait]) -> KeptSent | None:
    """The swatch that was sent for what is answered, if one was. Raises Refusal where several were."""
    if waiting[0].wait.kind != "swatch":
        return None
    lines = {one.line for one in waiting}
    sent = [one for one in swatches.awaited_of_order(tx, order.id) if one.name == waiting[0].wait.name]
    sent = [one for one in sent if one.line in lines]
    if len(sent) > 1:
        told = listed((f"{one.tag} ({lot_name(one.lot)})" for one in sent), "or")
        raise Refusal(f"Several swatches were sent for it. Say which is answered: {told}.")
    return sent[0] if sent else None


def _answered_to_swatch(shop: Shop, tx: Tx, order: KeptOrder, sent: KeptSent, said: str, stamp: Stamp) -> Answered:
    """The answer to a swatch that was sent, as the customer's own."""
    done = answer_in(shop, tx, order, sent, said, (order.customer, ""), stamp)
    still = tuple((one.line, one.wait) for one in waits.waits_of(tx, order.id))
    return Answered(order.number, still, (), done.reserved, (done.sentence, *done.others))


def _waiting_for(order: KeptOrder, waiting: list[KeptWait], name: str, line: int | None) -> list[KeptWait]:
    """The waits under `name` (its case and blanks do not matter), all of one kind."""
    wanted = _plain(name)
    found = [one for one in waiting if _plain(one.wait.name) == wanted and line in (None, one.line)]
    if found:
        return found
    names = sorted({one.wait.name for one in waiting})
    if not names:
        raise Refusal(f"Order {order.number} waits for no answer.")
    where = f"line {line} of order {order.number}" if line else f"order {order.number}"
    raise Refusal(f"Nothing in {where} waits for {quoted(name)}. It waits for {listed(map(quoted, names))}.")


def _plain(name: str) -> str:
    return " ".join(name.replace("-", " ").casefold().split()).removeprefix("option ")


def _rewrite(tx: Tx, order: KeptOrder, one: KeptWait, said: str) -> None:
    line = next(line for line in order.lines if line.number == one.line)
    orders.rewrite_line(tx, line, _answered(line, one.wait, said))


def _answered(line: KeptLine, wait: Wait, said: str) -> LineRequest:
    request = line.request
    if wait.kind == "option":
        if said not in wait.choices:
            raise Refusal(unknown(f"choice of {wait.name}", said, wait.choices))
        return replace(request, choices={**request.choices, wait.name: said})
    if wait.kind == "measurement":
        if not said.strip():
            raise Refusal(f"The measurement '{wait.name}' needs an answer; it is empty.")
        said_in_a_line(measurement=said)
        return replace(request, measurements={**request.measurements, wait.name: said})
    if wait.kind == "swatch":
        return replace(request, swatches=_agreed(request, wait, said))
    raise Refusal(
        f"'{wait.name}' cannot be answered in a word: {wait.question} Change the order, or load what is missing."
    )


def _agreed(request: LineRequest, wait: Wait, said: str) -> tuple[str, ...]:
    """A swatch is answered with yes; anything else means another colour or cloth, which is a change of the order."""
    if said.casefold() not in ("yes", "y", "agreed"):
        raise Refusal(
            f"The swatch of {wait.name} is answered with 'yes'. If the customer wants another, send that "
            "(stockroom swatch send TAG ORDER), or change the order: stockroom change ORDER --file ORDER.toml."
        )
    return tuple(swatch for swatch in request.swatches if swatch != wait.name)


def _car_meant(order: KeptOrder, waiting: list[KeptWait]) -> int:
    """Id of the car that a fact is told of."""
    name = waiting[0].wait.name
    if name not in FACTS:
        raise Refusal(unknown("fact of a car", name, FACTS))
    ids = sorted({line.car_id for line in order.lines if line.number in {one.line for one in waiting}})
    if len(ids) > 1:
        raise Refusal(f"Several cars of order {order.number} wait for {name}. Say which line is meant: --line N.")
    return ids[0]


def _tell_car(shop: Shop, tx: Tx, car_id: int, name: str, said: str) -> None:
    """Writes a fact down with the car, whose open orders may all go on."""
    field = FACTS[name]
    value = fact_value(shop, tx, field, said)
    told: CarRequest = replace(cars.cars_by_id(tx, [car_id])[car_id].told, **{field: value})  # type: ignore[arg-type]  # one of CarRequest's own names
    cars.tell_more(tx, car_id, told)


def fact_value(shop: Shop, tx: Tx, field: str, said: str) -> str | date:
    """What somebody said of a car, as `field` of a `CarRequest` keeps it. Raises Refusal for what cannot be."""
    if not said.strip():
        raise Refusal("Say what it is; nothing was said.")
    said_in_a_line(**{field.replace("_", " "): said})
    if field == "built":
        return day_built(said)
    if field.endswith("_colour"):
        colours = catalogue_of(shop, tx).colours
        if said not in colours:
            raise Refusal(unknown("colour", said, colours))
    if field == "chassis_number" and not any("0" <= mark <= "9" for mark in said):
        raise Refusal(f"A chassis number has figures in it; {quoted(said)} has none. Read it off the car.")
    if field == "hand" and said not in ("left", "right"):
        raise Refusal(f"The hand of drive is 'left' or 'right'; {quoted(said)} is neither.")
    return said


def day_built(said: str) -> date:
    """A day, or the first of a month where only the month is known. Raises Refusal for anything else."""
    try:
        return date.fromisoformat(said if len(said) > 7 else f"{said}-01")
    except ValueError:
        raise Refusal(f"'{said}' is not a day. Write 1953-06-01, or 1953-06 where only the month is known.") from None
