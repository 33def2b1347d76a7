"""Finished things on the pick walk: what an order is to have from the stock is fetched by its own tag, and put back."""

from __future__ import annotations

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.way_back import remember
from stockroom.store import changed_rows, finished, ledger
from stockroom.store.database import Tx
from stockroom.store.finished import FromStock
from stockroom.store.ledger import Entry
from stockroom.store.orders import KeptOrder
from stockroom.store.taking import Found


def to_fetch(tx: Tx, order_id: int) -> dict[str, list[FromStock]]:
    """Tag of each finished thing that is to be fetched for an order → the pieces that it is to be."""
    things: dict[str, list[FromStock]] = {}
    for one in finished.from_stock_of(tx, order_id).values():
        if one.movement_id is None:
            things.setdefault(one.tag, []).append(one)
    return things


def fetch(tx: Tx, order: KeptOrder, scanned: Found, stamp: Stamp) -> tuple[bool, str]:
    """A scan of a finished thing: it is booked out for the order that it is promised to.

    Gives whether anything changed, and what is said. Raises Refusal for one that is not promised to the order.
    """
    title = finished_title(tx, scanned)
    mine = [one for one in finished.from_stock_of(tx, order.id).values() if one.holding_id == scanned.id]
    if not mine:
        used = finished.used_for(tx, scanned.id)
        if used is not None:
            raise Refusal(f"{title} is promised to order {used[0]}, not to {order.number}. Put it back.")
        raise Refusal(
            f"{title} is not promised to order {order.number}. "
            f"If it fits, use it first: stockroom use {scanned.tag} {order.number}"
        )
    if mine[0].movement_id is not None:
        return False, f"{title} was fetched already. Nothing is fetched again."
    before = changed_rows.look(tx, changed_rows.FROM_STOCK, orders=[order.id])
    job = ledger.begin_job(tx, f"fetch {scanned.tag} for order {order.number}", stamp)
    finished.release_one(tx, scanned.id)
    (movement,) = ledger.append(
        tx, job, stamp, [Entry(scanned.id, "issued", -1, None, f"order {order.number}", order.id)]
    )
    finished.note_fetched(tx, scanned.id, movement)
    remember(tx, job, before, touched=[f"holding {scanned.id}"])
    return True, f"{title} is fetched."


def bring_back(tx: Tx, order: KeptOrder, scanned: Found, stamp: Stamp) -> str:
    """A finished thing that was fetched lies in its place again: still promised to an open order, else free."""
    title = finished_title(tx, scanned)
    mine = [one for one in finished.from_stock_of(tx, order.id).values() if one.holding_id == scanned.id]
    if not mine or mine[0].movement_id is None:
        raise Refusal(f"{title} was not fetched for order {order.number}, so it is not put back.")
    job = ledger.begin_job(tx, f"put {scanned.tag} back from order {order.number}", stamp)
    ledger.reverse(tx, job, stamp, mine[0].movement_id, f"put back from order {order.number}")
    instead = f"Fetch it again: stockroom pick {order.number} {scanned.tag}"
    met = [f"order {order.id}", f"holding {scanned.id}"]
    ledger.keep_no_way_back(tx, job, "A finished thing was put back.", instead, met)
    finished.reserve_one(tx, scanned.id)
    finished.note_fetched(tx, scanned.id, None)
    if order.state != "open":
        finished.end_promise(tx, mine)
    return f"{title} is back in {scanned.place}."


def finished_title(tx: Tx, scanned: Found) -> str:
    """A finished thing as a sentence names it."""
    thing = finished.finished_by_tag(tx, scanned.tag)
    return f"{thing.title if thing else scanned.title} ({scanned.tag})"
