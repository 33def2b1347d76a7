"""What an order, or one line of it, cost in materials: from what was really cut, picked and fetched for it.

Each part is at what was paid for that very roll, or at the average of its bin, as the ledger booked it. What is still
only held is estimated. What has no known price is named and is in no sum.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.cost import share_minor, shared_out
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.worth import no_price_words
from stockroom.store import cost as booked
from stockroom.store import orders, waits
from stockroom.store.about import read_about
from stockroom.store.cost import Booked, Held, Laid
from stockroom.store.database import Shop, Tx
from stockroom.store.orders import KeptOrder
from stockroom.store.worth import bought_abroad

What = Literal["used", "spoilt", "scrap bin", "held", "came back", "became stock"]
"""What became of it: in the pieces, in a panel that was spoilt, fell off as it was cut; not taken yet; lies again where
it lay; is in a piece that was kept for stock."""
TAKEN = ("used", "spoilt", "scrap bin")


@dataclass(frozen=True, slots=True)
class CostPart:
    """So much of one roll, bin or finished thing, for one line of an order."""

    what: What
    line: int
    """0: it is of no one line."""
    item: str
    title: str
    by_length: bool
    """Quantities are mm; else they are counts."""
    tag: str
    lot: str
    quantity: int
    """mm or count."""
    value_minor: int
    """At what was paid for that very roll, or the average of that bin; 0 where it has no price."""
    average_minor: int | None
    """At the average of all that came in of the item with a price; `None` where none did."""
    priced: bool
    side_piece: bool
    """Of a side piece: paid with the cut that it was left from."""

    @property
    def amount(self) -> str:
        """The quantity, for people."""
        return show_amount("cloth" if self.by_length else "hardware", self.quantity)


@dataclass(frozen=True, slots=True)
class Cost:
    """What an order, or one line of it, cost in materials."""

    order: str
    state: str
    line: int | None
    """`None`: all of it."""
    currency: str
    parts: tuple[CostPart, ...]
    taken_minor: int
    """What was taken: in the pieces, spoilt, and to the scrap bin."""
    spoilt_minor: int
    """Of that, in panels that were spoilt and cut again."""
    scrap_bin_minor: int
    """Of that, what fell off as it was cut and was too short to be useful."""
    held_minor: int
    """What is held and not taken yet, estimated."""
    in_all_minor: int
    """Taken and held."""
    average_minor: int
    """The same at average prices; what has none is in it at what was paid."""
    became_stock_minor: int
    """Of what was taken, what is in pieces that were kept for stock."""
    complete: bool
    """Everything in it has a price, and nothing is short or waits."""
    remarks: tuple[str, ...]
    """What has no price, what is short, what waits: sentences."""

    def of(self, what: What) -> tuple[CostPart, ...]:
        """The parts of which this became."""
        return tuple(one for one in self.parts if one.what == what)


def cost(shop: Shop, number: str, line: int | None = None) -> Cost:
    """What an order cost in materials; `line`: only that line of it. A cut for several lines is shared by area.

    Raises Refusal for an order, or a line of it, that there is not.
    """
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        _refuse_unknown_line(order, line)
        about = read_about(tx)
        currency = about.currency if about else ""
        parts = [one for one in _parts(tx, order) if line is None or one.line == line]
        paid = booked.paid_for(tx, {one.item for one in parts})
        remarks = [
            *_unpriced(parts, bought_abroad(tx, currency)),
            *_incomplete(tx, order, line),
        ]
        old = booked.spoilt_unknown(tx, order.id)
    summed = _summed(_at_average(one, paid) for one in parts)
    complete = not remarks
    remarks += _side_pieces(parts)
    if old:
        remarks.append(f"{old} panel{'s were' if old > 1 else ' was'} spoilt of which it is not known which cut: used.")
    taken = sum(one.value_minor for one in summed if one.what in TAKEN)
    held = _sum(summed, "held")
    return Cost(
        order.number, order.state, line, currency, tuple(summed), taken, _sum(summed, "spoilt"),
        _sum(summed, "scrap bin"), held, taken + held,
        sum(
            one.value_minor if one.average_minor is None else one.average_minor
            for one in summed
            if one.what in (*TAKEN, "held")
        ),
        _sum(summed, "became stock"), complete, tuple(remarks),
    )  # fmt: skip


def _refuse_unknown_line(order: KeptOrder, line: int | None) -> None:
    numbers = [one.number for one in order.lines]
    if line is not None and line not in numbers:
        raise Refusal(f"Order {order.number} has no line {line}. Its lines: {listed(list(map(str, numbers)))}.")


def _sum(parts: Iterable[CostPart], what: What) -> int:
    return sum(one.value_minor for one in parts if one.what == what)


def _parts(tx: Tx, order: KeptOrder) -> Iterator[CostPart]:
    """Everything that was booked for an order, and what is held for it, line by line."""
    movements = booked.booked_for(tx, order.id)
    picked, finished = booked.lines_of_picks(tx, order.id), booked.lines_of_finished(tx, order.id)
    on_cut: defaultdict[int, list[Laid]] = defaultdict(list)
    planned: defaultdict[int, list[Laid]] = defaultdict(list)
    for laid in booked.laid_for(tx, order.id):
        (planned[laid.cut_id] if laid.movement_id is None else on_cut[laid.movement_id]).append(laid)
    cut_of = {one.job_id: one.movement_id for one in movements if one.kind == "cut"}
    for one in movements:
        if one.kind == "cut":
            yield from _shares(_part(one, "used", 0), on_cut[one.movement_id])
        elif one.kind == "scrapped":
            beside = [_not_spoilt(each) for each in on_cut[cut_of.get(one.job_id, 0)]]
            yield from _shares(_part(one, "scrap bin", 0), beside)
        elif one.kind == "made":
            if not one.reversed:
                yield _part(one, "became stock", finished.get(one.holding_id, 0))
        else:
            line = picked.get(one.movement_id) or finished.get(one.holding_id, 0)
            yield _part(one, "came back" if one.reversed else "used", line)
    for held in booked.held_for(tx, order.id):
        part = _held(held)
        yield from _shares(part, planned[held.cut_id]) if held.cut_id is not None else (part,)


def _not_spoilt(laid: Laid) -> Laid:
    """The panel as one that was not spoilt: what fell off beside it is scrap either way."""
    return laid._replace(spoilt=False)


def _part(one: Booked, what: What, line: int) -> CostPart:
    quantity, value = abs(one.quantity), abs(one.value_minor)
    return CostPart(
        what, line, one.item, one.title, one.item_kind in BY_LENGTH, one.tag, one.lot, quantity, value,
        value if one.holding == "made" else None, value > 0, one.side_piece,
    )  # fmt: skip


def _held(one: Held) -> CostPart:
    value = share_minor(one.value_minor, one.quantity, one.in_all)
    return CostPart(
        "held", one.line, one.item, one.title, one.item_kind in BY_LENGTH, one.tag, one.lot, one.quantity, value,
        value if one.holding == "made" else None, one.value_minor > 0, one.side_piece,
    )  # fmt: skip


def _shares(part: CostPart, laid: Sequence[Laid]) -> Iterator[CostPart]:
    """A cut shared out among the lines whose panels are on it, by their area; spoilt panels apart."""
    areas: dict[tuple[int, bool], int] = {}
    for one in laid:
        areas[one.line, one.spoilt] = areas.get((one.line, one.spoilt), 0) + one.area_mm2
    if not areas:
        yield part
        return
    weights = list(areas.values())
    quantities, values = shared_out(part.quantity, weights), shared_out(part.value_minor, weights)
    for (line, spoilt), quantity, value in zip(areas, quantities, values, strict=True):
        what: What = "spoilt" if spoilt else part.what
        yield replace(part, what=what, line=line, quantity=quantity, value_minor=value)


def _at_average(part: CostPart, paid: Mapping[str, tuple[int, int]]) -> CostPart:
    value, quantity = paid.get(part.item, (0, 0))
    if part.average_minor is not None or part.side_piece or not quantity:
        return part
    return replace(part, average_minor=share_minor(value, part.quantity, quantity))


def _summed(parts: Iterable[CostPart]) -> list[CostPart]:
    """One part for all that was alike: the same line, item and roll or bin."""
    found: dict[tuple[object, ...], CostPart] = {}
    for one in parts:
        key = one.what, one.line, one.item, one.tag, one.priced
        there = found.get(key)
        if there is not None:
            average = None if one.average_minor is None else (there.average_minor or 0) + one.average_minor
            one = replace(
                there,
                quantity=there.quantity + one.quantity,
                value_minor=there.value_minor + one.value_minor,
                average_minor=average,
            )
        found[key] = one
    return sorted(found.values(), key=lambda one: (one.line, one.item, one.tag))


def _unpriced(parts: Iterable[CostPart], abroad: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """What was taken or is held and has no known price, item by item."""
    without: defaultdict[str, list[CostPart]] = defaultdict(list)
    for one in parts:
        if not one.priced and not one.side_piece and one.quantity and one.what in (*TAKEN, "held", "became stock"):
            without[one.item].append(one)
    for item, some in sorted(without.items()):
        amount = replace(some[0], quantity=sum(one.quantity for one in some if one.what != "became stock")).amount
        tags = listed(list(dict.fromkeys(one.tag for one in some)))
        yield f"{amount} of {some[0].title} ({item}, {tags}) without a known price.{no_price_words(item, abroad)}"


def _side_pieces(parts: Iterable[CostPart]) -> Iterator[str]:
    tags = sorted({one.tag for one in parts if one.side_piece and not one.priced})
    if tags:
        verb = "are side pieces" if len(tags) > 1 else "is a side piece"
        yield f"{listed(tags)} {verb}: paid with the cut that was made beside it, so not again here."


def _incomplete(tx: Tx, order: KeptOrder, line: int | None) -> Iterator[str]:
    """What the cost does not have in it yet."""
    if order.state != "open":
        return
    short = booked.still_short(tx, order.id, line)
    if short:
        yield f"Nothing is held yet for all of {listed([f'{title} ({code})' for code, title in short])}: not reckoned."
    for number in sorted({one.line for one in waits.waits_of(tx, order.id)}):
        if line is None or line == number:
            yield f"Line {number} waits for an answer: what hangs on it is not reckoned."
