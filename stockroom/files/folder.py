"""A shop's own files, a whole folder or one of them, read together and checked against each other.

Names of files are data: they say what is in a file, and nothing is ever written where a file says. A link that leads
out of the folder is not followed.
"""

from __future__ import annotations

import re
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from stockroom.domain.about import About
from stockroom.domain.catalogue import (
    Cloth,
    Colour,
    Item,
    ItemGroup,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    PastMovement,
    Place,
    Stage,
    Supplier,
    Terms,
)
from stockroom.domain.kitbook import KitBook
from stockroom.domain.order import CarriedCar, CarriedOrder, OrderRequest
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, nearest, quoted
from stockroom.files import catalogue, shop_file, stock
from stockroom.files.cells import Border, Known
from stockroom.files.csv_table import csv_grid
from stockroom.files.faults import Faults
from stockroom.files.own_columns import TABLES as LISTS
from stockroom.files.own_columns import Told
from stockroom.files.own_text import own_csv
from stockroom.files.tables import Columns, Grid, Row, read_bytes, rows_under
from stockroom.files.toml_rows import toml_rows
from stockroom.files.toml_text import Document, decode, parse

COLUMNS_FILE = ".columns.toml"
"""End of the name of the file beside a shop's own list that keeps what its columns are."""
MOST_FILES = 5_000
BOOKS_FOLDER = "books"
"""Folder of a dump that has every row of the shop, which is for whoever reads a dump whole."""
CONTENTS = "contents.toml"
"""What it says of itself."""
READ_KINDS = (".toml", ".csv", ".tsv", ".xlsx")
_BOOK = re.compile(r"^[ \t]*\[[ \t]*book[ \t]*\]", re.MULTILINE)
_CARS = re.compile(r"^[ \t]*\[\[[ \t]*cars[ \t]*\]\]", re.MULTILINE)
_ORDER = re.compile(r"^[ \t]*(?:\[\[[ \t]*lines[ \t]*\]\]|customer[ \t]*=)", re.MULTILINE)

TABLES: dict[str, tuple[Columns, Callable[[Row, Border], Any]]] = {
    "colours": (catalogue.COLOURS, catalogue.colour),
    "cloths": (catalogue.CLOTHS, catalogue.cloth),
    "groups": (catalogue.GROUPS, catalogue.group),
    "items": (catalogue.ITEMS, catalogue.item),
    "places": (catalogue.PLACES, catalogue.place),
    "stages": (catalogue.STAGES, catalogue.stage),
    "suppliers": (catalogue.SUPPLIERS, catalogue.supplier),
    "terms": (catalogue.TERMS, catalogue.terms),
    "rolls": (stock.ROLLS, stock.roll),
    "bins": (stock.BINS, stock.bin_),
    "purchases": (stock.PURCHASES, stock.purchase),
    "history": (stock.HISTORY, stock.past_movement),
}
"""Table name → its columns and the reader of one row, in an order in which each finds what it names."""


@dataclass(frozen=True, slots=True)
class BookFile:
    """A kit book and the text it was read from."""

    name: str
    book: KitBook
    source: str


@dataclass(frozen=True, slots=True)
class OrderFile:
    """An order and the file it came in."""

    name: str
    request: OrderRequest
    carried: CarriedOrder | None = None
    """The marks it bears already."""


@dataclass(frozen=True, slots=True)
class ShopFiles:
    """Everything that the files say, each in the order of the files."""

    about: About
    """What the shop says of itself, its opening day settled."""
    colours: tuple[Colour, ...] = ()
    cloths: tuple[Cloth, ...] = ()
    groups: tuple[ItemGroup, ...] = ()
    items: tuple[Item, ...] = ()
    places: tuple[Place, ...] = ()
    stages: tuple[Stage, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
    terms: tuple[Terms, ...] = ()
    rolls: tuple[OpeningRoll, ...] = ()
    bins: tuple[OpeningBin, ...] = ()
    purchases: tuple[OpeningPurchase, ...] = ()
    history: tuple[PastMovement, ...] = ()
    books: tuple[BookFile, ...] = ()
    cars: tuple[CarriedCar, ...] = ()
    orders: tuple[OrderFile, ...] = ()
    notes: tuple[str, ...] = ()
    """Files that were left alone, a sentence each."""
    last_tags: Mapping[str, int] = field(default_factory=dict)
    """Kind letter → the last serial that was given where the files come from: none up to it is given again."""
    last_order: int = 0
    """How many order numbers were given where the files come from."""


@dataclass(slots=True)
class _Found:
    """What a folder holds, before any row is read."""

    about: Document | None = None
    has_about: bool = False
    """Whether there is a shop.toml, be it readable or not."""
    grids: list[tuple[str, Grid]] = field(default_factory=list)
    documents: list[Document] = field(default_factory=list)
    books: list[tuple[str, str]] = field(default_factory=list)
    """Name and text."""
    cars: list[tuple[str, str]] = field(default_factory=list)
    """Name and text."""
    orders: list[tuple[str, str]] = field(default_factory=list)
    """Name and text."""
    notes: list[str] = field(default_factory=list)
    told: Told | None = None
    """What a person said of the one file that is read; `None` for a folder, whose files have their proper names."""
    own: list[Grid] = field(default_factory=list)
    """Stock lists under columns of their own."""


def read_files(path: Path, known: Known, about: About | None, opening: date, told: Told | None = None) -> ShopFiles:
    """Reads a folder, or one file of it. `known` and `about` are what the shop keeps already; `known` is added to.

    One file that is named like no table is a shop's own stock list; `told` is what a person said of it.

    The opening day is the one the shop has, else the one that shop.toml says, else `opening`.
    Raises `Refusal` whose `faults` name every fault of every file.
    """
    faults = Faults()
    found = _Found(told=None if path.is_dir() else told or Told())
    for file, is_order in _files(path, found, faults):
        _sort(file, is_order, found, faults)
    _read_own_lists(found, known, faults)
    of_shop = shop_file.read_about(found.about, faults) if found.about is not None else about
    last = shop_file.read_last_given(found.about, faults) if found.about is not None else ({}, 0)
    if of_shop is None and not found.has_about:
        faults.add("The shop has no name, time zone and currency yet. Put a shop.toml beside the tables.")
    of_shop = of_shop or About("", "UTC", "GBP")
    settled = (about.opening if about else None) or of_shop.opening or opening
    border = Border(settled, of_shop.currency, known, faults)
    tables = _read_tables(found, border)
    books = tuple(_books(found, faults))
    cars = tuple(_cars(found, faults))
    orders = tuple(_orders(found, border))
    faults.refuse_any(literal(path.name) or "The folder")
    said = replace(of_shop, opening=of_shop.opening or settled)
    return ShopFiles(
        about=said,
        books=books,
        cars=cars,
        orders=orders,
        notes=tuple(found.notes),
        last_tags=last[0],
        last_order=last[1],
        **tables,
    )


def _files(path: Path, found: _Found, faults: Faults) -> Iterator[tuple[Path, bool]]:
    """The files to be read, in the order of their names, each with whether it lies among the orders."""
    try:
        kind = path.stat().st_mode
    except (OSError, ValueError):
        raise Refusal(f"There is no file or folder {quoted(str(path))}.") from None
    if not stat.S_ISDIR(kind):
        if path.suffix.casefold() not in READ_KINDS:
            raise Refusal(f"{quoted(path.name)} is no TOML, CSV or XLSX file, and no folder. Nothing was loaded.")
        yield path, False
        return
    for entry in _entries(path, path, faults):
        if not entry.is_dir():
            yield entry, False
        elif entry.name == "orders":
            yield from ((order, True) for order in _entries(entry, path, faults) if not order.is_dir())
        elif not (entry.name == BOOKS_FOLDER and (entry / CONTENTS).exists()):
            found.notes.append(f"{literal(entry.name)} is a folder; only a folder 'orders' is looked into.")


def _entries(folder: Path, root: Path, faults: Faults) -> list[Path]:
    """What lies in a folder, by name; without hidden files and without links that lead out of `root`."""
    try:
        entries = sorted(entry for entry in folder.iterdir() if not entry.name.startswith((".", "~$")))
    except OSError as fault:
        raise Refusal(f"{quoted(str(folder))} cannot be read: {fault.strerror or 'unknown fault'}.") from None
    entries = [entry for entry in entries if not entry.name.endswith(COLUMNS_FILE)]
    if len(entries) > MOST_FILES:
        raise Refusal(f"{quoted(str(folder))} holds {len(entries)} files, more than {MOST_FILES}. Is it the right one?")
    inside = []
    for entry in entries:
        try:
            is_inside = entry.resolve(strict=True).is_relative_to(root.resolve(strict=True))
        except (OSError, RuntimeError):
            is_inside = False
        if is_inside:
            inside.append(entry)
        else:
            faults.add(
                f"{literal(entry.name)} is a link that leads out of the folder or nowhere. Put the file itself there."
            )
    return inside


def _sort(file: Path, is_order: bool, found: _Found, faults: Faults) -> None:
    """Reads a file far enough to know what it is."""
    kind = file.suffix.casefold()
    if kind not in READ_KINDS:
        note = f"{literal(file.name)} is no TOML, CSV or XLSX file; it was left alone."
        found.notes.append(note)
        if kind in (".xls", ".ods", ".xlsm", ".txt"):
            faults.add(f"{literal(file.name)} cannot be read as a table. Save it as CSV or XLSX.")
        return
    found.has_about |= file.name.casefold() == "shop.toml"
    try:
        data = read_bytes(file)
        if kind == ".toml":
            _sort_toml(file, decode(data, file.name), is_order, found)
        elif is_order:
            faults.add(f"{literal(file.name)}: an order is written in TOML.")
        elif kind == ".xlsx":
            _sort_workbook(file, data, found, faults)
        elif _is_own(file.stem, found):
            grid, notes = own_csv(data, file.name)
            found.own.append(grid)
            found.notes += notes
        else:
            table = _table_meant(file, found)
            columns = TABLES[table][0]
            found.grids.append((table, csv_grid(data, file.name, (*columns.required, *columns.optional))))
    except Refusal as refusal:
        faults.add_refusal(refusal)


def _sort_toml(file: Path, text: str, is_order: bool, found: _Found) -> None:
    if not is_order and _CARS.search(text):
        found.cars.append((file.name, text))
    elif is_order or (_ORDER.search(text) and not _BOOK.search(text)):
        found.orders.append((file.name, text))
    elif _BOOK.search(text):
        found.books.append((file.name, text))
    elif file.name.casefold() == "shop.toml":
        found.about = parse(text, file.name)
    else:
        found.documents.append(parse(text, file.name))


def _sort_workbook(file: Path, data: bytes, found: _Found, faults: Faults) -> None:
    from stockroom.files.xlsx_table import xlsx_grids

    grids = xlsx_grids(data, file.name, faults, found.told.sheet if found.told else "")
    if not grids:
        faults.add(f"{literal(file.name)} is empty; a table was expected.")
    told = found.told
    if told and (told.table in LISTS or not (told.table or any(_is_table(name) for name in (file.stem, *grids)))):
        found.own += grids.values()
        return
    if told and told.table:
        found.grids += ((told.table, grid) for grid in grids.values())
        return
    if len(grids) == 1 and file.stem.casefold() in TABLES:
        found.grids.append((file.stem.casefold(), next(iter(grids.values()))))
        return
    for sheet, grid in grids.items():
        try:
            found.grids.append((_table_named(sheet, grid.name), grid))
        except Refusal as refusal:
            faults.add_refusal(refusal)


def _table_meant(file: Path, found: _Found) -> str:
    """The table that a person said one file to be, or that its name means."""
    said = found.told.table if found.told else ""
    return said or _table_named(file.stem, literal(file.name))


def _is_own(name: str, found: _Found) -> bool:
    """Whether one file by this name is a list of the shop's own making."""
    told = found.told
    return told is not None and (told.table in LISTS or not (told.table or _is_table(name)))


def _is_table(name: str) -> bool:
    return _bare(name) in TABLES


def _bare(name: str) -> str:
    return re.sub(r"[-_ ][0-9]{1,4}$", "", name.strip().casefold())


def _read_own_lists(found: _Found, known: Known, faults: Faults) -> None:
    """Puts each list of a shop's own making as the table that it is."""
    if found.own and found.told:
        from stockroom.files.own_list import own_grid
    for own in found.own:
        table, grid, notes = own_grid(own, found.told or Told(), known, faults)
        found.grids.append((table, grid))
        found.notes += notes


def _table_named(name: str, place: str) -> str:
    """The table that a file's or sheet's name means; a table may be split: 'history-1', 'history-2'."""
    folded = _bare(name)
    if folded in TABLES:
        return folded
    near = nearest(folded, TABLES)
    hint = f" The nearest name is {near!r}." if near else ""
    raise Refusal(f"{place}: there is no table {quoted(name)}.{hint} Tables are named {listed(TABLES, 'or')}.")


def _read_tables(found: _Found, border: Border) -> dict[str, tuple[Any, ...]]:
    """Every row of every table as what it is. What a table brings is known to the tables after it."""
    result: dict[str, tuple[Any, ...]] = {}
    for document in found.documents:
        _check_keys(document, border.faults)
    for table, (columns, read) in TABLES.items():
        rows: list[Row] = []
        for name, grid in found.grids:
            if name == table:
                rows += rows_under(columns, grid, border.faults)
        for document in found.documents:
            rows += toml_rows(document, table, columns, border.faults)
        things = tuple(read(row, border) for row in rows)
        _make_known(table, things, border.known)
        if table in ("cloths", "items"):
            for thing, row in zip(things, rows, strict=True):
                catalogue.missing_substitutes(thing, row, border)
        result[table] = things
    return result


def _check_keys(document: Document, faults: Faults) -> None:
    for key in document.data:
        if key != "format" and key not in TABLES:
            try:
                _table_named(key, document.place((key,)))
            except Refusal as refusal:
                faults.add_refusal(refusal)


def _make_known(table: str, things: Sequence[Any], known: Known) -> None:
    by_code: Mapping[str, dict[str, Any]] = {
        "colours": known.colours,
        "cloths": known.cloths,
        "items": known.items,
        "places": known.places,
        "suppliers": known.suppliers,
    }
    if table in by_code:
        by_code[table].update((thing.code, thing) for thing in things)


def _books(found: _Found, faults: Faults) -> Iterator[BookFile]:
    if found.books:
        from stockroom.files.kitbook import read_kitbook
    for name, text in found.books:
        try:
            yield BookFile(name, read_kitbook(text, name), text)
        except Refusal as refusal:
            faults.add_refusal(refusal)


def _cars(found: _Found, faults: Faults) -> Iterator[CarriedCar]:
    if found.cars:
        from stockroom.files.cars import read_cars
    for name, text in found.cars:
        try:
            yield from read_cars(text, name)
        except Refusal as refusal:
            faults.add_refusal(refusal)


def _orders(found: _Found, border: Border) -> Iterator[OrderFile]:
    if found.orders:
        from stockroom.files.order import read_carried_order
    for name, text in found.orders:
        try:
            yield OrderFile(name, *read_carried_order(text, name, border.opening))
        except Refusal as refusal:
            border.faults.add_refusal(refusal)
