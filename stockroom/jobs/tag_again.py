"""Any tag again, whatever it is on: a label got lost, or something new has just got its tag."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from labels import Tag
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS
from stockroom.jobs.packing_paper import bundle_tags, kit_tags
from stockroom.jobs.parts import part_scanned
from stockroom.jobs.scanned import bundle_scanned, piece_scanned
from stockroom.jobs.tag_paper import part_tag, piece_tags, place_tags, stock_tags, swatch_tags
from stockroom.store import packing
from stockroom.store.database import Shop
from stockroom.store.replaced_tags import scanned_tag

_ELSEWHERE = {
    "O": "the code of an order, which stands on its pick list: print that.",
    "C": "the code of a car, which stands on its fitting sheet: print that.",
}
"""Kind letters of what has no tag of its own, and what to do."""


def tags_of(shop: Shop, tags: Sequence[str]) -> list[Tag]:
    """The tags of these codes, in that order.

    Raises Refusal for a mistyped code, for what is not in this shop, and for what has no tag of its own.
    """
    made: list[Tag] = []
    with shop.read() as tx:
        wanted = [scanned_tag(tx, text) for text in tags]
    for read in wanted:
        if read.kind in _ELSEWHERE:
            raise Refusal(f"{read} is {_ELSEWHERE[read.kind]}")
        made.append(_MADE_BY[read.kind](shop, str(read)))
    return made


def _piece(shop: Shop, tag: str) -> Tag:
    with shop.read() as tx:
        number = piece_scanned(tx, tag).order
    return _one_of(piece_tags(shop, number), tag)


def _bundle(shop: Shop, tag: str) -> Tag:
    with shop.read() as tx:
        number = bundle_scanned(tx, tag).order
    return _one_of(bundle_tags(shop, number), tag)


def _kit(shop: Shop, tag: str) -> Tag:
    """A kit's tag is on a parcel of an order, or on a kit that is kept for stock."""
    with shop.read() as tx:
        number = packing.order_of_parcel(tx, tag)
    return _one_of(stock_tags(shop, [tag]) if number is None else kit_tags(shop, number), tag)


def _part(shop: Shop, tag: str) -> Tag:
    with shop.read() as tx:
        return part_tag(part_scanned(tx, tag))


def _swatch(shop: Shop, tag: str) -> Tag:
    return _one_of(swatch_tags(shop, [tag]), tag)


def _stock(shop: Shop, tag: str) -> Tag:
    return _one_of(stock_tags(shop, [tag]), tag)


def _place(shop: Shop, tag: str) -> Tag:
    return _one_of(place_tags(shop), tag)


def _one_of(tags: Sequence[Tag], code: str) -> Tag:
    found = next((tag for tag in tags if tag.code == code), None)
    if found is None:
        raise Refusal(f"There is no {KINDS[code[0]]} with the tag {code} in this shop.")
    return found


_MADE_BY: dict[str, Callable[[Shop, str], Tag]] = {
    "R": _stock,
    "B": _stock,
    "K": _kit,
    "P": _piece,
    "T": _bundle,
    "L": _place,
    "G": _part,
    "S": _swatch,
}
