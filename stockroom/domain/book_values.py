"""Whether a value of a kit book will do where it is used: of the right kind, and there in the shop's catalogue."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stockroom.domain.book_uses import UseKind
from stockroom.domain.kitbook import Then
from stockroom.domain.wording import quoted, unknown

CAR_COLOURS = {"@trim": "trim", "@body": "body", "@hood": "hood"}
"""How a role names the car's own colour."""


@dataclass(frozen=True, slots=True)
class BookCatalogue:
    """The codes of a shop's catalogue that a kit book may use."""

    cloths: frozenset[str]
    """Roll materials, cut into panels."""
    narrow: frozenset[str]
    """Narrow goods (binding, piping, webbing, zip), by length."""
    items: frozenset[str]
    """Everything stocked; a cloth or narrow goods in a colour is CLOTH/COLOUR."""
    colours: frozenset[str]

    def in_colours(self) -> frozenset[str]:
        """Codes that are an item in at least one colour."""
        return frozenset(code.rpartition("/")[0] for code in self.items if "/" in code)


def value_fault(kind: UseKind, value: Then, catalogue: BookCatalogue) -> str | None:
    """What is wrong with `value` where it is used as `kind`, or `None`.

    >>> value_fault("count", "four", BookCatalogue(frozenset(), frozenset(), frozenset(), frozenset()))
    "'four' is no count; a whole number was expected."
    """
    if kind == "count":
        fits = isinstance(value, int) and not isinstance(value, bool) and value >= 0
        return None if fits else f"{_shown(value)} is no count; a whole number was expected."
    if kind == "there":
        return (
            None
            if isinstance(value, bool)
            else f"{_shown(value)} does not say whether it is there; true or false was expected."
        )
    if not isinstance(value, str):
        return f"{_shown(value)} is no code; {_EXPECTED[kind]} was expected."
    if kind == "hole":
        done = value in ("cut", "marked", "solid")
        return (
            None if done else f"{_shown(value)} is nothing to do about a hole; 'cut', 'marked' or 'solid' was expected."
        )
    return _code_fault(kind, value, catalogue)


_EXPECTED: dict[UseKind, str] = {
    "cloth": "a cloth",
    "narrow": "narrow goods",
    "item": "an item",
    "coloured": "goods that are an item in each colour",
    "hole": "'cut', 'marked' or 'solid'",
    "colour": "a colour",
}


def _code_fault(kind: UseKind, code: str, catalogue: BookCatalogue) -> str | None:
    if kind == "cloth":
        if code in catalogue.narrow:
            return f"{quoted(code)} is narrow goods; a cloth was expected."
        return _missing("cloth", code, catalogue.cloths)
    if kind == "narrow":
        if code in catalogue.cloths:
            return f"{quoted(code)} is a cloth; narrow goods were expected."
        return _missing("narrow goods", code, catalogue.narrow)
    if kind == "colour":
        return None if code in CAR_COLOURS else _missing("colour", code, catalogue.colours)
    if kind == "coloured":
        return _missing("item in any colour of", code, catalogue.in_colours())
    return _missing("item", code, catalogue.items)


def _missing(what: str, code: str, known: Iterable[str]) -> str | None:
    return None if code in known else unknown(what, code, known)


def _shown(value: Then) -> str:
    return str(value).lower() if isinstance(value, bool) else quoted(value) if isinstance(value, str) else str(value)
