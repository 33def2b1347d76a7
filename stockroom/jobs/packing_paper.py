"""Paper of the packing table: packing list, kit tags, tags of bundles."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from labels import BundleTag, KitTag, PackedParcel, PackedPiece, PackingListPaper, packing_list_pdf
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs import pack
from stockroom.jobs.lookup import Catalogue, book_of, catalogue_of
from stockroom.jobs.pack import PackingList, PackParcel, PackPiece
from stockroom.jobs.printed import delivery, printed_by
from stockroom.jobs.ticket import car_words, kit_words
from stockroom.store import bill, bundles, cars, orders, substitutions
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop

_MOST_NAMED = 3
"""Pieces that a kit tag names as owed."""
_POST_RULES = "The carrier's rules and the supplier's safety data sheet come first."


def packing_list(shop: Shop, number: str, stamp: Stamp) -> bytes:
    """The packing list of an order as PDF, by its number or a tag of it. Raises Refusal where it is cancelled."""
    found = _not_cancelled(pack.packing_list(shop, number))
    with shop.read() as tx:
        order = orders.order_by(tx, found.order)
        known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
        book, catalogue = book_of(shop, tx, order.book_id), catalogue_of(shop, tx)
        words = [car_words(book, catalogue, known[line.car_id]) for line in order.lines]
        minded = () if found.fitted_here else _minded(catalogue, bill.requirements_of(tx, order.id))
        taken = substitutions.substitutions_of(tx, order.id)
        substituted = [one.sentence(catalogue.items) for line in taken.values() for one in line.values()]
    missing = (*found.owed, *found.customers_parts)
    return packing_list_pdf(
        PackingListPaper(
            order=found.order,
            order_code=found.tag,
            customer=found.customer,
            delivery=delivery(found.fitted_here),
            printed=printed_by(stamp),
            parcels=tuple(_parcel(found, parcel, minded) for parcel in found.parcels),
            cars=tuple(dict.fromkeys(words)),
            kits=", ".join(f"{line.request.quantity} × {line.title}" for line in order.lines),
            sent_incomplete=f"Sent incomplete: {found.short_because}." if found.short_because else "",
            owed=missing if found.state == "sent" else (),
            not_packed=() if found.state == "sent" else missing,
            substituted=tuple(dict.fromkeys(substituted)),
        )
    )


def kit_tags(shop: Shop, number: str) -> list[KitTag]:
    """A kit tag for each parcel of an order that is complete, or that was sent incomplete with what is owed.

    Raises Refusal for one that is neither, and where nothing is packed.
    """
    found = _not_cancelled(pack.packing_list(shop, number))
    if found.state != "sent" and not found.is_complete:
        more = f" (and {len(found.owed) - 1} more)" if len(found.owed) > 1 else ""
        raise Refusal(
            f"Order {found.order} is not complete, so it has no kit tags yet: {found.owed[0]}{more} "
            "Pack it, or send it incomplete with a reason.",
            faults=found.owed[1:],
        )
    if not found.parcels:
        raise Refusal(f"Nothing of order {found.order} is packed, so there is no parcel to tag.")
    owed = (*found.owed, *found.customers_parts) if found.state == "sent" else ()
    return [
        KitTag(
            code=parcel.tag,
            title=_several(one.kit.partition(" / ")[0] for one in _packed_in(found, parcel)) or parcel.what,
            order=found.order,
            customer=found.customer,
            car=_several(one.car for one in _packed_in(found, parcel)),
            contents=f"{_which(found, parcel)}: {_pieces(len(parcel.pieces))}",
            wanted=found.wanted.isoformat() if found.wanted else "",
            delivery=delivery(found.fitted_here),
            owed=_owed_words(owed),
        )
        for parcel in found.parcels
    ]


def bundle_tags(shop: Shop, number: str) -> list[BundleTag]:
    """A tag for each bundle of an order. Raises Refusal where none is tied."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        tied = bundles.bundles_of(tx, order.id)
        known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
        book = book_of(shop, tx, order.book_id)
    if not tied:
        raise Refusal(f"Order {order.number} has no bundles to tag. Cut its panels, then tie them.")
    line_of = {line.number: line for line in order.lines}
    return [
        BundleTag(
            code=one.tag,
            kit=kit_words(book, one.path) + (f", number {one.copy}" if line_of[one.line].request.quantity > 1 else ""),
            order=order.number,
            customer=order.customer,
            car=known[line_of[one.line].car_id].key,
            contents=_pieces(one.pieces),
            wanted=order.wanted.isoformat() if order.wanted else "",
        )
        for one in tied
    ]


def _owed_words(owed: Sequence[str]) -> str:
    """What is owed as a small label has room for it: how many, the first of them, and where the others are named."""
    if not owed:
        return ""
    names = [sentence.partition(": ")[0].removesuffix(".") for sentence in owed[:_MOST_NAMED]]
    more = [f"and {len(owed) - _MOST_NAMED} more"] if len(owed) > _MOST_NAMED else []
    return f"{len(owed)}: {'; '.join([*names, *more])}. See the packing list."


def _not_cancelled(found: PackingList) -> PackingList:
    if found.state == "cancelled":
        raise Refusal(f"Order {found.order} is cancelled: nothing of it is packed or sent.")
    return found


def _packed_in(found: PackingList, parcel: PackParcel) -> Sequence[PackPiece]:
    return [one for one in found.pieces if one.parcel == parcel.number]


Minded = tuple[tuple[int, str, str], ...]
"""Line, code of the piece ('' for what goes into a packet of hardware), and what is to be minded in the post."""


def _minded(catalogue: Catalogue, requirements: Sequence[KeptRequirement]) -> Minded:
    found = []
    for one in requirements:
        item = catalogue.items[one.requirement.item]
        if item.posting and one.needed:
            piece = "" if one.requirement.need == "count" else one.requirement.key.piece
            found.append((one.requirement.key.line, piece, f"{item.title}: {item.posting} {_POST_RULES}"))
    return tuple(dict.fromkeys(found))


def _parcel(found: PackingList, parcel: PackParcel, minded: Minded) -> PackedParcel:
    which = _which(found, parcel)
    inside = {(one.line, one.piece) for one in _packed_in(found, parcel)}
    return PackedParcel(
        parcel.tag,
        f"{which[0].upper()}{which[1:]}",
        tuple(
            PackedPiece(one.tag, one.title, one.piece, one.hand, f"{one.kit}, {one.car}")
            for one in _packed_in(found, parcel)
        ),
        tuple(dict.fromkeys(words for line, piece, words in minded if (line, piece) in inside)),
    )


def _which(found: PackingList, parcel: PackParcel) -> str:
    """'parcel 1 of 2, box'. Numbers may have gaps: a parcel that stayed empty is done away with."""
    nth = [one.number for one in found.parcels].index(parcel.number) + 1
    return f"parcel {nth} of {len(found.parcels)}, {parcel.what}"


def _several(words: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(words))


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
