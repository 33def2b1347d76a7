"""The walk over every kind of car: which rules fire, which questions stay without an answer, which items are needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from stockroom.domain.book_uses import Coloured
from stockroom.domain.car_kinds import CarKinds, Kind
from stockroom.domain.conditions import facts_of, holds
from stockroom.domain.facts import Case
from stockroom.domain.kitbook import Ask, Kit, KitBook, Rule, RuleList, Then, When
from stockroom.domain.rules import facts_asked

MOST_KINDS = 20_000
"""Kinds of cars that are walked for one question; a book with more of them asks for too much at once."""


@dataclass(frozen=True, slots=True)
class Dead:
    """A rule that never decides anything."""

    number: int
    """Its number in the list, from 1."""
    hidden: bool
    """It would hold for some car, but an earlier rule always holds before; otherwise no car fits it."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a rule list answers to one use of it, over all cars of one kit."""

    answers: tuple[Then, ...]
    gaps: tuple[str, ...]
    """Kinds of cars, in words, for which no rule answers."""


class TooMany(Exception):  # noqa: N818 - a count, not a fault of the program
    """More kinds of cars than can be walked."""

    def __init__(self, size: int) -> None:
        super().__init__(f"{size} kinds of cars")
        self.size = size


class Walk:
    """Walks the cars of one book, and counts the questions put to it."""

    def __init__(self, book: KitBook, kinds: CarKinds) -> None:
        self._book = book
        self._kinds = kinds
        self.questions = 0
        """Questions asked so far: one rule list for one kind of car."""
        self._asked: dict[tuple[str, tuple[str, ...], str], Asked] = {}

    def dead(self, rules: RuleList) -> tuple[Dead, ...]:
        """The rules of a list that decide nothing for any car of the book."""
        fired: set[int] = set()
        could: set[int] = set()
        for kind in self._every_kind(facts_asked(rules)):
            self.questions += 1
            holding = [number for number, rule in enumerate(rules.rules, 1) if holds(rule.when, kind.case)]
            could.update(holding)
            fired.update(holding[:1])
        return tuple(Dead(number, number in could) for number in range(1, len(rules.rules) + 1) if number not in fired)

    def fits_some_car(self, kit: Kit) -> bool:
        """Whether any car of the book fits the kit."""
        return any(holds(kit.when, kind.case) for kind in self._every_kind(facts_of(kit.when)))

    def asked(self, kit: Kit, rule: str, guards: tuple[str, ...]) -> Asked:
        """What the rule list answers for the cars that fit the kit and have what the guards ask for."""
        key = (kit.code if facts_of(kit.when) else "", guards, rule)
        if key not in self._asked:
            self._asked[key] = self._ask(kit.when, rule, guards)
        return self._asked[key]

    def items(self, kit: Kit, coloured: Coloured) -> frozenset[tuple[str, str]]:
        """Goods and colour (a code, or '@trim', '@body', '@hood') that the cars of a kit may need together."""
        role = self._book.roles.get(coloured.role)
        if role is None:
            return frozenset()
        lists = [value.rule for value in (coloured.goods, role.colour) if isinstance(value, Ask)]
        found: set[tuple[str, str]] = set()
        for kind in self._fitting(kit.when, coloured.guards, lists):
            goods, colour = (self._value(value, kind.case) for value in (coloured.goods, role.colour))
            if isinstance(goods, str) and isinstance(colour, str):
                found.add((goods, colour))
        return frozenset(found)

    def _ask(self, when: When, rule: str, guards: tuple[str, ...]) -> Asked:
        answers: dict[tuple[type, Then], Then] = {}
        gaps: dict[str, None] = {}
        for kind in self._fitting(when, guards, [rule]):
            self.questions += 1
            first = _first(self._book.rules[rule], kind.case)
            if first is None:
                gaps[kind.words] = None
            else:
                answers[type(first.then), first.then] = first.then
        return Asked(tuple(answers.values()), tuple(gaps))

    def _fitting(self, when: When, guards: tuple[str, ...], lists: Iterable[str]) -> Iterator[Kind]:
        """The kinds of cars which fit, as far as the facts in play tell them apart."""
        facts = dict.fromkeys(facts_of(when))
        for code in (*guards, *lists):
            facts |= dict.fromkeys(facts_asked(self._book.rules[code]))
        for kind in self._every_kind(facts):
            if holds(when, kind.case) and all(self._value(Ask(guard), kind.case) is True for guard in guards):
                yield kind

    def _value(self, value: Then | Ask, case: Case) -> Then | None:
        if not isinstance(value, Ask):
            return value
        first = _first(self._book.rules[value.rule], case)
        return None if first is None else first.then

    def _every_kind(self, facts: Iterable[str]) -> Iterator[Kind]:
        facts = tuple(facts)
        size = self._kinds.size(facts)
        if size > MOST_KINDS:
            raise TooMany(size)
        return self._kinds.kinds(facts)


def _first(rules: RuleList, case: Case) -> Rule | None:
    return next((rule for rule in rules.rules if holds(rule.when, case)), None)
