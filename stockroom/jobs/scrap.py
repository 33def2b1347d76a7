"""Scrapping: goods that are no use any more leave the books, with a reason; whoever they were promised to is named."""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import read_tag
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.left_over import scrap_piece
from stockroom.jobs.replan import Replanned, make_room, promises_on, replan
from stockroom.jobs.scanned import figure_of, reason_said, stock_scanned
from stockroom.jobs.way_back import remember
from stockroom.store import ledger, packing, stock, taking
from stockroom.store.database import Shop
from stockroom.store.ledger import Entry


@dataclass(frozen=True, slots=True)
class Scrapped:
    """What went, and what is left."""

    tag: str
    title: str
    scrapped: int
    """mm or count."""
    left: int
    worth_minor: int
    """What it was worth, in minor units of the shop's money."""
    sentence: str
    promises: Replanned


def scrap(shop: Shop, tag: str, because: str, stamp: Stamp, amount: str = "") -> Scrapped:
    """A thing, or so much of it, is thrown away, for this reason. Of a roll, `amount` is what its outer end is.

    A piece of an order that was cancelled is scrapped by its own tag.

    Raises Refusal where nothing is said of why, and for more than there is.
    """
    reason = reason_said(because, "mildew, torn, rusted, past its day")
    with shop.write() as tx:
        piece = packing.owner_of_piece(tx, str(read_tag(tag)))
        if piece is not None:
            said = scrap_piece(shop, tx, piece, reason, stamp)
            return Scrapped(piece.tag, piece.title, 1, 0, 0, said, Replanned())
        (found,) = stock_scanned(tx, tag)
        quantity = figure_of(found, amount) if amount.strip() else found.held
        if not found.held:
            raise Refusal(f"{found.tag} ({found.title}) holds nothing by the books: there is nothing to scrap.")
        if not 0 < quantity <= found.held:
            raise Refusal(
                f"{show_amount(found.item_kind, quantity)} of {found.tag} ({found.title}) cannot be scrapped: it holds "
                f"{show_amount(found.item_kind, found.held)}."
            )
        left = found.held - quantity
        job = ledger.begin_job(tx, f"scrap of {found.tag}", stamp)
        before = promises_on(tx, found)
        room = make_room(tx, found, left)
        worth = stock.share_of_worth(tx, found.id, quantity)
        ledger.append(tx, job, stamp, [Entry(found.id, "scrapped", -quantity, -worth, reason)])
        if found.kind == "roll":
            taking.rewrite_flaws(tx, found.id, [(a, min(b, left), what) for a, b, what in found.flaws if a < left])
        said = f"{show_amount(found.item_kind, quantity)} of {found.title} ({found.tag}) is scrapped: {reason}. " + (
            f"{show_amount(found.item_kind, left)} is left." if left else "Nothing is left of it."
        )
        done = replan(shop, tx, room, stamp)
        remember(tx, job, before)
        return Scrapped(found.tag, found.title, quantity, left, worth, said, done)
