"""The buying list of a week: the lines of its reorder run, each with what was decided on it, and by whom."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.weeks import Week
from stockroom.domain.wording import unknown
from stockroom.jobs.reorder import reorder, week_meant
from stockroom.jobs.reorder_report import ReorderLine, ReorderReport
from stockroom.jobs.reorder_runs import report_of
from stockroom.store import decisions, jobs_done, runs
from stockroom.store.database import Shop, Tx
from stockroom.store.decisions import Decision, KeptDecision
from stockroom.store.runs import KeptRun


@dataclass(frozen=True, slots=True)
class Decided:
    """What was decided on a line."""

    decision: Decision
    shown: str
    """How much was bought, for people; '' where it was put off."""
    reference: str
    """Of the purchase that it became; '' where it was put off."""
    because: str
    until: date | None
    """Put off: it is proposed again from this day on."""
    by: str
    on: date

    @property
    def is_bought(self) -> bool:
        """Whether it became a purchase."""
        return self.decision != "put off"

    @property
    def words(self) -> str:
        """A sentence without its full stop: 'bought 25.00 m in P-0616 (AB): as proposed'."""
        why = f": {self.because}" if self.because else ""
        if self.is_bought:
            return f"bought {self.shown} in {self.reference} ({self.by}){why}"
        return f"put off until {self.until} ({self.by}){why}"


@dataclass(frozen=True, slots=True)
class BuyingLine:
    """One line of the run: what is proposed, and what was decided."""

    supplier: str
    """Its code; '' where nobody sells it, or only on impossible terms."""
    supplier_name: str
    proposed: ReorderLine
    decided: Decided | None

    @property
    def is_open(self) -> bool:
        """Whether somebody still has to decide on it, and can."""
        return self.decided is None and bool(self.supplier)


@dataclass(frozen=True, slots=True)
class BuyingList:
    """What is to be bought in a week, by supplier, those whose lines press most first."""

    week: str
    run: int | None
    """Number of the run; `None` where none was made yet."""
    made_by: str
    made_at: datetime | None
    lines: tuple[BuyingLine, ...]
    to_make: int
    """Lines of the run that are made here, and not bought."""
    done_since: int
    """What was done in the shop since the run was made, buying by it left away: the run may be out of date."""
    carriage: Mapping[str, str]
    """Supplier's code → how far its lines as proposed are to carriage paid, and a top-up; where it is offered."""

    @property
    def open_lines(self) -> tuple[BuyingLine, ...]:
        """What is still to be decided."""
        return tuple(one for one in self.lines if one.is_open)

    def line(self, item: str) -> BuyingLine:
        """The line of an item, in capitals or not. Raises Refusal where there is none."""
        typed = item.strip().casefold()
        found = next((one for one in self.lines if one.proposed.item.casefold() == typed), None)
        if found is None:
            what = f"item of the run of {self.week}"
            raise Refusal(unknown(what, item.strip(), [one.proposed.item for one in self.lines]))
        return found

    def of_supplier(self, named: str) -> tuple[BuyingLine, ...]:
        """The lines of a supplier, by code or name. Raises Refusal where it has none."""
        typed = named.strip().casefold()
        found = [one for one in self.lines if typed in (one.supplier.casefold(), one.supplier_name.casefold())]
        if not typed or not found:
            codes = dict.fromkeys(one.supplier for one in self.lines if one.supplier)
            raise Refusal(unknown(f"supplier of the run of {self.week}", named.strip(), codes))
        return tuple(found)


def buying_list(shop: Shop, week: str | None, today: date) -> BuyingList:
    """The list of a week ('2026-W48', or the one `today` is in) by its latest run. Nothing is written.

    Raises Refusal for a week there is not, and where an older program made the run.
    """
    asked = week_meant(week, today)
    with shop.read() as tx:
        kept = runs.latest_run(tx, str(asked))
        if kept is None:
            return BuyingList(str(asked), None, "", None, (), 0, 0, {})
        made = decisions.decisions_of_week(tx, kept.week)
        standing = standing_of_run(tx, kept, today)
        done = jobs_done.count_since(tx, kept.at, {one.job_id for one in made})
        report = report_of(kept)
        lines = tuple(
            BuyingLine(code, name, line, _decided(standing.get(line.item), line))
            for code, name, line in _bought(report)
        )
        carriage = {one.code: f"{one.total} as proposed. {one.carriage}" for one in report.suppliers if one.carriage}
        return BuyingList(kept.week, kept.number, kept.by, kept.at, lines, len(report.to_make), done, carriage)


def made_list(shop: Shop, week: str | None, today: date, stamp: Stamp) -> BuyingList:
    """The same; where the week has no run yet, it is made first."""
    found = buying_list(shop, week, today)
    return made_anew(shop, week, today, stamp) if found.run is None else found


def made_anew(shop: Shop, week: str | None, today: date, stamp: Stamp) -> BuyingList:
    """The same, by a run on the stock as it is now: what was decided on unchanged stock stands as it was decided.

    Raises Refusal for a week that is past: its run would not count what comes later than goods bought then would have.
    """
    asked = week_meant(week, today)
    if asked < Week.of(today):
        raise Refusal(f"{asked} is past, and no run is made to buy by in it now. Buy by {Week.of(today)}, this week.")
    reorder(shop, week, today, stamp)
    return buying_list(shop, week, today)


def decided_words(shop: Shop, report: ReorderReport, today: date) -> dict[str, str]:
    """Item → what was decided on its line of a report, for people; nothing of what is undecided."""
    with shop.read() as tx:
        kept = runs.run_of_digest(tx, report.week, report.digest)
        if kept is None:
            return {}
        standing = standing_of_run(tx, kept, today)
    told = ((line.item, _decided(standing.get(line.item), line)) for _, _, line in _bought(report))
    return {item: one.words for item, one in told if one is not None}


def bought_in_week(tx: Tx, week: str, item: str) -> KeptDecision | None:
    """The purchase that a line of an item became by any run of a week."""
    found = decisions.decisions_of_week(tx, week)
    return next((one for one in reversed(found) if one.item == item and one.purchase_id is not None), None)


def standing_of_run(tx: Tx, kept: KeptRun, today: date) -> dict[str, KeptDecision]:
    """Item → the decision that stands on its line of a run: the last on it, or putting it off until a day to come."""
    day = max(today, Week.parse(kept.week).monday())
    standing = {one.item: one for one in decisions.put_off_last(tx)}
    standing |= {one.item: one for one in decisions.decisions_of_run(tx, kept.number)}
    return {item: one for item, one in standing.items() if one.until is None or one.until > day}


def bought_lines(report: ReorderReport) -> dict[str, tuple[str, ReorderLine]]:
    """Item → supplier's code and line, of a report; the code is '' where nobody sells it."""
    return {line.item: (code, line) for code, _, line in _bought(report)}


def _bought(report: ReorderReport) -> Iterable[tuple[str, str, ReorderLine]]:
    for supplier in report.suppliers:
        for line in supplier.lines:
            yield supplier.code, supplier.name, line
    for line in report.unsold:
        yield "", "", line


def _decided(kept: KeptDecision | None, line: ReorderLine) -> Decided | None:
    if kept is None:
        return None
    return Decided(
        kept.decision,
        line.shown(kept.quantity) if kept.purchase_id is not None else "",
        kept.reference,
        kept.because,
        kept.until,
        kept.by,
        kept.at.date(),
    )
