"""Loading a shop's own files: everything in them, or nothing.

The demo shop, a real shop's opening stock and a test's shop all come in here. What was loaded before is known again, so
that the same folder loaded twice changes nothing. A dump that is as it was written, loaded into a shop that holds
nothing yet, is taken over row by row.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from stockroom.domain.about import About
from stockroom.domain.lots import lot_key
from stockroom.domain.order import CarriedOrder, OrderRequest
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, literal, quoted
from stockroom.files.cells import Known
from stockroom.files.faults import Faults
from stockroom.files.folder import BookFile, OrderFile, ShopFiles, read_files
from stockroom.files.own_columns import Told
from stockroom.jobs.lookup import forget
from stockroom.jobs.take import digest, take_in
from stockroom.jobs.whole import OnTheWay, Way, check_books, nothing_said, put_books, way_of
from stockroom.store import about as store_about
from stockroom.store import books, cars, catalogue, history, ledger, masters, orders, stock, tags
from stockroom.store.catalogue import Written
from stockroom.store.database import Shop, Tx
from stockroom.store.whole import is_bare

_ROWS_SHOWN = 5
"""Rows that checking one file shows as they would be booked."""
_TABLES = (
    "colours",
    "cloths",
    "groups",
    "items",
    "places",
    "stages",
    "suppliers",
    "terms",
    "rolls",
    "bins",
    "purchases",
    "history",
    "cars",
)


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What loading did, or, where the files were only checked, what they hold."""

    source: str
    """Name of the folder or file."""
    checked_only: bool
    about: About
    written: tuple[Written, ...]
    """For each kind of thing in the files. Where they were only checked, `added` counts all of them."""
    books: tuple[str, ...]
    """Kit books, a few words each."""
    orders: tuple[OrderRequest, ...]
    """The orders in the files that the shop had not taken yet."""
    notes: tuple[str, ...]
    """What a person may want to know, a sentence each."""
    carried: Mapping[str, CarriedOrder] = field(default_factory=dict)
    """Number → the marks that an order bears already."""

    def lines(self) -> list[str]:
        """The report as a person reads it."""
        did = "was read and has no fault; nothing was written" if self.checked_only else "was loaded"
        lines = [f"{literal(self.source)} {did}."]
        for one in self.written:
            parts = [
                f"{one.added} {'found' if self.checked_only else 'new'}" if one.added else "",
                f"{one.same} as they were" if one.same else "",
                f"{len(one.changes)} to look at" if one.changes else "",
            ]
            lines.append(f"  {one.what}: {', '.join(part for part in parts if part)}")
            lines += [f"    {literal(change)}" for change in one.changes]
        lines += [f"  kit book {literal(book)}" for book in self.books]
        if self.orders:
            lines.append(f"  orders: {len(self.orders)}")
        return lines + [f"  {literal(note)}" for note in self.notes]

    def as_dict(self) -> dict[str, Any]:
        """The report as JSON tells it."""
        return {
            "source": self.source,
            "checked_only": self.checked_only,
            "shop": self.about.name,
            "opening": self.about.opening.isoformat() if self.about.opening else None,
            "tables": {
                one.what: {"added": one.added, "same": one.same, "changes": list(one.changes)} for one in self.written
            },
            "books": list(self.books),
            "orders": [order.number or order.customer for order in self.orders],
            "notes": list(self.notes),
        }


def load(
    shop: Shop,
    path: Path,
    stamp: Stamp,
    *,
    opening: date,
    told: Told | None = None,
    on_the_way: OnTheWay = nothing_said,
) -> LoadReport:
    """Loads a folder, or one file of it, and takes its orders, in one transaction.

    A file that is named like no table is a stock list of the shop's own; `told` is what a person said of its columns.

    `opening` is the day the books are opened where neither the shop nor its shop.toml has one yet. An order that was
    taken before is not taken again. `on_the_way` is told now and then how far it is.
    Raises `Refusal`, with every fault of every file, when nothing was loaded.
    """
    try:
        with shop.write() as tx:
            catalogue.one_load_at_a_time(tx)
            way = way_of(path, is_bare=is_bare(tx))
            if way.contents is not None:
                return _whole(path, put_books(tx, path, way.contents, on_the_way), way, checked_only=False)
            with _said_too(way):
                report = load_in(tx, path, stamp, opening=opening, told=told)
                _take_orders(shop, tx, report, stamp)
    except BaseException:
        forget(shop)
        raise
    return replace(report, notes=(*way.notes, *report.notes))


@contextmanager
def _said_too(way: Way) -> Iterator[None]:
    """Says in a refusal of the files of a dump why they were read at all, when there are books beside them."""
    try:
        yield
    except Refusal as refusal:
        if not way.notes:
            raise
        raise Refusal(" ".join((refusal.sentence, *way.notes)), refusal.faults) from refusal


def _whole(path: Path, about: About, way: Way, *, checked_only: bool) -> LoadReport:
    """The report on a dump that is taken over row by row."""
    rows = way.contents.rows if way.contents is not None else {}
    return LoadReport(
        source=path.resolve().name,
        checked_only=checked_only,
        about=about,
        written=tuple(Written(table.replace("_", " "), added=number) for table, number in rows.items() if number),
        books=(),
        orders=(),
        notes=way.notes,
    )


def _take_orders(shop: Shop, tx: Tx, report: LoadReport, stamp: Stamp) -> None:
    """Takes every order, so that all that are refused are named at once; each may be refused without the others."""
    faults = Faults()
    for request in report.orders:
        try:
            with tx.begin_nested():
                take_in(shop, tx, request, stamp, report.carried.get(request.number))
        except Refusal as refusal:
            faults.add_refusal(refusal, f"Order {literal(request.number)} of {literal(request.customer)}")
    faults.refuse_any(literal(report.source))


def load_in(tx: Tx, path: Path, stamp: Stamp, *, opening: date, told: Told | None = None) -> LoadReport:
    """`load`, within a transaction that has begun."""
    catalogue.one_load_at_a_time(tx)
    known, about = _known(tx), store_about.read_about(tx)
    files = read_files(path, known, about, opening, told)
    notes = (*_check_books(files.books, known), *_lots_alike(files, known, told))
    _go_on_from(tx, files)
    written = [store_about.write_about(tx, files.about, stamp), *_write_catalogue(tx, files)]
    masters.keep_loaded(tx, stamp)
    job_id = ledger.begin_job(tx, f"load {literal(path.name)}", stamp)
    written += _write_stock(tx, job_id, files, stamp)
    ledger.keep_no_way_back(
        tx,
        job_id,
        "What was loaded is what all later work stands on.",
        "Load a corrected file for what it says of the goods; adjust, scrap or count what is wrong in stock.",
    )
    for file in files.books:
        books.add_book(tx, file.book, file.source, stamp)
    written.append(cars.write_cars(tx, files.cars, stamp))
    return LoadReport(
        source=path.name,
        checked_only=False,
        about=files.about,
        written=tuple(one for one in written if one.added or one.same or one.changes),
        books=tuple(_book_words(file) for file in files.books),
        orders=_not_taken(tx, files.orders),
        notes=(*files.notes, *notes),
        carried={file.request.number: file.carried for file in files.orders if file.carried is not None},
    )


def _go_on_from(tx: Tx, files: ShopFiles) -> None:
    """Gives no tag and no order number again that was given where the files come from."""
    for kind, last in sorted(files.last_tags.items()):
        tags.never_again(tx, kind, last)
    tags.count_on(tx, orders.OWN_NUMBERS, files.last_order)


def check(
    path: Path,
    *,
    opening: date,
    shop: Shop | None = None,
    told: Told | None = None,
    on_the_way: OnTheWay = nothing_said,
) -> LoadReport:
    """Reads a folder or file and reports what it holds, writing nothing. `shop`: what it keeps already is known, too.

    Raises `Refusal` with every fault of every file.
    """
    known, about, bare = Known(), None, True
    if shop is not None:
        with shop.read() as tx:
            known, about, bare = _known(tx), store_about.read_about(tx), is_bare(tx)
    way = way_of(path, is_bare=bare)
    if way.contents is not None:
        return _whole(path, check_books(path, way.contents, on_the_way), way, checked_only=True)
    with _said_too(way):
        files = read_files(path, known, about, opening, told)
        notes = (*_check_books(files.books, known), *_lots_alike(files, known, told))
    return LoadReport(
        source=path.name,
        checked_only=True,
        about=files.about,
        written=tuple(Written(table, added=len(getattr(files, table))) for table in _TABLES if getattr(files, table)),
        books=tuple(_book_words(file) for file in files.books),
        orders=tuple(file.request for file in files.orders),
        notes=(*way.notes, *files.notes, *notes, *_first_rows(path, files)),
    )


def _first_rows(path: Path, files: ShopFiles) -> list[str]:
    """The first rows of one file of stock, as they would be booked: read them before they are."""
    if path.is_dir():
        return []
    rolls = [
        f"{one.label or one.tag}: {show_length(one.length_mm)} of {one.item}{_lot_words(one.lot)}, in {one.place}"
        + (f", received {one.received}" if one.received else "")
        for one in files.rolls[:_ROWS_SHOWN]
    ]
    bins = [f"{one.count} of {one.item}{_lot_words(one.lot)}, in {one.place}" for one in files.bins[:_ROWS_SHOWN]]
    return [f"would be booked: {words}" for words in (*rolls, *bins)]


def _lots_alike(files: ShopFiles, known: Known, told: Told | None) -> list[str]:
    """Lots of one item that look like one in several spellings: a caution, since tables say what is meant."""
    if told is not None and told.lots_as_written:
        return []
    loaded = {(one.item, one.lot) for one in files.rolls} | {(one.item, one.lot) for one in files.bins}
    loaded = {(item, lot) for item, lot in loaded if lot}
    spellings: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
    for item, lot in {*loaded, *((item, lot) for item, lots in known.lots.items() for lot in lots)}:
        spellings[item, lot_key(lot)].add(lot)
    several = {(item, lot_key(lot)) for item, lot in loaded if len(spellings[item, lot_key(lot)]) > 1}
    return [
        f"{item}: {listed(map(quoted, sorted(spellings[item, key])))} may be one lot, written otherwise. As they are, "
        "nothing of one matches the others: write them alike if they are one."
        for item, key in sorted(several)
    ]


def _lot_words(lot: str) -> str:
    return f", lot {lot}" if lot else ""


def _known(tx: Tx) -> Known:
    return Known(
        colours=catalogue.read_colours(tx),
        cloths=catalogue.read_cloths(tx),
        items=catalogue.read_items(tx),
        places=catalogue.read_places(tx),
        suppliers=catalogue.read_suppliers(tx),
        lots=stock.lots_by_item(tx),
    )


def _write_catalogue(tx: Tx, files: ShopFiles) -> list[Written]:
    return [
        catalogue.write_colours(tx, files.colours),
        catalogue.write_cloths(tx, files.cloths),
        catalogue.write_groups(tx, files.groups),
        catalogue.write_items(tx, files.items),
        catalogue.write_places(tx, files.places),
        catalogue.write_stages(tx, files.stages),
        catalogue.write_suppliers(tx, files.suppliers),
        catalogue.write_terms(tx, files.terms),
    ]


def _write_stock(tx: Tx, job_id: int, files: ShopFiles, stamp: Stamp) -> list[Written]:
    return [
        stock.write_rolls(tx, job_id, stamp, files.rolls),
        stock.write_bins(tx, job_id, stamp, files.bins),
        stock.write_purchases(tx, stamp, files.purchases),
        history.write_history(tx, job_id, stamp, files.history, _opening(files), files.about.time_zone),
    ]


def _opening(files: ShopFiles) -> date:
    if files.about.opening is None:
        raise ValueError("the reader settles the opening day")
    return files.about.opening


def _check_books(found: Sequence[BookFile], known: Known) -> tuple[str, ...]:
    """Walks every car that the books cover: refuses what an order would run into, gives back what is worth a look."""
    if not found:
        return ()
    from stockroom.domain.book_values import BookCatalogue
    from stockroom.domain.bookcheck import check_book

    codes = BookCatalogue(
        cloths=frozenset(code for code, cloth in known.cloths.items() if cloth.kind == "cloth"),
        narrow=frozenset(code for code, cloth in known.cloths.items() if cloth.kind == "narrow"),
        items=frozenset(known.items),
        colours=frozenset(known.colours),
    )
    faults, notes = Faults(), []
    for file in found:
        report = check_book(file.book, codes)
        for fault in report.faults:
            faults.add(f"{literal(file.name)}: {fault}")
        notes += [f"{literal(file.name)}: {note}" for note in report.notes]
    faults.refuse_any("The kit book" if len(found) == 1 else "What is in the kit books")
    return tuple(notes)


def _book_words(file: BookFile) -> str:
    book = file.book
    return f"{book.code}, version {book.version}: {len(book.kits)} kits, {len(book.pieces)} pieces"


def _not_taken(tx: Tx, found: Sequence[OrderFile]) -> tuple[OrderRequest, ...]:
    return tuple(
        file.request
        for file in found
        if not (
            orders.number_is_taken(tx, file.request.number)
            if file.request.number
            else orders.open_twin(tx, digest(file.request))
        )
    )
