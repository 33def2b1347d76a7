"""Low stock: whoever sees at the shelf that something runs out scans its tag, and it stands on the buying list.

Consumables (adhesive, thread, needles, blades) are bought by this alone: they are never booked out by the metre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.catalogue import Item
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag
from stockroom.domain.wording import unknown
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.printed import cautions
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import ledger, low_stock
from stockroom.store.database import Shop, Tx
from stockroom.store.low_stock import KeptLow
from stockroom.store.replaced_tags import scanned_tag


@dataclass(frozen=True, slots=True)
class LowScanned:
    """What a scan of a low-stock tag did."""

    item: str
    title: str
    changed_anything: bool
    """False: it stood on the buying list before, or was not on it."""
    sentence: str


@dataclass(frozen=True, slots=True)
class LowItem:
    """One item on the buying list."""

    item: str
    title: str
    by: str
    since: date
    on_order: tuple[str, ...]
    """Purchases by which more of it is to come, with their days."""
    cautions: tuple[tuple[str, str], ...] = ()
    """Label and words: its hazards, how it is stored and posted, and whose rules come first."""


def low(shop: Shop, text: str, stamp: Stamp) -> LowScanned:
    """An item, named by its code or by the tag of its bin or roll, runs out: it goes on the buying list.

    Scanned again, nothing happens. Raises Refusal for what is no item of this shop.
    """
    with shop.write() as tx:
        return _put_on_the_list(tx, _item(shop, tx, text), stamp)


def low_scanned(shop: Shop, text: str, stamp: Stamp) -> LowScanned | None:
    """`low`, for a scan that nobody asked for anything: only the tag of a consumable's bin says so by itself.

    `None`, and nothing happens, for anything else.
    """
    if not is_tag(text):
        return None
    with shop.write() as tx:
        code = low_stock.item_in(tx, str(scanned_tag(tx, text)))
        item = catalogue_of(shop, tx).items[code] if code else None
        return _put_on_the_list(tx, item, stamp) if item is not None and item.kind == "consumable" else None


def not_wanted(shop: Shop, text: str, stamp: Stamp) -> LowScanned:
    """An item comes off the buying list, as no more of it is wanted. Where it is not on it, nothing happens."""
    with shop.write() as tx:
        item = _item(shop, tx, text)
        if low_stock.low_of(tx, item.code) is None:
            return LowScanned(item.code, item.title, False, f"{item.title} is not on the buying list.")
        job = ledger.begin_job(tx, f"{item.code} is not wanted", stamp)
        ledger.keep_no_way_back(
            tx, job, f"{item.title} came off the buying list.", f"Put it on again: stockroom low {item.code}."
        )
        low_stock.end_low_stock(tx, item.code, "not wanted", stamp)
        return LowScanned(item.code, item.title, True, f"{item.title} is off the buying list: no more is wanted.")


def buying_list(shop: Shop) -> tuple[LowItem, ...]:
    """What stands on the buying list, what was scanned first first."""
    with shop.read() as tx:
        standing = low_stock.standing_low(tx)
        coming = low_stock.on_order(tx, (one.item for one in standing))
        return tuple(
            LowItem(
                one.item,
                one.title,
                one.by,
                one.at.date(),
                _coming_words(coming[one.item]),
                cautions(one.hazards, one.storage, one.posting),
            )
            for one in standing
        )


def _put_on_the_list(tx: Tx, item: Item, stamp: Stamp) -> LowScanned:
    before = low_stock.low_of(tx, item.code)
    if before is not None:
        return LowScanned(item.code, item.title, False, _already(before))
    job = ledger.begin_job(tx, f"{item.code} is low", stamp)
    ledger.keep_way_back(tx, job, "low", {"id": low_stock.keep_low(tx, item.code, stamp)})
    coming = _coming_words(low_stock.on_order(tx, [item.code])[item.code])
    more = f" More is on order: {'; '.join(coming)}." if coming else ""
    return LowScanned(item.code, item.title, True, f"{item.title} is low: it is on the buying list.{more}")


def _already(before: KeptLow) -> str:
    return f"{before.title} is on the buying list already ({before.by}, {before.at:%Y-%m-%d}). Nothing is added."


def _coming_words(on_order: Sequence[tuple[str, date]]) -> tuple[str, ...]:
    return tuple(f"purchase {reference}, due on {due}" for reference, due in on_order)


def _item(shop: Shop, tx: Tx, text: str) -> Item:
    """What was scanned or typed: the tag of a roll or bin, or an item's code, in capitals or not."""
    items = catalogue_of(shop, tx).items
    typed = text.strip()
    code = next((code for code in items if code == typed), None)
    code = code or next((code for code in items if code.casefold() == typed.casefold()), None)
    if code is None and is_tag(typed):
        read = scanned_tag(tx, typed)
        code = low_stock.item_in(tx, str(read))
        if code is None:
            raise Refusal(f"{read} is no roll or bin of this shop. Scan the tag at the shelf, or type the item's code.")
    if code is None:
        raise Refusal(unknown("item", typed, items))
    return items[code]


def _off_the_list(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    if not low_stock.drop_low(tx, undoing.data["id"]):
        raise Refusal("It was bought, or has come, or is not wanted any more.")
    return ("It is off the buying list.",)


WAYS_BACK = {"low": WayBack(_off_the_list)}
