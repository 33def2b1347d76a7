"""Tables in an XLSX workbook. Values only: a cell with a formula is refused, since what it shows may be old or unsaid.

A workbook is a ZIP archive of XML; its size unpacked and any document type in it are looked at before it is read.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import Any

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal, quoted, unknown
from stockroom.files.faults import Faults
from stockroom.files.tables import MOST_CELLS_IN_ROW, MOST_LINES, MOST_ROWS, Grid, number_text

LARGEST_UNPACKED_BYTES = 128 * 1024 * 1024
MOST_PARTS = 2_000
_BEGINNING = 4_096
# No part of these goes over the same bytes twice, whatever the bytes: a workbook may be made to keep us busy.
_ROW_OR_MERGED = re.compile(rb"<(?:\w{1,20}:)?(row|mergeCell)\s([^<>]*+)>")
_HIDDEN = re.compile(rb"""\bhidden=["'](?:1|true)["']""")
_ROW_NUMBER = re.compile(rb"""\br=["']([0-9]{1,7})["']""")
_MERGED = re.compile(rb"""\bref=["']([A-Z0-9:]{1,40})["']""")
_XML = re.compile(rb"(?:\xef\xbb\xbf|\xff\xfe|\xfe\xff)?[\s\0]*+<")
_LONG_TAG = re.compile(rb"<[^<>]{65536}")
"""Older XML parsers look at a long tag again and again; spreadsheets write no such tags, no comments and no types."""
_IN_UTF_16 = (b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<")
"""How XML begins where it is written two bytes a character, which would hide the rest from this look."""
_WORKSHEET = re.compile(rb"<(?:\w+:)?worksheet\b")


def xlsx_grids(data: bytes, name: str, faults: Faults, only: str = "") -> dict[str, Grid]:
    """Sheet name → its cells, for every sheet with something in it, or `only` that one.

    Faulty cells are named in `faults` and left empty.

    Raises `Refusal` where it is no workbook, or one made to do harm.
    """
    shown = literal(name)
    _look_over(data, shown, faults)
    from openpyxl import load_workbook  # type: ignore[import-untyped,unused-ignore]

    grids = {}
    try:
        with warnings.catch_warnings():
            # Styles, pictures and validations that openpyxl leaves out do not touch the values.
            warnings.simplefilter("ignore")
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
            if only and only not in book.sheetnames:
                raise Refusal(unknown(f"sheet of {shown} called", only, book.sheetnames))
            for sheet in book.worksheets:
                if only not in ("", sheet.title):
                    continue
                place = shown if len(book.worksheets) == 1 else f"{shown}, sheet {quoted(sheet.title)}"
                rows = list(_rows(sheet, place, faults))
                if rows and sheet.sheet_state != "visible":
                    faults.add(f"{place}: the sheet is hidden. Show it or take it out.")
                elif rows:
                    grids[sheet.title] = Grid(place, rows)
            book.close()
    except Refusal:
        raise
    except Exception as fault:  # openpyxl raises whatever it stumbles over
        raise Refusal(f"{shown} is not a workbook that can be read ({type(fault).__name__}). Save it again.") from None
    return grids


def _look_over(data: bytes, shown: str, faults: Faults) -> None:
    """Refuse what is no workbook or made to do harm; name what a table must not have."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > LARGEST_UNPACKED_BYTES:
                raise Refusal(f"{shown} unpacks to more than any table of a shop needs. Nothing of it was read.")
            for part in parts:
                # By what it holds, not by its name: a workbook may call its sheets what it likes.
                _look_over_part(archive.read(part), shown, faults)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        raise Refusal(f"{shown} is no XLSX workbook (or it has a password). Save it as XLSX or CSV.") from None
    except Exception as fault:
        if isinstance(fault, Refusal):
            raise
        raise Refusal(f"{shown} is damaged: it cannot be unpacked. Save it again.") from None


def _look_over_part(part: bytes, shown: str, faults: Faults) -> None:
    if not _XML.match(part):  # a picture, say
        return
    if part.startswith(_IN_UTF_16) or b"<!" in part or _LONG_TAG.search(part):
        raise Refusal(f"{shown} holds XML that no spreadsheet program writes. Nothing of it was read.")
    if not _WORKSHEET.search(part[:_BEGINNING]):
        return
    for tag in _ROW_OR_MERGED.finditer(part):
        kind, written = tag[1], tag[2]
        if kind == b"row" and _HIDDEN.search(written):
            row = _ROW_NUMBER.search(written)
            number = f", row {row[1].decode()}" if row else ", a row"
            faults.add(f"{shown}{number} is hidden. Show it or take it out.")
        elif kind == b"mergeCell" and (cells := _MERGED.search(written)):
            faults.add(
                f"{shown}: the cells {cells[1].decode()} are merged. Split them, so that each row stands for itself."
            )


def _rows(sheet: Any, place: str, faults: Faults) -> Iterator[tuple[int, list[str]]]:
    kept = read = 0
    # How many rows and columns a sheet says it has is often wrong, and what lies beyond would be left out unsaid.
    sheet.reset_dimensions()
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        read += len(cells)
        if read > MOST_ROWS * MOST_CELLS_IN_ROW:
            raise Refusal(
                f"{place}, row {number}: a table has at most {MOST_CELLS_IN_ROW} columns and {MOST_ROWS} rows."
            )
        if len(cells) > MOST_CELLS_IN_ROW and any(cell.value is not None for cell in cells[MOST_CELLS_IN_ROW:]):
            raise Refusal(f"{place}, row {number}: a table has at most {MOST_CELLS_IN_ROW} columns.")
        texts = [_text(cell, f"{place}, row {number}", faults) for cell in cells[:MOST_CELLS_IN_ROW]]
        while texts and not texts[-1]:
            texts.pop()
        if texts:
            kept += 1
            yield number, texts
        if kept > MOST_ROWS or number > MOST_LINES:
            raise Refusal(f"{place}: a table has at most {MOST_ROWS} rows.")


def _text(cell: Any, place: str, faults: Faults) -> str:
    """A cell's value as it would be typed into a CSV file."""
    value = cell.value
    if value is None:
        return ""
    where = f"{place}, cell {getattr(cell, 'coordinate', '?')}"
    if cell.data_type == "f":
        faults.add(f"{where} holds a formula ({quoted(str(getattr(value, 'text', value)))}); a value was expected.")
        return ""
    if cell.data_type == "e":
        faults.add(f"{where} holds an error ({quoted(str(value))}); a value was expected.")
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number_text(value)
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(" ")
    if isinstance(value, date):
        return value.isoformat()
    return str(value).strip()
