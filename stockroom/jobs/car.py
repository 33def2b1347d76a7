"""A car's facts put right: what an order told wrongly, or what has changed since (a retrim, a respray)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.answer import FACTS, fact_value
from stockroom.jobs.bill import rewrite_bill
from stockroom.jobs.reserve import holds_something, reserve_in
from stockroom.jobs.way_back import remember
from stockroom.store import cars, changed_rows, ledger, orders
from stockroom.store.cars import KeptCar, folded_key
from stockroom.store.database import Shop, Tx


@dataclass(frozen=True, slots=True)
class CarPutRight:
    """What putting a car right did."""

    key: str
    tag: str
    what: tuple[str, ...]
    """What was changed: sentences."""
    orders: tuple[str, ...]
    """Open orders whose bill of materials was exploded again."""
    short: tuple[str, ...]
    """What those orders are now short of."""


def tag_of_car(shop: Shop, key: str) -> str:
    """The tag of the car kept under a key. Raises Refusal where there is none."""
    with shop.read() as tx:
        return _car(tx, key).tag


def put_right(shop: Shop, key: str, facts: Mapping[str, str], stamp: Stamp) -> CarPutRight:
    """Writes down other facts of a car ('series', 'trim colour' …) and explodes its open orders again.

    Raises Refusal for a fact there is not, and where the facts contradict each other under the book of an open order.
    """
    with shop.write() as tx:
        car = _car(tx, key)
        told, what = _told(shop, tx, car, facts)
        theirs = orders.orders_of_cars(tx, [car.id])
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[one.id for one in theirs])
        cars.tell_more(tx, car.id, told)
        job = ledger.begin_job(tx, f"put car {car.key} right", stamp)
        touched: list[str] = []
        short: list[str] = []
        for order in theirs:
            held_before = holds_something(tx, order)
            for sentence in (*what, *rewrite_bill(shop, tx, order, stamp).misfits):
                orders.log_change(tx, order.id, job, sentence, stamp)
            if held_before:
                short += reserve_in(shop, tx, order, stamp).short
            touched.append(order.number)
        remember(tx, job, before, alone={f"car {car.id}"})
        return CarPutRight(car.key, car.tag, tuple(what), tuple(touched), tuple(short))


def _car(tx: Tx, key: str) -> KeptCar:
    found = cars.cars_by_key(tx, [key]).get(folded_key(key))
    if found is None:
        raise Refusal(f"No car is kept under {quoted(key)}. The rail names the cars of the orders in hand.")
    return found


def _told(shop: Shop, tx: Tx, car: KeptCar, facts: Mapping[str, str]) -> tuple[CarRequest, list[str]]:
    told, what = car.told, []
    for name, said in facts.items():
        if name not in FACTS:
            raise Refusal(unknown("fact of a car", name, FACTS))
        field = FACTS[name]
        value = fact_value(shop, tx, field, said)
        was = getattr(told, field)
        if value == was:
            continue
        told = replace(told, **{field: value})  # type: ignore[arg-type]  # one of CarRequest's own names
        what.append(f"Car {car.key}: {name} {quoted(str(value))}, was {quoted(str(was)) if was else 'not known'}.")
    if not what:
        raise Refusal(f"Car {car.key} is kept so already: {listed(f'{name} {said}' for name, said in facts.items())}.")
    return told, what
