"""The tables of a catalogue, row by row: colours, cloths, items and their groups, places, stages, suppliers, terms."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, cast, get_args

from stockroom.domain.catalogue import (
    BY_LENGTH,
    Cloth,
    Colour,
    Item,
    ItemGroup,
    ItemKind,
    Place,
    Plan,
    PriceBreak,
    Stage,
    Supplier,
    TargetOf,
    Terms,
)
from stockroom.domain.quantities import money_minor, need_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted, unknown
from stockroom.files.cells import Border, Cells
from stockroom.files.tables import Columns, Row

READING = ("L", "a", "b", "illuminant", "observer")
COLOURS = Columns(("code", "name"), READING)
CLOTHS = Columns(
    ("code", "title", "kind", "width"),
    (
        "fibre",
        "grain",
        "mass_g_m2",
        "nap",
        "shortest_useful",
        "colour_tolerance",
        "hazards",
        "substitutes",
        "discontinued",
        "margin",
    ),
)
ITEMS = Columns(
    ("code", "kind"),
    (
        "title",
        "cloth",
        "colour",
        "mass_g",
        "group",
        "least",
        "most",
        "hazards",
        "storage",
        "made_here",
        "posting",
        "planned_by",
        "make_days",
        "batch",
        "substitutes",
        "discontinued",
    ),
)
GROUPS = Columns(("code",), ("planned_by", "target_of", "target"))
PLACES = Columns(("code", "title", "walk"), ("tag",))
STAGES = Columns(("code", "title", "turn"))
SUPPLIERS = Columns(("code", "name", "lead_days"), ("currency", "carriage_paid"))
TERMS = Columns(
    ("supplier", "item"), ("lead_days", "least_quantity", "multiple", "price", "breaks", "preferred", "roll")
)

_USUAL_TOLERANCE = 1.0
"""ΔE00 that still matches where a cloth's table does not say."""


def colour(row: Row, border: Border) -> Colour:
    """One row of colours."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("colour", (code,), row)
    return Colour(code, cells.named("name"), cells.reading())


def cloth(row: Row, border: Border) -> Cloth:
    """One row of cloths. Substitutes are looked up later, by `missing_substitutes`."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("cloth", (code,), row)
    return Cloth(
        code=code,
        title=cells.named("title"),
        kind=cast(ItemKind, cells.one_of("kind", ("cloth", "narrow"))),
        fibre=cells.text("fibre"),
        grain=cells.text("grain"),
        width_mm=cells.stock_mm("width"),
        mass_g_m2=cells.mass_per_area("mass_g_m2"),
        nap=cells.yes_no("nap", otherwise=False),
        shortest_useful_mm=cells.need_mm("shortest_useful", least=0) if cells.given("shortest_useful") else 0,
        colour_tolerance=(
            cells.decimal("colour_tolerance", 0, 100) if cells.given("colour_tolerance") else _USUAL_TOLERANCE
        ),
        hazards=cells.text("hazards"),
        substitutes=_codes(cells, "substitutes"),
        discontinued=cells.yes_no("discontinued", otherwise=False),
        margin_mm=cells.need_mm("margin", least=0) if cells.given("margin") else 0,
    )


def _codes(cells: Cells, column: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cells.text(column).split(";") if part.strip())


def missing_substitutes(one: Cloth | Item, row: Row, border: Border) -> None:
    """Names the substitutes of a cloth, or of an item, that do not exist, once every one is known."""
    cells = Cells(row, border)
    known: Mapping[str, Cloth | Item] = border.known.cloths if isinstance(one, Cloth) else border.known.items
    for code in one.substitutes:
        if code == one.code:
            cells.fault("substitutes", f"{quoted(code)} cannot stand in for itself.")
        elif code not in known:
            cells.fault("substitutes", unknown("cloth" if isinstance(one, Cloth) else "item", code, known))
        elif one.kind in get_args(ItemKind) and known[code].kind != one.kind:
            cells.fault("substitutes", f"{quoted(code)} is {known[code].kind}, and cannot stand in for {one.kind}.")


def item(row: Row, border: Border) -> Item:
    """One row of items. Cloths and colours must be known by now; substitutes are looked up later."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("item", (code,), row)
    kind = cast(ItemKind, cells.one_of("kind", get_args(ItemKind)))
    of_cloth = _cloth_of(cells, code, kind, border)
    of_colour = _colour_of(cells, code, kind, border)
    bare = Item(code=code, title="", kind=kind)
    least = cells.need_of("least", bare, least=0) if cells.given("least") else None
    most = cells.need_of("most", bare, least=0) if cells.given("most") else None
    if least is not None and most is not None and most < least:
        cells.fault("most", f"{quoted(row.cells['most'])} was found, which is below the least ({row.cells['least']}).")
    title = cells.text("title")
    if not title and of_cloth and of_colour:
        title = f"{of_cloth.title}, {of_colour.name}"
    elif not title and kind not in BY_LENGTH:
        cells.fault("title", "nothing is written there; a title was expected.")
    return Item(
        code=code,
        title=title,
        kind=kind,
        cloth=of_cloth.code if of_cloth else "",
        colour=of_colour.code if of_colour else "",
        mass_g=cells.whole("mass_g") if cells.given("mass_g") else 0,
        group=cells.text("group"),
        least=least,
        most=most,
        hazards=cells.text("hazards"),
        storage=cells.text("storage"),
        made_here=cells.yes_no("made_here", otherwise=False),
        posting=cells.text("posting"),
        planned_by=cast(Any, cells.one_of("planned_by", get_args(Plan))) if cells.given("planned_by") else "",
        make_days=cells.whole("make_days") if cells.given("make_days") else 0,
        batch=cells.whole("batch", least=1) if cells.given("batch") else 1,
        substitutes=_codes(cells, "substitutes"),
        discontinued=cells.yes_no("discontinued", otherwise=False),
    )


def group(row: Row, border: Border) -> ItemGroup:
    """One row of item groups: how the weekly run reckons their items, and what is promised of them."""
    cells = Cells(row, border)
    code = cells.named("code")
    border.once("group", (code,), row)
    usual = ItemGroup(code)
    return ItemGroup(
        code=code,
        planned_by=cast(Plan, cells.one_of("planned_by", get_args(Plan)))
        if cells.given("planned_by")
        else usual.planned_by,
        target_of=cast(TargetOf, cells.one_of("target_of", get_args(TargetOf)))
        if cells.given("target_of")
        else usual.target_of,
        target_permille=round(10 * cells.decimal("target", 50, 99.9))
        if cells.given("target")
        else usual.target_permille,
    )


def _cloth_of(cells: Cells, code: str, kind: ItemKind, border: Border) -> Cloth | None:
    if kind not in BY_LENGTH:
        if cells.given("cloth") and kind in get_args(ItemKind):
            cells.fault("cloth", f"an item of kind {kind} has no cloth; leave it empty.")
        return None
    found = cells.kept("cloth", "cloth", border.known.cloths)
    if found is not None and found.kind in BY_LENGTH and found.kind != kind:
        cells.fault("kind", f"{kind} was found, but {quoted(found.code)} is {found.kind}.")
    wanted = f"{cells.row.cells['cloth']}/{cells.row.cells['colour']}"
    if code != wanted:
        cells.fault("code", f"{quoted(code)} was found; {quoted(wanted)} was expected, its cloth and its colour.")
    return found


def _colour_of(cells: Cells, code: str, kind: ItemKind, border: Border) -> Colour | None:
    if kind not in BY_LENGTH and not cells.given("colour"):
        return None
    found = cells.kept("colour", "colour", border.known.colours)
    if kind not in BY_LENGTH and found is not None and not code.endswith(f"/{found.code}"):
        cells.fault("code", f"{quoted(code)} was found; a code ending in '/{found.code}' was expected, its colour.")
    return found


def place(row: Row, border: Border) -> Place:
    """One row of places."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("place", (code,), row)
    return Place(code, cells.named("title"), cells.whole("walk"), cells.tag("tag", "L"))


def stage(row: Row, border: Border) -> Stage:
    """One row of stages of the sewing room."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("stage", (code,), row)
    return Stage(code, cells.named("title"), cells.whole("turn"))


def supplier(row: Row, border: Border) -> Supplier:
    """One row of suppliers; the shop's own currency where none is said."""
    cells = Cells(row, border)
    code = cells.code("code")
    border.once("supplier", (code,), row)
    currency = row.cells["currency"].upper() or border.currency
    if not re.fullmatch(r"[A-Z]{3}", currency):
        cells.fault("currency", f"{quoted(row.cells['currency'])} was found; a code of three letters was expected.")
        currency = border.currency
    return Supplier(
        code, cells.named("name"), cells.whole("lead_days"), currency, cells.money("carriage_paid", currency)
    )


def terms(row: Row, border: Border) -> Terms:
    """One row of terms. Suppliers and items must be known by now."""
    cells = Cells(row, border)
    border.once("terms of", (row.cells["supplier"], row.cells["item"]), row)
    who = cells.kept("supplier", "supplier", border.known.suppliers)
    what = cells.kept("item", "item", border.known.items)
    preferred = cells.yes_no("preferred", otherwise=True)
    if preferred:
        border.once("preferred supplier of", (row.cells["item"],), row)
    return Terms(
        supplier=row.cells["supplier"],
        item=row.cells["item"],
        lead_days=cells.whole("lead_days") if cells.given("lead_days") else None,
        least_quantity=cells.need_of("least_quantity", what) if cells.given("least_quantity") else 1,
        multiple=cells.need_of("multiple", what) if cells.given("multiple") else 1,
        breaks=_breaks(cells, what, who.currency if who else border.currency),
        preferred=preferred,
        roll_mm=_roll_mm(cells, what),
    )


def _roll_mm(cells: Cells, what: Item | None) -> int | None:
    """Length of the whole rolls it comes in, where it does."""
    if not cells.given("roll"):
        return None
    if what is not None and what.kind not in BY_LENGTH:
        cells.fault("roll", f"{what.code} is counted, so it comes on no roll; leave it empty.")
        return None
    return cells.need_mm("roll", least=1)


def _breaks(cells: Cells, what: Item | None, currency: str) -> tuple[PriceBreak, ...]:
    """The price of one (or one metre), and from which quantities on it is another."""
    breaks = [PriceBreak(1, cells.money("price", currency))] if cells.given("price") else []
    for part in filter(None, (part.strip() for part in cells.row.cells["breaks"].split(";"))):
        quantity, colon, price = part.rpartition(":")
        if not colon:
            cells.fault("breaks", f"{quoted(part)} was found; a quantity and a price were expected, such as 100:0.12.")
            continue
        step = _break(cells, what, currency, quantity.strip(), price)
        if step is not None and breaks and step.from_quantity <= breaks[-1].from_quantity:
            cells.fault("breaks", f"{quoted(part)} does not come after the break before it; quantities must rise.")
        elif step is not None:
            breaks.append(step)
    return tuple(breaks)


def _break(cells: Cells, what: Item | None, currency: str, quantity: str, price: str) -> PriceBreak | None:
    by_length = what is not None and what.kind in BY_LENGTH
    if not by_length and not re.fullmatch(r"[0-9]{1,9}", quantity):
        if what is not None:
            cells.fault("breaks", f"{quoted(quantity)} was found; a whole number was expected before the colon.")
        return None
    try:
        return PriceBreak(need_mm(quantity) if by_length else int(quantity), money_minor(price, currency))
    except Refusal as refusal:
        cells.fault("breaks", refusal.sentence)
        return None
