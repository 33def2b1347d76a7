"""Customers' parts: frames and bright parts that come in with an order, lie in a place, and are given back.

They are the customer's: tagged and placed, but never counted as stock.
"""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import KINDS
from stockroom.jobs.scanned import place_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import changed_rows, customer_parts, ledger, orders
from stockroom.store.changed_rows import Before
from stockroom.store.customer_parts import KeptPart
from stockroom.store.database import Shop, Tx
from stockroom.store.replaced_tags import scanned_tag


@dataclass(frozen=True, slots=True)
class PartMoved:
    """What became of a customer's part."""

    tag: str
    order: str
    """Number of its order."""
    what: str
    place: str
    """Code of the place where it lies now; '' once it is given back."""
    changed_anything: bool
    """False: it was so before."""
    sentence: str


def receive(shop: Shop, number: str, what: str, place: str, stamp: Stamp) -> PartMoved:
    """A part of the customer's came in with an order: it gets a tag and lies in a place.

    `place`: its code or its tag. Raises Refusal for an order that is not open and a place that there is not.
    """
    if not what.strip():
        raise Refusal("Say what came in: a hood frame, a header rail, a pair of bright strips.")
    with shop.write() as tx:
        order = orders.order_to_change(tx, number)
        if order.state != "open":
            raise Refusal(f"Order {order.number} is {order.state}: no part comes in with it any more.")
        code = place_scanned(tx, place)
        of_cars = {line.car_id for line in order.lines}
        car_id = next(iter(of_cars)) if len(of_cars) == 1 else None
        before = changed_rows.look(tx, changed_rows.PARTS, orders=[order.id])
        tag = customer_parts.keep_part(tx, order.id, car_id, what.strip(), code, stamp)
        job = ledger.begin_job(tx, f"receive a customer's part for order {order.number}", stamp)
        orders.log_change(tx, order.id, job, f"Customer's part {tag} came in: {what.strip()}, put in {code}", stamp)
        remember(tx, job, before)
        told = f"{what.strip()} is {tag}, in {code}: a customer's part of order {order.number}."
        sentence = f"{told} Print its tag and tie it on."
        return PartMoved(tag, order.number, what.strip(), code, True, sentence)


def move(shop: Shop, tag: str, place: str, stamp: Stamp) -> PartMoved:
    """A customer's part is put in another place, named by its code or its tag."""
    with shop.write() as tx:
        return move_in(tx, tag, place_scanned(tx, place), stamp)


def move_in(tx: Tx, tag: str, code: str, stamp: Stamp) -> PartMoved:
    """`move`, to the place of this code, within the transaction of a job that moves other things too."""
    part = _part_to_change(tx, tag)
    if part.given_back_at is not None:
        raise Refusal(f"{_given_back(part)} It lies in no place of this shop. If it came in again, receive it.")
    if code == part.place:
        return _moved(part, code, f"{part.what} ({part.tag}) lies in {code} already. Nothing is moved.")
    before = _before(tx, part)
    customer_parts.put_in_place(tx, part.id, code)
    remember(tx, ledger.begin_job(tx, f"move customer's part {part.tag}", stamp), before)
    return _moved(part, code, f"{part.what} ({part.tag}) is in {code} now, no longer in {part.place}.")


def give_back(shop: Shop, tag: str, stamp: Stamp) -> PartMoved:
    """A customer's part goes back to its owner, whatever became of the order. A second time nothing happens."""
    with shop.write() as tx:
        part = _part_to_change(tx, tag)
        if part.given_back_at is not None:
            return _moved(part, "", f"{_given_back(part)} Nothing is given back again.")
        before = _before(tx, part)
        customer_parts.mark_given_back(tx, part.id, stamp)
        order = orders.order_by(tx, part.order)
        job = ledger.begin_job(tx, f"give back customer's part {part.tag}", stamp)
        orders.log_change(tx, order.id, job, f"Customer's part {part.tag} given back: {part.what}", stamp)
        remember(tx, job, before)
        return _moved(part, "", f"{part.what} ({part.tag}) is given back to {part.customer}, order {part.order}.")


def still_here(tx: Tx, order_id: int) -> tuple[str, ...]:
    """The customer's parts of an order that are not given back: sentences."""
    return tuple(
        f"Customer's part {one.tag}, {one.what}, is still in {one.place}: give it back."
        for one in customer_parts.parts_of(tx, order_id)
        if one.given_back_at is None
    )


def whereabouts(part: KeptPart) -> str:
    """Where a customer's part is."""
    if part.given_back_at is None:
        return f"in {part.place}"
    return f"given back {part.given_back_at:%Y-%m-%d} ({part.given_back_by})"


def part_scanned(tx: Tx, tag: str) -> KeptPart:
    """The customer's part that a tag names. Raises Refusal for a mistyped tag and for anything else."""
    read = scanned_tag(tx, tag)
    if read.kind != "G":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a customer's part.")
    found = customer_parts.part_by_tag(tx, str(read))
    if found is None:
        raise Refusal(
            f"No customer's part in this shop has the tag {read}. It is well formed, so it may be from another shop."
        )
    return found


def _before(tx: Tx, part: KeptPart) -> Before:
    return changed_rows.look(tx, changed_rows.PARTS, orders=[orders.order_by(tx, part.order).id])


def _part_to_change(tx: Tx, tag: str) -> KeptPart:
    """The part that a tag names; nobody else changes it until the job is done, as its order is locked."""
    orders.order_to_change(tx, part_scanned(tx, tag).order)
    return part_scanned(tx, tag)


def _given_back(part: KeptPart) -> str:
    return f"{part.what} ({part.tag}) was given back already ({part.given_back_by}, {part.given_back_at:%Y-%m-%d})."


def _moved(part: KeptPart, place: str, sentence: str) -> PartMoved:
    changed = place != part.place
    return PartMoved(part.tag, part.order, part.what, place, changed, sentence)
