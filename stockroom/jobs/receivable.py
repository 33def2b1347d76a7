"""What may come in: the items there are, and what somebody names at goods in, with what is known before it is said."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag
from stockroom.domain.wording import quoted
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.racks import MOST_ITEMS
from stockroom.jobs.receive import RECEIVED
from stockroom.store import purchases, racks, tagged
from stockroom.store.database import Shop, Tx
from stockroom.store.purchases import PurchaseLine
from stockroom.store.replaced_tags import scanned_tag


@dataclass(frozen=True, slots=True)
class Receivable:
    """An item that may come in."""

    code: str
    title: str
    kind: str
    by_length: bool
    width: str
    """Nominal usable width of a cloth, for people; '' of all else."""


@dataclass(frozen=True, slots=True)
class ToReceive:
    """Goods that may come in, with what can be offered of them."""

    goods: Receivable
    reference: str
    """Of the purchase; '' without one."""
    supplier: str
    """Its name, of a purchase."""
    due: str
    """How much is still due of it, as it is typed; '' where nothing is."""
    place: str
    """Where such goods lie already; '' where none do."""


def receivable(shop: Shop) -> tuple[Receivable, ...]:
    """Every item that may come in, by its code."""
    with shop.read() as tx:
        stocked = catalogue_of(shop, tx)
        return tuple(_receivable(stocked, code) for code in sorted(stocked.items) if _comes_in(stocked, code))


def to_receive(shop: Shop, text: str) -> tuple[ToReceive, ...]:
    """What a text names: the lines of a purchase, or an item by its code, a tag of it, or words of its name.

    Of a purchase, what is still due, or all of it where nothing is; of an item, what is due of it with each purchase,
    and last the item without one; of words that several items have, each item without one. Nothing where nothing is
    called so. Raises Refusal where too much is.
    """
    with shop.read() as tx:
        stocked = catalogue_of(shop, tx)
        lines = _lines(tx, text.strip())
        if lines:
            return tuple(_of_line(tx, stocked, one) for one in lines if _comes_in(stocked, one.item))
        codes = [code for code in _codes(tx, text.strip()) if _comes_in(stocked, code)]
        if len(codes) > MOST_ITEMS:
            raise Refusal(f"{len(codes)} items have {quoted(text.strip())} in their names. Type more of the name.")
        due = [one for one in purchases.open_lines(tx) if [one.item] == codes]
        without = (ToReceive(_receivable(stocked, code), "", "", "", _place(tx, code)) for code in codes)
        return (*(_of_line(tx, stocked, one) for one in due), *without)


def _comes_in(stocked: Catalogue, code: str) -> bool:
    return stocked.items[code].kind in RECEIVED


def _receivable(stocked: Catalogue, code: str) -> Receivable:
    item = stocked.items[code]
    by_length = item.kind in BY_LENGTH
    cloth = stocked.cloths.get(item.cloth) if by_length else None
    width = show_length(cloth.width_mm) if cloth is not None and item.kind == "cloth" else ""
    return Receivable(code, item.title, item.kind, by_length, width)


def _lines(tx: Tx, typed: str) -> tuple[PurchaseLine, ...]:
    """What is still due of the purchase of this reference, or all of it where nothing is; none where there is none."""
    known = purchases.references(tx)
    named = [one for one in known if one == typed] or [one for one in known if one.casefold() == typed.casefold()]
    lines = purchases.lines_of(tx, named[0]) if len(named) == 1 else ()
    return tuple(one for one in lines if one.still_due) or lines


def _codes(tx: Tx, typed: str) -> list[str]:
    if is_tag(typed):
        return [held.item for held in tagged.holdings_by_tag(tx, [str(scanned_tag(tx, typed))])]
    codes = racks.items_like(tx, typed)
    return [code for code in codes if code.casefold() == typed.casefold()] or codes


def _of_line(tx: Tx, stocked: Catalogue, line: PurchaseLine) -> ToReceive:
    due = show_amount(line.item_kind, line.still_due) if line.still_due else ""
    return ToReceive(_receivable(stocked, line.item), line.reference, line.supplier_name, due, _place(tx, line.item))


def _place(tx: Tx, code: str) -> str:
    """Where most of an item's good stock lies; '' where none does."""
    held: dict[str, int] = {}
    for one in racks.lying_of(tx, code):
        if one.place and not one.quarantined_because:
            held[one.place] = held.get(one.place, 0) + one.held
    return max(held, key=lambda place: held[place], default="")
