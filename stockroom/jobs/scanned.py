"""What was scanned, for jobs that want a piece, a bundle, a place or stock, and refuse everything else in words."""

from __future__ import annotations

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.figures import read_figure
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS, Tag, is_tag
from stockroom.domain.wording import unknown
from stockroom.jobs.read_order import said_in_a_line
from stockroom.store import bundles, finished, moving, packing, promises, tagged, taking
from stockroom.store.bundles import KeptBundle
from stockroom.store.database import Tx
from stockroom.store.packing import Owner
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.taking import Found


def piece_scanned(tx: Tx, tag: str) -> Owner:
    """The piece that a tag names, of whatever order; the tag of the finished thing that it is will do.

    Raises Refusal for a mistyped tag and for anything else.
    """
    read = scanned_tag(tx, tag)
    if read.kind != "P":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a piece.")
    found = packing.owner_of_piece(tx, finished.piece_from_stock(tx, str(read)) or str(read))
    if found is None:
        raise Refusal(f"No piece in this shop has the tag {read}. It is well formed, so it may be from another shop.")
    return found


def bundle_scanned(tx: Tx, tag: str) -> KeptBundle:
    """The bundle that a tag names. Raises Refusal for a mistyped tag and for anything else."""
    read = scanned_tag(tx, tag)
    if read.kind != "T":
        raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a bundle.")
    found = bundles.bundle_by_tag(tx, str(read))
    if found is None:
        raise Refusal(f"No bundle in this shop has the tag {read}. It is well formed, so it may be from another shop.")
    return found


def place_scanned(tx: Tx, text: str) -> str:
    """The code of the place that was scanned or typed, in capitals or not. Raises Refusal where there is none."""
    typed = text.strip()
    known = tagged.places(tx)
    codes = {code for _, code, _ in known}
    if typed in codes:
        return typed
    by_tag = {tag: code for tag, code, _ in known}
    if is_tag(typed):
        read = scanned_tag(tx, typed)
        if str(read) in by_tag:
            return by_tag[str(read)]
        if read.kind != "L":
            raise Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a place, or type its code.")
    alike = [code for code in codes if code.casefold() == typed.casefold()]
    if len(alike) == 1:
        return alike[0]
    raise Refusal(unknown("place", typed, codes))


def stock_scanned(tx: Tx, *tags: str) -> list[Found]:
    """The rolls, reels, remnants, bins and finished things of these tags, in quarantine or not, held or gone.

    They are locked, with the orders that hold something of them and with everything of the same items. Raises Refusal
    for a mistyped tag and for anything that is no stock.
    """
    read = [scanned_tag(tx, tag) for tag in tags]
    ids = [moving.holding_of(tx, str(one)) for one in read]
    for one, id_ in zip(read, ids, strict=True):
        if id_ is None:
            raise not_in_stock(one)
    promises.lock_with_orders(tx, [id_ for id_ in ids if id_ is not None])
    found = [taking.found_by_tag(tx, str(one)) for one in read]
    return [one for one in found if one is not None]


def not_in_stock(read: Tag) -> Refusal:
    """Why nothing in stock has this tag."""
    if read.kind not in "RB":
        return Refusal(f"{read} is the tag of a {KINDS[read.kind]}. Scan the tag of a roll, a reel or a bin.")
    return Refusal(
        f"No {KINDS[read.kind]} in this shop has the tag {read}. It is well formed, so it may be from another shop."
    )


def figure_of(found: Found, text: str) -> int:
    """What was typed of a thing in stock: mm of what is on a roll, a count of the rest. Raises Refusal otherwise."""
    return read_figure(text, by_length=found.item_kind in BY_LENGTH, name=f"{found.tag} ({found.title})")


def reason_said(because: str, what: str) -> str:
    """The reason for what is done. Raises Refusal where there is none, or it is not of one line."""
    said_in_a_line(reason=because)
    if not because.strip():
        raise Refusal(f"Say why: {what}.")
    return because.strip()
