"""The rules of a kit book, answered for one case: decided, waiting for a fact, or not covered.

A rule list is tried in order and the first rule that holds wins. A fact may be unknown, so a rule holds, does not
hold, or cannot be told (Kleene's three values). A rule that cannot be told makes the answer wait only where the
answer could come out differently; nothing is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass

from stockroom.domain.conditions import Part, facts_of, holds, missing, parts
from stockroom.domain.facts import Case, Overruling
from stockroom.domain.kitbook import Rule, RuleList, Then
from stockroom.domain.refusal import Refusal
from stockroom.domain.settling import Settled, settle
from stockroom.domain.wording import listed, literal, quoted

__all__ = [
    "Answer",
    "Decided",
    "Settled",
    "Uncovered",
    "Waiting",
    "answer",
    "facts_asked",
    "same",
    "settle",
    "written_then",
]


@dataclass(frozen=True, slots=True)
class Decided:
    """The rule list answers."""

    then: Then
    because: tuple[str, ...]
    """Sentences: the reason given in the book (or by a person), then which facts decided it."""
    overruled: bool = False
    """A person's word stood against the rule for this car."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """The answer hangs on facts that are not known."""

    facts: tuple[str, ...]
    """Their names: 'series', 'works', 'chassis', 'built', 'hand', 'body colour', 'trim colour', 'hood colour',
    or 'option CODE'; in the order in which the rules ask."""


@dataclass(frozen=True, slots=True)
class Uncovered:
    """Every fact that matters is known, and no rule holds."""

    sentence: str


Answer = Decided | Waiting | Uncovered


def same(one: Then, other: Then) -> bool:
    """Whether two answers are the same: a count of 1 is not the same as `true`."""
    return type(one) is type(other) and one == other


def facts_asked(rules: RuleList) -> tuple[str, ...]:
    """Names of all the facts which a rule list asks about, each once, in order."""
    return tuple(dict.fromkeys(fact for rule in rules.rules for fact in facts_of(rule.when)))


def answer(rules: RuleList, case: Case) -> Answer:
    """What the rule list says of the case.

    An overruling for the list wins over every rule. Raises `Refusal` where what it says cannot be an answer of
    this list (text where the list counts, say).
    """
    said = case.overruled.get(rules.code)
    if said is not None:
        return _overruled(rules, said)
    open_rules: list[Rule] = []
    for number, rule in enumerate(rules.rules, start=1):
        told = holds(rule.when, case)
        if told is None:
            open_rules.append(rule)
        elif told:
            return _first_that_holds(rules, number, open_rules, case)
    if open_rules:
        return Waiting(_missing_facts(open_rules, case))
    return Uncovered(_uncovered(rules, case))


def written_then(rules: RuleList, text: str) -> Then:
    """A person's `text` as an answer of this list: a count or yes/no where the list's own answers are such.

    Raises `Refusal` where it cannot be one.
    """
    kinds = {type(rule.then) for rule in rules.rules}
    word = text.strip()
    if kinds == {bool}:
        yes_or_no = {"true": True, "yes": True, "false": False, "no": False}.get(word.casefold())
        if yes_or_no is None:
            raise Refusal(f"{quoted(rules.title)} says whether it is there: {quoted(text)} should be 'yes' or 'no'.")
        return yes_or_no
    if kinds == {int}:
        if not (word.isascii() and word.isdigit() and len(word) <= 6):
            raise Refusal(f"{quoted(rules.title)} is a count: {quoted(text)} should be a whole number such as 4.")
        return int(word)
    if not word:
        raise Refusal(f"{quoted(rules.title)} is overruled with nothing: say what is used instead.")
    return word


def _overruled(rules: RuleList, said: Overruling) -> Decided:
    then = written_then(rules, said.then)
    word = f"{literal(said.by)} overruled {quoted(rules.title)} for this car: {literal(said.because)}"
    return Decided(then, (_sentence(word),), overruled=True)


def _first_that_holds(rules: RuleList, number: int, open_rules: list[Rule], case: Case) -> Decided | Waiting:
    rule = rules.rules[number - 1]
    differing = [index for index, other in enumerate(open_rules) if not same(other.then, rule.then)]
    if differing:
        return Waiting(_missing_facts(open_rules[: differing[-1] + 1], case))
    reasons = [_sentence(rule.because), _decided_by(rules, number, case)]
    if open_rules:
        reasons.append(f"The answer is the same whatever the {listed(_missing_facts(open_rules, case), 'or')}.")
    return Decided(rule.then, tuple(reason for reason in reasons if reason))


def _missing_facts(open_rules: list[Rule], case: Case) -> tuple[str, ...]:
    return tuple(dict.fromkeys(fact for rule in open_rules for fact in missing(rule.when, case)))


def _decided_by(rules: RuleList, number: int, case: Case) -> str:
    asked = tuple(parts(rules.rules[number - 1].when, case))
    place = f"rule {number} of {len(rules.rules)} in {quoted(rules.title)}"
    if asked:
        return f"Decided by {listed(_known(part) for part in asked)} ({place})."
    return f"No earlier rule holds ({place})." if number > 1 else f"The same for every car ({place})."


def _uncovered(rules: RuleList, case: Case) -> str:
    known = {part.fact: _known(part) for rule in rules.rules for part in parts(rule.when, case) if part.known}
    if not known:
        return f"No rule of {quoted(rules.title)} covers this car."
    return f"No rule of {quoted(rules.title)} covers a car with {listed(known.values())}."


def _known(part: Part) -> str:
    return f"{part.fact} {part.known}"


def _sentence(text: str) -> str:
    text = text.strip()
    return text if not text or text[-1] in ".!?" else f"{text}."
