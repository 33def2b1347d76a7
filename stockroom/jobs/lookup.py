"""What every job looks up: the shop's catalogue and its kit books, read once and kept until they change."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from stockroom.domain.catalogue import Cloth, Colour, Item, Reading
from stockroom.domain.explosion import CatalogueView
from stockroom.domain.kitbook import KitBook
from stockroom.domain.refusal import Refusal
from stockroom.store import books, catalogue, masters
from stockroom.store.database import Shop, Tx
from stockroom.store.edition import edition


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything the shop stocks, by code."""

    cloths: Mapping[str, Cloth]
    items: Mapping[str, Item]
    colours: Mapping[str, Colour]
    walks: Mapping[str, int]
    """Place → its turn on the walk."""
    view: CatalogueView
    """What the explosion is told of it."""
    masters: Mapping[str, Reading]
    """Item → the master reading that its lots are held against: of its cloth in its colour, else of its colour."""


_books: WeakKeyDictionary[Shop, dict[int, KitBook]] = WeakKeyDictionary()
_catalogues: WeakKeyDictionary[Shop, tuple[int, Catalogue]] = WeakKeyDictionary()


def catalogue_of(shop: Shop, tx: Tx) -> Catalogue:
    """Cloths, items and colours. Read again when somebody, in whatever process, has loaded a catalogue since."""
    now = edition(tx)
    known = _catalogues.get(shop)
    if known is None or known[0] != now:
        cloths, items, colours = catalogue.cloths_and_items(tx)
        names = {code: colour.name for code, colour in colours.items()}
        walks = {code: place.walk for code, place in catalogue.read_places(tx).items()}
        view = CatalogueView(cloths, items, names)
        known = (now, Catalogue(cloths, items, colours, walks, view, masters.masters_of_items(tx, items)))
        _catalogues[shop] = known
    return known[1]


def book_of(shop: Shop, tx: Tx, book_id: int) -> KitBook:
    """The kit book of this id. A version never changes, so that it is read once."""
    known = _books.setdefault(shop, {})
    if book_id not in known:
        from stockroom.files.kitbook import read_kitbook

        source = books.book_source(tx, book_id)
        known[book_id] = read_kitbook(source, f"kit book {book_id}")
    return known[book_id]


def newest_book(shop: Shop, tx: Tx, code: str) -> tuple[int, KitBook]:
    """The newest version of the book `code`, or of the shop's only book where `code` is empty."""
    book_id = books.newest(tx, code).id
    return book_id, book_of(shop, tx, book_id)


def look_up_ahead(shop: Shop) -> None:
    """Reads the catalogue, and the kit book where there is only one, before any job needs them."""
    with shop.read() as tx:
        catalogue_of(shop, tx)
        with suppress(Refusal):
            newest_book(shop, tx, "")


def forget(shop: Shop) -> None:
    """Forgets what was read within a transaction that is undone: its numbers may be given again to something else."""
    _books.pop(shop, None)
    _catalogues.pop(shop, None)
