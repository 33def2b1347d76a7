"""The order to a supplier on paper: the lines of a purchase as they were bought, without a figure of our own stock."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from labels.purchase_order import purchase_order_pdf
from labels.purchasing import OrderedLine, PurchaseOrderPaper
from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.offer import cost_at
from stockroom.domain.quantities import show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import unknown
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.decide import order_printed
from stockroom.jobs.printed import printed_by
from stockroom.jobs.reorder_inputs import unpacked
from stockroom.store import catalogue, decisions, jobs_done, purchases
from stockroom.store.about import read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.purchases import PurchaseLine
from stockroom.store.runs import run_by_number

ONE_LOT = "All of it in one dye lot, please: it is seen side by side."


def purchase_order(shop: Shop, reference: str, stamp: Stamp) -> bytes:
    """The order of a purchase as PDF. What was closed is left away.

    That it was printed is kept with the jobs that bought by a weekly run: undoing one names the paper, and what is
    bought later goes on an order of its own. Raises Refusal for no purchase of ours, and where all of it is closed.
    """
    with shop.write() as tx:
        typed = reference.strip().casefold()
        known = purchases.references(tx)
        named = next((one for one in known if one.casefold() == typed), None)
        if named is None:
            raise Refusal(unknown("purchase", reference.strip(), known))
        lines = [one for one in purchases.lines_to_change(tx, named) if not one.closed_because]
        if not lines:
            raise Refusal(f"Purchase {named} is closed: no more of it is wanted, so there is nothing to order.")
        behind = decisions.decisions_behind(tx, named)
        for job in sorted({one.job_id for one in behind}):
            jobs_done.keep_printed(tx, job, [order_printed(named)], stamp)
        in_one_lot = _in_one_lot(tx, {(one.run, one.item) for one in behind})
        carriage_minor = catalogue.read_suppliers(tx)[lines[0].supplier].carriage_paid_minor
        about = read_about(tx)
    due = max(one.due for one in lines)
    return purchase_order_pdf(
        PurchaseOrderPaper(
            shop=about.name if about else "",
            supplier=lines[0].supplier_name,
            reference=named,
            ordered=f"{max(one.ordered for one in lines)}; printed by {printed_by(stamp)}",
            due=f"{due}",
            lines=tuple(_line(one, f"{one.due}" if one.due != due else "", one.item in in_one_lot) for one in lines),
            total=_total(lines),
            carriage=_carriage(lines, carriage_minor),
            requests=_requests(named, lines),
        )
    )


def _line(one: PurchaseLine, due: str, in_one_lot: bool) -> OrderedLine:
    each = "a metre" if one.item_kind in BY_LENGTH else "each"
    priced = bool(one.price_minor)
    return OrderedLine(
        title=one.title,
        item=one.item,
        quantity=show_amount(one.item_kind, one.quantity),
        price=f"{show_money(one.price_minor, one.currency)} {each}" if priced else "please quote",
        total=show_money(_cost(one), one.currency) if priced else "",
        due=due,
        note=ONE_LOT if in_one_lot else "",
    )


def _cost(one: PurchaseLine) -> int:
    return cost_at(one.price_minor, one.quantity, one.item_kind)


def _total(lines: Sequence[PurchaseLine]) -> str:
    unpriced = sum(not one.price_minor for one in lines)
    besides = f" and {unpriced} {'line' if unpriced == 1 else 'lines'} to quote" if unpriced else ""
    return show_money(sum(map(_cost, lines)), lines[0].currency) + besides


def _carriage(lines: Sequence[PurchaseLine], paid_from_minor: int) -> str:
    if not paid_from_minor:
        return ""
    paid = f"Carriage is paid from {show_money(paid_from_minor, lines[0].currency)}"
    reached = sum(map(_cost, lines)) >= paid_from_minor
    return f"{paid}, which this order reaches." if reached else f"{paid}; this order is below that."


def _requests(reference: str, lines: Sequence[PurchaseLine]) -> tuple[str, ...]:
    rolls = any(one.item_kind in BY_LENGTH for one in lines)
    return (
        f"Write our reference {reference} and our codes on the delivery note.",
        *(["Mark each roll with its dye lot and its length."] if rolls else []),
        "Tell us at once where the price, the quantity or the day is other than here.",
    )


def _in_one_lot(tx: Tx, bought: Iterable[tuple[int, str]]) -> set[str]:
    """The items that orders in hand wait for, by the runs they were bought by: what is seen together is of one lot."""
    by_run: dict[int, set[str]] = {}
    for run, item in bought:
        by_run.setdefault(run, set()).add(item)
    found: set[str] = set()
    for run, items in sorted(by_run.items()):
        packed = run_by_number(tx, run).inputs
        if packed is None:
            continue
        for standing in json.loads(unpacked(packed))["standings"]:
            item = standing["item"]
            if (
                item["code"] in items
                and item["kind"] in BY_LENGTH
                and any(need["orders"] for need in standing["needs"])
            ):
                found.add(item["code"])
    return found
