"""The text of a stock list that came out of some other program: its encoding and its separator found out.

UTF-8 and UTF-16 say so themselves. What is neither is read as Windows-1252, which is said, since names may look odd.
"""

from __future__ import annotations

import codecs
from collections.abc import Sequence

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import literal
from stockroom.files.csv_table import SEPARATORS, text_grid
from stockroom.files.own_columns import is_a_heading
from stockroom.files.tables import Grid

_LOOKED_AT = 30
"""Lines that the separator is found by."""


def own_csv(data: bytes, name: str) -> tuple[Grid, list[str]]:
    """The cells of a list in CSV, and what was found out about it. Raises `Refusal` where it is no text."""
    text, notes = _decoded(data, name)
    lines = text.lstrip("\r\n").splitlines()[:_LOOKED_AT]
    return text_grid(text, name, _separator(lines)), notes


def _decoded(data: bytes, name: str) -> tuple[str, list[str]]:
    shown = literal(name)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16"), []
        except UnicodeDecodeError:
            raise Refusal(f"{shown} begins as UTF-16 but is not. Save it as CSV in UTF-8.") from None
    if b"\0" in data:
        raise Refusal(f"{shown} is no text: it has zero bytes in it. A list in CSV or XLSX was expected.")
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise Refusal(
            f"{shown}, row {line}: byte {fault.start + 1} of the file (0x{data[fault.start]:02x}) is neither UTF-8 nor "
            "Windows-1252. Save it as CSV in UTF-8."
        ) from None
    word = text.split("\n")[line - 1].strip()[:60]
    read = f"{shown} is not UTF-8; it was read as Windows-1252"
    return text, [f"{read}. Look whether row {line} reads well: {literal(word)}"]


def _separator(lines: Sequence[str]) -> str:
    """The separator under which a line has most headings that are known, else the one there are most of."""

    def found(separator: str) -> tuple[int, int]:
        cells = [[cell.strip().strip('"') for cell in line.split(separator)] for line in lines]
        headings = [sum(is_a_heading(cell) for cell in row) for row in cells]
        return max(headings, default=0), sum(line.count(separator) for line in lines)

    return max(SEPARATORS, key=found)
