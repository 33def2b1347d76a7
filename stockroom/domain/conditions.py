"""Whether the condition of a rule holds for a case, does not hold, or cannot be told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from stockroom.domain.facts import CarFacts, Case
from stockroom.domain.kitbook import Span, When


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a condition: the name of its fact, what is known of it, and whether that fits."""

    fact: str
    """'series', 'works', 'chassis', 'built', 'hand', 'body colour', 'trim colour', 'hood colour' or 'option CODE'."""
    known: str | None
    """The known value in words; `None` where it is not known."""
    fits: bool


def within(span: Span, value: int | date) -> bool:
    """Whether `value` lies in the span, both ends included. Span and value are both numbers or both days.

    >>> within(Span(1001, 2416), 2416), within(Span(None, 2416), 2417)
    (True, False)
    """
    number = _number(value)
    after = span.first is None or _number(span.first) <= number
    return after and (span.last is None or number <= _number(span.last))


def _number(value: int | date) -> int:
    return value.toordinal() if isinstance(value, date) else value


def facts_of(when: When) -> tuple[str, ...]:
    """Names of the facts which `when` asks about."""
    return tuple(part.fact for part in parts(when, Case(CarFacts())))


def holds(when: When, case: Case) -> bool | None:
    """Whether `when` holds for the case; `None` where a fact that is not known decides it."""
    asked = tuple(parts(when, case))
    if any(part.known is not None and not part.fits for part in asked):
        return False
    return None if any(part.known is None for part in asked) else True


def missing(when: When, case: Case) -> tuple[str, ...]:
    """Names of the facts that `when` asks about and the case does not know."""
    return tuple(part.fact for part in parts(when, case) if part.known is None)


def parts(when: When, case: Case) -> Iterator[Part]:
    """The parts of `when`, with what the case knows of each."""
    car = case.car
    words: tuple[tuple[str, tuple[str, ...], str | None], ...] = (
        ("series", when.series, car.series),
        ("works", when.works, car.works),
        ("hand", when.hand, car.hand),
        ("body colour", when.body, car.body_colour),
        ("trim colour", when.trim, car.trim_colour),
        ("hood colour", when.hood, car.hood_colour),
    )
    yield from (Part(fact, known, known in wanted) for fact, wanted, known in words if wanted)
    if when.chassis is not None:
        yield _in_span("chassis", when.chassis, car.chassis)
    if when.built is not None:
        yield _in_span("built", when.built, car.built)
    for option, wanted in when.options.items():
        chosen = case.choices.get(option)
        yield Part(f"option {option}", chosen, chosen in wanted)


def _in_span(fact: str, span: Span, value: int | date | None) -> Part:
    return Part(fact, None, fits=False) if value is None else Part(fact, str(value), within(span, value))
