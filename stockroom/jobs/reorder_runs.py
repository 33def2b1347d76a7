"""Runs that were made before, shown again; and the whole working of one item, whether it has a line or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import unknown
from stockroom.jobs.reorder import reckoned, week_meant
from stockroom.jobs.reorder_inputs import gather, unpacked
from stockroom.jobs.reorder_report import LineWeek, ReorderLine, ReorderReport, line_weeks
from stockroom.store.database import Shop
from stockroom.store.runs import KeptRun, kept_runs, run_by_number


@dataclass(frozen=True, slots=True)
class MadeRun:
    """One run that was made."""

    number: int
    week: str
    by: str
    at: datetime
    summary: str


@dataclass(frozen=True, slots=True)
class Working:
    """How one item was reckoned through. Quantities in mm or count."""

    item: str
    title: str
    by_length: bool
    steps: tuple[str, ...]
    weeks: tuple[LineWeek, ...]

    def lines(self) -> tuple[str, ...]:
        """For people: the sentences, then the table of weeks in which anything happens."""
        busy = [one for one in self.weeks if one.needed or one.coming or one.net or one.expected]
        if not busy:
            return (f"{self.item}, {self.title}", *(f"  {step}" for step in self.steps))
        rows: list[tuple[str, ...]] = [("week", "needed", "forecast", "comes", "left", "to be ready")]
        used = 0
        for one in self.weeks:
            used += one.expected
            if one in busy:
                figures = (one.needed, one.expected, one.coming, one.left - used, one.net)
                rows.append((one.week or "later", *map(self._shown, figures)))
        wide = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
        table = ["  ".join(text.rjust(width) for text, width in zip(row, wide, strict=True)) for row in rows]
        return (
            f"{self.item}, {self.title}",
            *(f"  {step}" for step in self.steps),
            "",
            *(f"  {row}" for row in table),
        )

    def _shown(self, quantity: int) -> str:
        if not quantity:
            return "0"
        return show_length(quantity) if self.by_length else str(quantity)


def made_runs(shop: Shop) -> tuple[MadeRun, ...]:
    """The runs that were made, the latest first."""
    with shop.read() as tx:
        found = kept_runs(tx)
    return tuple(MadeRun(one.number, one.week, one.by, one.at, _summary(one.report)) for one in found)


def shown_again(shop: Shop, number: int) -> ReorderReport:
    """A run that was made, just as it was. Raises `Refusal` where there is none of that number."""
    with shop.read() as tx:
        kept = run_by_number(tx, number)
    return report_of(kept)


def report_of(kept: KeptRun) -> ReorderReport:
    """The report of a run that is kept. Raises `Refusal` where this program cannot read it."""
    report = _report(kept.report)
    if report is None:
        raise Refusal(f"Run {kept.number} was made by an older program and cannot be shown by this one. Make it anew.")
    return report


def inputs_of(shop: Shop, number: int) -> str:
    """All that went into a run, as JSON: its digest is made of this text. Raises `Refusal` where there is none."""
    with shop.read() as tx:
        kept = run_by_number(tx, number)
    if kept.inputs is None:
        raise Refusal(f"Run {number} was made by an older program, which did not keep what went in.")
    return unpacked(kept.inputs)


def working_of(shop: Shop, week: str | None, item: str, today: date) -> Working:
    """How an item stands in a week's run, from all that goes into it now. Raises `Refusal` for what is no item."""
    with shop.read() as tx:
        inputs = gather(shop, tx, week_meant(week, today))
    codes = [one.item.code for one in inputs.standings]
    if item not in codes:
        raise Refusal(unknown("item", item, codes))
    (one,) = (one for one in reckoned(inputs).reckoned if one.standing.item.code == item)
    kind = one.standing.item
    return Working(kind.code, kind.title, kind.kind in BY_LENGTH, one.steps, line_weeks(one.rows))


def working_then(report: ReorderReport, item: str) -> Working:
    """How an item stood in a run that is kept. Raises `Refusal` where it has no line."""
    return _working(report.line(item))


def working_lines(line: ReorderLine) -> tuple[str, ...]:
    """The whole working of a line, for people."""
    return _working(line).lines()


def _working(line: ReorderLine) -> Working:
    return Working(line.item, line.title, line.by_length, line.steps, line.weeks)


def _summary(kept: dict[str, Any]) -> str:
    report = _report(kept)
    return report.summary() if report else "made by an older program"


def _report(kept: dict[str, Any]) -> ReorderReport | None:
    try:
        return ReorderReport.from_dict(kept)
    except (KeyError, TypeError):
        return None
