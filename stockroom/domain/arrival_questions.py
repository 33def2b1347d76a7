"""What is asked before goods are booked in: what can be but is not likely.

Each question has a name, and whoever has the goods before them confirms it by that name, or puts right what was typed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from stockroom.domain.arrival import Arrival, ArrivalRead
from stockroom.domain.catalogue import BY_LENGTH, Cloth, Item
from stockroom.domain.lots import other_spellings
from stockroom.domain.new_shade import SHADE_WARNINGS, NewShade, shade_warnings
from stockroom.domain.quantities import show_length
from stockroom.domain.questions import Question
from stockroom.domain.wording import listed, quoted

LONGEST_LIKELY_MM = {"cloth": 200_000, "narrow": 1_000_000}
"""A roll or reel that is longer is asked about: common practice, no source."""
_WIDTH_DIFFERS = 10
"""A usable width that differs from the cloth's nominal one by more than one part in so many is asked about: common
practice, no source."""

QUESTIONS = {
    "again": "the same goods came in already",
    "closed": "the purchase was closed",
    "expired": "its day has passed",
    "length": "a length that is not likely",
    "new-lot": "a dye lot that is perhaps a known one in another spelling",
    "no-lot": "cloth without a dye lot",
    **SHADE_WARNINGS,
    "other-item": "not what was bought",
    "over": "more than is due",
    "width": "a width that is not likely",
}
"""What may be asked about, by the name it is confirmed with."""

_KEPT = "Is it kept for use all the same, and not set apart in quarantine?"


@dataclass(frozen=True, slots=True)
class Goods:
    """What the goods are, and what the shop knows of such goods."""

    item: Item
    cloth: Cloth | None
    """Of counted goods none."""
    lots: frozenset[str]
    """Every dye lot of the item that the shop ever held."""


@dataclass(frozen=True, slots=True)
class CameBefore:
    """Goods of the same item and lot that came in not long ago, or with the same delivery note."""

    tag: str
    quantity: int
    purchase: str
    delivery: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Bought:
    """The line of a purchase that the goods are booked against."""

    reference: str
    items: tuple[str, ...]
    """Every item of the purchase."""
    is_bought: bool
    """Whether the goods are among them."""
    still_due: int
    """mm or count of the goods' item."""
    closed: str
    """Why no more of it was expected, with who and when; empty while it is open."""


def questions(
    said: Arrival,
    read: ArrivalRead,
    goods: Goods,
    before: Sequence[CameBefore],
    bought: Bought | None,
    today: date,
    shade: NewShade | None = None,
) -> tuple[Question, ...]:
    """What is asked before these goods are booked in, in the order of their names.

    Of the shade only where they came with a reading, and are to be used.
    """
    asked = [*_about_lot(said.lot, goods), *_about_size(read, goods), *_about_day(read, today)]
    asked += _about_before(read, goods.item, before)
    if bought is not None:
        asked += _about_purchase(read, goods.item, bought)
    if shade is not None and read.reading is not None and not said.quarantine:
        asked += [Question(name, f"{words} {_KEPT}") for name, words in shade_warnings(shade)]
    return tuple(sorted(asked, key=lambda one: one.name))


def _about_lot(lot: str, goods: Goods) -> Iterator[Question]:
    if not lot and goods.item.kind in BY_LENGTH:
        yield Question("no-lot", "No dye lot was given, so it can be matched with nothing. Is none on the ticket?")
    if lot in goods.lots:
        return
    if alike := other_spellings(lot, sorted(goods.lots)):
        names = listed(map(quoted, alike), "or")
        yield Question("new-lot", f"Lot {quoted(lot)} is not known, but {names} is. If it is the same, write it so.")


def _about_size(read: ArrivalRead, goods: Goods) -> Iterator[Question]:
    cloth = goods.cloth
    if cloth is None:
        return
    shortest, longest = cloth.shortest_useful_mm, LONGEST_LIKELY_MM.get(cloth.kind, max(LONGEST_LIKELY_MM.values()))
    for length, words in zip(read.quantities, read.said_back, strict=True):
        if length < shortest:
            yield Question("length", f"{words}: that is less than the {show_length(shortest)} which is useful at all.")
        elif length > longest:
            yield Question("length", f"{words}: that is longer than a roll of {cloth.title} is likely to be.")
    if abs(read.width_mm - cloth.width_mm) * _WIDTH_DIFFERS > cloth.width_mm:
        yield Question(
            "width",
            f"A usable width of {show_length(read.width_mm)} was said; {cloth.title} is {show_length(cloth.width_mm)} "
            "wide.",
        )


def _about_day(read: ArrivalRead, today: date) -> Iterator[Question]:
    if read.expires is not None and read.expires < today:
        yield Question("expired", f"It was to be used by {read.expires}, and that day has passed.")


def _about_before(read: ArrivalRead, item: Item, before: Sequence[CameBefore]) -> Iterator[Question]:
    like = next((one for one in before if one.quantity in read.quantities), None)
    if like is None:
        return
    amount = show_length(like.quantity) if item.kind in BY_LENGTH else str(like.quantity)
    note = f" with purchase {like.purchase}" if like.purchase else ""
    note += f"{',' if note else ' with'} delivery note {like.delivery}" if like.delivery else ""
    yield Question(
        "again",
        f"{amount} of this lot came in already{note}: {like.tag}, received by {like.by} on "
        f"{like.at:%Y-%m-%d at %H:%M}. Is this another one?",
    )


def _about_purchase(read: ArrivalRead, item: Item, bought: Bought) -> Iterator[Question]:
    if bought.closed:
        yield Question("closed", f"Purchase {bought.reference} was closed: {bought.closed}.")
    if not bought.is_bought:
        yield Question(
            "other-item",
            f"Purchase {bought.reference} is for {listed(bought.items)}, not for {item.code}. Is it that all the same? "
            "Then what was bought stays due.",
        )
    elif read.quantity > bought.still_due:
        words = _amounts(item, read.quantity, read.quantity - bought.still_due, bought.still_due)
        yield Question(
            "over",
            f"{words[0]} is {words[1]} more than is still due of purchase {bought.reference} ({words[2]}). "
            "Is all of it kept?",
        )


def _amounts(item: Item, *quantities: int) -> tuple[str, ...]:
    return tuple(show_length(one) if item.kind in BY_LENGTH else str(one) for one in quantities)
