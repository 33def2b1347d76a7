"""Taking a permitted substitute for what is short or discontinued: only with the customer's yes, by name and day.

What is seen together moves together: every piece of the lines meant that takes the item takes the substitute. Without a
yes nothing changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.substitutes import Substituted, permitted
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.bill import rewrite_bill
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.reserve import Reserved, holds_something, reserve_in
from stockroom.jobs.stand_in import original
from stockroom.jobs.way_back import remember
from stockroom.store import bill, changed_rows, ledger, orders, substitutions
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class SubstituteTaken:
    """A substitute that is taken, and what came of it."""

    order: str
    lines: tuple[int, ...]
    item: str
    instead: str
    yes_from: str
    sentence: str
    ask_too: tuple[str, ...]
    """Of the same car, what is seen together with it and stays as it was: sentences."""
    reserved: Reserved | None
    """What could be held at once, where the order held something already."""


def substitute(
    shop: Shop,
    number: str,
    item: str,
    instead: str,
    yes_from: str,
    stamp: Stamp,
    line: int | None = None,
    note: str = "",
) -> SubstituteTaken:
    """An order takes a permitted substitute instead of an item: on all lines that take it, or on one.

    `yes_from`: who of the customer's said yes. Raises Refusal where nobody did, where the order takes none of the item,
    where the other is no permitted substitute, and where some of it is cut already.
    """
    said_in_a_line(name=yes_from, note=note)
    if not yes_from.strip():
        raise Refusal("A substitute needs the customer's yes: say who said so, --yes-from NAME.")
    with shop.write() as tx:
        order = orders.order_to_change(tx, number)
        if order.state != "open":
            raise Refusal(f"Order {order.number} is {order.state}: nothing of it can be substituted any more.")
        job = ledger.begin_job(tx, f"substitute in order {order.number}", stamp)
        before = changed_rows.look(tx, changed_rows.ORDER, orders=[order.id])
        held_before = holds_something(tx, order)
        done = substitute_in(shop, tx, order, (item, instead), (yes_from, note), stamp, line)
        now = orders.order_by(tx, order.number)
        misfits = rewrite_bill(shop, tx, now, stamp).misfits
        for sentence in (done.sentence, *misfits):
            orders.log_change(tx, order.id, job, sentence, stamp)
        reserved = reserve_in(shop, tx, now, stamp) if held_before else None
        remember(tx, job, before)
    return SubstituteTaken(
        done.order, done.lines, done.item, done.instead, done.yes_from, done.sentence, done.ask_too, reserved
    )


def substitute_in(
    shop: Shop,
    tx: Tx,
    order: KeptOrder,
    items: tuple[str, str],
    said: tuple[str, str],
    stamp: Stamp,
    line: int | None = None,
) -> SubstituteTaken:
    """Writes a substitution down, within the job that needs it; the bill is to be exploded again afterwards.

    `items`: what it takes now, and what it is to take. `said`: who of the customer's said yes, and a note.
    """
    catalogue = catalogue_of(shop, tx)
    yes_from, note = (one.strip() for one in said)
    taken = substitutions.substitutions_of(tx, order.id)
    required = bill.requirements_of(tx, order.id)
    first = original(items[0], taken)
    on_lines = _lines(order, required, items[0], line)
    instead = _permitted(catalogue, first, items[1])
    for one in on_lines:
        substitutions.keep_substitution(tx, order.id, one, (first, instead), (yes_from, note), stamp)
    words = Substituted(first, instead, yes_from, stamp.by, stamp.at.date(), note).sentence(catalogue.items)
    where = f"Line {on_lines[0]}" if len(on_lines) == 1 else f"Lines {listed(map(str, on_lines))}"
    return SubstituteTaken(
        order.number,
        tuple(on_lines),
        first,
        instead,
        yes_from,
        f"{where}: {words}",
        _ask_too(catalogue, tx, order, required, items[0], on_lines),
        None,
    )


def _permitted(catalogue: Catalogue, item: str, instead: str) -> str:
    allowed = permitted(catalogue.items[item], catalogue.items, catalogue.cloths)
    if instead == item or instead in allowed:
        return instead
    if instead not in catalogue.items:
        raise Refusal(unknown("item", instead, allowed or catalogue.items))
    title = catalogue.items[item].title
    if not allowed:
        raise Refusal(
            f"Nothing is permitted instead of {title}. A substitute is permitted in the catalogue (cloths or items, "
            "column substitutes); another cloth for one car is a change of the order: stockroom change."
        )
    raise Refusal(
        f"{catalogue.items[instead].title} is no permitted substitute for {title}. Permitted: "
        f"{listed((f'{catalogue.items[one].title} ({one})' for one in allowed), 'or')}."
    )


def _lines(order: KeptOrder, required: Sequence[KeptRequirement], item: str, line: int | None) -> list[int]:
    """The lines that are meant. Raises Refusal for one that would part what is seen together."""
    mine = [one.requirement for one in required if one.requirement.item == item]
    if not mine:
        cloths = sorted({one.requirement.item for one in required if one.requirement.need in ("panel", "length")})
        raise Refusal(
            f"Order {order.number} takes no {quoted(item)}."
            + (f" It takes {listed(cloths)}." if cloths else " What it takes waits for an answer.")
        )
    every = sorted({one.key.line for one in mine})
    if line is None:
        return every
    if line not in every:
        raise Refusal(
            f"Line {line} of order {order.number} takes no {quoted(item)}; line {listed(map(str, every))} does."
        )
    cars = {one.number: one.car_id for one in order.lines}
    groups = {one.group for one in mine if one.key.line == line and one.group}
    beside = sorted({one.key.line for one in mine if cars[one.key.line] == cars[line] and one.group in groups} - {line})
    if beside:
        raise Refusal(
            f"Line {listed(map(str, beside))} of order {order.number} is for the same car and seen together with line "
            f"{line}: they take the substitute together. Leave --line out, and ask the customer for all of it."
        )
    return [line]


def _ask_too(
    catalogue: Catalogue,
    tx: Tx,
    order: KeptOrder,
    required: Sequence[KeptRequirement],
    item: str,
    lines: Sequence[int],
) -> tuple[str, ...]:
    """What other orders in hand have of the item in the same matching group of the same car."""
    cars = {one.number: one.car_id for one in order.lines}
    mine = {
        (cars[one.requirement.key.line], one.requirement.group)
        for one in required
        if one.requirement.item == item and one.requirement.key.line in lines and one.requirement.group
    }
    if not mine:
        return ()
    told = []
    for other in orders.orders_of_cars(tx, sorted({car for car, _ in mine})):
        theirs = {one.number: one.car_id for one in other.lines}
        groups = {
            one.requirement.group
            for one in bill.requirements_of(tx, other.id)
            if one.requirement.item == item and (theirs[one.requirement.key.line], one.requirement.group) in mine
        }
        if other.id != order.id and groups:
            told.append(
                f"Order {other.number} of the same car has {catalogue.items[item].title} in the same matching group "
                f"({listed(sorted(groups))}), and stays as it is. Ask the customer for that too: "
                f"stockroom substitute {other.number} {item} --with ITEM --yes-from NAME"
            )
    return tuple(told)
