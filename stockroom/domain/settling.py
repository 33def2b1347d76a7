"""What follows of a car from what is known of it, by the kit book alone: no guess, and contradictions refused."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from stockroom.domain.conditions import within
from stockroom.domain.facts import CarFacts
from stockroom.domain.kitbook import KitBook, Series, Span
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted, unknown


@dataclass(frozen=True, slots=True)
class Settled:
    """A car with what follows filled in."""

    car: CarFacts
    reasons: tuple[str, ...]
    """Sentences: what was filled in and why, and what no rule covers."""


def settle(book: KitBook, car: CarFacts) -> Settled:
    """Fill in the series and the works where they follow from the chassis number or the day built.

    Raises `Refusal` for a code the book does not know and for facts that contradict each other. A chassis number
    that lies in no series is not refused: it is named among the reasons.
    """
    _refuse_unknown_codes(book, car)
    reasons: list[str] = []
    by_chassis = _series_by_chassis(book, car)
    by_built = _series_by_built(book, car)
    if car.chassis is not None and not by_chassis:
        reasons.append(f"Chassis number {car.chassis} lies in no series of {book.title}: no rule covers it.")
    if car.series is None:
        car = _with_series(book, car, by_chassis, by_built, reasons)
    if car.series is not None:
        series = book.series[car.series]
        _refuse_contradictions(book, car, series, by_chassis)
        if car.works is None and len(series.works) == 1:
            car = replace(car, works=series.works[0])
            reasons.append(
                f"{series.title} was built at {_works(book, series.works)} only, so the car was built there."
            )
    return Settled(car, tuple(reasons))


def _refuse_unknown_codes(book: KitBook, car: CarFacts) -> None:
    if car.series is not None and car.series not in book.series:
        raise Refusal(unknown("series", car.series, book.series))
    if car.works is not None and car.works not in book.works:
        raise Refusal(unknown("works", car.works, book.works))
    if car.hand not in (None, "left", "right"):
        raise Refusal(f"The hand of drive is {quoted(car.hand)}; it should be 'left' or 'right', or left out.")


def _series_by_chassis(book: KitBook, car: CarFacts) -> tuple[Series, ...]:
    if car.chassis is None:
        return ()
    return tuple(series for series in book.series.values() if within(series.chassis, car.chassis))


def _series_by_built(book: KitBook, car: CarFacts) -> tuple[Series, ...]:
    if car.built is None:
        return ()
    return tuple(series for series in book.series.values() if _built_in(series, car.built))


def _built_in(series: Series, built: date) -> bool:
    """The first of a month stands for the month where only that is known, so any day of it may fit."""
    if built.day != 1:
        return within(series.built, built)
    month_end = built.replace(day=monthrange(built.year, built.month)[1])
    first, last = series.built.first, series.built.last
    starts_in_time = not isinstance(first, date) or first <= month_end
    return starts_in_time and (not isinstance(last, date) or built <= last)


def _with_series(
    book: KitBook, car: CarFacts, by_chassis: tuple[Series, ...], by_built: tuple[Series, ...], reasons: list[str]
) -> CarFacts:
    """The car with its series, where exactly one is possible. Whether the rest agrees is checked afterwards."""
    if car.chassis is not None:
        if len(by_chassis) > 1:
            in_time = tuple(series for series in by_chassis if series in by_built)
            by_chassis = in_time or by_chassis
        possible, evidence = by_chassis, f"chassis number {car.chassis}"
    elif car.built is not None:
        possible, evidence = by_built, f"the day built, {car.built.isoformat()},"
        if not possible:
            reasons.append(f"No series of {book.title} was built on {car.built.isoformat()}: no rule covers it.")
    else:
        return car
    if len(possible) > 1 and car.works is not None:
        possible = tuple(series for series in possible if car.works in series.works)
    if len(possible) != 1:
        return car
    series = possible[0]
    reasons.append(f"{_capital(evidence)} lies in {series.title}{_range(series, car)}, so the car is of that series.")
    return replace(car, series=series.code)


def _refuse_contradictions(book: KitBook, car: CarFacts, series: Series, by_chassis: tuple[Series, ...]) -> None:
    if by_chassis and series not in by_chassis:
        titles = listed(f"{other.title} ({_span(other.chassis)})" for other in by_chassis)
        raise Refusal(
            f"The car is said to be {series.title} (chassis numbers {_span(series.chassis)}), but chassis number "
            f"{car.chassis} lies in {titles}. Ask which is right, the series or the chassis number."
        )
    if car.works is not None and car.works not in series.works:
        raise Refusal(
            f"The car is {series.title}, which was built at {_works(book, series.works)}, but its works is said to be "
            f"{book.works[car.works]}. Ask which is right."
        )
    if car.built is not None and not _built_in(series, car.built):
        raise Refusal(
            f"The car is {series.title}, which was built {_span(series.built)}, but it is said to have been built on "
            f"{car.built.isoformat()}. Ask which is right."
        )


def _range(series: Series, car: CarFacts) -> str:
    return f" ({_span(series.chassis)})" if car.chassis is not None else f" (built {_span(series.built)})"


def _span(span: Span) -> str:
    if span.first is not None and span.last is not None:
        return f"{span.first} to {span.last}"
    if span.first is not None:
        return f"from {span.first} on"
    return f"up to {span.last}" if span.last is not None else "at any time"


def _works(book: KitBook, codes: Iterable[str]) -> str:
    return listed(book.works[code] for code in codes)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
