"""The tables of opening stock, row by row: rolls, bins, purchases, and the history before the opening."""

from __future__ import annotations

from datetime import date, timedelta
from typing import cast, get_args

from stockroom.domain.catalogue import (
    BY_LENGTH,
    Flaw,
    Item,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    PastKind,
    PastMovement,
)
from stockroom.domain.flaws import read_flaw
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import read_tag
from stockroom.domain.wording import quoted
from stockroom.files.catalogue import READING
from stockroom.files.cells import Border, Cells
from stockroom.files.tables import Columns, Row

ROLLS = Columns(
    ("label", "item", "length", "place"),
    (
        *("lot", "width", "measured", "remnant", "value", "flaws", *READING),
        *("quarantined", "received", "expires", "tag", "parent"),
    ),
)
BINS = Columns(("item", "place", "count"), ("lot", "value", "quarantined", "expires", "tag"))
PURCHASES = Columns(("reference", "supplier", "item", "quantity", "ordered", "due"), ("received", "price", "closed"))
HISTORY = Columns(("day", "item", "kind", "quantity"), ("lot", "note"))


def roll(row: Row, border: Border) -> OpeningRoll:
    """One row of rolls. Items, cloths and places must be known by now."""
    cells = Cells(row, border)
    tag = cells.tag("tag", "R")
    label = cells.text("label") if tag else cells.named("label")
    if label:
        border.once("roll", (label,), row)
    what = _stocked(cells, border, by_length=True)
    # A remnant that was never put anywhere has a tag to be found by.
    if not tag or cells.given("place"):
        cells.kept("place", "place", border.known.places)
    length_mm = cells.stock_mm("length", least=0 if tag else 1)
    value_minor = cells.money("value", border.currency)
    if value_minor and not length_mm:
        cells.fault("value", "a roll that is used up is worth nothing; leave it empty.")
    return OpeningRoll(
        label=label,
        item=row.cells["item"],
        lot=cells.text("lot"),
        length_mm=length_mm,
        width_mm=cells.stock_mm("width") if cells.given("width") else _nominal_width_mm(what, border),
        place=row.cells["place"],
        measured=cells.yes_no("measured", otherwise=False),
        remnant=cells.yes_no("remnant", otherwise=False),
        value_minor=value_minor,
        flaws=_flaws(cells, length_mm),
        reading=cells.reading(),
        quarantined=cells.text("quarantined"),
        received=cells.day("received", latest=border.opening) if cells.given("received") else None,
        expires=cells.day("expires") if cells.given("expires") else None,
        tag=tag,
        parent=_parent(cells, tag),
    )


def _parent(cells: Cells, tag: str) -> str:
    """The tag of the roll it was cut from. Whether there is one is seen when all are written down."""
    if not cells.given("parent"):
        return ""
    try:
        parent = str(read_tag(cells.row.cells["parent"]))
    except Refusal as refusal:
        cells.fault("parent", refusal.sentence)
        return ""
    if parent == tag:
        cells.fault("parent", f"{parent} cannot be cut from itself.")
    return parent


def bin_(row: Row, border: Border) -> OpeningBin:
    """One row of bins. Items and places must be known by now."""
    cells = Cells(row, border)
    quarantined = cells.text("quarantined")
    kept_apart = "in quarantine" if quarantined else ""
    border.once("bin of", (row.cells["item"], row.cells["place"], row.cells["lot"], kept_apart), row)
    what = _stocked(cells, border, by_length=False)
    cells.kept("place", "place", border.known.places)
    count, value_minor = cells.whole("count"), cells.money("value", border.currency)
    if value_minor and not count:
        cells.fault("value", "an empty bin is worth nothing; leave it empty.")
    return OpeningBin(
        row.cells["item"],
        cells.text("lot"),
        row.cells["place"],
        count,
        value_minor,
        quarantined,
        cells.day("expires") if cells.given("expires") else None,
        cells.tag("tag", "K" if what is not None and what.kind == "kit" else "B"),
    )


def purchase(row: Row, border: Border) -> OpeningPurchase:
    """One row of what is on order. Suppliers and items must be known by now."""
    cells = Cells(row, border)
    reference = cells.named("reference")
    border.once("purchase", (reference, row.cells["item"]), row)
    who = cells.kept("supplier", "supplier", border.known.suppliers)
    what = cells.kept("item", "item", border.known.items)
    ordered = cells.day("ordered")
    return OpeningPurchase(
        reference=reference,
        supplier=row.cells["supplier"],
        item=row.cells["item"],
        quantity=cells.stock_of("quantity", what),
        received=cells.stock_of("received", what, least=0) if cells.given("received") else 0,
        ordered=ordered,
        due=cells.day("due", earliest=ordered if cells.given("ordered") else date.min),
        price_minor=cells.money("price", who.currency if who else border.currency),
        closed=cells.text("closed"),
    )


def past_movement(row: Row, border: Border) -> PastMovement:
    """One row of history. Items must be known by now; every day lies before the opening."""
    cells = Cells(row, border)
    what = cells.kept("item", "item", border.known.items)
    return PastMovement(
        day=cells.day("day", latest=border.opening - timedelta(days=1)),
        item=row.cells["item"],
        kind=cast(PastKind, cells.one_of("kind", get_args(PastKind))),
        quantity=cells.stock_of("quantity", what),
        lot=cells.text("lot"),
        note=cells.text("note"),
    )


def _stocked(cells: Cells, border: Border, *, by_length: bool) -> Item | None:
    """The row's item, which must be stocked the way that the table is for."""
    what = cells.kept("item", "item", border.known.items)
    if what is not None and (what.kind in BY_LENGTH) != by_length:
        ways = ("by length, on rolls", "by count, in bins")
        is_, expected = ways if what.kind in BY_LENGTH else reversed(ways)
        cells.fault("item", f"{quoted(what.code)} is stocked {is_}; one stocked {expected} was expected.")
    return what


def _nominal_width_mm(what: Item | None, border: Border) -> int:
    of = border.known.cloths.get(what.cloth) if what is not None else None
    return of.width_mm if of is not None else 1


def _flaws(cells: Cells, length_mm: int) -> tuple[Flaw, ...]:
    """Flaws as they are written: '1200-1260 slub; 4 m-4.1 m stain', from the roll's inner end.

    A semicolon within the words of one is written twice.
    """
    flaws = []
    for part in _parts(cells.text("flaws")):
        try:
            flaws.append(read_flaw(part, length_mm))
        except Refusal as refusal:
            cells.fault("flaws", refusal.sentence)
    return tuple(flaws)


def _parts(text: str) -> list[str]:
    """What stands between the single semicolons.

    >>> _parts("1-2 slub; 3-4 stain;; wide;")
    ['1-2 slub', '3-4 stain; wide']
    """
    parts = (part.replace("\0", ";").strip() for part in text.replace(";;", "\0").split(";"))
    return [part for part in parts if part]
