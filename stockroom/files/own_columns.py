"""A shop's own stock list, turned into a table that is known here: which column is what, and in which unit.

People name columns as they like. What is recognised is said back; what is not is asked for, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted
from stockroom.files.catalogue import ITEMS
from stockroom.files.tables import Grid

CLOTH, COLOUR = "cloth", "colour"
"""Columns that together name an item, where a list has no codes."""
_NAMES: Mapping[str, Mapping[str, str]] = {
    "rolls": {
        "label": "label, roll, roll no, roll number, roll id, number, no, our number, our mark, mark, card, card no",
        "item": "item, item code, code, stock code, article, article no",
        CLOTH: "cloth, material, fabric, quality, goods, description, title, item name",
        COLOUR: "colour, color, col, shade, colour name, color name",
        "lot": "lot, lot no, lot number, dye lot, dyelot, dye lot no, batch, batch no, batch number, dye batch",
        "length": "length, qty, quantity, amount, metres, meters, yards, feet, on hand, in stock, in hand, left, "
        "remaining, roll length, stock",
        "place": "place, location, shelf, rack, where, position, stored in, store, bin",
        "width": "width, usable width, roll width",
        "measured": "measured",
        "remnant": "remnant, offcut",
        "value": "value, worth, stock value, cost",
        "flaws": "flaws, faults, defects",
        "quarantined": "quarantined, quarantine, set aside because",
        "received": "received, date received, received on, date in, arrived, came in",
        "expires": "expires, expiry, use by, best before",
    },
    "bins": {
        "item": "item, item code, code, stock code, article, article no, part, part no, part number",
        CLOTH: "description, title, item name, name, goods, material",
        COLOUR: "colour, color, col, shade, colour name, color name",
        "lot": "lot, lot no, lot number, batch, batch no, batch number",
        "place": "place, location, shelf, bin, drawer, box, rack, where, position, stored in",
        "count": "count, qty, quantity, pieces, pcs, on hand, in stock, in hand, stock, how many, number of",
        "value": "value, worth, stock value, cost",
        "quarantined": "quarantined, quarantine, set aside because",
        "expires": "expires, expiry, use by, best before",
    },
    "items": {
        **{column: column.replace("_", " ") for column in (*ITEMS.required, *ITEMS.optional)},
        "code": "code, item code, stock code, item no, article, article no, part, part no, part number",
        "title": "title, description, name, item, item name",
        "kind": "kind, kind of item, type, sort",
        "cloth": "cloth, material, fabric",
        "colour": "colour, color, col, shade, colour name, color name",
        "mass_g": "mass g, weight g, grams",
        "group": "group, item group",
        "least": "least, minimum, min, reorder at, reorder point, reorder level",
        "most": "most, maximum, max",
        "hazards": "hazards, hazard, warnings, cautions",
        "storage": "storage, keep, how to keep, storage conditions",
        "posting": "posting, in the post",
        "made_here": "made here",
    },
}
"""Table → column → how people head it."""
_KINDS_OF_ITEMS = {"consumables": "consumable"}
"""A list that somebody says to be of these is one of items, all of that kind."""
TABLES = (*_NAMES, *_KINDS_OF_ITEMS)
_ALL_NAMES = frozenset(
    name.strip() for columns in _NAMES.values() for names in columns.values() for name in names.split(",")
)
_NEEDED = {
    "rolls": ("label", "item", "length", "place"),
    "bins": ("item", "place", "count"),
    "items": ("code", "kind"),
}
ROW = "row"
"""Said in place of a heading: each row's own number in the file is meant, where rolls have no numbers of their own."""
_LENGTHS = ("length", "width")
_UNITS = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetres", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters", "mtr", "mtrs"), "m"),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), "yd"),
    **dict.fromkeys(("in", "inch", "inches"), "in"),
    **dict.fromkeys(("ft", "foot", "feet"), "ft"),
}
_HEADER_WITHIN = 30
"""Rows that are looked through for the header: lists begin with titles and dates."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a person said of their own list, beside the list."""

    table: str = ""
    """'rolls', 'bins', 'items' or 'consumables'; empty: the columns tell."""
    columns: Mapping[str, str] = field(default_factory=dict)
    """Heading as it stands in the list → the column that it is; empty: leave it out."""
    units: Mapping[str, str] = field(default_factory=dict)
    """Column → the unit of its bare numbers."""
    lots_as_written: bool = False
    """Lots that look like one in two spellings are several."""
    sheet: str = ""
    """The sheet of a workbook that is meant; empty: all."""


@dataclass(frozen=True, slots=True)
class Understood:
    """Which table a list is, and where in it each column stands."""

    table: str
    where: Mapping[str, int]
    """Column → its place in the header."""
    headings: Mapping[str, str]
    """Column → its heading as it stands in the list."""
    units: Mapping[str, str]
    """Column → the unit of its bare numbers, where one is known."""
    header_at: int
    """Place of the header among the grid's rows."""
    left_out: tuple[str, ...]
    """Headings of columns that are not read."""
    is_numbered: bool = False
    """A roll's label is the number of its row."""
    kind: str = ""
    """The kind of all its items, where somebody said it of the whole list."""

    def sentences(self, name: str) -> list[str]:
        """What was understood, for the person whose list it is."""
        said = []
        for column, heading in self.headings.items():
            unit = f" in {self.units[column]}" if column in self.units else ""
            said.append(f"{quoted(heading)} is {column}{unit}")
        said += ["the number of its row is each roll's label"] if self.is_numbered else []
        said += [f"each is a {self.kind}"] if self.kind else []
        lines = [f"{name} was read as {self.table}: {', '.join(said)}."]
        if self.left_out:
            lines.append(f"{name}: not read: {listed(map(quoted, self.left_out))}.")
        return lines


class Unclear(Refusal):
    """Columns of a list were not recognised: a person has to say which they are."""

    def __init__(self, sentence: str, missing: Sequence[str] = (), headings: Sequence[str] = ()) -> None:
        super().__init__(sentence)
        self.missing = tuple(missing)
        self.headings = tuple(headings)


def understand(grid: Grid, told: Told) -> Understood:
    """What the columns of a list are. Raises `Unclear` where one that is needed was not recognised, or two may be."""
    tables = ["items" if told.table in _KINDS_OF_ITEMS else told.table] if told.table else list(_NAMES)
    found = [one for table in tables for one in _read_as(grid, table, told)]
    whole = [one for one in found if not _missing(one)]
    if not whole:
        best = max(found, key=lambda one: len(one.where), default=None)
        raise _unclear(grid, best)
    most = max(len(one.where) for one in whole)
    best_of = [one for one in whole if len(one.where) == most]
    if any(one.table == "items" for one in best_of):  # what is on a shelf is never taken for a mere list of items
        best_of = whole
    if len(best_of) > 1:
        raise Unclear(
            f"{grid.name} may be a list of {listed((one.table for one in best_of), 'or')}. "
            f"Say which: --as {best_of[0].table}."
        )
    return best_of[0]


def columns_of(table: str) -> tuple[str, ...]:
    """What a column of such a list may be; of any list where no table is named."""
    table = "items" if table in _KINDS_OF_ITEMS else table
    return tuple(dict.fromkeys(column for name in _NAMES for column in _NAMES[name] if name == table or not table))


def is_a_heading(text: str) -> bool:
    """Whether some column is headed so."""
    return any(key in _ALL_NAMES for key in _keys(text))


def heading_key(text: str) -> tuple[str, str]:
    """A heading as it is compared, and the unit it names.

    >>> heading_key("Length (m)"), heading_key(" Roll No. "), heading_key("Width in inches"), heading_key("Yards")
    (('length', 'm'), ('roll no', ''), ('width', 'in'), ('yards', 'yd'))
    """
    words = _words(text)
    if len(words) > 1 and words[-1] in _UNITS:
        unit = _UNITS[words.pop()]
        if len(words) > 1 and words[-1] == "in":
            words.pop()
        return " ".join(words), unit
    return " ".join(words), _UNITS.get(words[0], "") if len(words) == 1 and len(words[0]) > 2 else ""


def _words(text: str) -> list[str]:
    return re.sub(r"[^\w]+", " ", text.casefold().replace("_", " ")).split()


def _keys(heading: str) -> tuple[str, str]:
    """A heading as it stands, and without a unit at its end: 'date in' is no date in inches."""
    return " ".join(_words(heading)), heading_key(heading)[0]


def _read_as(grid: Grid, table: str, told: Told) -> list[Understood]:
    """The list read as this table, by the first row that looks like its header; none where no row does."""
    names = {name.strip(): column for column, names in _NAMES[table].items() for name in names.split(",")}
    names |= {column: column for column in _NAMES[table]}
    said = {" ".join(_words(heading)): column for heading, column in told.columns.items()}
    for at, (_, cells) in enumerate(grid.rows[:_HEADER_WITHIN]):
        hits = [_column(cell, names, said) for cell in cells]
        if len({column for column in hits if column}) >= 2:
            return [_understood(grid, table, told, at, hits)]
    return []


def _column(heading: str, names: Mapping[str, str], said: Mapping[str, str]) -> str | None:
    """The column that a heading means; an empty text for one that is to be left out, `None` for an unknown one."""
    return next((found[key] for found in (said, names) for key in _keys(heading) if key in found), None)


def _understood(grid: Grid, table: str, told: Told, at: int, hits: Sequence[str | None]) -> Understood:
    header = grid.rows[at][1]
    where: dict[str, int] = {}
    twice: dict[str, list[str]] = {}
    for place, column in enumerate(hits):
        if not column or column not in _NAMES[table]:
            continue
        if column in where:
            twice.setdefault(column, [header[where[column]]]).append(header[place])
        else:
            where[column] = place
    if twice:
        column, both = next(iter(twice.items()))
        raise Unclear(
            f"{grid.name}: {listed(map(quoted, both))} may each be the {column}. "
            f'Say which: --column "{both[0]}={column}" --column "{both[1]}=".',
        )
    units = {column: heading_key(header[place])[1] for column, place in where.items() if column in _LENGTHS}
    units = {column: unit for column, unit in units.items() if unit} | dict(told.units)
    left_out = tuple(text for place, text in enumerate(header) if text and place not in where.values())
    headings = {column: header[place] for column, place in where.items()}
    is_numbered = told.columns.get(ROW) == "label" and table == "rolls" and "label" not in where
    kind = _KINDS_OF_ITEMS.get(told.table, "") if "kind" not in where else ""
    return Understood(table, where, headings, units, at, left_out, is_numbered, kind)


def _missing(one: Understood) -> tuple[str, ...]:
    """Columns that are needed and not there. An item is told by its code, or by its name (and colour)."""
    return tuple(
        column
        for column in _NEEDED[one.table]
        if column not in one.where
        and not (column == "item" and CLOTH in one.where)
        and not (column == "kind" and one.kind)
        and not (column == "label" and one.is_numbered)
    )


def _unclear(grid: Grid, best: Understood | None) -> Unclear:
    if best is None:
        first = grid.rows[0][1] if grid.rows else ()
        return Unclear(
            f"{grid.name} has no row in which columns of a stock list were recognised. Its first row is: "
            f"{', '.join(map(quoted, first[:8])) or 'empty'}. Say what they are, for example "
            '--as rolls --column "Bay=place" --column "Nr=label".'
        )
    missing, header = _missing(best), [text for text in grid.rows[best.header_at][1] if text]
    example = best.left_out[0] if best.left_out else "Heading"
    all_of_a_kind = " Where all are consumables, say so: --as consumables." if missing == ("kind",) else ""
    rows = f' Where the rolls have no numbers, their rows number them: --column "{ROW}=label".'
    return Unclear(
        f"{grid.name}, read as {best.table}: no column was recognised as {listed(missing)}. Its columns are "
        f'{listed(map(quoted, header))}. Say which it is: --column "{example}={missing[0]}".'
        + (rows if missing == ("label",) else "")
        + all_of_a_kind,
        missing,
        best.left_out,
    )
