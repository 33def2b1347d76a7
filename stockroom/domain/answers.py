"""The questions of one order line: what the rules, the car and the choices answer, and what it still waits for.

A question that cannot be answered is noted with the pieces that hang on it, and comes back as `None`: the asker goes
on, so that every question of a line is found at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from stockroom.domain.catalogue import Cloth, Item
from stockroom.domain.changes import FIXED
from stockroom.domain.facts import CarFacts, Case
from stockroom.domain.kitbook import Ask, KitBook, Role, RuleList, Then
from stockroom.domain.order import Change, LineRequest, Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.rules import Answer, Decided, Uncovered, Waiting, answer, facts_asked
from stockroom.domain.substitutes import Substituted
from stockroom.domain.wording import quoted, unknown

V = TypeVar("V", str, int, bool)
_CAR_ROLES = {part: Role(part, f"@{part}", "") for part in ("trim", "body", "hood")}
"""Roles that exist in every book."""


@dataclass(frozen=True, slots=True)
class CatalogueView:
    """What an explosion asks of a catalogue."""

    cloths: Mapping[str, Cloth]
    items: Mapping[str, Item]
    colours: Mapping[str, str]
    """Colour code → name."""


@dataclass(frozen=True, slots=True)
class LineCase:
    """One line of an order with everything that is known of its car."""

    number: int
    """From 1."""
    request: LineRequest
    car_key: str
    car: CarFacts
    kept_changes: tuple[Change, ...] = ()
    """Changes proved on this car in earlier orders; they are applied before the line's own."""
    substituted: Mapping[str, Substituted] = field(default_factory=dict)
    """Item as the kit book has it → what is taken instead, with the customer's yes."""


@dataclass(frozen=True, slots=True)
class Told:
    """An answered question, with its reasons."""

    value: Then
    because: tuple[str, ...] = ()
    overruled: tuple[str, ...] = ()
    """What a person said against the rule for this car, where somebody did."""


@dataclass(slots=True)
class Answers:
    """Answers for one line, each asked of the rules once; notes what is waited for and what hangs on it."""

    book: KitBook
    catalogue: CatalogueView
    line: LineCase
    case: Case = field(init=False)
    waits: dict[tuple[str, str], Wait] = field(default_factory=dict, init=False)
    holds_up: dict[tuple[str, str], dict[str, None]] = field(default_factory=dict, init=False)
    held: set[str] = field(default_factory=set, init=False)
    """Pieces (or kits, for hardware of a kit itself) that hang on an answer."""
    _told: dict[str, Answer] = field(default_factory=dict, init=False)
    _decided: dict[str, Told] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        request = self.line.request
        defaults = {code: o.default for code, o in self.book.options.items() if o.default is not None}
        self.case = Case(self.line.car, {**defaults, **request.choices}, request.overruled)

    def settle(self, asked: Then | Ask, holder: str) -> Told | None:
        """The value itself, or what its rule list answers. `holder` is the piece or kit that hangs on it."""
        if not isinstance(asked, Ask):
            return Told(asked)
        told = self._told.get(asked.rule)
        if told is None:
            told = self._told[asked.rule] = answer(self._rules(asked.rule), self.case)
        if isinstance(told, Decided):
            if asked.rule not in self._decided:
                overruled = told.because if told.overruled else ()
                because = told.because + self._defaults_used(asked.rule)
                self._decided[asked.rule] = Told(told.then, because, overruled)
            return self._decided[asked.rule]
        if isinstance(told, Waiting):
            for fact in told.facts:
                self.wait_for_fact(fact, holder)
        else:
            self._wait_for_rule(asked.rule, told, holder)
        return None

    def text(self, asked: str | Ask, holder: str) -> tuple[str, Told] | None:
        """A code, with how it was settled."""
        settled = self.settle(asked, holder)
        return None if settled is None else (_checked(settled.value, str, asked, "a code"), settled)

    def count(self, asked: int | Ask, holder: str) -> tuple[int, Told] | None:
        """A whole number from 0, with how it was settled."""
        settled = self.settle(asked, holder)
        if settled is None:
            return None
        value = _checked(settled.value, int, asked, "a whole number")
        if value < 0:
            raise Refusal(f"A count of {value} makes no sense ({_source(asked)}). Correct the kit book.")
        return value, settled

    def present(self, asked: bool | Ask, holder: str) -> tuple[bool, Told] | None:
        """Yes or no, with how it was settled."""
        settled = self.settle(asked, holder)
        return None if settled is None else (_checked(settled.value, bool, asked, "yes or no"), settled)

    def colour(self, role_code: str, holder: str) -> tuple[str, Told] | None:
        """The colour code of a role on this car."""
        if role_code.startswith(FIXED):
            return self._known_colour(role_code.removeprefix(FIXED)), Told(role_code)
        role = self.book.roles.get(role_code) or _CAR_ROLES.get(role_code)
        if role is None:
            raise Refusal(unknown("colour role", role_code, {*self.book.roles, *_CAR_ROLES}))
        because = (role.because,) if role.because else ()
        if isinstance(role.colour, Ask):
            told = self.text(role.colour, holder)
            if told is None:
                return None
            colour, settled = told
            if not colour.startswith("@"):
                return self._ruled_colour(colour, because, settled)
            because, asked, overruled = (*because, *settled.because), colour, settled.overruled
        else:
            asked, overruled = role.colour, ()
        if not asked.startswith("@"):
            return asked, Told(asked, because)
        part = asked[1:]
        own = self.line.car.colour_of(part)
        if own is None:
            self.wait_for_fact(f"{part} colour", holder)
            return None
        name = self.colour_name(self._known_colour(own))
        return own, Told(own, (*because, f"This car's {part} colour is {name}."), overruled)

    def item(self, cloth: str, colour: str, holder: str) -> str | None:
        """The item of a cloth in a colour; waits where the catalogue has none."""
        code = f"{cloth}/{colour}" if colour else cloth
        if code in self.catalogue.items:
            return code
        if not colour or cloth in self.catalogue.cloths or any(i.startswith(f"{cloth}/") for i in self.catalogue.items):
            what = f"{self.goods_title(cloth)} in {self.colour_name(colour)}" if colour else quoted(code)
        else:
            what = f"anything of {quoted(cloth)}"
        question = f"The catalogue does not have {what} ({code}). Add it, or say what is used instead."
        self.wait(Wait("material", code, question), holder)
        return None

    def wait_for_fact(self, fact: str, holder: str) -> None:
        """Notes that `holder` waits for a fact of the car or for an option, named as the rules name it."""
        if fact.startswith("option "):
            self.wait_for_option(fact.removeprefix("option "), holder)
        elif fact.endswith(" colour"):
            question = f"Which is the car's {fact}?"
            self.wait(Wait("fact", fact, question, tuple(sorted(self.catalogue.colours))), holder)
        else:
            question = _FACT_QUESTIONS.get(fact, f"What is the car's {fact}?")
            self.wait(Wait("fact", fact, question, self._choices(fact)), holder)

    def wait_for_option(self, code: str, holder: str) -> None:
        """Notes that `holder` waits for an option to be chosen."""
        option = self.book.options.get(code)
        if option is None:
            raise Refusal(unknown("option", code, self.book.options))
        self.wait(Wait("option", code, option.ask, tuple(option.choices)), holder)

    def wait(self, wait: Wait, holder: str) -> None:
        """Notes a wait and what hangs on it; '' for the whole line."""
        key = (wait.kind, wait.name)
        self.waits.setdefault(key, wait)
        self.holds_up.setdefault(key, {})[holder] = None
        self.held.add(holder)

    def rules_told(self) -> tuple[str, ...]:
        """Codes of the rule lists that were asked for this line."""
        return tuple(self._told)

    def goods_title(self, code: str) -> str:
        """Title of a cloth, as it stands within a sentence."""
        cloth = self.catalogue.cloths.get(code)
        return lowered(cloth.title) if cloth and cloth.title else quoted(code)

    def colour_name(self, code: str) -> str:
        """Name of a colour, as it stands within a sentence."""
        return lowered(self.catalogue.colours.get(code) or code)

    def item_title(self, code: str) -> str:
        """Title of an item, as it stands within a sentence."""
        item = self.catalogue.items.get(code)
        return lowered(item.title) if item and item.title else quoted(code)

    def _ruled_colour(self, colour: str, because: tuple[str, ...], settled: Told) -> tuple[str, Told]:
        if settled.overruled:
            self._known_colour(colour)
        return colour, Told(colour, (*because, *settled.because), settled.overruled)

    def _known_colour(self, code: str) -> str:
        if code not in self.catalogue.colours:
            raise Refusal(unknown("colour", code, self.catalogue.colours))
        return code

    def _rules(self, code: str) -> RuleList:
        rules = self.book.rules.get(code)
        if rules is None:
            raise Refusal(unknown("rule list", code, self.book.rules))
        return rules

    def _defaults_used(self, code: str) -> tuple[str, ...]:
        chosen = self.line.request.choices
        asked = facts_asked(self._rules(code))
        options = (fact.removeprefix("option ") for fact in asked if fact.startswith("option "))
        return tuple(
            f"Nobody chose {quoted(option)}; the book takes {quoted(given.default or '')}: {given.because}"
            for option in options
            if option not in chosen and (given := self.book.options.get(option)) and given.default is not None
        )

    def _wait_for_rule(self, code: str, told: Uncovered, holder: str) -> None:
        rules = self._rules(code)
        choices = tuple(dict.fromkeys(_written(rule.then) for rule in rules.rules))
        question = f"{told.sentence} Say what is used on this car, with initials and a reason."
        self.wait(Wait("rule", code, question, choices), holder)

    def _choices(self, fact: str) -> tuple[str, ...]:
        if fact == "series":
            return tuple(self.book.series)
        if fact == "works":
            return tuple(self.book.works)
        return ("left", "right") if fact == "hand" else ()


_FACT_QUESTIONS = {
    "series": "Which series is the car?",
    "works": "Which works built the car?",
    "chassis": "What is the car's chassis number?",
    "built": "When was the car built?",
    "hand": "Is the car left-hand or right-hand drive?",
}


def lowered(title: str) -> str:
    """A title as it stands within a sentence: its first letter small, unless the word is all capitals or a mixture.

    >>> lowered('Ribbed boot carpet'), lowered('PVC zip')
    ('ribbed boot carpet', 'PVC zip')
    """
    return title[:1].lower() + title[1:] if title[1:2].islower() or len(title) == 1 else title


def _written(then: Then) -> str:
    return ("yes" if then else "no") if isinstance(then, bool) else str(then)


def _checked(value: Then, kind: type[V], asked: object, what: str) -> V:
    if type(value) is not kind:
        said = quoted(_written(value))
        raise Refusal(f"{said} is not {what} ({_source(asked)}). Correct the kit book or the answer.")
    return value


def _source(asked: object) -> str:
    return f"from the rule list {quoted(asked.rule)}" if isinstance(asked, Ask) else "as the book has it"


def known_choices(book: KitBook, request: LineRequest) -> None:
    """Refuses a choice for an option, or of a choice, that the book does not have."""
    for code, choice in request.choices.items():
        option = book.options.get(code)
        if option is None:
            raise Refusal(unknown("option", code, book.options))
        if choice not in option.choices:
            raise Refusal(f"{unknown(f'choice for {quoted(code)}', choice, option.choices)} The question: {option.ask}")
