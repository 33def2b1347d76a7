"""The cells of one row, read as what they should be. A cell that is not gets a fault, and a stand-in goes on.

What is returned beside a fault is never kept: one fault anywhere and nothing is loaded. Going on finds the others.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import TypeVar

from stockroom.domain.catalogue import BY_LENGTH, Cloth, Colour, Item, Place, Reading, Supplier
from stockroom.domain.quantities import mass_per_area, money_minor, need_mm, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS, read_tag
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.files.faults import Faults
from stockroom.files.tables import Row

_Kept = TypeVar("_Kept")
_CODE = re.compile(r"[A-Za-z0-9]+([-./][A-Za-z0-9]+)*")
_WHOLE = re.compile(r"[0-9]{1,12}")
_DECIMAL = re.compile(r"-?[0-9]{1,6}([.,][0-9]{1,6})?")
_OFFSET = re.compile(r"opening(?:\s*([+-])\s*([0-9]{1,5})\s*d)?", re.IGNORECASE)
_YES_NO = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
_LONGEST_CODE = 120
_LONGEST_TEXT = 300
_MOST = 1_000_000_000


@dataclass(slots=True)
class Known:
    """What a shop knows by code: what it keeps already, and what its files bring as they are read."""

    colours: dict[str, Colour] = field(default_factory=dict)
    cloths: dict[str, Cloth] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    lots: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Item → the lots of it that the shop keeps."""


@dataclass(slots=True)
class Border:
    """Everything that reading a row may ask."""

    opening: date
    """The day that 'opening' means in a file."""
    currency: str
    known: Known
    faults: Faults
    _seen: dict[tuple[object, ...], str] = field(default_factory=dict)

    def once(self, what: str, name: tuple[str, ...], row: Row) -> None:
        """A thing may stand in the files once: the second place is a fault that names the first."""
        first = self._seen.setdefault((what, *name), row.place)
        if first is not row.place:
            shown = " / ".join(quoted(part) for part in name if part)
            self.faults.add(f"{row.place}: {what} {shown} is there twice. It stands first in {first}.")


class Cells:
    """Typed access to one row's cells."""

    def __init__(self, row: Row, border: Border) -> None:
        self.row = row
        self._cells = row.cells
        self._border = border

    def fault(self, column: str, sentence: str) -> None:
        """Names a fault of one cell."""
        self._border.faults.add(f"{self.row.place}, column {column!r}: {sentence}")

    def given(self, column: str) -> bool:
        """Whether anything is written there."""
        return bool(self._cells[column])

    def text(self, column: str) -> str:
        """Any text in one line, or none."""
        text = self._cells[column]
        if len(text) > _LONGEST_TEXT or any(unicodedata.category(mark) in ("Cc", "Cs", "Zl", "Zp") for mark in text):
            self.fault(
                column,
                f"{quoted(text)} was found; text in one line was expected, up to {_LONGEST_TEXT} characters and none "
                "of them control characters.",
            )
        return text

    def named(self, column: str) -> str:
        """Text that must be there."""
        if not self._cells[column]:
            self.fault(column, "nothing is written there; a text was expected.")
        return self.text(column)

    def code(self, column: str) -> str:
        """A code of the thing itself: letters and digits, joined by single hyphens, points or strokes."""
        text = self._cells[column]
        if len(text) > _LONGEST_CODE or not _CODE.fullmatch(text):
            self.fault(
                column,
                f"{quoted(text) if text else 'nothing'} was found; a code was expected: letters and digits joined by "
                "hyphens, such as 'boot-carpet/black'.",
            )
        return text

    def one_of(self, column: str, choices: Collection[str]) -> str:
        """One of a few words, whatever its case."""
        text = self._cells[column].casefold()
        if text not in choices:
            self.fault(column, f"{_found(self._cells[column])}; {listed(choices, 'or')} was expected.")
        return text

    def yes_no(self, column: str, otherwise: bool) -> bool:
        """Yes or no; `otherwise` where nothing is written."""
        text = self._cells[column]
        if text and text.casefold() not in _YES_NO:
            self.fault(column, f"{_found(text)}; yes or no was expected.")
        return _YES_NO.get(text.casefold(), otherwise)

    def whole(self, column: str, least: int = 0) -> int:
        """A whole number in figures."""
        text = self._cells[column]
        number = int(text) if _WHOLE.fullmatch(text) else -1
        if not least <= number <= _MOST:
            self.fault(column, f"{_found(text)}; a whole number from {least} was expected.")
            return least
        return number

    def decimal(self, column: str, least: float, most: float) -> float:
        """A decimal number within bounds."""
        text = self._cells[column]
        number = float(Decimal(text.replace(",", "."))) if _DECIMAL.fullmatch(text) else None
        if number is None or not least <= number <= most:
            self.fault(column, f"{_found(text)}; a number from {least:g} to {most:g} was expected.")
            return least
        return number

    def stock_mm(self, column: str, least: int = 1) -> int:
        """A length in hand, rounded down to whole mm."""
        return self._at_least(column, self._read(column, stock_mm, least), least)

    def need_mm(self, column: str, least: int = 1) -> int:
        """A length asked for, rounded up to whole mm."""
        return self._at_least(column, self._read(column, need_mm, least), least)

    def stock_of(self, column: str, item: Item | None, least: int = 1) -> int:
        """So much of an item in hand: mm where it is stocked by length, else a count."""
        by_length = item is not None and item.kind in BY_LENGTH
        return self.stock_mm(column, least) if by_length else self._count(column, item, least)

    def need_of(self, column: str, item: Item | None, least: int = 1) -> int:
        """So much of an item asked for: mm where it is stocked by length, else a count."""
        by_length = item is not None and item.kind in BY_LENGTH
        return self.need_mm(column, least) if by_length else self._count(column, item, least)

    def mass_per_area(self, column: str) -> int:
        """Mass per area in g/m²; 0 where nothing is written."""
        return self._read(column, mass_per_area, 0) if self._cells[column] else 0

    def money(self, column: str, currency: str) -> int:
        """A sum of money in minor units of its currency; 0 where nothing is written."""
        return self._read(column, lambda text: money_minor(text, currency), 0) if self._cells[column] else 0

    def day(self, column: str, earliest: date = date.min, latest: date = date.max) -> date:
        """A day: ISO, or so many days from the opening."""
        text = self._cells[column]
        found = read_day(text, self._border.opening)
        if found is None:
            self.fault(column, f"{_found(text)}; a day was expected, such as 2026-11-25, opening or opening-21d.")
            return self._border.opening
        if not earliest <= found <= latest:
            bound = f"up to {latest}" if found > latest else f"from {earliest}"
            self.fault(column, f"{found} was found; a day {bound} was expected.")
        return found

    def reading(self) -> Reading | None:
        """A CIE L*a*b* reading from the columns L, a, b, illuminant and observer; `None` where L, a and b are empty."""
        given = [column for column in ("L", "a", "b") if self._cells[column]]
        if not given:
            return None
        if len(given) < 3:
            self.fault(given[0], "a reading needs all of L, a and b.")
            return None
        illuminant = self._cells["illuminant"] or "D65"
        if not re.fullmatch(r"[A-Za-z0-9.-]{1,10}", illuminant):
            self.fault("illuminant", f"{_found(illuminant)}; an illuminant such as D65 was expected.")
        observer = self._cells["observer"].removesuffix("°") or "10"
        if observer not in ("2", "10"):
            self.fault("observer", f"{_found(observer)}; 2 or 10 (degrees) was expected.")
        lightness = self.decimal("L", 0, 100)
        return Reading(lightness, self.decimal("a", -128, 127), self.decimal("b", -128, 127), illuminant, observer)

    def tag(self, column: str, *kinds: str) -> str:
        """A tag that is on the thing already, of one of these kind letters, once in the files; empty where none is."""
        if not self._cells[column]:
            return ""
        try:
            found = read_tag(self._cells[column])
        except Refusal as refusal:
            self.fault(column, refusal.sentence)
            return ""
        if found.kind not in kinds:
            expected = listed((f"{kind} (a {KINDS[kind]})" for kind in kinds), "or")
            self.fault(
                column, f"{found} is the tag of a {KINDS[found.kind]}; one that begins with {expected} was expected."
            )
        self._border.once("tag", (str(found),), self.row)
        return str(found)

    def kept(self, column: str, what: str, known: Mapping[str, _Kept]) -> _Kept | None:
        """What a code names, among those the shop knows; `None` beside a fault where it names nothing."""
        text = self._cells[column]
        found = known.get(text)
        if found is None:
            nothing = f"nothing was found; {'an' if what[0] in 'aeiou' else 'a'} {what} was expected."
            # Looking for the nearest name takes long where thousands of rows are wrong and nobody will read of them.
            self.fault(column, unknown(what, text, known) if text and not self._border.faults.full else nothing)
        return found

    def _count(self, column: str, item: Item | None, least: int) -> int:
        if item is None:  # its own fault is named already; what its quantities mean is not known
            return least
        return self.whole(column, least)

    def _read(self, column: str, reader: Callable[[str], int], otherwise: int) -> int:
        try:
            return reader(self._cells[column])
        except Refusal as refusal:
            self.fault(column, refusal.sentence)
            return otherwise

    def _at_least(self, column: str, number: int, least: int) -> int:
        if number < least:
            self.fault(column, f"{_found(self._cells[column])}; a length of at least {least} mm was expected.")
        return max(number, least)


def read_day(text: str, opening: date) -> date | None:
    """The day a text names: ISO, or so many days from the opening day; `None` where it names none.

    >>> read_day("opening-21d", date(2026, 11, 23)), read_day("2026-11-25", date(2026, 11, 23))
    (datetime.date(2026, 11, 2), datetime.date(2026, 11, 25))
    """
    plain = text.strip()
    offset = _OFFSET.fullmatch(plain)
    try:
        if offset is not None:
            return opening + timedelta(days=int(f"{offset[1] or '+'}{offset[2] or 0}"))
        return date.fromisoformat(plain) if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", plain) else None
    except (ValueError, OverflowError):
        return None


def _found(text: str) -> str:
    return f"{quoted(text)} was found" if text else "nothing was found"
