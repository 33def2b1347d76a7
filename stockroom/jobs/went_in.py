"""Match to what went out: the lots that went into an order, a kit, a piece or all orders of a car."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from stockroom.domain.colour_difference import conditions
from stockroom.domain.readings import middle
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Requirement
from stockroom.domain.shortage import lot_name
from stockroom.domain.tags import KINDS, is_tag, read_tag
from stockroom.domain.wording import listed, quoted
from stockroom.store import cars, orders, readings, went_in
from stockroom.store.cars import folded_key
from stockroom.store.database import Tx
from stockroom.store.orders import KeptOrder
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.went_in import WentIn

_OF_PIECES = "PTK"
"""Kind letters of what has pieces of an order in it."""


@dataclass(frozen=True, slots=True)
class Went:
    """What was named, and all that went into it or is held for it."""

    name: str
    """'order L-1022', 'car RP 2417', 'kit K12R of order L-1022'."""
    short_name: str
    """As an order asks to match it: 'L-1022', 'RP 2417', 'K12R'."""
    order: str
    """Number of the order that it is, or is of; '' for a car."""
    car_ids: frozenset[int]
    rows: tuple[WentIn, ...]

    @property
    def lots(self) -> Mapping[str, frozenset[str]]:
        """Item → the lots of it that went in; what was spoilt on the way went nowhere."""
        found: dict[str, set[str]] = {}
        for one in self.rows:
            if one.how != "spoilt":
                found.setdefault(one.item, set()).add(one.lot)
        return {item: frozenset(lots) for item, lots in found.items()}


def went_into(tx: Tx, text: str) -> Went:
    """What an order's number or tag, the tag of a piece, a bundle, a kit or a car, or a car's key names.

    Raises Refusal where it names none of them.
    """
    if is_tag(text) and read_tag(text).kind != "O":
        return _tagged(tx, str(scanned_tag(tx, text)))
    car = cars.cars_by_key(tx, [text]).get(folded_key(text))
    if car is not None and not orders.number_is_taken(tx, text.strip()):
        return _of_car(tx, car)
    try:
        order = orders.order_by(tx, text)
    except Refusal as refusal:
        if car is None:
            raise Refusal(
                f"{refusal.sentence} A kit's or a car's tag, or a car's chassis number, would do too."
            ) from None
        return _of_car(tx, car)
    rows = tuple(went_in.into_orders(tx, [order.id]))
    of_cars = frozenset(line.car_id for line in order.lines)
    return Went(f"order {order.number}", order.number, order.number, of_cars, rows)


def _of_car(tx: Tx, car: cars.KeptCar) -> Went:
    rows = tuple(one for one in went_in.into_cars(tx, [car.id]) if _came_to_the_car(one))
    return Went(f"car {car.key}", car.key, "", frozenset({car.id}), rows)


def _came_to_the_car(one: WentIn) -> bool:
    """What was made for stock, or kept as stock, never came to the car."""
    return not one.for_stock and one.state != "kept"


def _tagged(tx: Tx, tag: str) -> Went:
    kind = tag[0]
    if kind == "C":
        car = cars.car_by_tag(tx, tag)
        if car is not None:
            return _of_car(tx, car)
    elif kind in _OF_PIECES:
        packet = went_in.pieces_named(tx, tag)
        if packet is not None:
            return _of_pieces(tx, tag, packet)
    else:
        raise Refusal(
            f"{tag} is the tag of a {KINDS[kind]}. Name an order, a kit, a piece, a bundle or a car: what went into it "
            "is known."
        )
    raise Refusal(f"No {KINDS[kind]} of an order has the tag {tag}. It is well formed, so it may be from another shop.")


def _of_pieces(tx: Tx, tag: str, packet: went_in.Packet) -> Went:
    rows = went_in.into_orders(tx, [packet.order_id])
    mine = tuple(one for one in rows if (one.line, one.path.removesuffix("/made"), one.piece) in packet.owners)
    ((number, _),) = orders.states_of(tx, [packet.order_id])
    of_cars = frozenset(one.car_id for one in orders.order_by(tx, number).lines if one.number in _lines(packet))
    return Went(f"{KINDS[tag[0]]} {tag} of order {number}", tag, number, of_cars, mine)


def _lines(packet: went_in.Packet) -> frozenset[int]:
    return frozenset(line for line, _, _ in packet.owners)


def came_to_the_cars(tx: Tx, car_ids: Collection[int]) -> list[WentIn]:
    """All that is seen together on these cars, whichever order it came in."""
    return [one for one in went_in.into_cars(tx, car_ids) if _came_to_the_car(one)]


def lots_to_match(
    tx: Tx, order: KeptOrder, requirements: Iterable[Requirement]
) -> dict[tuple[int, str, str], frozenset[str]]:
    """(car, matching group, item) → lots that went out and that lines of an order ask to match.

    An item matches what went out of that same cloth and colour; an item of which nothing went out matches nothing.
    """
    asks = {line.number: (line.car_id, line.request.match) for line in order.lines if line.request.match}
    known = {match: _lots_of(tx, match) for _, match in asks.values()}
    found: dict[tuple[int, str, str], frozenset[str]] = {}
    for one in requirements:
        if one.key.line in asks and one.need in ("panel", "length"):
            car_id, match = asks[one.key.line]
            lots = known[match].get(one.item, frozenset())
            if lots:
                at = car_id, one.group, one.item
                found[at] = found.get(at, frozenset()) | lots
    return found


def _lots_of(tx: Tx, match: str) -> Mapping[str, frozenset[str]]:
    """The lots by item of what is to be matched; none where that was cancelled since, or is not in this shop."""
    try:
        return went_into(tx, match).lots
    except Refusal:
        return {}


def how_words(rows: Iterable[WentIn]) -> str:
    """How one lot came there, by order.

    >>> row = WentIn(1, "L-1022", "sent", False, 1, 1, "hood", "HL", "top", "hood-cloth/fawn", "cut", "W4288", "R6F")
    >>> how_words([row])
    'cut for order L-1022 (sent), roll R6F'
    """
    said: dict[tuple[str, str, str], list[str]] = {}
    for one in rows:
        said.setdefault((one.how, one.order, one.state), []).append(one.tag)
    return "; ".join(
        f"{how} for order {order}{f' ({state})' if state != 'open' else ''}{_rolls(tags)}"
        for (how, order, state), tags in said.items()
    )


_MOST_ROLLS = 3


def _rolls(tags: Iterable[str]) -> str:
    named = list(dict.fromkeys(filter(None, tags)))
    if not named:
        return ""
    more = f" and {len(named) - _MOST_ROLLS} more" if len(named) > _MOST_ROLLS else ""
    return f", roll {', '.join(named[:_MOST_ROLLS])}{more}"


def lots_facts(tx: Tx, tag: str) -> list[tuple[str, str]]:
    """Label and value for each item that went into what a tag names: its lots, and what was read of them."""
    try:
        went = went_into(tx, tag)
    except Refusal:  # a parcel with nothing in it yet
        return []
    read = readings.readings_of_items(tx, went.lots)

    def words(item: str, lot: str) -> str:
        found = read.get((item, lot))
        if not found:
            return f"{lot_name(lot)} (no reading)"
        one = middle(found)
        return f"{lot_name(lot)} (L* {one.lightness:.4g}, a* {one.a:.4g}, b* {one.b:.4g} under {conditions(one)})"

    return [("Lots", f"{item}: {listed(words(item, lot) for lot in sorted(lots))}") for item, lots in went.lots.items()]


def refuse_nothing_to_match(went: Went) -> None:
    """Raises Refusal where nothing that has a lot went into it, so that there is nothing to match."""
    if not went.lots:
        raise Refusal(
            f"No cloth is held for {went.name}, and none was cut or picked for it, so nothing is known that could be "
            f"matched. Reserve it first, or name another than {quoted(went.short_name)}."
        )
