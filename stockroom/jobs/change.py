"""Changing an order until it is cut, and cancelling it until it is sent. Held stock follows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from stockroom.domain.changes import change_sentence
from stockroom.domain.facts import Overruling
from stockroom.domain.order import Change, LineRequest, OrderRequest, Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.bill import rewrite_bill
from stockroom.jobs.left_over import lying_about
from stockroom.jobs.lookup import book_of
from stockroom.jobs.offer import owner_of
from stockroom.jobs.parts import still_here
from stockroom.jobs.printed import delivery
from stockroom.jobs.reserve import Reserved, holds_something, reserve_in
from stockroom.jobs.swatch_hold import end_all
from stockroom.jobs.take import digest, matching_what_is_known, refuse_impossible_lines, told_cars
from stockroom.jobs.use import let_go_all, let_go_of
from stockroom.jobs.way_back import Undoing, WayBack, remember
from stockroom.store import (
    bill,
    bundles,
    cars,
    changed_rows,
    holds,
    ledger,
    margins,
    orders,
    packing,
    pieces,
    substitutions,
    swatches,
)
from stockroom.store.database import Shop, Tx
from stockroom.store.jobs_done import KeptJob
from stockroom.store.orders import KeptLine, KeptOrder

Asked = Callable[[LineRequest], LineRequest]


@dataclass(frozen=True, slots=True)
class Changed:
    """What a change did to an order."""

    number: str
    what: tuple[str, ...]
    """Sentences."""
    added: int
    dropped: int
    altered: int
    waits: tuple[tuple[int, Wait], ...]
    reserved: Reserved | None


@dataclass(frozen=True, slots=True)
class Cancelled:
    """What cancelling an order let go."""

    number: str
    let_go: tuple[str, ...]
    """What was held and is free again: sentences."""
    customers_parts: tuple[str, ...] = ()
    """Customer's parts that are to be given back: sentences."""
    unpacked: tuple[str, ...] = ()
    """Parcels that are to be taken apart: sentences."""
    left_over: tuple[str, ...] = ()
    """What was taken for it and lies about now, to be put back, kept or scrapped: sentences."""


def change_line(shop: Shop, number: str, line: int, change: Change, stamp: Stamp) -> Changed:
    """Asks for one thing differently on the car of one line."""

    def asked(request: LineRequest) -> LineRequest:
        return replace(request, changes=(*request.changes, change))

    return _rewrite_line(shop, number, line, asked, _in_words(change), stamp)


def overrule(shop: Shop, number: str, line: int, rule: str, said: Overruling, stamp: Stamp) -> Changed:
    """Overrules a rule of the period for the car of one line, with initials and a reason."""
    if not said.because.strip():
        raise Refusal("A rule is overruled with a reason: say why this car is different.")
    if not said.by.strip():
        raise Refusal("A rule is overruled with initials: say who takes it on.")

    def asked(request: LineRequest) -> LineRequest:
        return replace(request, overruled={**request.overruled, rule: said})

    words = f"Line {line}: rule {quoted(rule)} overruled, {quoted(said.then)} instead, because {said.because}"
    return _rewrite_line(shop, number, line, asked, words, stamp)


def set_quantity(shop: Shop, number: str, line: int, quantity: int, stamp: Stamp) -> Changed:
    """Another quantity of one line."""
    if quantity < 1:
        raise Refusal(f"A quantity is a positive whole number; {quantity} is not. To drop the order: stockroom cancel.")

    def asked(request: LineRequest) -> LineRequest:
        return replace(request, quantity=quantity)

    return _rewrite_line(shop, number, line, asked, f"Line {line}: quantity {quantity}", stamp)


NOTHING = "nothing"
"""Said in place of what a line is to match: it is to match nothing any more."""


def set_match(shop: Shop, number: str, line: int, match: str, stamp: Stamp) -> Changed:
    """What went out that the cloth of one line is to match: an order, a kit or a car; 'nothing' takes it away."""
    said = match.strip()
    with shop.read() as tx:
        request = replace(_line(orders.order_by(tx, number), line).request, match="" if said == NOTHING else said)
        known = matching_what_is_known(tx, request, orders.order_by(tx, number).number)

    def asked(request: LineRequest) -> LineRequest:
        return replace(request, match=known.match)

    words = f"Line {line}: to match {known.match}" if known.match else f"Line {line}: to match nothing that went out"
    return _rewrite_line(shop, number, line, asked, words, stamp)


def set_wanted(shop: Shop, number: str, wanted: date | None, stamp: Stamp) -> Changed:
    """Another date wanted; `None`: open."""
    with shop.write() as tx:
        order = _changeable(tx, number)
        job = ledger.begin_job(tx, f"change order {order.number}", stamp)
        words = f"Wanted {wanted.isoformat() if wanted else 'open'}"
        before = changed_rows.look(tx, changed_rows.HEAD, orders=[order.id])
        orders.set_wanted(tx, order.id, wanted)
        orders.log_change(tx, order.id, job, words, stamp)
        remember(tx, job, before)
        return Changed(order.number, (words,), 0, 0, 0, (), None)


def retake(shop: Shop, number: str, request: OrderRequest, stamp: Stamp) -> Changed:
    """Makes the order ask for what a new file says: lines by their number, the customer, the date, the cars' facts.

    The kit-book version stays the one it was taken under; tags and holds of what does not change stay.
    """
    with shop.write() as tx:
        order = _rebuildable(tx, number)
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
        held_before = holds_something(tx, order)
        book = book_of(shop, tx, order.book_id)
        if request.for_stock != order.for_stock:
            was = "for stock" if order.for_stock else f"for {order.customer}"
            raise Refusal(f"Order {order.number} is {was}, and stays so. Cancel it, and take another.")
        refuse_impossible_lines(book, request)
        asks = tuple(matching_what_is_known(tx, line, order.number) for line in request.lines)
        request = replace(request, lines=asks)
        known, _ = told_cars(shop, tx, request)
        job = ledger.begin_job(tx, f"change order {order.number}", stamp)
        words = _differences(order, request)
        wanted_lines = list(enumerate(request.lines, start=1))
        by_number = {line.number: line for line in order.lines}
        asked = {number: (known[line.car].id, line.kit) for number, line in wanted_lines}
        gone = [line for line in order.lines if line.number not in asked]
        moved = [
            line for line in order.lines if line not in gone and asked[line.number] != (line.car_id, line.request.kit)
        ]
        _let_go_lines(tx, order, [*gone, *moved])
        orders.drop_lines(tx, [*gone, *moved])
        fresh = []
        for line_number, line in wanted_lines:
            kept_line = by_number.get(line_number)
            if kept_line is None or kept_line in moved:
                fresh.append((line_number, book.kits[line.kit].title, known[line.car].id, line))
            elif kept_line.request != line:
                orders.rewrite_line(tx, kept_line, line)
        if fresh:
            orders.keep_lines(tx, order.id, fresh)
        orders.rewrite_head(
            tx, order.id, request.customer, request.wanted, request.fitted_here, request.note, digest(request)
        )
        for car in request.cars:
            proved = [one for line in request.lines if line.car == car.key for one in line.changes if one.proved]
            if proved:
                cars.keep_changes(tx, known[car.key].id, order.id, proved, stamp)
        done = _finish(shop, tx, order, job, words, stamp, held_before)
        remember(tx, job, before, alone={f"car {one.id}" for one in known.values()})
        return done


def cancel(shop: Shop, number: str, stamp: Stamp) -> Cancelled:
    """Cancels an order that is not sent; what was held for it is free again.

    What was picked and cut for it already is not lost from sight: it is told, and so it is on the order's ticket, until
    it is put back, kept as stock or scrapped.
    """
    with shop.write() as tx:
        return _cancel(shop, tx, _changeable(tx, number), None, stamp)


def _cancel(shop: Shop, tx: Tx, order: KeptOrder, undo_id: int | None, stamp: Stamp) -> Cancelled:
    """`undo_id`: the job that takes the order back, where that is what cancels it."""
    before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
    let_go = [f"{one.tag} ({one.item}): {one.quantity}" for one in holds.holds_of(tx, order.id)]
    let_go += let_go_all(tx, order)
    holds.release(tx, [one.id for one in bill.requirements_of(tx, order.id) if one.held])
    end_all(tx, swatches.awaited_of_order(tx, order.id), stamp)
    margins.let_go(tx, order.id)
    holds.rewrite_shortages(tx, order.id, [])
    job = ledger.begin_job(tx, f"cancel order {order.number}", stamp) if undo_id is None else undo_id
    unpacked = _unpacked(tx, order)
    bundles.leave_over(tx, order.id)
    orders.set_state(tx, order.id, "cancelled")
    orders.log_change(tx, order.id, job, "Cancelled", stamp)
    if undo_id is None:
        # What was kept, scrapped or put back of it since is no longer what the order could go on with.
        remember(tx, job, before, alone=[f"order {order.id}"])
    lies = lying_about(shop, tx, orders.order_by(tx, order.number)).sentences
    return Cancelled(order.number, tuple(let_go), still_here(tx, order.id), unpacked, lies)


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """An order that was taken is cancelled."""
    done = _cancel(shop, tx, _rebuildable(tx, undoing.data["number"]), undoing.undo_id, undoing.stamp)
    return (
        f"Order {done.number} is cancelled.",
        *(f"{one} is free again." for one in done.let_go),
        *done.customers_parts,
    )


def _unpacked(tx: Tx, order: KeptOrder) -> tuple[str, ...]:
    """Takes everything out of the order's parcels, and says which are to be taken apart."""
    inside = [one.parcel for one in packing.packed_of(tx, order.id).values()]
    told = tuple(
        f"Parcel {one.number} ({one.tag}, {one.what}) is to be taken apart; pieces in it: {inside.count(one.number)}."
        for one in packing.parcels_of(tx, order.id)
        if one.number in inside
    )
    packing.unpack_all(tx, order.id)
    return told


def _why_it_stays(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - the signature of every `why_not`
    order = orders.order_by(tx, job.data["number"])
    if order.state != "open":
        return _is_over(order)
    return _is_begun(order) if packing.begun_of(tx, order.id) else ""


WAYS_BACK = {"take": WayBack(_take_back, _why_it_stays)}


def _changeable(tx: Tx, number: str) -> KeptOrder:
    order = orders.order_to_change(tx, number)
    if order.state != "open":
        raise Refusal(_is_over(order))
    return order


def _is_over(order: KeptOrder) -> str:
    return f"Order {order.number} is {order.state}: it can no longer be changed."


def _rebuildable(tx: Tx, number: str) -> KeptOrder:
    """An order nothing was taken for, so that what it is made of may still change."""
    order = _changeable(tx, number)
    if packing.begun_of(tx, order.id):
        raise Refusal(_is_begun(order))
    return order


def _is_begun(order: KeptOrder) -> str:
    return (
        f"Something was picked or cut for order {order.number} already: it can no longer be changed. "
        "Put back what was picked first; what was cut stays cut. If nobody wants it any more, cancel it."
    )


def _line(order: KeptOrder, number: int) -> KeptLine:
    for line in order.lines:
        if line.number == number:
            return line
    raise Refusal(
        f"Order {order.number} has no line {number}; it has {listed(str(one.number) for one in order.lines)}."
    )


def _rewrite_line(shop: Shop, number: str, line: int, asked: Asked, words: str, stamp: Stamp) -> Changed:
    with shop.write() as tx:
        order = _rebuildable(tx, number)
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
        held_before = holds_something(tx, order)
        kept_line = _line(order, line)
        request = asked(kept_line.request)
        job = ledger.begin_job(tx, f"change order {order.number}", stamp)
        orders.rewrite_line(tx, kept_line, request)
        proved = [one for one in request.changes if one.proved]
        if proved:
            cars.keep_changes(tx, kept_line.car_id, order.id, proved, stamp)
        done = _finish(shop, tx, order, job, [words], stamp, held_before)
        remember(tx, job, before, alone={f"car {kept_line.car_id}"} if proved else ())
        return done


def _finish(
    shop: Shop, tx: Tx, order: KeptOrder, job: int, words: Sequence[str], stamp: Stamp, held_before: bool
) -> Changed:
    now = orders.order_by(tx, order.number)
    rewritten = rewrite_bill(shop, tx, now, stamp)
    words = [*words, *rewritten.misfits]
    for sentence in words:
        orders.log_change(tx, order.id, job, sentence, stamp)
    reserved = reserve_in(shop, tx, now, stamp) if held_before else None
    return Changed(
        order.number,
        tuple(words),
        rewritten.added,
        rewritten.dropped,
        rewritten.altered,
        rewritten.explosion.waits,
        reserved,
    )


def _let_go_lines(tx: Tx, order: KeptOrder, lines: Sequence[KeptLine]) -> None:
    numbers = {line.number for line in lines}
    let_go_of(tx, order, {owner_of(one) for one in pieces.pieces_of(tx, order.id) if one.piece.line in numbers})
    theirs = [one for one in bill.requirements_of(tx, order.id) if one.requirement.key.line in numbers]
    holds.release(tx, [one.id for one in theirs if one.held])
    bill.drop_requirements(tx, [one.id for one in theirs])
    substitutions.drop_substitutions(tx, order.id, numbers)


def _differences(order: KeptOrder, request: OrderRequest) -> list[str]:
    words = []
    for number, line in enumerate(request.lines, start=1):
        old = next((one for one in order.lines if one.number == number), None)
        if old is None:
            words.append(f"Line {number} added: {line.quantity} × {line.kit}")
        elif old.request != line:
            words.append(f"Line {number} now asks for: {line.quantity} × {line.kit}")
    words += [f"Line {one.number} dropped: {one.title}" for one in order.lines if one.number > len(request.lines)]
    if request.wanted != order.wanted:
        words.append(f"Wanted {request.wanted.isoformat() if request.wanted else 'open'}")
    if request.customer != order.customer:
        words.append(f"Customer {quoted(request.customer)}, was {quoted(order.customer)}")
    if request.fitted_here != order.fitted_here:
        words.append(f"Now {delivery(request.fitted_here)}")
    if request.note != order.note:
        words.append(f"Note {quoted(request.note)}")
    return words or ["Taken again, with nothing different"]


def _in_words(change: Change) -> str:
    return f"Piece {change.piece}: {change_sentence(change)}" if change.piece else change_sentence(change)
