"""Taking an order: the car is found or kept, the lines are written down and exploded, and what is not known waits."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from stockroom.domain.kitbook import KitBook
from stockroom.domain.line_checks import refuse_what_makes_no_sense
from stockroom.domain.order import FOR_STOCK, CarRequest, CarriedOrder, LineRequest, OrderRequest, Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import literal, quoted, unknown
from stockroom.jobs.bill import write_bill
from stockroom.jobs.lookup import book_of, catalogue_of, newest_book
from stockroom.jobs.offer import offers_in
from stockroom.jobs.went_in import refuse_nothing_to_match, went_into
from stockroom.store import books, cars, ledger, orders
from stockroom.store.cars import KeptCar, folded_key
from stockroom.store.database import Shop, Tx
from stockroom.store.kept_shapes import kept
from stockroom.store.orders import KeptOrder, NewOrder


@dataclass(frozen=True, slots=True)
class Taken:
    """An order that was taken."""

    number: str
    tag: str
    requirements: int
    pieces: int
    waits: tuple[tuple[int, Wait], ...]
    """Line number and the answer it waits for."""
    advice: tuple[tuple[int, str], ...]
    """Line number and a sentence."""
    cars_found: tuple[str, ...]
    """Cars that were known already."""
    offers: tuple[str, ...] = ()
    """Finished things of the stock that fit, and how to use them: sentences."""


def take(shop: Shop, request: OrderRequest, stamp: Stamp) -> Taken:
    """Takes an order. Raises Refusal, with nothing written, where it asks for what does not exist or contradicts."""
    with shop.write() as tx:
        taken, order = _take(shop, tx, request, stamp)
        offers = offers_in(shop, tx, order)
        return replace(taken, offers=tuple(one.sentence for one in offers))


def take_in(shop: Shop, tx: Tx, request: OrderRequest, stamp: Stamp, carried: CarriedOrder | None = None) -> Taken:
    """`take`, within a transaction that has begun (a whole folder of orders is loaded in one).

    `carried`: the marks it bears already, where it was taken in another shop whose files these are.
    """
    return _take(shop, tx, request, stamp, carried)[0]


def _take(
    shop: Shop, tx: Tx, request: OrderRequest, stamp: Stamp, carried: CarriedOrder | None = None
) -> tuple[Taken, KeptOrder]:
    if carried is None:
        book_id, book = newest_book(shop, tx, request.book)
    else:
        book_id = books.of_version(tx, request.book, carried.version)
        book = book_of(shop, tx, book_id)
        stamp = Stamp(carried.by, carried.at)
    refuse_impossible_lines(book, request)
    _refuse_half_for_stock(request)
    asked = carried.digest if carried is not None and carried.digest else digest(request)
    number = _number(tx, request, asked)
    if carried is None:
        request = _matching_what_is_known(tx, request)
    known, found = told_cars(shop, tx, request)
    order = orders.keep_order(
        tx,
        NewOrder(
            number,
            request.customer,
            request.wanted,
            request.fitted_here,
            book_id,
            request.note,
            asked,
            carried.tag if carried is not None else "",
            request.for_stock,
        ),
        [
            (line_number, book.kits[line.kit].title, known[line.car].id, line)
            for line_number, line in enumerate(request.lines, start=1)
        ],
        stamp,
    )
    touched = {f"order {order.id}"} | {f"car {car.id}" for car in known.values()}
    ledger.write_job(tx, f"take order {number}", stamp, "take", {"number": number}, touched)
    for car in request.cars:
        proved = [change for line in request.lines if line.car == car.key for change in line.changes if change.proved]
        if proved:
            cars.keep_changes(tx, known[car.key].id, order.id, proved, stamp)
    marked = {row[:4]: row[4] for row in carried.pieces} if carried is not None else None
    explosion = write_bill(shop, tx, order, {car.id: car for car in known.values()}, marked)
    taken = Taken(
        number,
        order.tag,
        len(explosion.requirements),
        len(explosion.pieces),
        explosion.waits,
        explosion.advice,
        found,
    )
    return taken, order


def digest(request: OrderRequest) -> str:
    """What an order asks for, in short: the same order taken twice is known by it."""
    asked = kept(request)
    # What says nothing is left out, so that what earlier versions took is known again.
    if not request.for_stock:
        del asked["for_stock"]
    for line in asked["lines"]:
        if not line["match"]:
            del line["match"]
    text = json.dumps(asked, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _refuse_half_for_stock(request: OrderRequest) -> None:
    if request.for_stock and request.fitted_here:
        raise Refusal("An order for stock is fitted to no car. Leave out one of the two.")
    if request.for_stock and request.customer != FOR_STOCK:
        raise Refusal(f"An order for stock has no customer; this one names {quoted(request.customer)}. Leave out one.")


def _matching_what_is_known(tx: Tx, request: OrderRequest) -> OrderRequest:
    """The order with what its lines ask to match named as it is kept. Raises Refusal where nothing is known of that."""
    return replace(request, lines=tuple(matching_what_is_known(tx, line) for line in request.lines))


def matching_what_is_known(tx: Tx, line: LineRequest, order: str = "") -> LineRequest:
    """A line with what it asks to match named as it is kept. `order`: its own number, where it has one.

    Raises Refusal where nothing went into that, or is held for it.
    """
    if not line.match:
        return line
    went = went_into(tx, line.match)
    if order and went.order == order:
        raise Refusal(f"Order {literal(order)} cannot be told to match itself. Name what went out earlier.")
    refuse_nothing_to_match(went)
    return replace(line, match=went.short_name)


def _number(tx: Tx, request: OrderRequest, asked: str) -> str:
    """The order's number: its own, if that is free, or the shop's next."""
    if request.number:
        if orders.number_is_taken(tx, request.number):
            raise Refusal(
                f"There is an order {literal(request.number)} already. Give this one another number, or change that "
                f"one: stockroom change {quoted(request.number)} --help."
            )
        return request.number
    twin = orders.open_twin(tx, asked)
    if twin is not None:
        raise Refusal(
            f"Order {twin} asks for exactly the same, so this looks like the same order taken twice. "
            "If it is meant twice, give this one a number of its own."
        )
    return orders.next_number(tx)


def refuse_impossible_lines(book: KitBook, request: OrderRequest) -> None:
    """Raises Refusal for a kit that the book does not have, naming the nearest, and for what cannot be so many."""
    if not request.lines:
        raise Refusal("The order asks for nothing. Give it at least one line.")
    for line in request.lines:
        refuse_what_makes_no_sense(book, line)


def told_cars(shop: Shop, tx: Tx, request: OrderRequest) -> tuple[Mapping[str, KeptCar], tuple[str, ...]]:
    """The order's cars by the key its lines use, kept or found again; and the keys of those that were known."""
    colours = catalogue_of(shop, tx).colours
    for told in request.cars:
        for colour in (told.body_colour, told.trim_colour, told.hood_colour):
            if colour and colour not in colours:
                raise Refusal(unknown("colour", colour, colours))
    told_by_key = {car.key: car for car in request.cars}
    for line in request.lines:
        if line.car not in told_by_key:
            raise Refusal(unknown("car", line.car, told_by_key))
    known = cars.cars_by_key(tx, list(told_by_key))
    # One car may be written in two ways in one order.
    fresh: dict[str, CarRequest] = {}
    for key, told in told_by_key.items():
        if folded_key(key) not in known:
            fresh.setdefault(folded_key(key), told)
    kept_now = {**known, **{folded_key(car.key): car for car in cars.keep_cars(tx, list(fresh.values()))}}
    for key, told in told_by_key.items():
        kept_now[folded_key(key)] = _told_more(tx, kept_now[folded_key(key)], told)
    result = {key: kept_now[folded_key(key)] for key in told_by_key}
    return result, tuple(car.key for key, car in result.items() if folded_key(key) in known)


_FACT_WORDS = {
    "chassis_number": "chassis number",
    "series": "series",
    "works": "works",
    "built": "day built",
    "hand": "hand of drive",
    "body_colour": "body colour",
    "trim_colour": "trim colour",
    "hood_colour": "hood colour",
}


def _told_more(tx: Tx, old: KeptCar, told: CarRequest) -> KeptCar:
    """A car that is kept, with what this order tells besides. What contradicts is refused."""
    more: dict[str, object] = {}
    for field in fields(CarRequest):
        was, now = getattr(old.told, field.name), getattr(told, field.name)
        if field.name == "key" or not now or now == was:
            continue
        if field.name == "chassis_number" and folded_key(now) == folded_key(was):
            continue
        if was:
            raise Refusal(
                f"The {_FACT_WORDS[field.name]} of car {literal(old.key)} is kept as {quoted(str(was))}; "
                f"this order says {quoted(str(now))}. "
                f"Correct the order, or put the car right: stockroom car '{old.key}' --help."
            )
        more[field.name] = now
    if not more:
        return old
    now_told = replace(old.told, **more)  # type: ignore[arg-type]  # the names are CarRequest's own
    cars.tell_more(tx, old.id, now_told)
    return replace(old, told=now_told)
