"""Finished things of the stock that an order may have: each offered for a piece, or a whole kit, that it fits.

What fits is decided in `stockroom.domain.finished`: all that it consists of equals what the order's bill asks there.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from stockroom.domain.finished import AskedFor, lots_it_binds, why_it_does_not_fit
from stockroom.domain.kitbook import KitBook
from stockroom.domain.shortage import lot_name
from stockroom.domain.wording import listed
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.jobs.waiting import hung_up
from stockroom.store import bill, bundles, finished, holds, orders, packing, pieces, sewing, swatches, waits
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import FromStock, KeptFinished
from stockroom.store.orders import KeptOrder
from stockroom.store.pieces import KeptPiece

Owner = tuple[int, str, str]
"""Line, path and piece code."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A finished thing of the stock that fits an order."""

    tag: str
    title: str
    place: str
    for_what: str
    """The piece, or the kit, that it is to be, in words."""
    pieces: tuple[str, ...]
    """Tags of the pieces that it is to be."""
    lots: tuple[str, ...]
    lacks: tuple[str, ...]
    """What of it is not there, and must be picked besides."""
    binds: tuple[str, ...]
    """What using it settles about the rest of the set: sentences."""
    made_for: str
    """Number of the order that it was made for."""
    words: str
    """What it is, where it lies, what it is to be and what that settles: sentences."""
    sentence: str
    """The same, and how it is used."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A piece, or a whole kit, of an order that a finished thing may be."""

    words: str
    book: str
    """Code of its kit book."""
    kit: str
    """Code of the kit that it is; '' for a piece."""
    path: str
    """Of the kit that it is, or that the piece is in."""
    pieces: tuple[KeptPiece, ...]
    asked: tuple[AskedFor, ...]
    parts: Mapping[int, tuple[KeptRequirement, ...]]
    """Piece id → what its bill asks for: plain goods, and the made-up item."""
    units: Mapping[int, tuple[KeptRequirement, ...]]
    """Piece id → what it would be made of, where it is a made-up item."""
    copies: Mapping[Owner, int]
    """How many pieces share what is required."""
    why_not: str
    """Why nothing may be used for it at all; '' where something may."""

    def is_like(self, thing: KeptFinished) -> bool:
        """Whether it is of the same kit, or the same piece of the same book, as a finished thing."""
        piece = "" if self.kit else self.pieces[0].piece.piece
        return (self.book, piece) == (thing.book, thing.piece) and (bool(piece) or self.kit == thing.kit)

    @property
    def changes(self) -> tuple[str, ...]:
        """This car's own changes of its pieces."""
        return tuple(dict.fromkeys(sentence for one in self.pieces for sentence in one.piece.changes))


@dataclass(slots=True)
class _Order:
    """What is known of an order while places for finished things are looked for."""

    shop: Shop
    tx: Tx
    order: KeptOrder
    book: KitBook
    catalogue: Catalogue
    made: list[KeptPiece]
    stocked: Mapping[int, FromStock]
    parts: Mapping[Owner, list[KeptRequirement]]
    units: Mapping[tuple[Owner, int], list[KeptRequirement]]
    taken: Mapping[int, int]
    copies: Mapping[Owner, int]
    """How many pieces share what is required."""
    busy: Mapping[int, str]
    """Piece id → why nothing may be used for it."""

    def staying(self, owner: Owner, leaving: Collection[int]) -> list[int]:
        """The copies of a piece that are made here: those that neither are from stock nor are leaving."""
        mine = (one for one in self.made if owner_of(one) == owner and one.id not in self.stocked)
        return [one.piece.copy for one in mine if one.piece.copy not in leaving]


def offers_of(shop: Shop, number: str) -> tuple[Offer, ...]:
    """The finished things that fit an order: a whole kit before single pieces, each for a place of its own."""
    with shop.read() as tx:
        return offers_in(shop, tx, orders.order_by(tx, number))


def offers_in(shop: Shop, tx: Tx, order: KeptOrder) -> tuple[Offer, ...]:
    """`offers_of`, within a transaction that has begun."""
    if order.state != "open" or order.for_stock:
        return ()
    things = [one for one in finished.finished_there(tx) if one.is_free]
    if not things:
        return ()
    found: list[Offer] = []
    taken: set[int] = set()
    slots = list(slots_of(shop, tx, order))
    for thing in sorted(things, key=lambda one: bool(one.piece)):
        for slot in slots:
            if not taken.intersection(one.id for one in slot.pieces) and not why_not(tx, order, thing, slot):
                taken.update(one.id for one in slot.pieces)
                found.append(_offer(tx, order, thing, slot))
                break
    return tuple(found)


def _offer(tx: Tx, order: KeptOrder, thing: KeptFinished, slot: Slot) -> Offer:
    binds = binding(tx, order, thing, slot)
    lots = f", {listed(map(lot_name, thing.lots))}" if thing.lots else ""
    lacks = f" It lacks {listed(thing.lacks)}." if thing.lacks else ""
    words = (
        f"{thing.tag} in {thing.place}, {thing.title} (made for {thing.order}{lots}), fits {slot.words}.{lacks}"
        f"{''.join(f' {one}' for one in binds)}"
    )
    return Offer(
        thing.tag,
        thing.title,
        thing.place,
        slot.words,
        tuple(one.tag for one in slot.pieces),
        thing.lots,
        thing.lacks,
        binds,
        thing.order,
        words,
        f"{words} Use it: stockroom use {thing.tag} {order.number}",
    )


# --- fitting -----------------------------------------------------------------------------------------------------


def why_not(tx: Tx, order: KeptOrder, thing: KeptFinished, slot: Slot) -> str:
    """Why a finished thing is not what is asked for in a place of an order, in half a sentence; '' where it fits."""
    if not slot.is_like(thing):
        return "it is something else"
    return slot.why_not or why_it_does_not_fit(thing.covers, thing.changes, _asked(tx, order, slot), slot.changes)


def binding(tx: Tx, order: KeptOrder, thing: KeptFinished, slot: Slot) -> tuple[str, ...]:
    """What using a finished thing settles about the rest of the set: sentences."""
    return tuple(
        f"The rest of the set ({group}) must then be of {lot_name(lot)} in {item}."
        for (group, item), lot in lots_it_binds(thing.covers, _asked(tx, order, slot)).items()
        if _has_more(order, tx, slot, group, item)
    )


def _has_more(order: KeptOrder, tx: Tx, slot: Slot, group: str, item: str) -> bool:
    """Whether anything else of the order is in that matching group, in that item."""
    mine = {part.id for parts in slot.parts.values() for part in parts}
    return any(
        one.id not in mine and (one.requirement.group, one.requirement.item) == (group, item)
        for one in bill.requirements_to_hold(tx, order.id)
    )


def _asked(tx: Tx, order: KeptOrder, slot: Slot) -> list[AskedFor]:
    """What the bill asks for in a place, with the lots that the rest of each matching group has already."""
    line = next(line for line in order.lines if line.number == slot.pieces[0].piece.line)
    taken = packing.taken_of(tx, order.id)
    own = {part.id for parts in slot.parts.values() for part in parts if not taken[part.id]}
    bound = bound_lots(tx, order, own)
    mixes = holds.approved_mixes(tx, order.id, bound)
    return [
        replace(
            one,
            bound_to=frozenset(bound.get((line.car_id, one.group, one.item), ())),
            approved=tuple(mixes.get((line.car_id, one.group, one.item), ())),
        )
        for one in slot.asked
    ]


def bound_lots(tx: Tx, order: KeptOrder, without: Iterable[int] = ()) -> holds.Bound:
    """The lots that the matching groups of an order's cars have already, but for what these requirements hold.

    Those too whose swatches the customer agreed to.
    """
    if order.for_stock:
        return holds.lots_bound_by_order(tx, order.id, set(without))
    ids = [line.car_id for line in order.lines]
    bound = holds.lots_bound(tx, ids, set(without))
    for car_id, _, group, item, lot in swatches.agreed_lots(tx, ids):
        if group:
            bound.setdefault((car_id, group, item), set()).add(lot)
    return bound


# --- places for finished things ----------------------------------------------------------------------------------


def slots_of(shop: Shop, tx: Tx, order: KeptOrder) -> Iterator[Slot]:
    """Every whole kit and every piece of an order that is not from stock already; kits first, the largest first."""
    known = _known(shop, tx, order)
    for (_, path, _), some in sorted(_kits(known), key=lambda kit: (kit[0][1].count("/"), kit[0])):
        yield _slot(known, path, path.rsplit("/", 1)[-1], some)
    for one in known.made:
        if one.piece.piece and one.id not in known.stocked:
            yield _slot(known, one.piece.path, "", [one])


def _known(shop: Shop, tx: Tx, order: KeptOrder) -> _Order:
    requirements = bill.requirements_of(tx, order.id)
    parts: defaultdict[Owner, list[KeptRequirement]] = defaultdict(list)
    units: defaultdict[tuple[Owner, int], list[KeptRequirement]] = defaultdict(list)
    for one in requirements:
        key = one.requirement.key
        owner = key.line, key.path.removesuffix("/made"), key.piece
        if key.unit:
            units[owner, key.unit].append(one)
        else:
            parts[owner].append(one)
    made = pieces.pieces_of(tx, order.id)
    hanging = hung_up(requirements, waits.waits_of(tx, order.id))
    waiting = {owner for owner, some in parts.items() if any(one.id in hanging for one in some)}
    busy = {one.id: "it waits for an answer" for one in made if owner_of(one) in waiting}
    busy |= dict.fromkeys(bundles.bundled_of(tx, order.id), "its panels are cut and tied")
    busy |= dict.fromkeys(sewing.sewn_of(tx, order.id), "it is sewn")
    busy |= dict.fromkeys(packing.packed_of(tx, order.id), "it is packed")
    return _Order(
        shop,
        tx,
        order,
        book_of(shop, tx, order.book_id),
        catalogue_of(shop, tx),
        made,
        finished.from_stock_of(tx, order.id),
        parts,
        units,
        packing.taken_of(tx, order.id),
        Counter(map(owner_of, made)),
        busy,
    )


def owner_of(one: KeptPiece) -> Owner:
    """What a piece shares with its other copies."""
    return one.piece.line, one.piece.path, one.piece.piece


def _kits(known: _Order) -> list[tuple[tuple[int, str, int], list[KeptPiece]]]:
    """The pieces of each whole kit: of each of a line's kits, and of each kit within it, with all that is in that."""
    quantity = {line.number: line.request.quantity for line in known.order.lines}
    kits: defaultdict[tuple[int, str, int], list[KeptPiece]] = defaultdict(list)
    for one in known.made:
        made = one.piece
        in_a_set = max(1, known.copies[owner_of(one)] // quantity[made.line])
        copy = (made.copy - 1) // in_a_set + 1
        steps = made.path.split("/")
        for depth in range(1, len(steps) + 1):
            kits[made.line, "/".join(steps[:depth]), copy].append(one)
    return [(kit, some) for kit, some in kits.items() if not any(one.id in known.stocked for one in some)]


def _slot(known: _Order, path: str, kit: str, some: Sequence[KeptPiece]) -> Slot:
    line = some[0].piece.line
    title = known.book.kits[kit].title if kit in known.book.kits else kit
    words = f"line {line}, {title}" if kit else f"line {line}, {some[0].piece.title} ({some[0].tag})"
    busy = [f"{one.piece.title} ({one.tag}): {known.busy[one.id]}" for one in some if one.id in known.busy]
    return Slot(
        words,
        known.book.code,
        kit,
        path,
        tuple(some),
        tuple(asked_of(known.parts, some, path, known.copies)),
        {one.id: tuple(known.parts[owner_of(one)]) for one in some},
        {one.id: tuple(known.units.get((owner_of(one), one.piece.copy), ())) for one in some},
        known.copies,
        busy[0] if busy else _begun(known, some),
    )


def asked_of(
    parts: Mapping[Owner, Sequence[KeptRequirement]], some: Sequence[KeptPiece], path: str, copies: Mapping[Owner, int]
) -> list[AskedFor]:
    """What the bill asks for in these pieces together, each where it belongs within the kit at `path`."""
    asked = []
    for owner, number in Counter(map(owner_of, some)).items():
        for one in parts[owner]:
            requirement = one.requirement
            asked.append(
                AskedFor(
                    within(path, owner[1]),
                    owner[2],
                    requirement.key.part,
                    requirement.key.hand,
                    requirement.need,
                    requirement.item,
                    requirement.quantity // copies[owner] * number,
                    requirement.each_mm,
                    requirement.shape,
                    requirement.group,
                )
            )
    return asked


def within(path: str, inner: str) -> str:
    """The kits between the kit at `path` and one inside it; '' for itself."""
    return inner[len(path) :].lstrip("/")


def _begun(known: _Order, some: Sequence[KeptPiece]) -> str:
    """Why these pieces need not come from stock: what was taken is more than their other copies ask for."""
    for one in some:
        owner = owner_of(one)
        stay = known.staying(owner, {it.piece.copy for it in some if owner_of(it) == owner})
        made_here = sum(any(it.needed for it in known.units.get((owner, copy), ())) for copy in stay)
        begun = any(known.taken[it.id] for it in known.units.get((owner, one.piece.copy), ()))
        for part in known.parts[owner]:
            each = part.requirement.quantity // known.copies[owner]
            room = len(stay) - made_here if part.requirement.need == "made" else each * len(stay)
            begun |= known.taken[part.id] > room
        if begun:
            return f"{one.piece.title} ({one.tag}) is picked or cut already"
    return ""
