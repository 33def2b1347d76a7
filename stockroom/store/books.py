"""Kit books as they are kept: every version that was ever loaded, with its source text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select

from stockroom.domain.kitbook import KitBook
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.store import tables
from stockroom.store.database import Tx


@dataclass(frozen=True, slots=True)
class BookKept:
    """One version of a kit book, without its source."""

    id: int
    code: str
    version: str
    title: str
    format: int
    loaded_at: datetime
    loaded_by: str


_KEPT = tables.KitBook
# Made once: building a statement takes longer than sending it.
_BOOKS = select(
    _KEPT.id, _KEPT.code, _KEPT.version, _KEPT.title, _KEPT.format, _KEPT.loaded_at, _KEPT.loaded_by
).order_by(_KEPT.code, _KEPT.id.desc())


def add_book(tx: Tx, book: KitBook, source: str, stamp: Stamp) -> int:
    """Keeps a version of a kit book, and gives its number. The same text loaded again is the same version.

    Raises `Refusal` where another text is kept under the same code and version: orders were taken under it.
    """
    kept = tables.KitBook
    known = select(kept.id, kept.source).where(kept.code == book.code, kept.version == book.version)
    before = tx.execute(known).first()
    if before is not None and before.source == source:
        return int(before.id)
    if before is not None:
        raise Refusal(
            f"Version {book.version!r} of the kit book {book.code!r} is kept already with another text. "
            "Give the changed book a new version, so that orders keep the one they were taken under."
        )
    row = {
        "code": book.code,
        "version": book.version,
        "title": book.title,
        "format": book.format,
        "source": source,
        "loaded_at": stamp.at,
        "loaded_by": stamp.by,
    }
    return tx.execute(insert(kept).values(**row).returning(kept.id)).scalar_one()


def book_source(tx: Tx, book_id: int) -> str:
    """The source text of a version. Raises `Refusal` where there is none of that number."""
    source = tx.execute(select(tables.KitBook.source).where(tables.KitBook.id == book_id)).scalar_one_or_none()
    if source is None:
        raise Refusal(f"This shop keeps no kit book of number {book_id}.")
    return source


def books(tx: Tx) -> tuple[BookKept, ...]:
    """Every version of every book: by code, and the newest first within a code."""
    return tuple(BookKept(*row) for row in tx.execute(_BOOKS))


def of_version(tx: Tx, code: str, version: str) -> int:
    """The number of one version of a book. Raises `Refusal` where the shop does not keep it."""
    found = [book.id for book in books(tx) if book.version == version and code in ("", book.code)]
    if len(found) != 1:
        raise Refusal(f"This shop keeps no version {version!r} of the kit book {code!r}. Load that version first.")
    return found[0]


def newest(tx: Tx, code: str = "") -> BookKept:
    """The version of a book that was loaded last. `code` may be empty where the shop has one book only.

    Raises `Refusal` where there is no such book, or where it must be said which.
    """
    kept = books(tx)
    codes = list(dict.fromkeys(book.code for book in kept))
    if not kept:
        raise Refusal("This shop has no kit book yet. Load one: stockroom load FOLDER.")
    if not code and len(codes) > 1:
        raise Refusal(f"This shop has several kit books: {', '.join(codes)}. Say which.")
    for book in kept:
        if book.code == (code or codes[0]):
            return book
    raise Refusal(f"There is no kit book {code!r} in this shop. It has {', '.join(codes)}.")
