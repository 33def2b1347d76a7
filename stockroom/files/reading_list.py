"""What an instrument wrote down: a CSV of readings, a row each, its columns recognised by their headings.

Nothing is put right: whatever is not plain is a fault of its row, and the person is told all of them at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stockroom.domain.catalogue import Reading
from stockroom.domain.readings import read_bare, read_conditions
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted
from stockroom.files.csv_table import SEPARATORS, text_grid, utf8_text
from stockroom.files.faults import Faults
from stockroom.files.tables import Grid, read_bytes

_NAMES: Mapping[str, tuple[str, ...]] = {
    "tag": ("tag", "roll", "roll tag", "sample", "sample name", "name", "id"),
    "L": ("l", "l*", "lightness", "cie l", "cie l*"),
    "a": ("a", "a*", "cie a", "cie a*"),
    "b": ("b", "b*", "cie b", "cie b*"),
    "illuminant": ("illuminant", "light", "light source"),
    "observer": ("observer", "standard observer", "observer angle"),
}
"""Column → how instruments head it; what stands in brackets after it is left out."""
_FIGURES = ("L", "a", "b")
_HEADER_WITHIN = 30
"""Rows that are looked through for the header: instruments write about themselves first."""


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One row: what was read, and of which roll."""

    place: str
    """The file and the row, as a sentence names them."""
    tag: str
    """As it stands there."""
    reading: Reading


def read_reading_list(path: Path, under: tuple[str, str], faults: Faults) -> list[ReadingRow]:
    """The readings of a file. `under`: illuminant and observer of rows that do not say; empty where nobody does.

    Faults of rows are noted. Raises `Refusal` where it is no table of readings at all.
    """
    text = utf8_text(read_bytes(path), path.name)
    grid = text_grid(text, path.name, _separator(text.splitlines()[:_HEADER_WITHIN]))
    at, where = _header(grid)
    rows = []
    for number, cells in grid.rows[at + 1 :]:
        place = f"{grid.name}, row {number}"
        said = {column: cells[index] if index < len(cells) else "" for column, index in where.items()}
        try:
            rows.append(ReadingRow(place, said["tag"], _reading(said, under)))
        except Refusal as refusal:
            faults.add_refusal(refusal, place)
    return rows


def _separator(lines: Sequence[str]) -> str:
    """The one under which a line has most headings that are known."""

    def found(separator: str) -> int:
        return max((sum(map(bool, map(_column, line.split(separator)))) for line in lines), default=0)

    return max(SEPARATORS, key=found)


def _header(grid: Grid) -> tuple[int, dict[str, int]]:
    for at, (number, cells) in enumerate(grid.rows[:_HEADER_WITHIN]):
        where: dict[str, int] = {}
        for index, cell in enumerate(cells):
            column = _column(cell)
            if column in where:
                raise Refusal(f"{grid.name}, row {number}: two columns may be {column}. Leave one of them out.")
            if column:
                where[column] = index
        if all(column in where for column in ("tag", *_FIGURES)):
            return at, where
    first: Sequence[str] = grid.rows[0][1] if grid.rows else ()
    raise Refusal(
        f"{grid.name} has no row that heads columns tag, L, a and b. Its first row is: "
        f"{listed(map(quoted, first[:8])) or 'empty'}."
    )


def _column(heading: str) -> str:
    plain = " ".join(re.sub(r"[(\[].*", "", heading).strip('" ').casefold().split())
    return next((column for column, names in _NAMES.items() if plain in names), "")


def _reading(said: Mapping[str, str], under: tuple[str, str]) -> Reading:
    figures = [said[column] for column in _FIGURES]
    comma = next((one for one in figures if "," in one), None)
    if comma is not None:
        raise Refusal(f"{quoted(comma)} has a decimal comma. Have the file written with decimal points.")
    light, observer = said.get("illuminant") or under[0], said.get("observer") or under[1]
    if not light or not observer:
        raise Refusal("it is not said under which light and observer. Add the columns, or --light D65 --observer 10.")
    return Reading(*read_bare(" ".join(filter(None, figures))), *read_conditions(light, observer))
