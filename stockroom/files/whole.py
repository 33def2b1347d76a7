"""The books of a dump: every row of every table as JSON lines, and what vouches that nothing of the dump was changed.

`books/movement.jsonl` has a line for each movement, `{"check":"…","row":{…}}`. The check is the beginning of the digest
of all rows up to that line, so that a line which was changed, taken out or put in is named. `books/contents.toml` says
how many rows there are, and has a digest of each file of the dump.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from stockroom.domain.kept_rows import KeptRow, KeptTable, from_plain, to_plain
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal
from stockroom.files.folder import BOOKS_FOLDER, COLUMNS_FILE, CONTENTS, READ_KINDS
from stockroom.files.tables import read_bytes
from stockroom.files.toml_text import decode, parse
from stockroom.files.writing import toml_text

FORMAT = 1
"""Of the files in `books/`."""
_LINE = re.compile(rb'\{"check":"([0-9a-f]{12})","row":(\{.*\})\}\n', re.DOTALL)
_CHECK = 12
_ENTIRE = "Copy the dump once more from where it was written, or dump again. Nothing was loaded."


@dataclass(frozen=True, slots=True)
class Contents:
    """What contents.toml says of a dump."""

    schema: int
    """Version of the tables."""
    rows: Mapping[str, int]
    """Table → its rows."""
    books: Mapping[str, str]
    """Table → digest of its file."""
    files: Mapping[str, str]
    """Name of each other file of the dump → its digest."""


def file_of(table: str) -> str:
    """The name of a table's file within the dump."""
    return f"{BOOKS_FOLDER}/{table}.jsonl"


def digest_of(data: bytes) -> str:
    """The digest of a file."""
    return hashlib.sha256(data).hexdigest()


def write_rows(path: Path, rows: Iterable[KeptRow]) -> Iterator[int]:
    """Writes a table's file row by row; gives the number of each row when it is written."""
    so_far = hashlib.sha256()
    with path.open("wb") as file:
        for number, row in enumerate(rows, start=1):
            text = json.dumps({name: to_plain(value) for name, value in row.items()}, **_JSON).encode()
            so_far.update(text)
            file.write(b'{"check":"%s","row":%s}\n' % (so_far.hexdigest()[:_CHECK].encode(), text))
            yield number


_JSON: dict[str, Any] = {"ensure_ascii": False, "separators": (",", ":"), "allow_nan": False}


def digest_of_file(path: Path) -> str:
    """The digest of a file that may be large."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def contents_toml(contents: Contents) -> bytes:
    """contents.toml."""
    lines = [
        "# What `stockroom dump` wrote. A folder that is as it was dumped is loaded into a new shop row by row;",
        "# where a file beside books/ was changed, the files beside books/ are loaded instead.",
        f"format = {FORMAT}",
        f"schema = {contents.schema}",
    ]
    for head, told in (("rows", contents.rows), ("books", contents.books), ("files", contents.files)):
        lines += ["", f"[{head}]"]
        lines += [
            f"{toml_text(name)} = {value if isinstance(value, int) else toml_text(value)}"
            for name, value in told.items()
        ]
    return ("\n".join(lines) + "\n").encode()


def has_books(folder: Path) -> bool:
    """Whether a folder has the books of a dump, be they good or not."""
    books = folder / BOOKS_FOLDER
    return books.is_dir() and ((books / CONTENTS).exists() or next(books.glob("*.jsonl"), None) is not None)


def read_contents(folder: Path) -> Contents:
    """What the dump in `folder` says of itself. Raises `Refusal` where it says nothing, or what no dump says."""
    name = f"{BOOKS_FOLDER}/{CONTENTS}"
    path = folder / BOOKS_FOLDER / CONTENTS
    if not path.is_file():
        raise Refusal(f"{name} is missing, so nothing vouches for the books beside it. {_ENTIRE}")
    told = parse(decode(read_bytes(path), name), name).data
    if isinstance(told.get("format"), int) and told["format"] > FORMAT:
        raise Refusal(f"{name} was written by a newer stockroom. Install the newer one and load with it.")
    schema, rows = told.get("schema"), _numbers(told.get("rows"))
    books, files = _texts(told.get("books")), _texts(told.get("files"))
    if told.get("format") != FORMAT or type(schema) is not int or None in (rows, books, files):
        raise Refusal(f"{name} is not as a dump writes it. {_ENTIRE}")
    return Contents(schema, rows or {}, books or {}, files or {})


def _numbers(told: object) -> dict[str, int] | None:
    good = isinstance(told, dict) and all(type(value) is int for value in told.values())
    return cast(dict[str, int], told) if good else None


def _texts(told: object) -> dict[str, str] | None:
    good = isinstance(told, dict) and all(isinstance(value, str) for value in told.values())
    return cast(dict[str, str], told) if good else None


def changed_files(folder: Path, contents: Contents) -> tuple[str, ...]:
    """The files beside `books/` that are not as they were dumped: changed, new, or gone."""
    there = {str(path.relative_to(folder).as_posix()): path for path in _beside_books(folder)}
    changed = {name for name, path in there.items() if digest_of_file(path) != contents.files.get(name)}
    return tuple(sorted(changed | (contents.files.keys() - there.keys())))


def _beside_books(folder: Path) -> Iterator[Path]:
    """The files that loading would read."""
    for path in (*folder.iterdir(), *(folder / "orders").glob("*")):
        hidden = path.name.startswith((".", "~$")) or path.name.endswith(COLUMNS_FILE)
        if path.is_file() and not hidden and path.suffix.casefold() in READ_KINDS:
            yield path


def check_tables(folder: Path, contents: Contents, tables: Sequence[KeptTable]) -> None:
    """Raises `Refusal` where the books have not a file for each of the tables, and for no other."""
    names = {table.name for table in tables}
    for told in (contents.rows, contents.books):
        if told.keys() != names:
            odd = file_of(min(told.keys() ^ names))
            raise Refusal(
                f"{BOOKS_FOLDER}/{CONTENTS} does not tell of every table, or of one too many: {odd}. {_ENTIRE}"
            )
    for name in names:
        path = folder / file_of(name)
        if path.is_symlink() or not path.is_file():
            raise Refusal(f"{file_of(name)} is missing. {_ENTIRE}")


def read_rows(folder: Path, table: KeptTable, contents: Contents) -> Iterator[KeptRow]:
    """The rows of a table's file, one by one. Raises `Refusal` with file and line where it is not as it was dumped."""
    entire, so_far, number = hashlib.sha256(), hashlib.sha256(), 0
    with (folder / file_of(table.name)).open("rb") as file:
        for number, line in enumerate(file, start=1):
            entire.update(line)
            found = _LINE.fullmatch(line)
            if found is None:
                raise damaged(table.name, number, "it is no whole row")
            so_far.update(found[2])
            if so_far.hexdigest()[:_CHECK] != found[1].decode():
                raise damaged(table.name, number, "it was changed, or a line before it was taken out or put in")
            yield _row(table, number, found[2])
    if number < contents.rows[table.name]:
        raise damaged(table.name, number + 1, f"it is missing, {contents.rows[table.name]} rows were dumped")
    if entire.hexdigest() != contents.books[table.name]:
        raise damaged(table.name, number, "up to there it is not the file that was dumped")


def _row(table: KeptTable, number: int, text: bytes) -> KeptRow:
    try:
        told = json.loads(text)
        if list(told) != [column.name for column in table.columns]:
            raise damaged(table.name, number, "its columns are not those of the table")
        return {column.name: from_plain(column, told[column.name]) for column in table.columns}
    except (ValueError, RecursionError) as error:
        raise damaged(table.name, number, str(error)) from None


def damaged(table: str, number: int, why: str) -> Refusal:
    """The refusal of a line of a table's file."""
    return Refusal(f"{literal(file_of(table))}, line {number}: {why.rstrip('.')}. {_ENTIRE}")
