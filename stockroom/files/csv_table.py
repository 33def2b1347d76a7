"""A table in a CSV file: UTF-8, separated by commas, semicolons or tabs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal
from stockroom.files.tables import LONGEST_CELL, MOST_CELLS_IN_ROW, MOST_LINES, MOST_ROWS, Grid, folded

SEPARATORS = (",", ";", "\t")


def csv_grid(data: bytes, name: str, known_columns: Iterable[str]) -> Grid:
    """The cells of a CSV file. The separator is the one that finds most of `known_columns` in the first line.

    Raises `Refusal` where it is no UTF-8 text, or no table.
    """
    text = utf8_text(data, name)
    return text_grid(text, name, _separator(text, known_columns))


def text_grid(text: str, name: str, separator: str) -> Grid:
    """The cells of a text with this separator. Raises `Refusal` where it is no table."""
    shown = literal(name)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    number = 1
    try:
        for cells in reader:
            cells = [cell.strip() for cell in cells]
            if any(cells):
                rows.append((number, cells))
            if len(cells) > MOST_CELLS_IN_ROW or len(rows) > MOST_ROWS or number > MOST_LINES:
                raise Refusal(
                    f"{shown}, row {number}: a table has at most {MOST_CELLS_IN_ROW} columns and {MOST_ROWS} rows."
                )
            number = reader.line_num + 1
    except csv.Error as fault:
        raise Refusal(f"{shown}, row {number}: {_reason(str(fault))}") from None
    return Grid(shown, rows)


def utf8_text(data: bytes, name: str) -> str:
    """The text of a file. Raises `Refusal` where it is not UTF-8, naming the row."""
    shown = literal(name)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise Refusal(f"{shown} is written in UTF-16. Save it as CSV in UTF-8.")
    if b"\0" in data:
        at = data.index(0)
        row = data.count(b"\n", 0, at) + 1
        raise Refusal(f"{shown}, row {row}: byte {at + 1} is zero, so this is no text. A table in CSV was expected.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise Refusal(
            f"{shown}, row {line}: byte {fault.start + 1} of the file (0x{data[fault.start]:02x}) is not UTF-8. "
            "Save it as CSV in UTF-8."
        ) from None


def _separator(text: str, known_columns: Iterable[str]) -> str:
    known = {folded(column) for column in known_columns}
    first = text.lstrip("\r\n").partition("\n")[0]

    def found(separator: str) -> int:
        return sum(folded(cell.strip().strip('"')) in known for cell in first.split(separator))

    return max(SEPARATORS, key=found)


def _reason(said: str) -> str:
    if "field larger than" in said:
        return f"a cell has more than {LONGEST_CELL} characters. A quote may be missing."
    if "unexpected end of data" in said:
        return "a quote is opened here and never closed."
    return "a quote stands in the middle of a cell. Put quotes around the whole cell and double those inside."
