"""The rows of a table that is written in TOML: `[[items]]` with a key for each column."""

from __future__ import annotations

from datetime import date, datetime

from stockroom.domain.wording import listed, nearest, quoted
from stockroom.files.faults import Faults
from stockroom.files.tables import Columns, Row, folded, number_text
from stockroom.files.toml_text import Document, shown


def toml_rows(document: Document, table: str, columns: Columns, faults: Faults) -> list[Row]:
    """The rows of `table` in a document; none where it has no such table. A faulty row is named and left out."""
    written = document.data.get(table, [])
    if not isinstance(written, list) or not all(isinstance(entry, dict) for entry in written):
        faults.add(f"{document.place((table,))}: {shown(written)} was found; tables [[{table}]] were expected.")
        return []
    by_folded = {folded(column): column for column in (*columns.required, *columns.optional)}
    rows = []
    for number, entry in enumerate(written):
        before = faults.count
        cells = dict.fromkeys(by_folded.values(), "")
        for key, value in entry.items():
            column, text = by_folded.get(folded(key)), _text(value)
            place = document.place((table, number, key))
            if column is None:
                near = nearest(folded(key), by_folded)
                hint = f" The nearest name is {by_folded[near]!r}." if near else ""
                faults.add(f"{place}: the column {quoted(key)} is not known here.{hint}")
            elif text is None:
                faults.add(f"{place}: {shown(value)} was found; a text or a number was expected.")
            else:
                cells[column] = text
        missing = [column for column in columns.required if not cells[column]]
        if missing:
            faults.add(f"{document.place((table, number))}: lacks {listed(repr(column) for column in missing)}.")
        if faults.count == before:
            rows.append(Row(document.place((table, number)), cells))
    return rows


def _text(value: object) -> str | None:
    """A value as it would be typed into a CSV file; `None` for one that no cell holds."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, int | float):
        return number_text(value)
    if isinstance(value, date) and not isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, list):
        parts = [_text(part) for part in value]
        return None if None in parts else "; ".join(part for part in parts if part)
    return None
