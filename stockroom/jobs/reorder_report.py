"""The weekly reorder report as it is kept and read: lines by supplier, what is made, what nobody sells."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any, cast

from stockroom.domain.idle import Idle
from stockroom.domain.net_need import WeekRow
from stockroom.domain.quantities import minor_digits, show_length, show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.reorder import Action, Method, Urgency
from stockroom.domain.top_up import TopUp
from stockroom.domain.weeks import Week
from stockroom.domain.wording import listed, literal

IDLE_SHOWN = 10
"""So many of what lies idle stand on the report for people; all are in its JSON."""


@dataclass(frozen=True, slots=True)
class LineWeek:
    """One week of a line's table. Quantities in mm or count."""

    week: str
    """'2026-W49'; '' for what has no date or comes after the weeks shown."""
    needed: int
    """By orders in hand, and to make what is proposed."""
    coming: int
    """On order and due."""
    left: int
    """At its end, with nothing bought or made; below nothing: short."""
    net: int
    """What must be ready in it, beyond what the weeks before asked for."""
    expected: int
    """Use that is forecast beyond that."""


@dataclass(frozen=True, slots=True)
class ReorderLine:
    """One item to buy or make. Quantities in mm or count, money in minor units of `currency`."""

    action: Action
    method: Method
    """What it goes by."""
    basis: str
    """Where a forecast is asked for: by what it is forecast, or why it is not; a few words."""
    item: str
    title: str
    by_length: bool
    lead_days: int
    """From ordering, or from beginning to make it."""
    held: int
    """Not in quarantine."""
    reserved: int
    on_order: int
    needed: int
    """The least that must come."""
    quantity: int
    """Proposed, rounded to what is sold."""
    cost_minor: int | None
    currency: str
    latest_day: date | None
    """Last day to order, or to start making."""
    urgency: Urgency
    why: str
    steps: tuple[str, ...]
    """The whole working."""
    weekly_use: tuple[int, ...]
    """Use in each of the 26 weeks before, the oldest first; empty where there was none."""
    weeks: tuple[LineWeek, ...]
    """The weeks to come, the run's own first."""
    ask: str = ""
    """What the supplier is to be asked for besides, in a few words: cloth in one dye lot."""

    def shown(self, quantity: int) -> str:
        """A quantity of it, for people."""
        return _amount(quantity, self.by_length)

    def stock_to_come(self, week: Week) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """What will be left at the end of each week from the run of `week` on: with what is proposed, and without it.

        Use that is forecast is taken off. What is proposed is there when the lead time has passed.
        """
        comes = str(Week.of(week.monday() + timedelta(days=self.lead_days)))
        as_it_is, used = [], 0
        for one in self.weeks:
            used += one.expected
            as_it_is += [one.left - used] if one.week else []
        named = [one.week for one in self.weeks if one.week]
        there = [self.quantity if week_of >= comes else 0 for week_of in named]
        return tuple(map(sum, zip(as_it_is, there, strict=True))), tuple(as_it_is)

    @property
    def by_what(self) -> str:
        """Whether it goes by orders and limits alone or by a forecast too, for people."""
        return self.basis or _BY_WHAT[self.method]

    @property
    def cost(self) -> str:
        """Its cost, for people; 'no price' where none is known."""
        return "no price" if self.cost_minor is None else show_money(self.cost_minor, self.currency)


@dataclass(frozen=True, slots=True)
class LaterNeed:
    """What orders in hand need of one item after the last week that is bought for: shown, not bought."""

    item: str
    title: str
    by_length: bool
    quantity: int
    """mm or count."""


@dataclass(frozen=True, slots=True)
class SupplierLines:
    """What to buy from one supplier, the most pressing first."""

    code: str
    name: str
    currency: str
    carriage_paid_minor: int
    """Order value from which carriage is paid; 0 where it is not offered."""
    lines: tuple[ReorderLine, ...]
    top_ups: tuple[TopUp, ...] = ()
    """Advice: what more to take so that carriage is paid, what is needed soonest first; no part of the lines."""

    @property
    def total_minor(self) -> int:
        """Of the lines whose cost is known."""
        return sum(line.cost_minor or 0 for line in self.lines)

    @property
    def total(self) -> str:
        """The total, for people, with how many lines have no price."""
        unpriced = sum(1 for line in self.lines if line.cost_minor is None)
        return show_money(self.total_minor, self.currency) + (f" and {unpriced} with no price" if unpriced else "")

    @property
    def carriage(self) -> str:
        """What there is to say of carriage, a sentence, or ''."""
        if not self.carriage_paid_minor:
            return ""
        paid = f"Carriage is paid from {show_money(self.carriage_paid_minor, self.currency)}"
        lacking = self.carriage_paid_minor - self.total_minor
        if lacking <= 0:
            return f"{paid}: reached."
        return " ".join(filter(None, (f"{paid}; {show_money(lacking, self.currency)} to go.", self._topping_up())))

    @property
    def lacking_minor(self) -> int:
        """What lacks for carriage to be paid; 0 where it is reached, not offered, or a line has no price."""
        if not self.carriage_paid_minor or any(line.cost_minor is None for line in self.lines):
            return 0
        return max(self.carriage_paid_minor - self.total_minor, 0)

    def _topping_up(self) -> str:
        """What more would reach it, a sentence, or ''."""
        if not self.top_ups:
            return ""
        named = listed(
            f"{_amount(one.more, one.by_length)} {'more' if one.bought else ''} of {one.item}".replace("  ", " ")
            + f" ({show_money(one.cost_minor, self.currency)})"
            for one in self.top_ups
        )
        reached = show_money(self.total_minor + sum(one.cost_minor for one in self.top_ups), self.currency)
        return f"A top-up of {named}, needed next, would reach it with {reached}: it is yours to choose."


@dataclass(frozen=True, slots=True)
class ReorderReport:
    """One week's proposals with their working."""

    shop: str
    week: str
    """'2026-W48'."""
    digest: str
    """SHA-256 of what went in, in hex."""
    suppliers: tuple[SupplierLines, ...]
    """Whose lines press most first."""
    to_make: tuple[ReorderLine, ...]
    """Made here."""
    unsold: tuple[ReorderLine, ...]
    """Needed, but nobody sells it, or only on impossible terms."""
    faults: tuple[str, ...]
    """What is wrong with limits and terms, a sentence each."""
    hurry: tuple[str, ...]
    """Purchases that are past their day, a sentence each."""
    waiting: int
    """Requirements that hang on an answer: nothing is bought for them."""
    books: tuple[str, ...]
    """What is wrong with the history: weeks that nobody wrote down, clocks set back. A sentence each."""
    later: tuple[LaterNeed, ...]
    """By item."""
    idle: tuple[Idle, ...]
    """What lies idle: dead first, then what is worth most."""
    currency: str
    """Of what idle stock is worth."""

    def to_dict(self) -> dict[str, Any]:
        """As JSON values. `from_dict` gives the same report back."""
        return cast(dict[str, Any], json.loads(json.dumps(asdict(self), default=date.isoformat)))

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> ReorderReport:
        """The report that `to_dict` gave."""
        suppliers = tuple(
            SupplierLines(
                **{
                    **supplier,
                    "lines": _lines_back(supplier["lines"]),
                    "top_ups": tuple(TopUp(**one) for one in supplier["top_ups"]),
                }
            )
            for supplier in kept["suppliers"]
        )
        made, unsold = _lines_back(kept["to_make"]), _lines_back(kept["unsold"])
        told = {name: tuple(kept[name]) for name in ("faults", "hurry", "books")}
        lying = tuple(Idle(**one) for one in kept["idle"])
        later = tuple(LaterNeed(**one) for one in kept["later"])
        facts = {"suppliers": suppliers, "to_make": made, "unsold": unsold, "idle": lying, "later": later, **told}
        return cls(**{**kept, **facts})

    def groups(self) -> tuple[tuple[str, str, tuple[ReorderLine, ...]], ...]:
        """Heading, what there is to say of it, and lines: suppliers first, then what is made and what nobody sells."""
        groups = [(f"{one.name} ({one.code})", _said(one), one.lines) for one in self.suppliers]
        groups.append(("To make here", "", self.to_make))
        groups.append(("Nobody sells it, or on impossible terms: add or correct terms", "", self.unsold))
        return tuple(group for group in groups if group[2])

    def remarks(self) -> tuple[str, ...]:
        """What holds for the whole report: sentences."""
        rest = (*self.hurry, *self.faults, *self.books)
        if not self.waiting:
            return rest
        hang = f"{self.waiting} requirement hangs" if self.waiting == 1 else f"{self.waiting} requirements hang"
        return (f"{hang} on an answer that is not given yet: nothing is bought for that.", *rest)

    def later_lines(self) -> tuple[str, ...]:
        """What is wanted later than is bought for, for people, a line each."""
        return tuple(f"{_amount(one.quantity, one.by_length)} of {one.item}, {one.title}" for one in self.later)

    def idle_lines(self) -> tuple[str, ...]:
        """What lies idle, for people, a line each; of many the first."""
        more = len(self.idle) - IDLE_SHOWN
        told = tuple(
            f"{'DEAD' if one.dead else 'excess'} {_amount(one.over, one.by_length)} of {one.item}, {one.title}; "
            f"worth {show_money(one.worth_minor, self.currency)}; {one.why}"
            for one in self.idle[:IDLE_SHOWN]
        )
        return (*told, f"and {more} more: stockroom reorder --json lists them all") if more > 0 else told

    def lines(self, decided: Mapping[str, str] = MappingProxyType({})) -> tuple[str, ...]:
        """The report for people, a line each, without the working. `decided`: item → what was decided on its line."""
        told = [f"Reorder report of {literal(self.shop)}, {self.week}"]
        for heading, said, lines in self.groups():
            told += ["", literal(heading), *([f"  {literal(said)}"] if said else [])]
            told += [f"  {literal(_told(line, decided.get(line.item, '')))}" for line in lines]
        if len(told) == 1:
            told.append("Nothing is to be bought or made this week.")
        if self.later:
            told += ["", "Wanted later than is bought for now: shown, not bought"]
            told += [f"  {literal(line)}" for line in self.later_lines()]
        if self.idle:
            told += ["", "Lies idle: use it up, sell it, or let it run out"]
            told += [f"  {literal(line)}" for line in self.idle_lines()]
        remarks = self.remarks()
        return (*told, *(["", *map(literal, remarks)] if remarks else []))

    def line(self, item: str) -> ReorderLine:
        """One item's line, with its whole working. Raises `Refusal` where the report has none."""
        for _, _, lines in self.groups():
            for line in lines:
                if line.item == item:
                    return line
        raise Refusal(f"The reorder report of {self.week} has no line for '{literal(item)}': there is enough of it.")

    def summary(self) -> str:
        """The report in one line: for a timer's log."""
        lines = [line for _, _, some in self.groups() for line in some]
        late, urgent = (sum(1 for line in lines if line.urgency == word) for word in ("late", "urgent"))
        return f"{self.week}: {len(lines)} {'line' if len(lines) == 1 else 'lines'}, {late} late, {urgent} urgent."

    def csv(self) -> str:
        """The report as CSV, one line an item; a text that a spreadsheet would reckon with is made plain text."""
        out = io.StringIO(newline="")
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(_COLUMNS)
        sold = [(one.code, line) for one in self.suppliers for line in one.lines]
        for supplier, line in [*sold, *(("", line) for line in (*self.to_make, *self.unsold))]:
            texts = (supplier, line.action, line.urgency, line.item, line.title)
            cost = "" if line.cost_minor is None else _decimal(line.cost_minor, line.currency)
            writer.writerow(
                [
                    self.week,
                    *map(_plain_cell, texts),
                    line.quantity,
                    "mm" if line.by_length else "count",
                    line.needed,
                    cost,
                    line.currency,
                    line.latest_day or "",
                    line.method,
                    _plain_cell(line.why),
                ]
            )
        return out.getvalue()


_BY_WHAT: dict[Method, str] = {
    "limits": "by orders, least and most",
    "forecast": "by a forecast",
    "last buy": "last buy",
}


def _amount(quantity: int, by_length: bool) -> str:
    return show_length(quantity) if by_length else str(quantity)


_COLUMNS = (
    "week", "supplier", "action", "urgency", "item", "title", "quantity", "unit", "needed", "cost", "currency",
    "latest_day", "method", "why",
)  # fmt: skip


def line_weeks(rows: Iterable[WeekRow]) -> tuple[LineWeek, ...]:
    """The weeks of an item that was reckoned through, as a line has them."""
    return tuple(LineWeek(str(row.week or ""), row.needed, row.coming, row.left, row.net, row.expected) for row in rows)


def _lines_back(kept: Iterable[Mapping[str, Any]]) -> tuple[ReorderLine, ...]:
    return tuple(
        ReorderLine(
            **{
                **line,
                "latest_day": date.fromisoformat(line["latest_day"]) if line["latest_day"] else None,
                "steps": tuple(line["steps"]),
                "weekly_use": tuple(line["weekly_use"]),
                "weeks": tuple(LineWeek(**one) for one in line["weeks"]),
            }
        )
        for line in kept
    )


def _said(supplier: SupplierLines) -> str:
    count = len(supplier.lines)
    lines = f"{count} line{'' if count == 1 else 's'}, {supplier.total}."
    return " ".join(part for part in (lines, supplier.carriage) if part)


def by_day(line: ReorderLine) -> str:
    if line.latest_day is None:
        return ""
    return f"{'start' if line.action == 'make' else 'order'} by {line.latest_day}"


def _told(line: ReorderLine, decided: str) -> str:
    mark = "" if line.urgency == "normal" else f"{line.urgency.upper()} "
    cost = line.cost if line.action == "buy" else ""
    parts = (f"{line.shown(line.quantity)} of {line.item}, {line.title}", cost, by_day(line), line.why, line.by_what)
    standing = f"{decided[:1].upper()}{decided[1:]}: " if decided else ""
    return mark + standing + "; ".join(part for part in parts if part)


def _decimal(minor: int, currency: str) -> str:
    """A sum as a spreadsheet reads it: with a point and no currency."""
    digits = minor_digits(currency)
    return f"{minor // 10**digits}.{minor % 10**digits:0{digits}d}" if digits else str(minor)


def _plain_cell(text: str) -> str:
    """A text that no spreadsheet takes for a formula, with control characters shown literally."""
    shown = literal(text)
    return f"'{shown}" if shown.startswith(("=", "+", "-", "@")) else shown
