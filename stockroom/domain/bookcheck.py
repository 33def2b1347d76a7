"""The check of a kit book: walks every kind of car it covers and proves that every question has an answer.

A fault is something an order would run into; a note is something to look at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from stockroom.domain.book_loose_ends import closed_kit_faults, loose_ends
from stockroom.domain.book_uses import Coloured, Use, coloured_of_piece, uses_of_kit, uses_of_piece
from stockroom.domain.book_values import CAR_COLOURS, BookCatalogue, value_fault
from stockroom.domain.book_walk import Dead, TooMany, Walk
from stockroom.domain.car_kinds import CarKinds
from stockroom.domain.conditions import facts_of
from stockroom.domain.kitbook import Ask, Kit, KitBook, RuleList
from stockroom.domain.wording import listed, quoted

__all__ = ["BookCatalogue", "BookReport", "Tallies", "check_book"]

GAPS_TOLD = 4
"""Kinds of cars without an answer that one sentence tells."""


@dataclass(frozen=True, slots=True)
class Tallies:
    """What was walked."""

    cars: int
    """Kinds of cars: series × chassis numbers × works × days built × hand, cut wherever a rule may tell them apart."""
    questions: int
    """Questions put: one rule list for one kind of car (and its options) at one place."""
    rule_lists: int
    kits: int
    pieces: int
    outlines: int


@dataclass(frozen=True, slots=True)
class BookReport:
    """What the check found."""

    title: str
    faults: tuple[str, ...]
    """What an order would run into."""
    notes: tuple[str, ...]
    """What is worth a look."""
    tallies: Tallies

    def lines(self) -> tuple[str, ...]:
        """The report as a person reads it: the verdict, what was walked, then faults and notes."""
        tallies = self.tallies
        verdict = "no faults" if not self.faults else _counted(len(self.faults), "fault")
        notes = f", {_counted(len(self.notes), 'note')}" if self.notes else ""
        walked = (
            f"Walked {_counted(tallies.cars, 'kind')} of car with {_counted(tallies.questions, 'question')}: "
            f"{_counted(tallies.kits, 'kit')}, {_counted(tallies.pieces, 'piece')}, "
            f"{_counted(tallies.outlines, 'outline')}, {_counted(tallies.rule_lists, 'rule list')}."
        )
        return (
            f"{self.title}: {verdict}{notes}.",
            walked,
            *(f"FAULT {fault}" for fault in self.faults),
            *(f"note  {note}" for note in self.notes),
        )


def check_book(book: KitBook, catalogue: BookCatalogue) -> BookReport:
    """Check a kit book that has been read without faults against the shop's catalogue."""
    check = _Check(book, catalogue)
    faults = tuple(dict.fromkeys(check.faults()))
    notes = tuple(dict.fromkeys([*check.notes(), *loose_ends(book)]))
    tallies = Tallies(
        cars=check.kinds.count(),
        questions=check.walk.questions,
        rule_lists=len(book.rules),
        kits=len(book.kits),
        pieces=len(book.pieces),
        outlines=len(book.outlines),
    )
    return BookReport(f"Kit book {quoted(book.code)}, version {book.version}", faults, notes, tallies)


class _Check:
    """One check of one book."""

    def __init__(self, book: KitBook, catalogue: BookCatalogue) -> None:
        self._book = book
        self._catalogue = catalogue
        self.kinds = CarKinds(book, catalogue.colours)
        self.walk = Walk(book, self.kinds)
        self._uses = {code: uses_of_piece(book, piece) for code, piece in book.pieces.items()}
        self._kit_uses = {code: uses_of_kit(kit) for code, kit in book.kits.items()}

    def faults(self) -> Iterator[str]:
        yield from self._value_faults()
        yield from self._colour_faults()
        for rules in self._book.rules.values():
            yield from self._dead(rules)
        yield from self._gaps()
        for kit in self._book.kits.values():
            yield from self._kit_faults(kit)

    def notes(self) -> Iterator[str]:
        yield from self._items_without()
        for kit, use in self._walked_uses():
            if use.kind == "there" and self._never(kit, use):
                yield f"{use.where}: never there in kit {quoted(kit.code)}, whatever the car."

    def _never(self, kit: Kit, use: Use) -> bool:
        """Whether the rules say no for every car."""
        if not isinstance(use.asked, Ask):
            return False
        try:
            asked = self.walk.asked(kit, use.asked.rule, use.guards)
        except TooMany:
            return False
        return asked.answers == (False,) and not asked.gaps

    def _all_uses(self) -> Iterator[Use]:
        for uses in (*self._uses.values(), *self._kit_uses.values()):
            yield from uses

    def _walked_uses(self) -> Iterator[tuple[Kit, Use]]:
        """Every use with the kit it is asked for. Kits within a kit are walked by themselves: each can be ordered."""
        for kit in self._book.kits.values():
            for use in self._uses_in(kit):
                yield kit, use

    def _uses_in(self, kit: Kit) -> Iterator[Use]:
        yield from self._kit_uses[kit.code]
        for code in kit.pieces:
            yield from self._uses[code]

    def _value_faults(self) -> Iterator[str]:
        for use in self._all_uses():
            if not isinstance(use.asked, Ask):
                wrong = value_fault(use.kind, use.asked, self._catalogue)
                if wrong is not None:
                    yield f"{use.where}: {wrong}"
                continue
            for number, rule in enumerate(self._book.rules[use.asked.rule].rules, 1):
                wrong = value_fault(use.kind, rule.then, self._catalogue)
                if wrong is not None:
                    yield f"rules.{use.asked.rule}, rule {number}: {wrong} It is used by {use.where}."

    def _colour_faults(self) -> Iterator[str]:
        """Colours that conditions and pairings name must exist."""
        colours = self._catalogue.colours
        named = [
            (f"rules.{rules.code}, rule {number}", (*rule.when.body, *rule.when.trim, *rule.when.hood))
            for rules in self._book.rules.values()
            for number, rule in enumerate(rules.rules, 1)
        ]
        named += [
            (
                f"pairings, number {number}",
                (pairing.trim, *(code for part in pairing.goes_with.values() for code in part)),
            )
            for number, pairing in enumerate(self._book.pairings, 1)
        ]
        for where, codes in named:
            for code in codes:
                wrong = value_fault("colour", code, self._catalogue) if code not in colours else None
                if wrong is not None:
                    yield f"{where}: {wrong}"

    def _dead(self, rules: RuleList) -> Iterator[str]:
        try:
            dead = self.walk.dead(rules)
        except TooMany as many:
            yield _too_many(f"rules.{rules.code}", many)
            return
        for rule in dead:
            yield f"rules.{rules.code}, rule {rule.number}: never fires, {_why_dead(rule)}."

    def _gaps(self) -> Iterator[str]:
        gaps: dict[str, dict[str, None]] = {}
        wheres: dict[str, dict[str, None]] = {}
        for kit, use in self._walked_uses():
            if not isinstance(use.asked, Ask):
                continue
            try:
                asked = self.walk.asked(kit, use.asked.rule, use.guards)
            except TooMany as many:
                yield _too_many(f"{use.where}, rules.{use.asked.rule}", many)
                continue
            if asked.gaps:
                gaps.setdefault(use.asked.rule, {}).update(dict.fromkeys(asked.gaps))
                wheres.setdefault(use.asked.rule, {})[use.where] = None
        for rule, cars in gaps.items():
            uncovered = _some((car or "any car" for car in cars), GAPS_TOLD, "kinds of car")
            yield f"rules.{rule}: no rule answers for {uncovered}. Asked by {_some(wheres[rule], 2, 'places')}."

    def _kit_faults(self, kit: Kit) -> Iterator[str]:
        where = f"kit {quoted(kit.code)}"
        try:
            if facts_of(kit.when) and not self.walk.fits_some_car(kit):
                yield f"{where}: no car of the book fits it."
        except TooMany as many:
            yield _too_many(where, many)
        yield from closed_kit_faults(self._book, kit, self._uses_in(kit))

    def _items_without(self) -> Iterator[str]:
        """Roles whose goods are no item in some colour."""
        missing: dict[tuple[str, str], set[str]] = {}
        for kit in self._book.kits.values():
            for code in kit.pieces:
                for coloured in coloured_of_piece(self._book.pieces[code]):
                    for goods, colour in self._goods_and_colours(kit, coloured):
                        if f"{goods}/{colour}" not in self._catalogue.items:
                            missing.setdefault((goods, coloured.role), set()).add(colour)
        for (goods, role), colours in missing.items():
            names = listed(map(quoted, sorted(colours)), "or")
            yield f"colour role {quoted(role)}: no item of {quoted(goods)} in {names}."

    def _goods_and_colours(self, kit: Kit, coloured: Coloured) -> Iterator[tuple[str, str]]:
        try:
            pairs = self.walk.items(kit, coloured)
        except TooMany:
            return  # told as a fault where the gaps are sought
        known = self._catalogue.cloths | self._catalogue.narrow | self._catalogue.in_colours()
        for goods, colour in pairs:
            if goods in known:
                for code in self._colours(colour):
                    yield goods, code

    def _colours(self, colour: str) -> Iterable[str]:
        """The colours a role may come to: one, or all that go with a trim where the car's own is taken."""
        part = CAR_COLOURS.get(colour)
        if part is None:
            return [colour] if colour in self._catalogue.colours else []
        pairings = self._book.pairings
        if part == "trim":
            paired = {pairing.trim for pairing in pairings}
        else:
            paired = {code for pairing in pairings for code in pairing.goes_with.get(part, ())}
        return sorted(paired & self._catalogue.colours) or sorted(self._catalogue.colours)


def _why_dead(rule: Dead) -> str:
    return "earlier rules always hold before it" if rule.hidden else "no car of the book fits it"


def _too_many(where: str, many: TooMany) -> str:
    return f"{where}: asks for too much at once to be walked ({many.size} kinds of car). Split the rules."


def _some(words: Iterable[str], most: int, of_what: str) -> str:
    all_words = list(words)
    shown = all_words[:most]
    if len(all_words) > most:
        shown.append(f"{len(all_words) - most} more {of_what}")
    return "; ".join(shown)


def _counted(count: int, word: str) -> str:
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"
