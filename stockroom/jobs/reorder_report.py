"""The weekly reorder report as it is kept and read: lines by supplier, what is made, what nobody sells."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, cast

from stockroom.domain.quantities import minor_digits, show_length, show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.reorder import Action, Method, Urgency
from stockroom.domain.wording import literal


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
    item: str
    title: str
    by_length: bool
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

    def shown(self, quantity: int) -> str:
        """A quantity of it, for people."""
        return show_length(quantity) if self.by_length else str(quantity)

    @property
    def cost(self) -> str:
        """Its cost, for people; 'no price' where none is known."""
        return "no price" if self.cost_minor is None else show_money(self.cost_minor, self.currency)


@dataclass(frozen=True, slots=True)
class SupplierLines:
    """What to buy from one supplier, the most pressing first."""

    code: str
    name: str
    currency: str
    carriage_paid_minor: int
    """Order value from which carriage is paid; 0 where it is not offered."""
    lines: tuple[ReorderLine, ...]

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
        return f"{paid}; {show_money(lacking, self.currency)} to go." if lacking > 0 else f"{paid}: reached."


@dataclass(frozen=True, slots=True)
class ReorderReport:
    """One week's proposals with their working."""

    shop: str
    week: str
    """'2026-W48'."""
    digest: str
    """SHA-256 of what went in, in hex."""
    suppliers: tuple[SupplierLines, ...]
    """By code."""
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

    def to_dict(self) -> dict[str, Any]:
        """As JSON values. `from_dict` gives the same report back."""
        return cast(dict[str, Any], json.loads(json.dumps(asdict(self), default=date.isoformat)))

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> ReorderReport:
        """The report that `to_dict` gave."""
        suppliers = tuple(
            SupplierLines(**{**supplier, "lines": _lines_back(supplier["lines"])}) for supplier in kept["suppliers"]
        )
        made, unsold = _lines_back(kept["to_make"]), _lines_back(kept["unsold"])
        told = {name: tuple(kept[name]) for name in ("faults", "hurry")}
        facts = {"suppliers": suppliers, "to_make": made, "unsold": unsold, **told}
        return cls(**{**kept, **facts})

    def groups(self) -> tuple[tuple[str, str, tuple[ReorderLine, ...]], ...]:
        """Heading, what there is to say of it, and lines: suppliers first, then what is made and what nobody sells."""
        groups = [(f"{one.name} ({one.code})", _said(one), one.lines) for one in self.suppliers]
        groups.append(("To make here", "", self.to_make))
        groups.append(("Nobody sells it, or on impossible terms: add or correct terms", "", self.unsold))
        return tuple(group for group in groups if group[2])

    def remarks(self) -> tuple[str, ...]:
        """What holds for the whole report: sentences."""
        if not self.waiting:
            return (*self.hurry, *self.faults)
        hang = f"{self.waiting} requirement hangs" if self.waiting == 1 else f"{self.waiting} requirements hang"
        return (f"{hang} on an answer that is not given yet: nothing is bought for that.", *self.hurry, *self.faults)

    def lines(self) -> tuple[str, ...]:
        """The report for people, a line each, without the working."""
        told = [f"Reorder report of {literal(self.shop)}, {self.week}"]
        for heading, said, lines in self.groups():
            told += ["", literal(heading), *([f"  {literal(said)}"] if said else [])]
            told += [f"  {literal(_told(line))}" for line in lines]
        if len(told) == 1:
            told.append("Nothing is to be bought or made this week.")
        remarks = self.remarks()
        return (*told, *(["", *map(literal, remarks)] if remarks else []))

    def working(self, item: str) -> tuple[str, ...]:
        """The whole working of one item's line. Raises `Refusal` where the report has none."""
        for _, _, lines in self.groups():
            for line in lines:
                if line.item == item:
                    return line.steps
        raise Refusal(f"The reorder report of {self.week} has no line for '{literal(item)}': there is enough of it.")

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
                    _plain_cell(line.why),
                ]
            )
        return out.getvalue()


_COLUMNS = (
    "week", "supplier", "action", "urgency", "item", "title", "quantity", "unit", "needed", "cost", "currency",
    "latest_day", "why",
)  # fmt: skip


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


def _told(line: ReorderLine) -> str:
    mark = "" if line.urgency == "normal" else f"{line.urgency.upper()} "
    cost = line.cost if line.action == "buy" else ""
    parts = (f"{line.shown(line.quantity)} of {line.item}, {line.title}", cost, by_day(line), line.why)
    return mark + "; ".join(part for part in parts if part)


def _decimal(minor: int, currency: str) -> str:
    """A sum as a spreadsheet reads it: with a point and no currency."""
    digits = minor_digits(currency)
    return f"{minor // 10**digits}.{minor % 10**digits:0{digits}d}" if digits else str(minor)


def _plain_cell(text: str) -> str:
    """A text that no spreadsheet takes for a formula, with control characters shown literally."""
    shown = literal(text)
    return f"'{shown}" if shown.startswith(("=", "+", "-", "@")) else shown
