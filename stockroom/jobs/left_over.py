"""What lies about of an order that was cancelled: pieces to keep or to scrap, and what was picked and can be put back.

Nothing that was taken is lost from sight: it is told until every bit of it is kept, scrapped or put back.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.jobs.ready import key_of, made_of
from stockroom.jobs.share import Share, amounts_of, gone_with, shares_left
from stockroom.store import bundles, finished, ledger, orders, pieces, taking
from stockroom.store.database import Shop, Tx
from stockroom.store.finished import KeptFinished
from stockroom.store.orders import KeptOrder
from stockroom.store.packing import Owner
from stockroom.store.pieces import KeptPiece


@dataclass(frozen=True, slots=True)
class LyingAbout:
    """What of a cancelled order is still to be put away."""

    order: str
    pieces: tuple[tuple[str, str], ...]
    """Tag and title of each piece that is cut or made, in whole or in part: to be kept or scrapped."""
    picked: tuple[tuple[str, str], ...]
    """Tag of a reel, bin or finished thing, and what was taken from it and is not in a kept piece, with its place."""

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is to be done, one sentence each."""
        return (
            *(f"{title} ({tag}) is begun or made: keep it as stock, or scrap it." for tag, title in self.pieces),
            *(f"{what}: put it back, unless it stays in a piece that is kept." for _, what in self.picked),
        )


@dataclass(frozen=True, slots=True)
class ToPutAway:
    """One thing of an order that is cancelled, or for stock, and what is done with it."""

    tag: str
    """Of a bundle or a piece; of what it was taken from, where it is put back there; the order's number of a kit."""
    what: str
    """What it is, in words."""
    how: Literal["keep", "put back"]
    line: int = 0
    """Of a whole kit that is not tied: the order line it is of; else 0."""
    nth: int = 0
    """Which of that line's kits, from 1."""


def would_lie_about(shop: Shop, number: str) -> LyingAbout:
    """What of an order in hand would still be to be put away if it were cancelled. Raises Refusal for any other."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        if order.state != "open":
            raise Refusal(f"Order {order.number} is {order.state}: it can no longer be cancelled.")
        return lying_about(shop, tx, replace(order, state="cancelled"))


def to_put_away(shop: Shop, tx: Tx, order: KeptOrder) -> tuple[ToPutAway, ...]:
    """What is kept or put back of an order that is cancelled or for stock: kits, pieces, then what was picked."""
    for_stock = order.for_stock and order.state == "open"
    if order.state != "cancelled" and not for_stock:
        return ()
    lying = lying_about(shop, tx, order)
    became = finished.became_of(tx, order.id)
    made = pieces.pieces_of(tx, order.id)
    own = [one for one in made if one.id not in became]
    some = [(one.tag, one.piece.title) for one in own if one.piece.piece] if for_stock else lying.pieces
    left = {bundle for piece, bundle in bundles.bundled_of(tx, order.id).items() if piece not in became}
    tied = [one for one in bundles.bundles_of(tx, order.id) if one.id in left]
    kits = book_of(shop, tx, order.book_id).kits
    untied = _untied_kits(tx, order, made, {(one.line, one.path, one.copy) for one in tied})
    return (
        *(ToPutAway(one.tag, f"{kits[one.path.rsplit('/', 1)[-1]].title}, the whole kit", "keep") for one in tied),
        *untied,
        *(ToPutAway(tag, title, "keep") for tag, title in some),
        *(ToPutAway(tag, words, "put back") for tag, words in lying.picked),
    )


def _untied_kits(
    tx: Tx, order: KeptOrder, made: list[KeptPiece], tied: set[tuple[int, str, int]]
) -> Iterator[ToPutAway]:
    """The kits of several pieces, none of which is gone, that no bundle holds together; of one cancelled, all cut."""
    shares = shares_of_order(tx, order, made)
    for line in order.lines:
        in_all = of_kit(made, line.number, line.request.kit, line.request.quantity)
        for nth, some in in_all.items():
            whole = len(some) > 1 and all(one.id in shares for one in some)
            cut = whole and all(share.is_cut for one in some for share in shares[one.id])
            there = cut and any(share.there for one in some for share in shares[one.id])
            if whole and (there or order.state == "open") and (line.number, line.request.kit, nth) not in tied:
                which = f" (line {line.number}, {nth} of {line.request.quantity})" if len(in_all) > 1 else ""
                yield ToPutAway(order.number, f"{line.title}{which}, the whole kit", "keep", line.number, nth)


def of_kit(made: Sequence[KeptPiece], line: int, path: str, quantity: int) -> dict[int, tuple[KeptPiece, ...]]:
    """The pieces of each kit of one order line, by its turn from 1; `path` may lead to a kit within the line's."""
    mine = [
        one
        for one in made
        if one.piece.line == line and (one.piece.path == path or one.piece.path.startswith(f"{path}/"))
    ]
    copies = Counter(map(key_of, mine))
    found: defaultdict[int, list[KeptPiece]] = defaultdict(list)
    for one in mine:
        found[(one.piece.copy - 1) // max(1, copies[key_of(one)] // quantity) + 1].append(one)
    return {nth: tuple(some) for nth, some in sorted(found.items())}


def left_over(shop: Shop) -> tuple[tuple[KeptFinished, ...], tuple[LyingAbout, ...]]:
    """The finished things that are stock, and what of cancelled orders is still to be put away."""
    with shop.read() as tx:
        return tuple(finished.finished_there(tx)), all_lying_about(shop, tx)


def all_lying_about(shop: Shop, tx: Tx) -> tuple[LyingAbout, ...]:
    """What lies about of every cancelled order, the oldest first."""
    found = (lying_about(shop, tx, orders.order_by(tx, number)) for number in finished.cancelled_begun(tx))
    return tuple(one for one in found if one.sentences)


def lying_about(shop: Shop, tx: Tx, order: KeptOrder) -> LyingAbout:
    """What of an order that is cancelled is still to be kept, scrapped or put back; nothing of any other order."""
    if order.state != "cancelled":
        return LyingAbout(order.number, (), ())
    made = pieces.pieces_of(tx, order.id)
    shares = shares_of_order(tx, order, made)
    begun = tuple((one.tag, one.piece.title) for one in made if one.id in shares and _must_stay(shares[one.id]))
    return LyingAbout(order.number, begun, (*_picked(shop, tx, order), *_fetched(tx, order)))


def shares_of_order(tx: Tx, order: KeptOrder, made: list[KeptPiece]) -> dict[int, list[Share]]:
    """Piece id → what is in it, for the pieces that were not kept, scrapped, or to come from stock."""
    stocked = finished.from_stock_of(tx, order.id)
    own = [one for one in made if one.id not in stocked]
    return shares_left(made_of(tx, order, made), own, finished.became_of(tx, order.id))


def _must_stay(shares: list[Share]) -> bool:
    """Whether something of a piece was cut, so that not all of it can be put back."""
    return any(
        (share.there and share.requirement.requirement.need == "panel")
        or any(one != share.requirement.id for one in share.amounts)
        for share in shares
    )  # fmt: skip


def _picked(shop: Shop, tx: Tx, order: KeptOrder) -> list[tuple[str, str]]:
    items = catalogue_of(shop, tx).items
    places = taking.places_of_picks(tx, order.id)
    by_tag: Counter[tuple[str, str]] = Counter()
    for one, back in to_put_back(tx, order):
        by_tag[one.tag, one.item] += back
    return [
        (tag, f"{show_amount(items[item].kind, amount)} of {items[item].title} from {tag}{_in(places.get(tag, ''))}")
        for (tag, item), amount in by_tag.items()
        if amount
    ]


def to_put_back(tx: Tx, order: KeptOrder) -> list[tuple[taking.Taken, int]]:
    """Every pick of an order, and how much of it did not go with a piece that was kept or scrapped."""
    picks = taking.picks_of(tx, order.id)
    gone = gone_with(finished.became_of(tx, order.id).values())
    found = []
    for one in picks:
        stays = min(one.quantity, gone[one.requirement_id])
        gone[one.requirement_id] -= stays
        found.append((one, one.quantity - stays))
    return found


def _fetched(tx: Tx, order: KeptOrder) -> list[tuple[str, str]]:
    fetched = {one.tag: one for one in finished.from_stock_of(tx, order.id).values() if one.movement_id is not None}
    return [(tag, f"{one.title} ({tag}) of the stock{_in(one.place)}") for tag, one in fetched.items()]


def _in(place: str) -> str:
    return f", which lies in {place}" if place else ""


def scrap_piece(shop: Shop, tx: Tx, piece: Owner, because: str, stamp: Stamp) -> str:
    """A piece of a cancelled order goes to the scrap bin; gives the sentence that says so, and what still lies about.

    What was taken for it was booked out then, so that nothing of the stock moves. Raises Refusal for a piece of an
    order in hand: a panel of it is spoilt, or the order is cancelled first.
    """
    order = orders.order_to_change(tx, piece.order)
    if order.state != "cancelled":
        raise Refusal(
            f"{piece.title} ({piece.tag}) is of order {order.number}, which is {order.state}. Only what is left "
            "over is scrapped; a panel that was spoilt is cut again: stockroom spoil."
        )
    refuse_what_became(tx, order, piece.piece_id, f"{piece.title} ({piece.tag})")
    amounts = amounts_of(shares_of_order(tx, order, pieces.pieces_of(tx, order.id)).get(piece.piece_id, ()))
    if not amounts:
        raise Refusal(f"Nothing was taken for {piece.title} ({piece.tag}), so there is nothing to scrap.")
    job = ledger.begin_job(tx, f"scrap piece {piece.tag} of order {order.number}", stamp)
    ledger.keep_no_way_back(tx, job, "What is scrapped is gone.", "Make it again.", [f"order {order.id}"])
    finished.keep_became(tx, {piece.piece_id: amounts}, None, because, stamp)
    said = f"{piece.title} ({piece.tag}) was scrapped: {because.rstrip('.')}."
    orders.log_change(tx, order.id, job, said.rstrip("."), stamp)
    return " ".join((said, *lying_about(shop, tx, order).sentences))


def refuse_what_became(tx: Tx, order: KeptOrder, piece_id: int, name: str) -> None:
    """Raises Refusal for a piece that was kept or scrapped already, or that came from stock itself."""
    became = finished.became_of(tx, order.id).get(piece_id)
    if became is not None:
        done = f"kept for stock, as {became.tag}" if became.tag else "scrapped"
        raise Refusal(f"{name} was {done} already ({became.by}). Nothing is done again.")
    stocked = finished.from_stock_of(tx, order.id).get(piece_id)
    if stocked is not None:
        raise Refusal(
            f"{name} is {stocked.tag}, a finished thing of the stock. "
            f"Put that back: stockroom put-back {order.number} {stocked.tag}"
        )
