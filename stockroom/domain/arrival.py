"""Goods that come in: what somebody says of them, as it was typed, read into what is booked.

Nothing is corrected: what cannot be read is refused, and every fault is named at once. What can be but is not likely is
asked about (`stockroom.domain.arrival_questions`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TypeVar

from stockroom.domain.catalogue import BY_LENGTH, Cloth, Flaw, Item, Reading
from stockroom.domain.flaws import read_flaw
from stockroom.domain.quantities import money_minor, say_back, stock_mm
from stockroom.domain.readings import read_reading
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

MOST_COUNTED = 1_000_000_000
"""More than this in one delivery is a slip of the pen."""
_NO_FLAW = Flaw(0, 0, "")

_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True)
class Arrival:
    """What somebody says came in. Texts are as they were typed; empty where nothing was said."""

    item: str
    """Its code, or the tag of a roll or bin of it."""
    amounts: tuple[str, ...]
    """The length of each roll or reel, with its unit; of counted goods, how many."""
    place: str = ""
    purchase: str = ""
    """Reference of the purchase."""
    supplier: str = ""
    """Who sent it, where there is no purchase."""
    delivery: str = ""
    """The supplier's delivery note."""
    lot: str = ""
    """The supplier's dye lot, as it stands on the goods."""
    width: str = ""
    """Usable width; without it, the cloth's nominal one."""
    measured: bool = False
    """The lengths were measured here; otherwise they are the supplier's word."""
    flaws: tuple[str, ...] = ()
    """'3.1 m-3.2 m pulled loops', from the inner end."""
    reading: str = ""
    """'62.1 4.3 17.9 D65 10': L*, a*, b*, illuminant and observer."""
    quarantine: str = ""
    """Why it may not be used yet."""
    expires: str = ""
    """The day after which it is not to be used."""
    price: str = ""
    """Of one, or of one metre, in the shop's currency; without it, the purchase's."""


@dataclass(frozen=True, slots=True)
class ArrivalRead:
    """What was said, read: what would be booked."""

    quantities: tuple[int, ...]
    """mm of each roll, or one count."""
    said_back: tuple[str, ...]
    """Each amount as typed and as booked."""
    width_mm: int
    """0 for counted goods."""
    flaws: tuple[Flaw, ...]
    reading: Reading | None
    expires: date | None
    price_minor: int | None
    """`None`: it was not said."""

    @property
    def quantity(self) -> int:
        """All of it, mm or count."""
        return sum(self.quantities)


def read_arrival(said: Arrival, item: Item, cloth: Cloth | None, currency: str) -> ArrivalRead:
    """What was typed of goods of this item. Raises `Refusal` with every fault of it."""
    by_length = item.kind in BY_LENGTH
    faults = _Faults(_out_of_place(said, item))
    amounts = [faults.read("amount", _amount_of(item), text, 0) for text in said.amounts]
    nominal_mm = cloth.width_mm if by_length and cloth is not None else 0
    longest = max(amounts, default=0)
    read = ArrivalRead(
        quantities=tuple(amounts),
        said_back=tuple(map(_said_back_of(item), said.amounts, amounts)),
        width_mm=faults.read("width", _length, said.width, 0) if said.width and by_length else nominal_mm,
        flaws=tuple(faults.read("flaw", partial(read_flaw, length_mm=longest), text, _NO_FLAW) for text in said.flaws)
        if longest
        else (),
        reading=faults.read("reading", read_reading, said.reading, None) if said.reading else None,
        expires=faults.read("use-by day", read_day, said.expires, None) if said.expires else None,
        price_minor=faults.read("price", partial(money_minor, currency=currency), said.price, None)
        if said.price
        else None,
    )
    if faults.sentences:
        raise Refusal("Nothing was received: what was said of it has faults.", tuple(faults.sentences))
    return read


def worth_minor(price_minor: int, quantity: int, item: Item) -> int:
    """What so much is worth at a price of one, or of one metre; to the nearest minor unit.

    >>> worth_minor(3850, 11_887, Item("hood-cloth/fawn", "", "cloth"))
    45765
    """
    return (price_minor * quantity + 500) // 1000 if item.kind in BY_LENGTH else price_minor * quantity


class _Faults:
    """What is wrong with what was typed, fault by fault; a stand-in goes on, so that all are found at once."""

    def __init__(self, sentences: Iterable[str]) -> None:
        self.sentences = list(sentences)

    def read(self, what: str, reader: Callable[[str], _Read], text: str, otherwise: _Read) -> _Read:
        """What `reader` makes of the text."""
        try:
            return reader(text)
        except Refusal as refusal:
            self.sentences.append(f"{what}: {refusal.sentence}")
            return otherwise


def _out_of_place(said: Arrival, item: Item) -> Iterator[str]:
    """What does not go with goods of this kind, or with each other."""
    by_length = item.kind in BY_LENGTH
    if not said.amounts:
        yield f"amount: say {'how long each roll is' if by_length else 'how many came'}."
    if not by_length and len(said.amounts) > 1:
        yield f"amount: {item.code} is counted; give one count, or receive each lot by itself."
    if not by_length and (said.width or said.flaws or said.reading or said.measured):
        yield f"{item.code} is counted: it has no width, flaws, reading or measured length."
    if len(said.amounts) > 1 and said.flaws:
        yield "flaws: receive a roll with flaws by itself, so that they are written down of the right one."


def _amount_of(item: Item) -> Callable[[str], int]:
    return _length if item.kind in BY_LENGTH else read_count


def _length(text: str) -> int:
    length = stock_mm(text)
    if length < 1:
        raise Refusal(f"{quoted(text)} comes to less than 1 mm. Check the figures and the unit.")
    return length


def read_count(text: str) -> int:
    """How many came, as it was typed. Raises `Refusal` for anything but a count that can be."""
    plain = text.strip()
    if not re.fullmatch(r"[0-9]{1,12}", plain):
        raise Refusal(f"{quoted(text)} is not a count. It is counted goods: write how many, such as 100.")
    if not 1 <= int(plain) <= MOST_COUNTED:
        raise Refusal(f"{quoted(text)} cannot have come. Count what is there.")
    return int(plain)


def _said_back_of(item: Item) -> Callable[[str, int], str]:
    """Says an amount back as it was typed and as it is booked; nothing of one that could not be read."""
    if item.kind in BY_LENGTH:
        return lambda text, amount: say_back(text) if amount else ""
    return lambda _text, amount: f"{amount}, as counted"


def read_day(text: str) -> date:
    """A day as it was typed: 2027-05-31. Raises `Refusal` for anything else."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
        raise Refusal(f"{quoted(text)} is not a day. Write it as 2027-05-31.")
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Refusal(f"{quoted(text)} is not a day of the calendar. Write it as 2027-05-31.") from None
