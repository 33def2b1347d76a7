"""Goods in, as the goods in page asks it: its jobs, what is said of one delivery, and the questions in their turn.

A delivery is a short run of questions; each has an answer that Enter takes where there is a sensible one. What only
some deliveries need (a reading, a flaw, quarantine …) is a detail, said when somebody asks for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from stockroom.domain.arrival import Arrival, read_count, read_day
from stockroom.domain.flaws import read_flaw
from stockroom.domain.quantities import say_back, stock_mm
from stockroom.domain.readings import read_reading
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import quoted
from stockroom.jobs.inspect import Inspected
from stockroom.jobs.move import MovedTo
from stockroom.jobs.new_shade import SET_APART
from stockroom.jobs.purchasing import Closed, Expected
from stockroom.jobs.quarantine import Quarantined
from stockroom.jobs.receivable import Receivable, ToReceive
from stockroom.jobs.receive import Received, SaidBack


@dataclass(frozen=True, slots=True)
class GoodsJobs:
    """The jobs of goods in."""

    expected: Callable[[date], tuple[Expected, ...]]
    """What is on order and has not come, as of a day."""
    receivable: Callable[[], tuple[Receivable, ...]]
    """Every item that may come in."""
    to_receive: Callable[[str], tuple[ToReceive, ...]]
    """What a text names: lines of a purchase, an item, or several."""
    check: Callable[[Arrival, Stamp], SaidBack]
    """What would be booked, and what is asked first."""
    receive: Callable[[Arrival, Stamp, Collection[str]], Received]
    """Books it; what was asked is confirmed by its names."""
    close: Callable[[str, str, Stamp, str], Closed]
    """A purchase, why no more of it will come, and of which item."""
    inspect: Callable[[str, Sequence[str], Stamp], Inspected]
    quarantine: Callable[[str, str, Stamp], Quarantined]
    move: Callable[[Sequence[str], str, Stamp], MovedTo]


@dataclass(frozen=True, slots=True)
class Delivery:
    """What somebody has said so far of goods that came in."""

    what: ToReceive
    said: Arrival
    answered: frozenset[str] = field(default_factory=frozenset)
    """Names of the steps that were answered."""
    sure: frozenset[str] = field(default_factory=frozenset)
    """Names of what the job asked and somebody confirmed, since the last answer."""

    @property
    def confirmed(self) -> frozenset[str]:
        """All that is confirmed: whoever said that there is no dye lot is not asked whether there is none."""
        said_none = "lot" in self.answered and not self.said.lot
        return self.sure | {"no-lot"} if said_none else self.sure


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that is asked of a delivery."""

    name: str
    asks: str
    hint: str
    offered: str = ""
    takes_tags: bool = False


NONE = "-"
"""Answers that there is none of it."""
NO_MORE = "no more"
_SEVERAL = re.compile(r"\s*([1-9][0-9]?)\s*[x×*]\s*(.+)", re.IGNORECASE)
_MOST_ROLLS = 50


def begun(what: ToReceive) -> Delivery:
    """A delivery of which nothing was said yet."""
    return Delivery(what, Arrival(what.goods.code, (), purchase=what.reference))


def next_step(delivery: Delivery) -> Step | None:
    """What is asked next of every delivery of such goods; `None` where all of it is answered."""
    goods = delivery.what.goods
    names = ["lot"] if goods.by_length else []
    names += ["amounts", *(["width"] if goods.width else []), "place"]
    name = next((one for one in names if one not in delivery.answered), "")
    return step_of(delivery, name) if name else None


def step_of(delivery: Delivery, name: str) -> Step:
    """One of the questions, with what Enter takes."""
    said, what = delivery.said, delivery.what
    if name == "lot":
        hint = "as it stands on the goods; - if there is none"
        return Step(name, "Dye lot", f"Enter keeps {said.lot}; or type it; - for none" if said.lot else hint, said.lot)
    if name == "amounts":
        return _amount_step(delivery)
    if name == "width":
        offered = said.width or what.goods.width
        return Step(name, "Usable width", f"Enter takes {offered}; or what it is: 1.45 m, 57 in", offered)
    if name == "place":
        offered = said.place or what.place
        enter = f"Enter takes {offered}; or " if offered else ""
        return Step(name, "Put where", f"{enter}scan the place, or type its code", offered, takes_tags=True)
    asks, hint = _ASKED_OF_DETAILS[name]
    return Step(name, asks, f"{hint}; - for none")


def _amount_step(delivery: Delivery) -> Step:
    said, what = delivery.said, delivery.what
    due = f"Enter: {what.due} still due; or " if what.due else ""
    if not what.goods.by_length:
        return Step("amounts", "How many came", f"{due}count them", what.due)
    one = "reel" if what.goods.kind == "narrow" else "roll"
    if said.amounts:
        return Step("amounts", f"Another {one}", "Enter if that is all; or its length", NO_MORE)
    return Step("amounts", f"Length of the {one}", f"{due}12.5 m, 13 yd, 2 x 25 m", what.due)


def details_of(delivery: Delivery) -> tuple[tuple[str, str], ...]:
    """What may be said or put right of a delivery: name, and what it is with what was said of it."""
    goods, said = delivery.what.goods, delivery.said
    length = ("width", "reading", "flaws", "measured") if goods.by_length else ()
    values = {
        "lot": said.lot, "amounts": ", ".join(said.amounts), "width": said.width, "place": said.place,
        "reading": said.reading, "flaws": ", ".join(said.flaws), "measured": "yes" if said.measured else "",
        "quarantine": said.quarantine, "expires": said.expires, "delivery": said.delivery, "price": said.price,
        "purchase": said.purchase, "supplier": said.supplier,
    }  # fmt: skip
    names = [one for one in values if one in length or one not in ("width", "reading", "flaws", "measured")]
    return tuple((name, f"{_NAMES[name]}{f' ({values[name]})' if values[name] else ''}") for name in names)


def chosen_detail(text: str, details: Sequence[tuple[str, str]]) -> str:
    """The name of the detail that was typed by its number or by its name. Raises `Refusal` for anything else.

    >>> chosen_detail("2", [("lot", "dye lot"), ("reading", "reading")])
    'reading'
    """
    typed = text.strip().casefold()
    if typed.isascii() and typed.isdecimal() and 1 <= int(typed) <= len(details):
        return details[int(typed) - 1][0]
    alike = [name for name, _ in details if typed and (_NAMES[name].startswith(typed) or name.startswith(typed))]
    if len(alike) != 1:
        raise Refusal(f"{quoted(text)} is none of them. Type a number from 1 to {len(details)}; Esc leaves it.")
    return alike[0]


def answered(delivery: Delivery, name: str, text: str) -> Delivery:
    """The delivery with an answer to one of its questions. Raises `Refusal` for what cannot be the answer.

    What the job asked is to be confirmed anew: it may ask something else now.
    """
    if name == "amounts":
        return _with_amount(delivery, text)
    is_none = text.strip() == NONE or (name == "width" and text == delivery.what.goods.width)
    if not is_none:
        _READERS.get(name, _anything)(text, delivery.said)
    value: object = "" if is_none else text.strip()
    if name == "measured":
        value = not is_none
    if name == "flaws":
        value = () if is_none else (*delivery.said.flaws, text.strip())
    said = replace(delivery.said, **{name: value})  # type: ignore[arg-type]
    return Delivery(delivery.what, said, delivery.answered | {name})


def _with_amount(delivery: Delivery, text: str) -> Delivery:
    said, goods = delivery.said, delivery.what.goods
    if text == NO_MORE and said.amounts:
        return replace(delivery, answered=delivery.answered | {"amounts"})
    if not goods.by_length:
        read_count(text)
        return Delivery(delivery.what, replace(said, amounts=(text.strip(),)), delivery.answered | {"amounts"})
    several = _SEVERAL.fullmatch(text)
    times, length = (int(several[1]), several[2].strip()) if several else (1, text.strip())
    stock_mm(length)
    amounts = (*said.amounts, *([length] * times))
    if len(amounts) > _MOST_ROLLS:
        raise Refusal(f"{len(amounts)} at once are too many to be looked over. Receive {_MOST_ROLLS} at most.")
    return Delivery(delivery.what, replace(said, amounts=amounts), delivery.answered)


def amounts_words(delivery: Delivery) -> tuple[str, ...]:
    """Each length as it was typed and as it will be booked."""
    if not delivery.what.goods.by_length:
        return delivery.said.amounts
    return tuple(map(say_back, delivery.said.amounts))


def without(delivery: Delivery, name: str) -> Delivery:
    """The delivery as if that question had not been answered, to be asked anew."""
    said = replace(delivery.said, amounts=()) if name == "amounts" else delivery.said
    return Delivery(delivery.what, said, delivery.answered - {name})


def set_apart(delivery: Delivery) -> Delivery:
    """The delivery, to be booked into quarantine for its shade."""
    return answered(delivery, "quarantine", SET_APART)


def _anything(text: str, said: Arrival) -> None:
    """Any words will do; what cannot be is refused when all is read."""


def _length(text: str, said: Arrival) -> None:
    del said
    stock_mm(text)


def _flaw(text: str, said: Arrival) -> None:
    read_flaw(text, length_mm=max(map(stock_mm, said.amounts), default=stock_mm("1000 m")))


def _reading(text: str, said: Arrival) -> None:
    del said
    read_reading(text)


def _day(text: str, said: Arrival) -> None:
    del said
    read_day(text)


_READERS: dict[str, Callable[[str, Arrival], None]] = {
    "width": _length,
    "flaws": _flaw,
    "reading": _reading,
    "expires": _day,
}
_NAMES = {
    "lot": "dye lot",
    "amounts": "amount",
    "width": "usable width",
    "place": "place",
    "reading": "colour reading",
    "flaws": "flaw",
    "measured": "measured here",
    "quarantine": "quarantine",
    "expires": "use-by day",
    "delivery": "delivery note",
    "price": "price",
    "purchase": "with purchase",
    "supplier": "supplier",
}
_ASKED_OF_DETAILS = {
    "reading": ("Reading", "L* a* b* illuminant observer: 62.1 4.3 17.9 D65 10"),
    "flaws": ("Flaw from-to what", "3.1 m-3.2 m pulled loops, from the inner end"),
    "measured": ("Measured here", "yes if you measured it yourself"),
    "quarantine": ("Not to be used, because", "damp, wrong shade, a recall"),
    "expires": ("Not to be used after", "a day: 2027-05-31"),
    "delivery": ("Delivery note", "its number"),
    "price": ("Price", "of one, or of one metre, without the purchase's"),
    "purchase": ("Came with purchase", "its reference"),
    "supplier": ("Sent by", "the supplier's code or name"),
}
