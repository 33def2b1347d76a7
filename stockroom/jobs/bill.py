"""An order's bill of materials: exploded when the order is taken, and again when something about it changes.

What changes is found as a difference by key, so that what is held and what is tagged survives every change that does
not touch it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stockroom.domain.explosion import Explosion, LineCase, explode
from stockroom.domain.facts import CarFacts
from stockroom.domain.kitbook import KitBook
from stockroom.domain.order import Change
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Key, Requirement
from stockroom.domain.settling import settle
from stockroom.domain.stamp import Stamp
from stockroom.domain.substitutes import Substituted
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.jobs.offer import Owner
from stockroom.jobs.swatch_hold import end_unawaited
from stockroom.jobs.use import let_go_of, take_up_again
from stockroom.store import bill, cars, holds, orders, packing, pieces, substitutions, waits
from stockroom.store.bill import KeptRequirement
from stockroom.store.cars import KeptCar, facts_of
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class Rewritten:
    """What a fresh explosion changed of a kept bill of materials."""

    explosion: Explosion
    added: int
    dropped: int
    altered: int
    let_go: bool
    """Something that was held is held no longer."""
    misfits: tuple[str, ...] = ()
    """Finished things of the stock that fit no longer, and were let go: sentences."""


def settled_facts(book: KitBook, car: KeptCar) -> CarFacts:
    """What is known of a car, with what follows from it under this book."""
    return settle(book, facts_of(car.told)).car


def explode_order(shop: Shop, tx: Tx, order: KeptOrder, known: Mapping[int, KeptCar] | None = None) -> Explosion:
    """The explosion of a kept order as it stands, under the kit-book version it was taken under.

    `known`: its cars by number, where they have just been read.
    """
    book = book_of(shop, tx, order.book_id)
    ids = [line.car_id for line in order.lines]
    known = cars.cars_by_id(tx, ids) if known is None else known
    proved = cars.changes_of(tx, ids)
    taken = substitutions.substitutions_of(tx, order.id)
    cases = [
        line_case(book, known[line.car_id], proved[line.car_id], line, taken.get(line.number, {}))
        for line in order.lines
    ]
    return explode(book, catalogue_of(shop, tx).view, cases)


def line_case(
    book: KitBook,
    car: KeptCar,
    proved: tuple[Change, ...],
    line: orders.KeptLine,
    taken: Mapping[str, Substituted],
) -> LineCase:
    """One line as the explosion wants it. A change that this very line proved is not made twice.

    `taken`: item → what is taken instead, with the customer's yes.
    """
    earlier = tuple(change for change in proved if change not in line.request.changes)
    return LineCase(line.number, line.request, car.key, settled_facts(book, car), earlier, taken)


def write_bill(
    shop: Shop,
    tx: Tx,
    order: KeptOrder,
    known: Mapping[int, KeptCar],
    marked: Mapping[tuple[int, str, str, int], str] | None = None,
) -> Explosion:
    """Explodes an order that has just been written down, of which nothing else is kept, and keeps what it comes to.

    `marked`: tags that its pieces (line, path, piece, copy) bear already.
    """
    explosion = explode_order(shop, tx, order, known)
    bill.keep_requirements(tx, order.id, explosion.requirements)
    pieces.keep_pieces(tx, order.id, explosion.pieces, marked)
    pieces.keep_fitting(tx, order.id, explosion.steps)
    waits.keep_waits(tx, {line.number: line.id for line in order.lines}, explosion.waits)
    _keep_findings(tx, order, explosion)
    return explosion


def rewrite_bill(
    shop: Shop, tx: Tx, order: KeptOrder, stamp: Stamp, answered: Mapping[tuple[str, str], str] | None = None
) -> Rewritten:
    """Explodes a kept order again and writes down what is different: requirements, pieces, waits, fitting list.

    `answered`: (kind, name) → the answer just given, which is kept beside the wait that it ends.
    """
    explosion = explode_order(shop, tx, order)
    old = {one.requirement.key: one for one in bill.requirements_of(tx, order.id)}
    now: dict[Key, Requirement] = {one.key: one for one in explosion.requirements}
    gone = [one for key, one in old.items() if key not in now]
    altered = [one for key, one in old.items() if key in now and not _same_need(one.requirement, now[key])]
    explained = [
        one
        for key, one in old.items()
        if key in now and _same_need(one.requirement, now[key]) and one.requirement != now[key]
    ]
    _refuse_what_is_begun(tx, order, [*gone, *altered])
    fresh = [requirement for key, requirement in now.items() if key not in old]
    loosened = let_go_of(tx, order, _owners([*(one.requirement for one in (*gone, *altered)), *fresh]))
    touched = [one.id for one in (*gone, *altered) if one.held]
    let_go = holds.release(tx, touched) if touched else set()
    bill.drop_requirements(tx, [one.id for one in gone])
    for one in altered:
        bill.rewrite_requirement(tx, order.id, one, now[one.requirement.key])
    for one in explained:
        bill.rewrite_reasons(tx, one, now[one.requirement.key])
    bill.keep_requirements(tx, order.id, fresh)
    pieces.rewrite_pieces(tx, order.id, pieces.pieces_of(tx, order.id), explosion.pieces)
    pieces.keep_fitting(tx, order.id, explosion.steps)
    waits.rewrite_waits(tx, {line.number: line.id for line in order.lines}, explosion.waits, answered or {}, stamp)
    end_unawaited(tx, order, stamp)
    _keep_findings(tx, order, explosion)
    misfits = take_up_again(shop, tx, order, loosened, stamp)
    return Rewritten(explosion, len(fresh), len(gone), len(altered), bool(let_go), misfits)


def _owners(differing: Iterable[Requirement]) -> set[Owner]:
    """The pieces of whose bill something differs."""
    return {(one.key.line, one.key.path.removesuffix("/made"), one.key.piece) for one in differing}


def _refuse_what_is_begun(tx: Tx, order: KeptOrder, differing: Sequence[KeptRequirement]) -> None:
    begun = packing.begun_of(tx, order.id) if differing else set()
    if begun & {one.id for one in differing}:
        raise Refusal(
            f"This would change what order {order.number} is made of where it was picked or cut already. "
            "Put back what was picked for it first; what was cut stays cut."
        )


def _same_need(one: Requirement, other: Requirement) -> bool:
    """The same goods in the same amount and shape: what is held for the one serves the other."""
    return (one.need, one.item, one.quantity, one.each_mm, one.group, one.shape) == (
        other.need,
        other.item,
        other.quantity,
        other.each_mm,
        other.group,
        other.shape,
    )


def _keep_findings(tx: Tx, order: KeptOrder, explosion: Explosion) -> None:
    for line in order.lines:
        on_car = tuple(
            (one.path, one.piece, one.item, one.count, one.half) for one in explosion.on_car if one.line == line.number
        )
        advice = tuple(sentence for number, sentence in explosion.advice if number == line.number)
        if (on_car, advice) != (line.on_car, line.advice):
            orders.keep_findings(tx, line.id, on_car, advice)
