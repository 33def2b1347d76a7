"""Purchases: what is expected, writing down what was bought by telephone, and closing what no more will come of."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from stockroom.domain.catalogue import BY_LENGTH, Cloth, Item, Terms
from stockroom.domain.offer import price_at, sold_quantity
from stockroom.domain.quantities import money_minor, need_mm, show_length, show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import catalogue, ledger, low_stock, purchases
from stockroom.store.database import Shop, Tx, refusing
from stockroom.store.jobs_done import KeptJob
from stockroom.store.purchases import NewPurchase, PurchaseLine

_MOST = 1_000_000_000
COME = "Something of it has come, or it was closed: close what will not come instead."


@dataclass(frozen=True, slots=True)
class Expected:
    """One line of a purchase that something is still expected of. Quantities in mm or count."""

    reference: str
    supplier: str
    """Name of the supplier."""
    item: str
    title: str
    quantity: int
    received: int
    still_due: int
    due: date
    late_days: int
    """0: it is not late."""
    shown: str
    """What is still due, for people."""


@dataclass(frozen=True, slots=True)
class Bought:
    """A purchase that was written down."""

    reference: str
    item: str
    quantity: int
    due: date
    lines: tuple[str, ...]
    """What was written down, and why so: sentences."""


@dataclass(frozen=True, slots=True)
class Closed:
    """A purchase of which no more is expected."""

    reference: str
    lines: tuple[str, ...]
    """What of it did not come, item by item."""


@dataclass(frozen=True, slots=True)
class Purchase:
    """What somebody bought, as it was typed. Empty where nothing was said."""

    reference: str
    supplier: str
    """Its code or its name."""
    item: str
    quantity: str
    """A length with its unit, or a count."""
    due: str = ""
    """2026-12-18; without it, the supplier's lead time from today."""
    price: str = ""
    """Of one, or of one metre, in the supplier's currency; without it, the one of the supplier's terms."""


def expected(shop: Shop, today: date) -> tuple[Expected, ...]:
    """What is still due, the earliest first."""
    with shop.read() as tx:
        return tuple(
            Expected(
                one.reference,
                one.supplier_name,
                one.item,
                one.title,
                one.quantity,
                one.received,
                one.still_due,
                one.due,
                max(0, (today - one.due).days),
                show_amount(one.item_kind, one.still_due),
            )
            for one in purchases.open_lines(tx)
        )


def buy(shop: Shop, said: Purchase, stamp: Stamp) -> Bought:
    """Writes a purchase down, or one more item of it. Ordering itself is done by whoever writes it down.

    Raises Refusal for a supplier or an item that there is not, and for an item that the purchase has already.
    """
    said_in_a_line(reference=said.reference)
    reference = " ".join(said.reference.split())
    if not reference:
        raise Refusal("Say by which reference the purchase is known: the number on the order form.")
    with shop.write() as tx:
        item = _item(shop, tx, said.item)
        suppliers = catalogue.read_suppliers(tx)
        typed = said.supplier.strip().casefold()
        code = next((code for code, one in suppliers.items() if typed in (code.casefold(), one.name.casefold())), "")
        if not code:
            raise Refusal(unknown("supplier", said.supplier.strip(), suppliers))
        _refuse_known(purchases.lines_to_change(tx, reference), code, item)
        supplier = suppliers[code]
        terms = next((one for one in catalogue.read_terms(tx) if (one.supplier, one.item) == (code, item.code)), None)
        quantity = quantity_meant(said.quantity, item)
        _refuse_useless(said.quantity, quantity, item, catalogue_of(shop, tx).cloths.get(item.cloth))
        today = stamp.at.date()
        days = supplier.lead_days if terms is None or terms.lead_days is None else terms.lead_days
        due = day_meant(said.due, today) if said.due else today + timedelta(days=days)
        known = price_at(terms, quantity) if terms else None
        price = money_minor(said.price, supplier.currency) if said.price else known or 0
        job = f"buy {show_amount(item.kind, quantity)} of {item.code} from {supplier.name}, purchase {reference}"
        job_id = ledger.begin_job(tx, job, stamp)
        with refusing({"uq_purchase_reference_item": _twice(reference, item)}):
            new = NewPurchase(reference, code, item.code, quantity, today, due, price)
            line_id = purchases.add_purchase(tx, new, stamp)
        low = low_stock.end_low_stock(tx, item.code, "bought", stamp)
        ledger.keep_way_back(tx, job_id, "buy", {"purchase": line_id, "low": low}, [f"purchase {line_id}"])
    each = "a metre" if item.kind in BY_LENGTH else "each"
    words = f"{show_money(price, supplier.currency)} {each}" if price else "at no known price"
    lines = [
        f"Purchase {reference}: {show_amount(item.kind, quantity)} of {item.title} from {supplier.name}, {words}"
        f"{', as in its terms' if price and not said.price else ''}.",
        f"Due on {due}{'' if said.due else f': the lead time is {days} days'}.",
        *_terms_words(terms, item, quantity),
    ]
    return Bought(reference, item.code, quantity, due, tuple(lines))


def close_purchase(shop: Shop, reference: str, because: str, stamp: Stamp, item: str = "") -> Closed:
    """No more of a purchase will come, or is wanted: of one item of it, or of all. Takes a reason.

    Raises Refusal where nothing is due any more.
    """
    said_in_a_line(reason=because)
    if not because.strip():
        raise Refusal("Say why no more of it will come: the supplier has none, it was bought elsewhere.")
    typed = reference.strip()
    with shop.write() as tx:
        known = purchases.references(tx)
        named = next((one for one in known if one.casefold() == typed.casefold()), "")
        if not named:
            raise Refusal(unknown("purchase", typed, known))
        lines = purchases.lines_to_change(tx, named)
        wanted = [one for one in lines if item.strip().casefold() in ("", one.item.casefold())]
        if not wanted:
            raise Refusal(unknown(f"item of purchase {named}", item.strip(), [one.item for one in lines]))
        open_ = [one for one in wanted if one.still_due]
        if not open_:
            raise Refusal(f"Nothing of purchase {named} is due any more: {' '.join(map(_why_not_due, wanted))}")
        words = f"close purchase {named} ({listed(one.item for one in open_)}): {because.strip()}"
        job = ledger.begin_job(tx, words, stamp)
        ids = [one.id for one in open_]
        purchases.close(tx, ids, because.strip(), stamp)
        knows = {"purchases": ids, "at": stamp.at.isoformat()}
        ledger.keep_way_back(tx, job, "close purchase", knows, [f"purchase {one}" for one in ids])
        return Closed(
            named,
            tuple(
                f"{one.title}: {show_amount(one.item_kind, one.still_due)} of "
                f"{show_amount(one.item_kind, one.quantity)} will not come."
                for one in open_
            ),
        )


def _item(shop: Shop, tx: Tx, text: str) -> Item:
    items = catalogue_of(shop, tx).items
    typed = text.strip()
    alike = [typed] if typed in items else [code for code in items if code.casefold() == typed.casefold()]
    if len(alike) != 1:
        raise Refusal(unknown("item", typed, items))
    return items[alike[0]]


def _refuse_known(lines: tuple[PurchaseLine, ...], supplier: str, item: Item) -> None:
    if any(one.item == item.code for one in lines):
        raise Refusal(_twice(lines[0].reference, item))
    if lines and lines[0].supplier != supplier:
        raise Refusal(
            f"Purchase {lines[0].reference} is of {lines[0].supplier_name}. One of another supplier has a "
            "reference of its own."
        )


def _twice(reference: str, item: Item) -> str:
    return f"Purchase {reference} has {item.code} already. Give what was bought since a reference of its own."


def quantity_meant(text: str, item: Item) -> int:
    """So much of an item as was typed, mm or count. Raises Refusal for what is none, and for what cannot be bought."""
    if item.kind in BY_LENGTH:
        quantity = need_mm(text)
    elif re.fullmatch(r"[0-9]{1,12}", text.strip()):
        quantity = int(text)
    else:
        raise Refusal(f"{quoted(text)} is not a count. {item.code} is counted: write how many, such as 100.")
    if not 1 <= quantity <= _MOST:
        raise Refusal(f"{quoted(text)} cannot have been bought. Check the figures.")
    return quantity


def _refuse_useless(text: str, quantity: int, item: Item, cloth: Cloth | None) -> None:
    """A length that is too short to be of any use was typed without its unit: bare digits are millimetres."""
    if item.kind in BY_LENGTH and cloth is not None and quantity < cloth.shortest_useful_mm:
        least = show_length(cloth.shortest_useful_mm)
        raise Refusal(
            f"{quoted(text)} is {show_length(quantity)}, and less than {least} of {item.title} is no use. "
            "Write the unit with it, such as 25 m."
        )


def day_meant(text: str, today: date) -> date:
    """The day that was typed ('2026-12-18'). Raises Refusal for what is none, and for one that has passed."""
    try:
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
            raise ValueError(text)
        due = date.fromisoformat(text.strip())
    except ValueError:
        raise Refusal(f"{quoted(text)} is not a day. Write it as 2026-12-18.") from None
    if due < today:
        raise Refusal(f"{due} has passed: nothing can be due then. Check the day.")
    return due


def _terms_words(terms: Terms | None, item: Item, quantity: int) -> tuple[str, ...]:
    """What the supplier's terms say of the quantity."""
    if terms is None:
        return ("The books keep no terms of this supplier for it.",)
    sold = sold_quantity(terms, quantity)
    if sold == quantity:
        return ()
    return (f"By its terms the supplier sells {show_amount(item.kind, sold)}, not this quantity: ask.",)


def _why_not_due(one: PurchaseLine) -> str:
    if one.closed_because:
        return f"{one.item} was closed ({one.closed_by}: {one.closed_because})."
    return f"{one.item} has all come."


def _unbuy(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - as every way back is called
    if not purchases.take_away(tx, undoing.data["purchase"]):
        raise Refusal(COME)
    low_stock.reopen_low_stock(tx, undoing.data["low"], "bought")
    return ("It is no longer on order in the books. If it was ordered, tell the supplier.",)


def _why_bought(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - as every way back is called
    return "" if purchases.is_untouched(tx, job.data["purchase"]) else COME


def _reopen(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - as every way back is called
    if not purchases.open_again(tx, undoing.data["purchases"], datetime.fromisoformat(undoing.data["at"])):
        raise Refusal("It was opened or closed anew since.")
    return ("What had not come of it is expected again.",)


WAYS_BACK = {"buy": WayBack(_unbuy, _why_bought), "close purchase": WayBack(_reopen)}
