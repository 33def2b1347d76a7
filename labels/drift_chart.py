"""The charts of colour drift: days across, differences up; what each is, marks and lines tell, and no colour."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from labels.drifting import Answer, DriftLot, DriftPaper
from labels.flow import LEFT_MM, RIGHT_MM, Block
from labels.fonts import Weight
from labels.paper import BLACK, WHITE, Paper, Shade
from labels.text import wrapped

_AXIS_MM = LEFT_MM + 12.0
_END_MM = RIGHT_MM - 4.0
_HIGH_MM = 52.0
_PAD_DAYS = 0.04
"""Part of the days that is left free at either end."""
_BAND: Shade = (0.88, 0.88, 0.88)
_MARK_MM = 1.35
_SMALL_PT = 7.0
_TICKS = 5
Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where days and figures lie on the page."""

    first: float
    last: float
    low: float
    high: float
    top_mm: float

    def x(self, day: date) -> float:
        """mm from the left edge."""
        return _AXIS_MM + (day.toordinal() - self.first) / (self.last - self.first) * (_END_MM - _AXIS_MM)

    def y(self, number: float) -> float:
        """mm from the top edge."""
        return self.top_mm + (self.high - number) / (self.high - self.low) * _HIGH_MM


def nice_step(span: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that parts a span into three to eight.

    >>> [nice_step(span) for span in (0.7, 2.4, 5, 30)]
    [0.1, 0.5, 1, 5]
    """
    power = math.pow(10, math.floor(math.log10(span / 6)))
    found = next(one for one in (1, 2, 5, 10) if span / (one * power) <= 7.5) * power
    return round(found, 10) if found < 1 else round(found)


def far_block(drift: DriftPaper) -> Block:
    """CIEDE2000 of each lot over the days, with the band in which it matches, and a line where the eye's word ends."""

    def draw(paper: Paper, top_mm: float) -> None:
        most = max(drift.eye_to, *(one.difference for one in drift.lots)) * 1.12
        scale = _scale(drift.lots, 0.0, most, top_mm + 5.0)
        paper.string(LEFT_MM, top_mm + 3.0, "ΔE00 from the master", 8, Weight.BOLD)
        band_mm = scale.y(drift.matches_to)
        paper.fill(_AXIS_MM, band_mm, _END_MM - _AXIS_MM, scale.y(0) - band_mm, _BAND)
        _axes(paper, scale, drift.lots)
        paper.line(((_AXIS_MM, band_mm), (_END_MM, band_mm)), 0.8)
        eye_mm = scale.y(drift.eye_to)
        paper.line(((_AXIS_MM, eye_mm), (_END_MM, eye_mm)), 0.8, (4, 2))
        _at_the_right(paper, band_mm, f"matches up to {drift.matches_to:g}")
        _at_the_right(paper, eye_mm, f"the eye decides up to {drift.eye_to:g}")
        points = [(scale.x(one.came), scale.y(one.difference)) for one in drift.lots]
        paper.line(points, 0.4)
        for number, (one, at) in enumerate(zip(drift.lots, points, strict=True), start=1):
            _answer_mark(paper, one.answer, *at)
            paper.centred(at[0], at[1] - 2.2, str(number), _SMALL_PT, Weight.BOLD)
        _answer_legend(paper, scale.y(0) + 9.0)

    return Block(5.0 + _HIGH_MM + 13.0, draw, with_next=True)


def way_block(drift: DriftPaper) -> Block:
    """ΔL*, Δa* and Δb* of each lot over the days, about the master at 0."""

    def draw(paper: Paper, top_mm: float) -> None:
        figures = [number for one in drift.lots for number in (one.by_lightness, one.by_a, one.by_b)]
        most = max(0.5, *map(abs, figures)) * 1.15
        scale = _scale(drift.lots, -most, most, top_mm + 5.0)
        paper.string(LEFT_MM, top_mm + 3.0, "ΔL*, Δa*, Δb*: lot less master", 8, Weight.BOLD)
        _axes(paper, scale, drift.lots)
        paper.line(((_AXIS_MM, scale.y(0)), (_END_MM, scale.y(0))), 1.0)
        for name, dashes in _SERIES:
            points = [(scale.x(one.came), scale.y(_figure(one, name))) for one in drift.lots]
            paper.line(points, 0.6, dashes)
            for at in points:
                _series_mark(paper, name, *at)
        _series_legend(paper, scale.y(-most) + 9.0)

    return Block(5.0 + _HIGH_MM + 13.0, draw)


_SERIES: tuple[tuple[str, tuple[float, ...]], ...] = (("ΔL*", ()), ("Δa*", (4, 2)), ("Δb*", (1, 1.5)))
_SAID = {"ΔL*": "above 0 lighter, below darker", "Δa*": "redder or greener", "Δb*": "yellower or bluer"}


def _figure(one: DriftLot, name: str) -> float:
    return {"ΔL*": one.by_lightness, "Δa*": one.by_a, "Δb*": one.by_b}[name]


def _scale(lots: Sequence[DriftLot], low: float, high: float, top_mm: float) -> _Scale:
    days = [one.came.toordinal() for one in lots]
    first, last = min(days), max(days)
    pad = max(3.0, (last - first) * _PAD_DAYS)
    return _Scale(first - pad, last + pad, low, high, top_mm)


def _axes(paper: Paper, scale: _Scale, lots: Sequence[DriftLot]) -> None:
    """Both axes with their figures, and thin lines across for the differences."""
    foot_mm = scale.top_mm + _HIGH_MM
    step = nice_step(scale.high - scale.low)
    number = math.ceil(scale.low / step - 1e-9) * step
    while number <= scale.high + 1e-9:
        at_mm = scale.y(number)
        paper.rule(_AXIS_MM, at_mm, _END_MM, 0.15)
        paper.string(LEFT_MM, at_mm + 0.9, f"{number + 0.0:.{_places(step)}f}".replace("-0.0", "0.0"), _SMALL_PT)
        number = round(number + step, 10)
    paper.line(((_AXIS_MM, scale.top_mm), (_AXIS_MM, foot_mm), (_END_MM, foot_mm)), 0.6)
    for day in _days(lots):
        at_mm = scale.x(day)
        paper.line(((at_mm, foot_mm), (at_mm, foot_mm + 1.2)), 0.6)
        paper.centred(at_mm, foot_mm + 4.2, day.isoformat(), _SMALL_PT, Weight.REGULAR)


def _places(step: float) -> int:
    return max(1, -math.floor(math.log10(step)))


def _days(lots: Sequence[DriftLot]) -> list[date]:
    """The days that stand below the axis, evenly from the first lot to the last."""
    first, last = lots[0].came, lots[-1].came
    span = (last - first).days
    ticks = min(_TICKS, span)
    return [first + timedelta(round(span * turn / ticks)) for turn in range(ticks + 1)] if ticks else [first]


def _at_the_right(paper: Paper, at_mm: float, text: str) -> None:
    paper.paragraph_right(_END_MM - 1.0, at_mm - 3.4, wrapped(text, _SMALL_PT, 60.0))


def _answer_mark(paper: Paper, answer: Answer, x_mm: float, y_mm: float) -> None:
    """A full circle matches, an open square is for the eye, a cross does not match."""
    if answer == "matches":
        paper.polygon(_circle(x_mm, y_mm), 0.5, BLACK)
    elif answer == "by eye":
        paper.polygon(_square(x_mm, y_mm), 0.8, WHITE)
    else:
        side = _MARK_MM
        paper.line(((x_mm - side, y_mm - side), (x_mm + side, y_mm + side)), 1.6)
        paper.line(((x_mm - side, y_mm + side), (x_mm + side, y_mm - side)), 1.6)


def _answer_legend(paper: Paper, at_mm: float) -> None:
    legend: tuple[tuple[Answer, str], ...] = (
        ("matches", "matches the master"),
        ("by eye", "check by eye in daylight"),
        ("no match", "does not match"),
    )
    x_mm = _AXIS_MM
    for answer, text in legend:
        _answer_mark(paper, answer, x_mm + 1.5, at_mm)
        paper.string(x_mm + 4.5, at_mm + 1.0, text, _SMALL_PT + 0.5)
        x_mm += 46.0
    paper.string(x_mm, at_mm + 1.0, "figures: lots of the table", _SMALL_PT + 0.5)


def _series_mark(paper: Paper, name: str, x_mm: float, y_mm: float) -> None:
    """ΔL* has full circles, Δa* open squares, Δb* full triangles."""
    if name == "ΔL*":
        paper.polygon(_circle(x_mm, y_mm), 0.5, BLACK)
    elif name == "Δa*":
        paper.polygon(_square(x_mm, y_mm), 0.8, WHITE)
    else:
        side = _MARK_MM * 1.15
        paper.polygon(((x_mm, y_mm - side), (x_mm + side, y_mm + side), (x_mm - side, y_mm + side)), 0.5, BLACK)


def _series_legend(paper: Paper, at_mm: float) -> None:
    x_mm = _AXIS_MM
    for name, dashes in _SERIES:
        paper.line(((x_mm, at_mm), (x_mm + 8.0, at_mm)), 0.6, dashes)
        _series_mark(paper, name, x_mm + 4.0, at_mm)
        paper.string(x_mm + 10.0, at_mm + 1.0, f"{name} {_SAID[name]}", _SMALL_PT + 0.5)
        x_mm += 66.0 if name == "ΔL*" else 48.0


def _circle(x_mm: float, y_mm: float) -> Points:
    turns = [math.tau * turn / 16 for turn in range(16)]
    return [(x_mm + _MARK_MM * math.cos(turn), y_mm + _MARK_MM * math.sin(turn)) for turn in turns]


def _square(x_mm: float, y_mm: float) -> Points:
    side = _MARK_MM
    return (
        (x_mm - side, y_mm - side),
        (x_mm + side, y_mm - side),
        (x_mm + side, y_mm + side),
        (x_mm - side, y_mm + side),
    )
