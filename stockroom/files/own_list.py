"""The rows of a shop's own stock list, put as the tables here have them: items and places found by name, units said.

What comes out goes through the same reader as any other table. Whatever is not plain is a fault of its row.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from stockroom.domain.catalogue import Item
from stockroom.domain.lots import other_spellings
from stockroom.domain.wording import listed, quoted
from stockroom.files.cells import Known
from stockroom.files.faults import Faults
from stockroom.files.own_columns import CLOTH, COLOUR, ROW, Told, Understood, understand
from stockroom.files.tables import Grid

_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")
_SERIAL = re.compile(r"[2-6][0-9]{4}")
"""A day as spreadsheets count it, between 1954 and 2091."""
_DAY_ZERO = date(1899, 12, 30)
_WRITTEN_DAY = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})")
_LENGTHS, _DAYS = ("length", "width"), ("received", "expires")


def own_grid(grid: Grid, told: Told, known: Known, faults: Faults) -> tuple[str, Grid, list[str]]:
    """The table a list is, the list as such a table, and what was understood of it, in sentences.

    `known`: the items, places and lots that the shop has. Faults of rows are noted with the row's number in the file.
    Raises `Unclear` where it must be said which column is what.
    """
    found = understand(grid, told)
    names = _Names(known)
    if found.table == "items":
        return _items(grid, found, names, faults)
    columns = [column for column in found.where if column not in (CLOTH, COLOUR)]
    if "item" not in columns:
        columns.insert(0, "item")
    if found.is_numbered:
        columns.append("label")
    rows: list[tuple[int, Sequence[str]]] = [(grid.rows[found.header_at][0], columns)]
    lots: dict[str, dict[str, int]] = {}
    for number, cells in grid.rows[found.header_at + 1 :]:
        row = _Row(number, f"{grid.name}, row {number}", cells, found, faults)
        item = row.item(names)
        rows.append((number, [item if column == "item" else row.put(column, names) for column in columns]))
        if not told.lots_as_written and item:
            row.compare_lot(number, lots.setdefault(item, {}), known.lots.get(item, ()))
    sentences = found.sentences(grid.name)
    if found.header_at:
        sentences.append(f"{grid.name}: what stands above its header (row {rows[0][0]}) was not read.")
    return found.table, Grid(grid.name, rows), sentences


def _items(grid: Grid, found: Understood, names: _Names, faults: Faults) -> tuple[str, Grid, list[str]]:
    """A list of items as the table of items: cloths and colours found by their names, kinds in the plural or not."""
    header = grid.rows[found.header_at][0]
    rows: list[tuple[int, Sequence[str]]] = [(header, [*found.where, *(["kind"] if found.kind else [])])]
    for number, cells in grid.rows[found.header_at + 1 :]:
        row = _Row(number, f"{grid.name}, row {number}", cells, found, faults)
        put = [names.of_item(column, row.text(column)) for column in found.where]
        rows.append((number, [*put, *([found.kind] if found.kind else [])]))
    return found.table, Grid(grid.name, rows), found.sentences(grid.name)


class _Names:
    """What items and places are called, besides their codes."""

    def __init__(self, known: Known) -> None:
        self.items = known.items
        self._cloths = _by_name((one.code, one.title, one.code) for one in known.cloths.values())
        self._colours = _by_name((one.code, one.name, one.code) for one in known.colours.values())
        self._items = _by_name((one.code, one.title, one.code) for one in known.items.values())
        self._places = _by_name((one.code, one.title, one.code) for one in known.places.values())

    def item(self, named: str, colour: str) -> Sequence[str]:
        """Codes of the items that are called so; several where it is not plain."""
        if not colour:
            return self._items.get(_plain(named), ())
        together = [
            f"{cloth}/{hue}"
            for cloth in self._cloths.get(_plain(named), ())
            for hue in self._colours.get(_plain(colour), ())
        ]
        titled = [
            code
            for code in self._items.get(_plain(named), ())
            if self.items[code].colour in self._colours.get(_plain(colour), ())
        ]
        return [code for code in dict.fromkeys((*together, *titled)) if code in self.items]

    def place(self, named: str) -> Sequence[str]:
        """Codes of the places that are called so."""
        return self._places.get(_plain(named), ())

    def of_item(self, column: str, text: str) -> str:
        """What stands under a column of a list of items, as the table has it; what is not plain stays as it is."""
        by_name = {"cloth": self._cloths, "colour": self._colours}.get(column)
        if by_name is not None:
            codes = by_name.get(_plain(text), ())
            return codes[0] if len(codes) == 1 else text
        return _plain(text).removesuffix("s").removesuffix(" good") if column == "kind" else text

    def of_cloth(self, named: str) -> list[Item]:
        """The items of a cloth."""
        cloths = self._cloths.get(_plain(named), ())
        return [item for item in self.items.values() if item.cloth in cloths]


class _Row:
    """One row of the list."""

    def __init__(self, number: int, place: str, cells: Sequence[str], found: Understood, faults: Faults) -> None:
        self._number = number
        self._place = place
        self._cells = cells
        self._found = found
        self._faults = faults

    def text(self, column: str) -> str:
        """What stands under a column; empty where the list has no such column."""
        at = self._found.where.get(column)
        return self._cells[at] if at is not None and at < len(self._cells) else ""

    def fault(self, column: str, sentence: str) -> None:
        """Names a fault by the heading as it stands in the list."""
        heading = self._found.headings.get(column, column)
        self._faults.add(f"{self._place}, column {quoted(heading)}: {sentence}")

    def item(self, names: _Names) -> str:
        """The code of the row's item; what was written where no item is called so, for the reader to name."""
        code, named, colour = self.text("item"), self.text(CLOTH), self.text(COLOUR)
        if code in names.items:
            return code
        found = names.item(code, "") or (names.item(code, colour) if colour else ())
        if not found and named:
            found = names.item(named, colour) or (() if colour else [one.code for one in names.of_cloth(named)])
        if len(found) > 1:
            shown = listed([quoted(one) for one in found[:6]], "or")
            self.fault("item" if code else CLOTH, f"{quoted(code or named)} may be {shown}. Write its code.")
            return ""
        return found[0] if found else code or "/".join(part for part in (named, colour) if part)

    def put(self, column: str, names: _Names) -> str:
        """What stands under a column, as the reader of tables takes it."""
        text = self.text(column)
        if column == "label" and self._found.is_numbered:
            return f"{ROW} {self._number}"
        if column == "place":
            return self._place_code(text, names)
        if column in _LENGTHS and _BARE.fullmatch(text):
            return self._with_unit(column, text)
        if column in _DAYS and text:
            return self._day(column, text)
        return text

    def _place_code(self, text: str, names: _Names) -> str:
        found = names.place(text)
        if len(found) > 1 and text not in found:
            self.fault("place", f"{quoted(text)} may be {listed(map(quoted, found), 'or')}. Write its code.")
        return text if text in found or not found else found[0]

    def _with_unit(self, column: str, text: str) -> str:
        unit = self._found.units.get(column)
        if unit is None:
            self.fault(column, f"{text} has no unit. Say what its numbers are: --unit {column}=m (or yd, ft, in, mm).")
            return f"{text} m"
        return f"{text} {unit}"

    def _day(self, column: str, text: str) -> str:
        """A day as people and spreadsheets write it. One that can be read two ways is a fault."""
        if _SERIAL.fullmatch(text):
            return (_DAY_ZERO + timedelta(days=int(text))).isoformat()
        written = _WRITTEN_DAY.fullmatch(text)
        if written is None:
            return text
        first, last, year = int(written[1]), int(written[3]), int(written[4])
        if written[2] != "." and first <= 12 and last <= 12 and first != last:
            either = f"{year}-{last:02d}-{first:02d} or {year}-{first:02d}-{last:02d}"
            self.fault(column, f"{quoted(text)} can be read two ways. Write {either}.")
        day, month = (last, first) if written[2] != "." and last > 12 else (first, last)
        return f"{year:04d}-{month:02d}-{day:02d}"

    def compare_lot(self, number: int, before: dict[str, int], kept: Sequence[str]) -> None:
        """Names a lot that looks like one above it, or one that the shop has, written otherwise."""
        lot = self.text("lot")
        first = before.get(lot)
        if not lot or first is not None:
            return
        before[lot] = number
        above = other_spellings(lot, [one for one in before if one != lot])
        there = other_spellings(lot, kept)
        if above or there:
            other = above[0] if above else there[0]
            where = f"in row {before[other]}" if above else "in the shop"
            self.fault(
                "lot",
                f"{quoted(lot)} may be lot {quoted(other)} {where}, written otherwise. Write both alike if they are "
                "one; if they are two: --lots-as-written.",
            )


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _by_name(named: Iterable[tuple[str, str, str]]) -> Mapping[str, list[str]]:
    """Plain code or title → codes."""
    found: dict[str, list[str]] = {}
    for code, title, value in named:
        for name in {_plain(code), _plain(title)}:
            found.setdefault(name, []).append(value)
    return found
