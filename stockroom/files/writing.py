"""A shop written in the very formats that are read: each table as CSV in UTF-8, and shop.toml.

Writing and reading again gives the same: lengths in metres to the mm, money to the minor unit, a text in one line.
"""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from stockroom.domain.about import About
from stockroom.domain.catalogue import (
    BY_LENGTH,
    Cloth,
    Colour,
    Flaw,
    Item,
    ItemGroup,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    PastMovement,
    Place,
    Reading,
    Stage,
    Supplier,
    Terms,
)
from stockroom.domain.quantities import show_length, show_money
from stockroom.files.folder import TABLES
from stockroom.files.tables import number_text

ROWS_IN_FILE = 100_000
"""A longer table goes on in another file."""
_LONGEST_TEXT = 300

Cell = str | int | bool | None


@dataclass(slots=True)
class Written:
    """The files of a shop, by name, and what of them is not quite as it was kept."""

    files: dict[str, bytes] = field(default_factory=dict)
    shortened: list[str] = field(default_factory=list)
    """Texts that no cell takes as they are: their beginnings."""


@dataclass(frozen=True, slots=True)
class _Book:
    """What the columns of every table ask about."""

    items: Mapping[str, Item]
    currency: str
    currencies: Mapping[str, str]
    """Supplier → its currency."""

    def amount(self, item: str, quantity: int) -> str:
        """So much of an item: a length, or a count."""
        return show_length(quantity) if self.items[item].kind in BY_LENGTH else str(quantity)


def shop_toml(about: About, last_tags: Mapping[str, int], last_number: int) -> bytes:
    """shop.toml. `last_tags`: the serials that are not to be given again, by kind letter."""
    lines = ["format = 1"]
    for key, value in (("name", about.name), ("time_zone", about.time_zone), ("currency", about.currency)):
        lines.append(f"{key} = {toml_text(value)}")
    if about.opening is not None:
        lines.append(f"opening = {about.opening.isoformat()}")
    lines.append(f"most_points = {about.most_points}")
    lines += [f"recount_length = {about.recount_length}", f"recount_count = {about.recount_count}"]
    lines.append(f'colour_factors = "{about.colour_factors}"')
    if about.order_cost_minor:
        lines.append(f'order_cost = "{show_money(about.order_cost_minor, about.currency).split(" ")[0]}"')
    if about.keeping_percent:
        lines.append(f"keeping_percent = {about.keeping_percent}")
    if last_tags:
        lines += ["", "# The last tag of each kind that was given: none up to it is given again."]
        lines.append(f"last_tags = {{ {', '.join(f'{kind} = {last}' for kind, last in last_tags.items())} }}")
    if last_number:
        lines.append(f"last_order = {last_number}")
    return ("\n".join(lines) + "\n").encode()


def toml_text(text: str) -> str:
    """A text as TOML writes it, in one line."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def write_tables(things: Mapping[str, Sequence[Any]], about: About, written: Written) -> None:
    """A CSV file for each table of `things` (by its name) that has rows; no row is lost where one is very long."""
    items = {one.code: one for one in things.get("items", ())}
    book = _Book(items, about.currency, {one.code: one.currency for one in things.get("suppliers", ())})
    for table, rows in things.items():
        cells = [_ROWS[table](one, book) for one in rows]
        parts = [cells[start : start + ROWS_IN_FILE] for start in range(0, len(cells), ROWS_IN_FILE)]
        for number, part in enumerate(parts, start=1):
            name = f"{table}.csv" if len(parts) == 1 else f"{table}-{number}.csv"
            written.files[name] = _csv(table, part, written)


def _csv(table: str, rows: Iterable[Mapping[str, Cell]], written: Written) -> bytes:
    columns = TABLES[table][0]
    names = (*columns.required, *columns.optional)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    for row in rows:
        unknown = set(row) - set(names)
        if unknown:
            raise ValueError(f"{table} has no column {unknown}")
        writer.writerow([_cell(row.get(name), written) for name in names])
    return text.getvalue().encode()


def _cell(value: Cell, written: Written) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str):
        return "" if value is None else str(value)
    plain = "".join(" " if unicodedata.category(mark) in ("Cc", "Cs", "Zl", "Zp") else mark for mark in value)
    plain = plain[:_LONGEST_TEXT].strip()
    if plain != value:
        written.shortened.append(value[:60])
    return plain


def _reading(reading: Reading | None) -> dict[str, Cell]:
    if reading is None:
        return {}
    return {
        "L": _decimal(reading.lightness),
        "a": _decimal(reading.a),
        "b": _decimal(reading.b),
        "illuminant": reading.illuminant,
        "observer": reading.observer,
    }


def _decimal(value: float) -> str:
    return number_text(round(value, 6) + 0.0)


def _day(day: date | None) -> str | None:
    return day.isoformat() if day is not None else None


def _money(minor: int, currency: str) -> str:
    return show_money(minor, currency).split(" ")[0] if minor else ""


def _colour(one: Colour, _: _Book) -> dict[str, Cell]:
    return {"code": one.code, "name": one.name, **_reading(one.master)}


def _cloth(one: Cloth, _: _Book) -> dict[str, Cell]:
    return {
        "code": one.code,
        "title": one.title,
        "kind": one.kind,
        "width": show_length(one.width_mm),
        "fibre": one.fibre,
        "grain": one.grain,
        "mass_g_m2": one.mass_g_m2 or None,
        "nap": one.nap,
        "shortest_useful": show_length(one.shortest_useful_mm),
        "colour_tolerance": _decimal(one.colour_tolerance),
        "hazards": one.hazards,
        "substitutes": "; ".join(one.substitutes),
        "discontinued": one.discontinued,
        "margin": show_length(one.margin_mm),
    }


def _item(one: Item, book: _Book) -> dict[str, Cell]:
    return {
        "code": one.code,
        "kind": one.kind,
        "title": one.title,
        "cloth": one.cloth,
        "colour": one.colour,
        "mass_g": one.mass_g or None,
        "group": one.group,
        "least": None if one.least is None else book.amount(one.code, one.least),
        "most": None if one.most is None else book.amount(one.code, one.most),
        "hazards": one.hazards,
        "storage": one.storage,
        "made_here": one.made_here,
        "posting": one.posting,
        "planned_by": one.planned_by,
        "make_days": one.make_days or None,
        "batch": one.batch if one.batch > 1 else None,
        "substitutes": "; ".join(one.substitutes),
        "discontinued": one.discontinued,
    }


def _group(one: ItemGroup, _: _Book) -> dict[str, Cell]:
    return {
        "code": one.code,
        "planned_by": one.planned_by,
        "target_of": one.target_of,
        "target": _decimal(one.target_permille / 10),
    }


def _place(one: Place, _: _Book) -> dict[str, Cell]:
    return {"code": one.code, "title": one.title, "walk": one.walk, "tag": one.tag}


def _stage(one: Stage, _: _Book) -> dict[str, Cell]:
    return {"code": one.code, "title": one.title, "turn": one.turn}


def _supplier(one: Supplier, _: _Book) -> dict[str, Cell]:
    return {
        "code": one.code,
        "name": one.name,
        "lead_days": one.lead_days,
        "currency": one.currency,
        "carriage_paid": _money(one.carriage_paid_minor, one.currency),
    }


def _terms(one: Terms, book: _Book) -> dict[str, Cell]:
    currency = book.currencies[one.supplier]
    # A price of nothing is a price, so it is written.
    prices = [(step.from_quantity, show_money(step.price_minor, currency).split(" ")[0]) for step in one.breaks]
    first = prices.pop(0)[1] if prices and prices[0][0] == 1 else None
    return {
        "supplier": one.supplier,
        "item": one.item,
        "lead_days": one.lead_days,
        "least_quantity": book.amount(one.item, one.least_quantity),
        "multiple": book.amount(one.item, one.multiple),
        "price": first,
        "breaks": "; ".join(f"{book.amount(one.item, quantity)}:{price}" for quantity, price in prices),
        "preferred": one.preferred,
        "roll": "" if one.roll_mm is None else show_length(one.roll_mm),
    }


def _roll(one: OpeningRoll, book: _Book) -> dict[str, Cell]:
    return {
        "label": one.label,
        "item": one.item,
        "length": show_length(one.length_mm),
        "place": one.place,
        "lot": one.lot,
        "width": show_length(one.width_mm),
        "measured": one.measured,
        "remnant": one.remnant,
        "value": _money(one.value_minor, book.currency),
        "flaws": "; ".join(_flaw(flaw) for flaw in one.flaws),
        **_reading(one.reading),
        "quarantined": one.quarantined,
        "received": _day(one.received),
        "expires": _day(one.expires),
        "tag": one.tag,
        "parent": one.parent,
    }


def _flaw(flaw: Flaw) -> str:
    return f"{flaw.from_mm} mm-{flaw.to_mm} mm {flaw.what.replace(';', ';;')}"


def _bin(one: OpeningBin, book: _Book) -> dict[str, Cell]:
    return {
        "item": one.item,
        "place": one.place,
        "count": one.count,
        "lot": one.lot,
        "value": _money(one.value_minor, book.currency),
        "quarantined": one.quarantined,
        "expires": _day(one.expires),
        "tag": one.tag,
    }


def _purchase(one: OpeningPurchase, book: _Book) -> dict[str, Cell]:
    return {
        "reference": one.reference,
        "supplier": one.supplier,
        "item": one.item,
        "quantity": book.amount(one.item, one.quantity),
        "ordered": _day(one.ordered),
        "due": _day(one.due),
        "received": book.amount(one.item, one.received),
        "price": _money(one.price_minor, book.currencies[one.supplier]),
        "closed": one.closed,
    }


def _past(one: PastMovement, book: _Book) -> dict[str, Cell]:
    return {
        "day": _day(one.day),
        "item": one.item,
        "kind": one.kind,
        "quantity": book.amount(one.item, one.quantity),
        "lot": one.lot,
        "note": one.note,
    }


_ROWS: dict[str, Callable[[Any, _Book], dict[str, Cell]]] = {
    "colours": _colour,
    "cloths": _cloth,
    "items": _item,
    "places": _place,
    "stages": _stage,
    "groups": _group,
    "suppliers": _supplier,
    "terms": _terms,
    "rolls": _roll,
    "bins": _bin,
    "purchases": _purchase,
    "history": _past,
}
