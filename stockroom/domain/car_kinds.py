"""Every kind of car a kit book covers: its series, cut at each chassis number and day that any rule mentions.

Within one kind no rule can tell two cars apart, so one car of each kind stands for all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import product
from typing import Any

from stockroom.domain.facts import CarFacts, Case
from stockroom.domain.kitbook import KitBook, Series, Span, When
from stockroom.domain.wording import quoted

_OF_SERIES = frozenset({"series", "works", "chassis", "built"})
_ANY = date(1950, 1, 1).toordinal()
"""A chassis number or a day where the book sets no ends and no rule asks."""
_COLOURS = {"body colour": "body_colour", "trim colour": "trim_colour", "hood colour": "hood_colour"}


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of car (with the choices of an order), by one that stands for it."""

    case: Case
    words: str
    """The kind in words; empty where nothing sets it apart."""


@dataclass(frozen=True, slots=True)
class _Trait:
    """One value of one fact: how a car gets it, and the words for it."""

    give: Callable[[Case], Case]
    words: str


class CarKinds:
    """The kinds of cars of one book."""

    def __init__(self, book: KitBook, colours: Iterable[str]) -> None:
        self._book = book
        whens = [rule.when for rules in book.rules.values() for rule in rules.rules]
        whens += [kit.when for kit in book.kits.values()]
        self._chassis = {
            code: _cells(series.chassis, _cuts(whens, "chassis"), str) for code, series in book.series.items()
        }
        self._built = {code: _cells(series.built, _cuts(whens, "built"), _day) for code, series in book.series.items()}
        self._colours = {fact: _told_apart(whens, fact, colours) for fact in _COLOURS}

    def count(self) -> int:
        """How many kinds of cars there are by series, chassis number, works, day built and hand of drive."""
        return 2 * sum(
            len(self._chassis[code]) * len(self._built[code]) * len(series.works)
            for code, series in self._book.series.items()
        )

    def size(self, facts: Iterable[str]) -> int:
        """How many kinds `kinds` gives for these facts."""
        asked = set(facts)
        others = 1
        for traits in self._other_traits(asked):
            others *= len(traits)
        if not asked & _OF_SERIES:
            return others
        cars = 0
        for series in self._book.series.values():
            of_series = 1
            for traits in self._series_traits(series, asked):
                of_series *= len(traits)
            cars += of_series
        return cars * others

    def kinds(self, facts: Iterable[str]) -> Iterator[Kind]:
        """The kinds of cars as far as these facts tell them apart; facts that are not asked stay unknown."""
        asked = set(facts)
        others = self._other_traits(asked)
        if not asked & _OF_SERIES:
            yield from _combined(others)
            return
        for series in self._book.series.values():
            yield from _combined([*self._series_traits(series, asked), *others])

    def _series_traits(self, series: Series, asked: set[str]) -> list[list[_Trait]]:
        traits = [[_on_car("series", series.code, series.title)]]
        if "works" in asked:
            works = self._book.works
            traits.append([_on_car("works", code, f"built at {works[code]}") for code in series.works])
        if "chassis" in asked:
            traits.append(_cell_traits("chassis", self._chassis[series.code], int))
        if "built" in asked:
            traits.append(_cell_traits("built", self._built[series.code], date.fromordinal))
        return traits

    def _other_traits(self, asked: set[str]) -> list[list[_Trait]]:
        traits: list[list[_Trait]] = []
        if "hand" in asked:
            traits.append([_on_car("hand", hand, f"{hand}-hand drive") for hand in ("left", "right")])
        for fact, field in _COLOURS.items():
            if fact in asked:
                traits.append([_on_car(field, code, f"{fact} {quoted(code)}") for code in self._colours[fact]])
        for code, option in self._book.options.items():
            if f"option {code}" in asked:
                traits.append([_chosen(code, choice) for choice in option.choices])
        return traits


def _combined(traits: list[list[_Trait]]) -> Iterator[Kind]:
    for combination in product(*traits):
        case = Case(CarFacts())
        for trait in combination:
            case = trait.give(case)
        yield Kind(case, ", ".join(trait.words for trait in combination if trait.words))


def _on_car(field: str, value: Any, words: str) -> _Trait:
    return _Trait(lambda case: replace(case, car=replace(case.car, **{field: value})), words)


def _chosen(option: str, choice: str) -> _Trait:
    return _Trait(
        lambda case: replace(case, choices={**case.choices, option: choice}), f"option {option} {quoted(choice)}"
    )


def _cell_traits(field: str, cells: list[tuple[int, str]], value: Callable[[int], int | date]) -> list[_Trait]:
    """A trait for each cell; where there is only one, it goes without saying."""
    return [_on_car(field, value(number), f"{field} {span}" if len(cells) > 1 else "") for number, span in cells]


def _cuts(whens: Iterable[When], fact: str) -> set[int]:
    """The chassis numbers, or days as ordinals, at which one kind of car may end and the next begin."""
    spans: list[Span | None] = [getattr(when, fact) for when in whens]
    firsts = {_number(span.first) for span in spans if span is not None and span.first is not None}
    lasts = [span.last for span in spans if span is not None and span.last is not None]
    return firsts | {_number(last) + 1 for last in lasts if last != date.max}


def _cells(span: Span, cuts: set[int], words: Callable[[int], str]) -> list[tuple[int, str]]:
    """A series' range cut into cells: a value that stands for each, and its range in words. Open ends stay open."""
    first = None if span.first is None else _number(span.first)
    last = None if span.last is None else _number(span.last)
    inner = sorted(cut for cut in cuts if cut > (1 if first is None else first) and (last is None or cut <= last))
    starts: list[int | None] = [first, *inner]
    ends: list[int | None] = [*(cut - 1 for cut in inner), last]
    return [_cell(start, end, words) for start, end in zip(starts, ends, strict=True)]


def _cell(start: int | None, end: int | None, words: Callable[[int], str]) -> tuple[int, str]:
    if start is not None and end is not None:
        return start, words(start) if start == end else f"{words(start)} to {words(end)}"
    if start is not None:
        return start, f"{words(start)} and later"
    return (end, f"{words(end)} and earlier") if end is not None else (_ANY, "any")


def _day(ordinal: int) -> str:
    return date.fromordinal(ordinal).isoformat()


def _number(value: int | date) -> int:
    return value.toordinal() if isinstance(value, date) else value


def _told_apart(whens: Iterable[When], fact: str, colours: Iterable[str]) -> list[str]:
    """The colours that rules ask for, and one that stands for all others."""
    asked = dict.fromkeys(code for when in whens for code in getattr(when, fact.split()[0]))
    other = next((code for code in sorted(colours) if code not in asked), None)
    return [*asked, *([other] if other is not None else [])]
