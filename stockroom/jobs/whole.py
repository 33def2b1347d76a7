"""A shop carried whole: every row of its books, out of one database and into another that holds nothing yet.

It is how a shop moves between SQLite and PostgreSQL with all its history. Rows are put in as they were, in one
transaction, and are kept only if the audit finds nothing wrong with them.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from stockroom.domain.about import About
from stockroom.domain.kept_rows import KeptRow
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, quoted
from stockroom.files.faults import Faults
from stockroom.files.folder import BOOKS_FOLDER, CONTENTS
from stockroom.files.whole import (
    Contents,
    changed_files,
    check_tables,
    contents_toml,
    damaged,
    digest_of,
    digest_of_file,
    file_of,
    has_books,
    read_contents,
    read_rows,
    write_rows,
)
from stockroom.store import about as store_about
from stockroom.store import whole
from stockroom.store.database import Tx

OnTheWay: TypeAlias = Callable[[str], None]
"""Is told now and then, in a few words, how far a long job is."""

_TOLD_EVERY = 5_000
"""Rows."""
_NOT_CARRIED = (
    "The ledger movement by movement, the log of jobs, holds, what is picked, cut or packed, finished things, "
    "customers' parts, receipts, inspections and counts are not carried that way"
)


def nothing_said(_: str) -> None:
    """For whom progress is nothing."""


@dataclass(frozen=True, slots=True)
class Way:
    """Which way a path is loaded."""

    contents: Contents | None
    """Row by row, by the books that this tells of; `None`: by the files beside them, as any shop's own files."""
    notes: tuple[str, ...]
    """Why so, and what that means; nothing where there are no books."""


@dataclass(slots=True)
class _Told:
    """Tells how far it is."""

    on_the_way: OnTheWay
    done: int = 0

    def one_more(self, doing: str, of: int) -> None:
        self.done += 1
        if self.done % _TOLD_EVERY == 0:
            self.on_the_way(f"{doing}: {self.done} of {of} rows")


def write_books(tx: Tx, folder: Path, files: Mapping[str, bytes], on_the_way: OnTheWay) -> Mapping[str, int]:
    """Writes `books/` into a folder, which holds `files` already. Gives back the rows of each table."""
    (folder / BOOKS_FOLDER).mkdir()
    told, total = _Told(on_the_way), whole.how_many(tx)
    rows, digests = {}, {}
    for table in whole.kept_tables():
        path = folder / file_of(table.name)
        rows[table.name] = 0
        for number in write_rows(path, whole.rows_of(tx, table.name)):
            rows[table.name] = number
            told.one_more("Writing the books", total)
        digests[table.name] = digest_of_file(path)
        _keep(path)
    contents = Contents(whole.SCHEMA, rows, digests, {name: digest_of(data) for name, data in files.items()})
    path = folder / BOOKS_FOLDER / CONTENTS
    path.write_bytes(contents_toml(contents))
    _keep(path)
    return rows


def _keep(path: Path) -> None:
    """Has the disk keep what was written."""
    with path.open("rb") as file:
        os.fsync(file.fileno())


def way_of(path: Path, *, is_bare: bool) -> Way:
    """How `path` is to be loaded into a shop which holds nothing yet (`is_bare`), or something.

    Raises `Refusal` for books that cannot be loaded here though a person would expect it.
    """
    if not path.is_dir() or not has_books(path):
        return Way(None, ())
    if not is_bare:
        return Way(None, (_by_files("The shop holds something already", "load into a new shop"),))
    contents = read_contents(path)
    try:
        changed = changed_files(path, contents)
    except OSError as error:
        raise Refusal(f"{quoted(str(path))} cannot be read: {error.strerror or error}. Nothing was loaded.") from None
    if changed:
        some = listed(quoted(name) for name in changed[:5]) + (" and others" if len(changed) > 5 else "")
        return Way(None, (_by_files(f"Changed since the dump: {some}", "load the dump as it was written"),))
    if contents.schema > whole.SCHEMA:
        raise Refusal(
            f"This dump was written by a newer stockroom (its version is {contents.schema}, this program knows "
            f"{whole.SCHEMA}). Install the newer stockroom and load with it. Nothing was loaded."
        )
    if contents.schema < whole.SCHEMA:
        raise Refusal(
            f"The books of this dump are of version {contents.schema}, this program's of {whole.SCHEMA}. Load the dump "
            "with the older stockroom and open that shop with this one, which upgrades it. Or take the folder "
            f"{BOOKS_FOLDER}/ out of the dump and load the files alone. {_NOT_CARRIED}. Nothing was loaded."
        )
    check_tables(path, contents, whole.kept_tables())
    return Way(
        contents, ("The dump is as it was written, so every row is taken over: the same shop with its history.",)
    )


def _by_files(why: str, instead: str) -> str:
    return f"{why}, so the files beside {BOOKS_FOLDER}/ count. {_NOT_CARRIED}: for those {instead}."


def check_books(path: Path, contents: Contents, on_the_way: OnTheWay) -> About:
    """Reads all books and writes nothing. Raises `Refusal` with the first fault of each file."""
    faults, told, about = Faults(), _Told(on_the_way), None
    total = sum(contents.rows.values())
    for table in whole.kept_tables():
        try:
            for row in read_rows(path, table, contents):
                told.one_more("Reading the books", total)
                if table.name == "about":
                    about = store_about.about_of_row(row)
        except Refusal as refusal:
            faults.add_refusal(refusal)
    faults.refuse_any(literal(path.name))
    return _sure(about)


def put_books(tx: Tx, path: Path, contents: Contents, on_the_way: OnTheWay) -> About:
    """Puts every row of the books into a shop that holds nothing. Gives back what the shop says of itself.

    Raises `Refusal` for a line that is not as it was dumped or that the database does not take, and for books with
    which the audit finds a fault: the transaction must be left then.
    """
    told, total = _Told(on_the_way), sum(contents.rows.values())

    def coming(rows: Iterator[KeptRow]) -> Iterator[KeptRow]:
        for row in rows:
            told.one_more("Loading the books", total)
            yield row

    for table in whole.kept_tables():
        try:
            whole.put_rows(tx, table.name, coming(read_rows(path, table, contents)))
        except whole.NotTaken as refused:
            raise damaged(table.name, refused.number, f"the database does not take it ({refused.why})") from refused
    whole.number_on(tx)
    if told.done >= _TOLD_EVERY:
        on_the_way("Proving the books")
    faults = whole.faults_of_books(tx)
    if faults:
        raise Refusal(
            f"The books of {literal(path.name)} are not good, so nothing was loaded. Put the shop right that was "
            "dumped (stockroom audit names the same faults there), and dump it again.",
            faults,
        )
    return _sure(store_about.read_about(tx))


def _sure(about: About | None) -> About:
    if about is None:
        raise Refusal(f"{file_of('about')} has no row, so it is not known whose shop it is. Nothing was loaded.")
    return about
