"""A kit book out of its TOML text, checked hard: every fault at once, each with file, line, table and key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, TypeVar

from stockroom.domain.kitbook import KitBook, Role, RuleList
from stockroom.files.loose_table import LooseTable
from stockroom.files.toml_text import Document, parse

if TYPE_CHECKING:
    from stockroom.files import kitbook_tables as tables
    from stockroom.files.border import Strict
    from stockroom.files.toml_faults import TomlFaults

    Table = TypeVar("Table", bound=Strict)

MOST_POINTS_IN_ALL = 50_000
"""Points of all the outlines of a book together."""
_CAR_COLOURS = {
    part: Role(part, f"@{part}", f"The {part} colour of the car itself.") for part in ("trim", "body", "hood")
}
"""Colour roles that exist without being written."""


def read_kitbook(text: str, name: str) -> KitBook:
    """The kit book written in `text`; `name` is the file's name, for sentences.

    Raises `Refusal`; where the text is TOML its `faults` hold a sentence for every fault of the book.
    """
    return kitbook_from(parse(text, name))


def kitbook_from(document: Document) -> KitBook:
    """The kit book in a document that has been parsed. Raises `Refusal` with every fault."""
    from stockroom.files.toml_faults import TomlFaults

    faults = TomlFaults(document)
    read = _Tables(document, faults)
    read.check()
    faults.raise_if_any()
    return read.book()


class _Tables:
    """The tables of one document, each checked by itself; those with faults are left out."""

    def __init__(self, document: Document, faults: TomlFaults) -> None:
        from stockroom.files import kitbook_tables as tables

        self._data = document.data
        self._faults = faults
        faults.checked(tables.Top, self._data, ())
        self._head = faults.checked(tables.Book, self._table("book"), ("book",)) if self._has("book") else None
        self._works = faults.checked(tables.Works, {"works": self._table("works")}, ()) if self._has("works") else None
        self._titles = faults.checked(tables.RuleTitles, {"rule-titles": self._table("rule-titles")}, ())
        self._series = self._entries("series", tables.Series)
        self._options = self._entries("options", tables.Option)
        self._roles = self._entries("roles", tables.Role)
        self._rules = self._rule_lists()
        self._outlines = self._entries("outlines", tables.Outline)
        self._pieces = self._entries("pieces", tables.Piece)
        self._kits = self._entries("kits", tables.Kit)
        self._pairings = self._listed_pairings()

    def check(self) -> None:
        """Note what is wrong between the tables: names of nothing, outlines that cannot be cut, rings of kits."""
        from stockroom.files.kitbook_names import check_names
        from stockroom.files.outline_faults import check_holes, check_outline

        self._refuse_too_many_points()
        for code, outline in self._outlines.items():
            check_outline(self._faults, outline, ("outlines", code))
        for code, piece in self._pieces.items():
            for number, panel in enumerate(piece.panels):
                check_holes(self._faults, panel, self._outlines, ("pieces", code, "panels", number))
        check_names(self._faults, LooseTable(self._data))

    def book(self) -> KitBook:
        """The kit book, once no fault was found."""
        if self._head is None or self._works is None or self._titles is None:
            raise RuntimeError("a kit book with faults was to be made into its shape")
        outlines = {code: table.outline(code) for code, table in self._outlines.items()}
        titles = self._titles.titles
        return KitBook(
            code=self._head.code,
            title=self._head.title,
            version=self._head.version,
            format=1,
            works=self._works.works,
            series={code: table.series(code) for code, table in self._series.items()},
            options={code: table.option(code) for code, table in self._options.items()},
            roles=_CAR_COLOURS | {code: table.role(code) for code, table in self._roles.items()},
            rules={
                code: RuleList(code, titles.get(code, code), tuple(rule.rule() for rule in rules.values()))
                for code, rules in self._rules.items()
            },
            outlines=outlines,
            pieces={code: table.piece(code, outlines) for code, table in self._pieces.items()},
            kits={code: table.kit(code) for code, table in self._kits.items()},
            pairings=tuple(pairing.pairing() for pairing in self._pairings),
        )

    def _code(self, key: str, code: str) -> None:
        from stockroom.files.border import CODE, CODE_WORDS, PIECE_CODE, PIECE_CODE_WORDS

        fits, words = (PIECE_CODE, PIECE_CODE_WORDS) if key == "pieces" else (CODE, CODE_WORDS)
        if not fits.fullmatch(code):
            self._faults.add((key, code), f"this name will not do; expected {words}.")

    def _has(self, key: str) -> bool:
        return isinstance(self._data.get(key), dict)

    def _table(self, key: str) -> Mapping[str, object]:
        table = self._data.get(key)
        return table if isinstance(table, dict) else {}

    def _entries(self, key: str, table: type[Table]) -> dict[str, Table]:
        """The tables [KEY.CODE] that are as they should be, by code."""
        found: dict[str, Table] = {}
        for code, value in self._table(key).items():
            self._code(key, code)
            checked = self._faults.checked(table, value, (key, code))
            if checked is not None:
                found[code] = checked
        return found

    def _rule_lists(self) -> dict[str, dict[int, tables.Rule]]:
        """Rule list code → number in the list (from 0) → rule, of the rules that are as they should be."""
        from stockroom.files.kitbook_tables import Rule

        lists: dict[str, dict[int, Rule]] = {}
        for code, rows in self._table("rules").items():
            lists[code] = {}
            self._code("rules", code)
            if not isinstance(rows, list) or not rows:
                self._faults.add(("rules", code), f"expected at least one rule, each written as [[rules.{code[:60]}]].")
                continue
            for number, row in enumerate(rows):
                rule = self._faults.checked(Rule, row, ("rules", code, number))
                if rule is not None:
                    lists[code][number] = rule
        return lists

    def _listed_pairings(self) -> list[tables.Pairing]:
        from stockroom.files.kitbook_tables import Pairing

        rows = self._data.get("pairings")
        checked = [
            self._faults.checked(Pairing, row, ("pairings", number))
            for number, row in enumerate(rows if isinstance(rows, list) else [])
        ]
        return [pairing for pairing in checked if pairing is not None]

    def _refuse_too_many_points(self) -> None:
        points = sum(len(outline.points) for outline in self._outlines.values())
        if points > MOST_POINTS_IN_ALL:
            self._faults.add(
                ("outlines",), f"all outlines together have {points} points; expected {MOST_POINTS_IN_ALL} at most."
            )
            self._faults.raise_if_any()
