"""Checking a kit book: every car it covers is walked, against the catalogue it is used with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from stockroom.domain.book_values import BookCatalogue
from stockroom.domain.bookcheck import BookReport, check_book
from stockroom.domain.catalogue import Cloth
from stockroom.domain.refusal import Refusal
from stockroom.files.cells import Known
from stockroom.files.folder import read_files
from stockroom.files.kitbook import read_kitbook
from stockroom.files.toml_text import load_text
from stockroom.jobs.lookup import catalogue_of, newest_book
from stockroom.store import books
from stockroom.store.books import BookKept
from stockroom.store.database import Shop


def check_kept(shop: Shop, code: str) -> BookReport:
    """Checks the newest version of a shop's book; `code` may be empty where it has one only."""
    with shop.read() as tx:
        _, book = newest_book(shop, tx, code)
        catalogue = catalogue_of(shop, tx)
    return check_book(book, codes(catalogue.cloths, catalogue.items, catalogue.colours))


def check_file(file: Path, shop: Shop) -> BookReport:
    """Checks a book that is not loaded yet against the shop's catalogue."""
    book = read_kitbook(load_text(file), file.name)
    with shop.read() as tx:
        catalogue = catalogue_of(shop, tx)
    return check_book(book, codes(catalogue.cloths, catalogue.items, catalogue.colours))


def check_folder(folder: Path, opening: date) -> tuple[BookReport, ...]:
    """Checks every kit book in a shop's folder against the catalogue beside it; no shop is needed."""
    files = read_files(folder, Known(), None, opening)
    if not files.books:
        raise Refusal(f"There is no kit book in {folder}: a TOML file that begins with format and [book].")
    known = codes(
        {one.code: one for one in files.cloths},
        (one.code for one in files.items),
        (one.code for one in files.colours),
    )
    return tuple(check_book(file.book, known) for file in files.books)


def codes(cloths: Mapping[str, Cloth], items: Iterable[str], colours: Iterable[str]) -> BookCatalogue:
    """The codes of a catalogue as the check asks for them."""
    return BookCatalogue(
        cloths=frozenset(code for code, cloth in cloths.items() if cloth.kind == "cloth"),
        narrow=frozenset(code for code, cloth in cloths.items() if cloth.kind == "narrow"),
        items=frozenset(items),
        colours=frozenset(colours),
    )


def versions(shop: Shop) -> tuple[BookKept, ...]:
    """Every kit-book version the shop keeps."""
    with shop.read() as tx:
        return books.books(tx)
