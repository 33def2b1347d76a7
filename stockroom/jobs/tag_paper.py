"""Tags on paper: of an order's pieces, of rolls and bins, of places, of customers' parts."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from labels import (
    BinTag,
    KitTag,
    LowTag,
    PaperError,
    PartTag,
    PieceTag,
    PlaceTag,
    RollTag,
    SwatchTag,
    Tag,
    load_sheet,
    tags_pdf,
)
from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag, make_tag
from stockroom.domain.wording import quoted
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.jobs.printed import LIFT_LIMIT_G, LIFTING, RULES
from stockroom.jobs.show import holding_mass_g
from stockroom.jobs.swatches import swatch_scanned
from stockroom.jobs.ticket import kit_words
from stockroom.store import cars, customer_parts, orders, pieces, swatches, tagged
from stockroom.store.customer_parts import KeptPart
from stockroom.store.database import Shop
from stockroom.store.replaced_tags import scanned_tag
from stockroom.store.tagged import TaggedHolding

PIECE_SHEET = "a4-2x4-99x67"
STOCK_SHEET = "a4-3x7-63x38"


def piece_tags(shop: Shop, number: str) -> list[Tag]:
    """A tag for every piece of an order, in the order of fitting."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        made = pieces.pieces_of(tx, order.id)
        known = cars.cars_by_id(tx, [line.car_id for line in order.lines])
        book = book_of(shop, tx, order.book_id)
    if not made:
        raise Refusal(f"Order {order.number} has no pieces to tag yet: it waits for answers. Answer them first.")
    car_of = {line.number: known[line.car_id].key for line in order.lines}
    in_order = sorted(made, key=lambda one: (car_of[one.piece.line], one.piece.steps or (10**9,), one.id))
    return [
        PieceTag(
            code=one.tag,
            piece=one.piece.piece,
            title=one.piece.title,
            order=order.number,
            car=car_of[one.piece.line],
            kit=kit_words(book, one.piece.path),
            hand=one.piece.hand,
            steps=one.piece.steps,
            steps_total=one.piece.steps_in_all,
            holes_marked=_holes(one.piece.holes_left, "marked on the back"),
            holes_solid=_holes(one.piece.holes_left, "left solid"),
            change=" ".join(one.piece.changes),
            note=one.piece.note,
        )
        for one in in_order
    ]


def _holes(holes_left: Sequence[str], what: str) -> str:
    """The names of the holes about which that is done; the tag's own words say what it is."""
    return "; ".join(
        hole.removesuffix(f": {what}").removeprefix("hole ") for hole in holes_left if hole.endswith(f": {what}")
    )


def stock_tags(shop: Shop, tags: Sequence[str]) -> list[Tag]:
    """Tags of these rolls and bins; of every roll and bin where none are named."""
    with shop.read() as tx:
        found = {one.tag: one for one in tagged.holdings_by_tag(tx, tags)}
    missing = [tag for tag in tags if tag not in found]
    if missing:
        raise Refusal(f"There is no roll or bin with the tag {missing[0]} in this shop.")
    return [_stock_tag(found[tag]) for tag in (tags or found)]


def low_tags(shop: Shop, which: Sequence[str] = ()) -> list[Tag]:
    """The low-stock tags of consumables, by their bins' tags or their codes; of every consumable where none is named.

    They carry the code of the bin. Raises Refusal for what is no consumable that has a bin here.
    """
    with shop.read() as tx:
        items = catalogue_of(shop, tx).items
        bins = [one for one in tagged.holdings_by_tag(tx, []) if one.item_kind == "consumable" and one.kind == "bin"]
        wanted = [str(scanned_tag(tx, one)) if is_tag(one) else one.strip().casefold() for one in which]
    for name in wanted:
        if not any(name in (one.tag, one.item.casefold()) for one in bins):
            raise Refusal(f"{quoted(name)} is no consumable with a bin in this shop. Name its bin's tag or its code.")
    if not bins:
        raise Refusal("There is no consumable with a bin in this shop, so there is no low-stock tag to print.")
    return [
        _low_tag(one, items[one.item].least)
        for one in bins
        if not wanted or one.tag in wanted or one.item.casefold() in wanted
    ]


def _low_tag(held: TaggedHolding, least: int | None) -> Tag:
    return LowTag(
        code=held.tag,
        title=held.title,
        when=f"Scan this when {least} are left." if least and least > 1 else "Scan this when you open the last one.",
        item=held.item,
        place=held.place,
        hazards=held.hazards,
        storage=held.storage,
        rules=RULES if held.hazards or held.storage else "",
    )


def place_tags(shop: Shop) -> list[Tag]:
    """A tag for every place, in walking order."""
    with shop.read() as tx:
        return [PlaceTag(code=tag, title=title, note=code) for tag, code, title in tagged.places(tx)]


def part_tags(shop: Shop, number: str) -> list[Tag]:
    """A tag for each customer's part of an order that is still here. Raises Refusal where there is none."""
    with shop.read() as tx:
        order = orders.order_by(tx, number)
        here = [part_tag(one) for one in customer_parts.parts_of(tx, order.id) if one.given_back_at is None]
    if not here:
        raise Refusal(f"No part of the customer's is here for order {order.number}, so there is none to tag.")
    return here


def part_tag(part: KeptPart) -> Tag:
    """The tag of a customer's part."""
    return PartTag(
        code=part.tag,
        what=part.what,
        order=part.order,
        customer=part.customer,
        car=part.car,
        received=f"{part.received_at:%Y-%m-%d} ({part.received_by})",
    )


def swatch_tags(shop: Shop, tags: Sequence[str] = ()) -> list[Tag]:
    """Tags of these swatches; of every one that lies here where none is named. Raises Refusal where there is none."""
    with shop.read() as tx:
        found = [swatch_scanned(tx, tag) for tag in tags] if tags else swatches.swatches_lying(tx)
    if not found:
        raise Refusal("No swatch lies here yet. Cut one: stockroom swatch cut ROLL LENGTH PLACE")
    return [
        SwatchTag(
            code=one.tag,
            title=one.title,
            item=one.item,
            dye_lot=one.lot or "unknown",
            roll=one.roll,
            place=one.place,
            cut=f"{one.at:%Y-%m-%d} ({one.by})",
        )
        for one in found
    ]


def sheet_for(tags: Sequence[Tag]) -> str:
    """The labels on which such tags go where nobody says otherwise: those of pieces and kits have more to say."""
    return PIECE_SHEET if any(isinstance(tag, (PieceTag, KitTag)) for tag in tags) else STOCK_SHEET


def print_tags(tags: Sequence[Tag], sheet: str, start_at: int, copies: int) -> bytes:
    """The tags as PDF on a sheet, named or by the path of its TOML. Raises Refusal where they do not fit it."""
    try:
        return tags_pdf(tags, load_sheet(Path(sheet) if sheet.endswith(".toml") else sheet), start_at, copies)
    except PaperError as error:
        raise Refusal(str(error)) from error


def positions_of(sheet: str) -> int:
    """How many labels a sheet has, by its name or the path of its TOML; of a roll, 1. Raises Refusal for no sheet."""
    try:
        return load_sheet(Path(sheet) if sheet.endswith(".toml") else sheet).positions
    except PaperError as error:
        raise Refusal(str(error)) from error


def must_take_tags(sheet: str, start_at: int) -> None:
    """Raises Refusal where there is no such sheet, or no such position on it: before a job that prints on it."""
    print_tags([PlaceTag(code=make_tag("L", 1), title="", note="")], sheet, start_at, 1)


def _stock_tag(held: TaggedHolding) -> Tag:
    if held.kind == "made":
        return KitTag(code=held.tag, title=held.title, contents=f"finished, kept for stock in {held.place}")
    if held.item_kind == "kit":
        return KitTag(code=held.tag, title=held.title, contents=f"kept for stock in {held.place}: {held.held}")
    if held.kind == "bin":
        return BinTag(
            code=held.tag,
            title=held.title,
            item=held.item,
            holds=held.item_kind,
            place=held.place,
            colour=held.colour,
            note=held.hazards,
            expires=held.expires.isoformat() if held.expires else "",
        )
    mass = holding_mass_g(held)
    length = show_length(held.held) if held.item_kind in BY_LENGTH else str(held.held)
    return RollTag(
        code=held.tag,
        title=held.title,
        item=held.item,
        colour=held.colour,
        dye_lot=held.lot,
        length=f"{length}, {'measured' if held.measured else 'supplier’s word'}",
        width=show_length(held.width_mm),
        place=held.place,
        received=held.received_on.isoformat() if held.received_on else "",
        mass=f"{mass / 1000:.1f} kg" if mass else "",
        lifting_caution=LIFTING if mass >= LIFT_LIMIT_G else "",
        quarantine=held.quarantined_because,
    )
