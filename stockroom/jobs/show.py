"""Anything that has a tag: what it is, where it lies, what it is promised to."""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import dataclass, replace

from stockroom.domain.changes import change_sentence
from stockroom.domain.quantities import cloth_mass_g, show_length
from stockroom.domain.readings import read_words
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.inspect_words import inspected_words
from stockroom.jobs.left_over import lying_about
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.jobs.parts import whereabouts
from stockroom.jobs.printed import cautions
from stockroom.jobs.ready import order_state, where
from stockroom.jobs.swatches import lot_facts, swatch_words
from stockroom.jobs.swatches import whereabouts as whereabouts_of_swatch
from stockroom.jobs.ticket import became_words, car_words, kit_words
from stockroom.jobs.went_in import lots_facts
from stockroom.store import (
    arrivals,
    bundles,
    cars,
    customer_parts,
    finished,
    holds,
    inspections,
    orders,
    packing,
    pieces,
    readings,
    sewing,
    swatches,
    tagged,
    waits,
)
from stockroom.store.about import factors_of
from stockroom.store.database import Shop, Tx
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.tagged import TaggedHolding


@dataclass(frozen=True, slots=True)
class Shown:
    """What a tag names."""

    tag: str
    kind: str
    """'roll', 'remnant', 'bin', 'piece', 'bundle', 'parcel', 'order', 'car', 'place', 'swatch' or 'customer's part'."""
    title: str
    facts: tuple[tuple[str, str], ...]
    """Label and value, in reading order."""
    promises: tuple[str, ...] = ()
    """What is reserved from it, and for whom."""
    movements: tuple[str, ...] = ()
    """Its latest movements, newest first; where a bundle has been."""
    order: str = ""
    """Number of the order it belongs to, if it belongs to one (a scan of it opens that ticket)."""
    is_read: bool = False
    """Whether it is a roll whose colour an instrument has read."""
    is_shelf_tag: bool = False
    """Whether a scan of it says that something runs out: it is the bin of a consumable."""


_HAVE_LOTS = ("order", "car", "piece", "bundle", "parcel")
"""What is shown with the lots that went into it."""
_LATEST = 10
"""Movements shown of one holding."""


def show(shop: Shop, text: str) -> Shown:
    """What a tag (or an order's number) names. Raises Refusal for a mistyped or unknown one."""
    with shop.read() as tx:
        if orders.number_is_taken(tx, text.strip()):
            return _with_lots(tx, _order(shop, tx, text.strip()))
        tag = scanned_tag(tx, text)
        found = None
        if tag.kind in _SHOWN_BY:
            found = _SHOWN_BY[tag.kind](tx, str(tag))
        elif tag.kind in _SHOWN_WITH_BOOK:
            found = _SHOWN_WITH_BOOK[tag.kind](shop, tx, str(tag))
        if found is not None:
            found = _with_lots(tx, found)
    if found is None:
        raise Refusal(f"Nothing in this shop has the tag {tag}. It is well formed, so it may be from another shop.")
    return found


def _with_lots(tx: Tx, shown: Shown) -> Shown:
    """The same, with the lots that went into it."""
    if shown.kind not in _HAVE_LOTS:
        return shown
    return replace(shown, facts=(*shown.facts, *lots_facts(tx, shown.tag)))


def _order(shop: Shop, tx: Tx, tag: str) -> Shown:
    order = orders.order_by(tx, tag)
    facts = (
        ("Customer", order.customer),
        ("Wanted", order.wanted.isoformat() if order.wanted else "open"),
        ("State", order.state),
        ("Lines", "; ".join(f"{line.request.quantity} × {line.title}" for line in order.lines)),
        *(
            ("Waits", f"line {one.line}, {quoted(one.wait.name)}: {one.wait.question}")
            for one in waits.waits_of(tx, order.id)
        ),
        *(("Short", one.sentence) for one in holds.shortages_of(tx, order.id)),
        *(("Left over", sentence) for sentence in lying_about(shop, tx, order).sentences),
    )
    return Shown(order.tag, "order", f"Order {order.number}", facts, order=order.number)


def holding_mass_g(held: TaggedHolding) -> int:
    """What a roll or the contents of a bin weigh, as far as it is known; g."""
    if held.kind == "roll":
        return cloth_mass_g(held.held, held.width_mm, held.mass_g_m2)
    return held.held * held.mass_g


def _holding(tx: Tx, tag: str) -> Shown | None:
    found = tagged.holdings_by_tag(tx, [tag])
    if not found:
        return None
    (held,) = found

    def amount(quantity: int) -> str:
        return show_amount(held.item_kind, quantity)

    facts = [
        ("Item", held.item),
        ("Colour", held.colour),
        ("Dye lot", held.lot),
        ("Place", held.place),
        ("Held", amount(held.held)),
        ("Reserved", amount(held.reserved)),
        ("Free", amount(held.held - held.reserved) if not held.quarantined_because else "nothing"),
    ]
    if held.kind == "made":
        return _finished(tx, held)
    if held.kind == "roll":
        facts += [
            ("Usable width", show_length(held.width_mm)),
            ("Length", "measured" if held.measured else "as the supplier says"),
            ("Flaws", "; ".join(f"{show_length(a)} to {show_length(b)}: {what}" for a, b, what in held.flaws)),
            ("Swatch", _swatches_of(tx, held)),
        ]
    read = readings.readings_of(tx, held.id) if held.kind == "roll" else []
    facts += [("Colour reading", read_words(read, factors_of(tx)))] if read else []
    facts += _coming_words(tx, held)
    mass = holding_mass_g(held)
    facts += [
        ("Mass", f"{mass / 1000:.1f} kg" if mass else ""),
        ("Quarantined", held.quarantined_because),
        ("Not to be used after", held.expires.isoformat() if held.expires else ""),
        *cautions(held.hazards, held.storage, held.posting),
    ]
    promises = tuple(
        f"{amount(quantity)} for order {number}, {customer}"
        + (f", from {show_length(first)} to {show_length(last or 0)}" if first is not None else "")
        for number, customer, quantity, first, last in tagged.promised_from(tx, held.id)
    )
    movements = tuple(
        f"{at:%Y-%m-%d} {kind} {'+' if quantity > 0 else '−'}{amount(abs(quantity))}, then {amount(balance)}"
        f" ({by}){': ' + note if note else ''}"
        for at, kind, quantity, balance, note, by in tagged.latest_movements(tx, held.id, _LATEST)
    )
    kind = "remnant" if held.remnant else held.kind
    return Shown(
        tag,
        kind,
        held.title,
        tuple(fact for fact in facts if fact[1]),
        promises,
        movements,
        is_read=bool(read),
        is_shelf_tag=held.item_kind == "consumable",
    )


def _swatches_of(tx: Tx, held: TaggedHolding) -> str:
    """The swatches of a roll's lot, and where each is."""
    there = swatches.swatches_of_lot(tx, held.item, held.lot)
    return "; ".join(f"{one.tag} {whereabouts_of_swatch(tx, one)}" for one in there)


def _coming_words(tx: Tx, held: TaggedHolding) -> list[tuple[str, str]]:
    """How it came in, and what was found when it was looked over."""
    came, inspected = arrivals.came_with(tx, held.id), inspections.latest_of(tx, held.id)
    facts = []
    if came is not None:
        named = (
            f"{came.at:%Y-%m-%d}",
            f"purchase {came.purchase}" if came.purchase else "",
            came.supplier,
            f"delivery note {came.delivery}" if came.delivery else "",
        )
        facts.append(("Came in", ", ".join(filter(None, named))))
    if inspected is not None:
        facts.append(("Inspection", inspected_words(inspected)))
    return facts


def _finished(tx: Tx, held: TaggedHolding) -> Shown:
    """A finished thing of the stock: what it is, whom it was made for, and who is to have it."""
    thing = finished.finished_by_tag(tx, held.tag)
    assert thing is not None
    used = finished.used_for(tx, held.id)
    state = "in stock, free" if thing.is_free else "gone"
    if thing.quarantined_because:
        state = f"in quarantine: {thing.quarantined_because}"
    elif used is not None:
        state = f"{'fetched for' if used[1] else 'promised to'} order {used[0]}"
    facts = (
        ("State", state),
        ("Place", thing.place),
        ("Piece", thing.piece),
        ("Hand", thing.hand),
        ("Kit", thing.kit),
        ("Made for", f"order {thing.order}, car {thing.car}"),
        ("Dye lots", ", ".join(thing.lots)),
        ("Lacks", "; ".join(thing.lacks)),
        ("Unlike the book's", " ".join(thing.changes)),
    )
    movements = tuple(
        f"{at:%Y-%m-%d} {kind} ({by}){': ' + note if note else ''}"
        for at, kind, _, _, note, by in tagged.latest_movements(tx, held.id, _LATEST)
    )
    kind = "finished piece" if thing.piece else "finished kit"
    order = used[0] if used else ""
    return Shown(held.tag, kind, thing.title, tuple(one for one in facts if one[1]), (), movements, order)


def _piece(tx: Tx, tag: str) -> Shown | None:
    piece = tagged.piece_by_tag(tx, tag)
    if piece is None:
        return _holding(tx, tag)
    became = finished.became_by_tag(tx, tag)
    stocked = finished.stock_of_piece(tx, tag)
    sewn = sewing.sewn_by_tag(tx, tag)
    steps = f"{', '.join(map(str, piece.steps))} of {piece.steps_in_all}" if piece.steps else ""
    facts = (
        ("Order", f"{piece.order}, {piece.customer}"),
        ("Piece", piece.piece),
        ("Hand", piece.hand),
        ("Fitting steps", steps),
        ("Note", piece.note),
        ("This car's changes", " ".join(piece.changes)),
        ("What became of it", became_words(became).removeprefix("was ") if became else ""),
        ("From stock", stocked),
        ("Sewn", f"one piece ({sewn.by}, {sewn.at:%Y-%m-%d})" if sewn else ""),
    )
    return Shown(tag, "piece", piece.title, tuple(fact for fact in facts if fact[1]), order=piece.order)


def _car(shop: Shop, tx: Tx, tag: str) -> Shown | None:
    car = cars.car_by_tag(tx, tag)
    if car is None:
        return None
    of_car = tagged.orders_of_car(tx, car.id)
    words = car.key
    if of_car:
        book = book_of(shop, tx, orders.order_by(tx, of_car[-1][0]).book_id)
        words = car_words(book, catalogue_of(shop, tx), car)
    proved = cars.changes_of(tx, [car.id])[car.id]
    facts = [("Car", words), ("Orders", "; ".join(f"{number}, {who} ({state})" for number, who, state in of_car))]
    facts += [("Kept with the car", change_sentence(change)) for change in proved]
    return Shown(tag, "car", car.key, tuple(facts))


def _place(tx: Tx, tag: str) -> Shown | None:
    place = tagged.place_by_tag(tx, tag)
    if place is None:
        return None
    facts = [("Place", place.code), ("Turn on the walk", str(place.walk))]
    facts += [(one, f"{title}: {show_amount(kind, held)}") for one, title, kind, held in place.holds]
    facts += [
        (one.tag, f"{one.what}: a customer's part, order {one.order}")
        for one in customer_parts.parts_in(tx, place.code)
    ]
    facts += [(one.tag, f"{swatch_words(one)}") for one in swatches.swatches_in(tx, place.code)]
    return Shown(tag, "place", place.title, tuple(facts))


def _customer_part(tx: Tx, tag: str) -> Shown | None:
    part = customer_parts.part_by_tag(tx, tag)
    if part is None:
        return None
    facts = (
        ("Order", f"{part.order}, {part.customer}"),
        ("Car", part.car),
        ("Place", whereabouts(part)),
        ("Received", f"{part.received_at:%Y-%m-%d} ({part.received_by})"),
        ("Owner", "the customer: never counted as stock"),
    )
    return Shown(tag, "customer's part", part.what, tuple(fact for fact in facts if fact[1]), order=part.order)


def _bundle(shop: Shop, tx: Tx, tag: str) -> Shown | None:
    bundle = bundles.bundle_by_tag(tx, tag)
    if bundle is None:
        return None
    kit = kit_words(book_of(shop, tx, bundle.book_id), bundle.path)
    state = order_state(shop, tx, orders.order_by(tx, bundle.order))
    facts = [
        ("Customer", bundle.customer),
        ("Where", "packed" if bundle.state == "packed" else where(bundle)),
        ("Since", f"{bundle.since:%Y-%m-%d} ({bundle.by})"),
    ]
    facts += [
        (
            one.piece.tag,
            f"{one.piece.piece.title}: {'; '.join(filter(None, (one.sewing_words, one.state, *one.lacks)))}",
        )
        for one in state.pieces
        if one.bundle is not None and one.bundle.id == bundle.id
    ]
    steps = tuple(
        f"{_WAYS[one.way]}{f' {one.stage.lower()}' if one.stage else ''}{f', {one.holder}' if one.holder else ''} "
        f"({one.by}, {one.at:%Y-%m-%d %H:%M} UTC)"
        for one in reversed(bundles.steps_of_bundle(tx, bundle.id))
    )
    title = f"{kit}, order {bundle.order}"
    return Shown(tag, "bundle", title, tuple(facts), movements=steps, order=bundle.order)


_WAYS = {"tied": "tied", "out": "out to", "in": "back at the bench"}


def _kit(tx: Tx, tag: str) -> Shown | None:
    """A kit tag is that of a kit kept for stock, or of a parcel of an order."""
    number = packing.order_of_parcel(tx, tag)
    if number is None:
        return _holding(tx, tag)
    order = orders.order_by(tx, number)
    parcel = next(one for one in packing.parcels_of(tx, order.id) if one.tag == tag)
    inside = {piece for piece, its in packing.packed_of(tx, order.id).items() if its.parcel == parcel.number}
    facts = [
        ("Customer", order.customer),
        ("State", f"{parcel.state} ({parcel.closed_by or parcel.opened_by})"),
    ]
    facts += _pieces(tx, order.id, inside) or [("Pieces", "none")]
    title = f"Parcel {parcel.number} of order {order.number}, {parcel.what}"
    return Shown(tag, "parcel", title, tuple(facts), order=order.number)


def _pieces(tx: Tx, order_id: int, inside: Set[int]) -> list[tuple[str, str]]:
    """Tag and name of these pieces of an order, by id."""
    return [(one.tag, one.piece.title) for one in pieces.pieces_of(tx, order_id) if one.id in inside]


def _swatch(tx: Tx, tag: str) -> Shown | None:
    """A swatch: what it is of, where it is, what is known of its lot, and to whom it went."""
    swatch = swatches.swatch_by_tag(tx, tag)
    if swatch is None:
        return None
    sent = swatches.sent_of_swatch(tx, swatch.id)
    facts = (
        ("Item", swatch.item),
        ("Colour", swatch.colour),
        ("Dye lot", swatch.lot),
        ("Where", whereabouts_of_swatch(tx, swatch)),
        ("Cut from", f"{swatch.roll}, {swatch.at:%Y-%m-%d} ({swatch.by})"),
        *lot_facts(tx, swatch.item, swatch.lot),
    )
    told = tuple(
        f"{one.at:%Y-%m-%d} sent to {one.customer} for line {one.line} of order {one.order} ({one.by})"
        + (f"; {one.answer}{f', {one.said_by}' if one.said_by else ''}{f': {one.note}' if one.note else ''}")
        * bool(one.answer)
        for one in reversed(sent)
    )
    awaited = next((one for one in sent if not one.answer), None)
    return Shown(
        tag,
        "swatch",
        swatch_words(swatch),
        tuple(fact for fact in facts if fact[1]),
        movements=told,
        order=awaited.order if awaited else "",
    )


_SHOWN_BY: dict[str, Callable[[Tx, str], Shown | None]] = {
    "R": _holding,
    "B": _holding,
    "K": _kit,
    "P": _piece,
    "L": _place,
    "G": _customer_part,
    "S": _swatch,
}
_SHOWN_WITH_BOOK: dict[str, Callable[[Shop, Tx, str], Shown | None]] = {"C": _car, "O": _order, "T": _bundle}
"""Those whose words stand in a kit book."""
