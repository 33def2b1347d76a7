"""A table from outside: rows of text cells under known columns, whichever kind of file it stood in.

The readers of CSV, XLSX and TOML make `Grid`s; `rows_under` puts a grid's header and rows right. Cells are data: a text
that looks like a formula, markup or a path is that text, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, literal, nearest, quoted
from stockroom.files.faults import Faults

LARGEST_BYTES = 16 * 1024 * 1024
"""A larger file is refused unread."""
MOST_ROWS = 200_000
"""Rows of one table."""
MOST_LINES = 1_048_576
"""Lines of one file or sheet, empty ones too: so many has a spreadsheet."""
MOST_CELLS_IN_ROW = 200
LONGEST_CELL = 2_000
"""Characters."""


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of one kind of table."""

    required: tuple[str, ...]
    optional: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table."""

    place: str
    """File and row, as a sentence names them: 'items.csv, row 3'."""
    cells: Mapping[str, str]
    """Column → text with no blanks around it; every known column is there, an empty text where nothing was written."""


@dataclass(frozen=True, slots=True)
class Grid:
    """The cells of one table as they stand in a file, header first."""

    name: str
    """The file (and sheet) as a sentence names it."""
    rows: Sequence[tuple[int, Sequence[str]]]
    """Row number in the file (from 1) and its cells. Rows with no text in them are left out."""


def read_bytes(path: Path) -> bytes:
    """The bytes of an ordinary file. Raises `Refusal` where it cannot be read or is too large."""
    shown = literal(path.name)
    if not path.exists():
        raise Refusal(f"There is no file {quoted(str(path))}.")
    if not path.is_file():
        raise Refusal(f"{shown} is no ordinary file, so it was not read.")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as fault:
        raise Refusal(f"{shown} cannot be read: {fault.strerror or 'unknown fault'}.") from None
    if len(data) > LARGEST_BYTES:
        raise Refusal(
            f"{shown} is larger than {LARGEST_BYTES // 2**20} MiB, more than any table of a shop needs. "
            "Nothing of it was read; split it or check that it is the right one."
        )
    return data


def rows_under(columns: Columns, grid: Grid, faults: Faults) -> list[Row]:
    """The rows of a grid under known columns. A faulty header leaves no rows; a row too long is named and left out.

    Column names are found whatever their case, with blanks for underscores if one likes.
    """
    if not grid.rows:
        faults.add(f"{grid.name} is empty; a header was expected: {', '.join(columns.required)}.")
        return []
    (_, header), *body = grid.rows
    where = _columns_found(columns, header, body, grid.name, faults)
    if where is None:
        return []
    everything = {name: where.get(name) for name in (*columns.required, *columns.optional)}
    rows = []
    for number, cells in body:
        place = f"{grid.name}, row {number}"
        extra = [cell for cell in cells[len(header) :] if cell]
        if extra:
            faults.add(
                f"{place} has {len(cells)} cells, the header has {len(header)}: {quoted(extra[0])} stands under no "
                "column. A text with the separator in it needs quotes around it."
            )
            continue
        written = {name: cells[at] if at is not None and at < len(cells) else "" for name, at in everything.items()}
        too_long = next((name for name, cell in written.items() if len(cell) > LONGEST_CELL), None)
        if too_long is not None:
            faults.add(f"{place}, column {too_long!r}: more than {LONGEST_CELL} characters.")
            continue
        rows.append(Row(place, written))
    return rows


def folded(name: str) -> str:
    """A column's name as it is compared.

    >>> folded(" Lead Days ")
    'lead_days'
    """
    return "_".join(name.split()).casefold()


def number_text(value: float) -> str:
    """A number as a person would type it: a spreadsheet keeps 15 figures, so 0.1 + 0.2 is 0.3.

    >>> number_text(12.0), number_text(0.1 + 0.2), number_text(1e15)
    ('12', '0.3', '1000000000000000')
    """
    if isinstance(value, int):
        return str(value)
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    plain = f"{Decimal(f'{value:.15g}'):f}"
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def _columns_found(
    columns: Columns, header: Sequence[str], body: Iterable[tuple[int, Sequence[str]]], name: str, faults: Faults
) -> dict[str, int] | None:
    """Column → its place in the header; None where the header is faulty."""
    before = faults.count
    by_folded = {folded(column): column for column in (*columns.required, *columns.optional)}
    found: dict[str, int] = {}
    for at, text in enumerate(header):
        column = by_folded.get(folded(text))
        if column is None and text:
            near = nearest(folded(text), by_folded)
            hint = f" The nearest name is {by_folded[near]!r}." if near else ""
            faults.add(
                f"{name}: column {quoted(text)} is not known here.{hint} Known: {', '.join(by_folded.values())}."
            )
        elif column is None:
            full = next((number for number, cells in body if at < len(cells) and cells[at]), None)
            if full is not None:
                faults.add(f"{name}: column number {at + 1} has no name, but row {full} has something in it.")
        elif column in found:
            faults.add(f"{name}: column {column!r} is there twice (numbers {found[column] + 1} and {at + 1}).")
        else:
            found[column] = at
    missing = [column for column in columns.required if column not in found]
    if missing:
        faults.add(f"{name}: the header lacks {listed(repr(column) for column in missing)}.")
    return found if faults.count == before else None
