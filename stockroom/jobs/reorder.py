"""The weekly reorder run: what to buy and make, from whom, by when and why, by supplier.

A run is known by its week and a digest of what went in. The same week on unchanged stock gives the kept report back;
the clock only says which week it is where none is named.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, cast

from stockroom.domain.about import About
from stockroom.domain.catalogue import Supplier
from stockroom.domain.quantities import minor_digits, show_length, show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.reorder import Action, Proposal, Standing, Urgency, faults, propose, to_hurry
from stockroom.domain.stamp import Stamp
from stockroom.domain.weeks import Week
from stockroom.domain.wording import literal
from stockroom.store.about import read_about
from stockroom.store.buying import read_standings, read_wantings, weekly_use
from stockroom.store.database import Shop
from stockroom.store.runs import keep_run, kept_run

MOST_YEARS_OFF = 100
"""A run for a week further from today is a slip of the pen."""
FORM = 3
"""Form of the kept report; a program that writes another form makes the run anew."""


@dataclass(frozen=True, slots=True)
class ReorderLine:
    """One item to buy or make. Quantities in mm or count, money in minor units of `currency`."""

    action: Action
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


def reorder(shop: Shop, week: str | None, today: date, stamp: Stamp) -> ReorderReport:
    """The reorder run of an ISO week ('2026-W48'), or of the week `today` is in: made and kept, or the kept one.

    The report hangs on the week and on what the shop holds, needs, has on order and used; not on `today` or the
    `stamp`, which says who made it first. Raises `Refusal` for a week there is not, and for a shop without its facts.
    """
    run = Week.of(today) if week is None else Week.parse(week)
    if abs(run.year - today.year) > MOST_YEARS_OFF:
        raise Refusal(f"Week {run} is more than {MOST_YEARS_OFF} years away. Write it as {Week.of(today)}.")
    with shop.read() as tx:
        about = read_about(tx)
        if about is None:
            raise Refusal("The shop is empty. Load its own files first: stockroom load FOLDER.")
        wantings = read_wantings(tx)
        standings = read_standings(tx, wantings)
        used = weekly_use(tx, run, about.time_zone)
        digest = _digest(run, about, standings, used, wantings.waiting)
        kept = kept_run(tx, str(run), digest)
    if kept is None:
        kept = _report(run, about, digest, standings, used, wantings.waiting).to_dict()
        with shop.write() as tx:
            # Somebody may have made the same run between reading and writing.
            earlier = kept_run(tx, str(run), digest)
            if earlier is None:
                keep_run(tx, str(run), digest, kept, stamp)
    return ReorderReport.from_dict(kept)


def reorder_paper(report: ReorderReport) -> bytes:
    """The report as PDF."""
    from labels import reordering
    from labels.reorder_report import reorder_report_pdf

    groups = [
        reordering.SupplierProposals(heading, tuple(map(_paper_line, lines)), said)
        for heading, said, lines in report.groups()
    ]
    totals: dict[str, int] = {}
    for supplier in report.suppliers:
        totals[supplier.currency] = totals.get(supplier.currency, 0) + supplier.total_minor
    return reorder_report_pdf(
        reordering.ReorderReport(
            shop=report.shop,
            week=report.week,
            suppliers=tuple(groups),
            total=", ".join(show_money(total, currency) for currency, total in sorted(totals.items())),
            remarks=report.remarks(),
            nothing="Nothing is to be bought or made this week.",
        )
    )


def _digest(
    week: Week, about: About, standings: Iterable[Standing], used: Mapping[str, tuple[int, ...]], waiting: int
) -> str:
    """SHA-256 of all that a report is made from."""
    went_in = {
        "form": FORM,
        "week": str(week),
        "about": asdict(about),
        "standings": [asdict(one) for one in standings],
        "used": used,
        "waiting": waiting,
    }
    text = json.dumps(went_in, sort_keys=True, separators=(",", ":"), default=date.isoformat)
    return hashlib.sha256(text.encode()).hexdigest()


def _report(
    week: Week,
    about: About,
    digest: str,
    standings: Iterable[Standing],
    used: Mapping[str, tuple[int, ...]],
    waiting: int,
) -> ReorderReport:
    found: list[str] = []
    hurry: list[str] = []
    proposed: list[tuple[Proposal, ReorderLine]] = []
    suppliers: dict[str, Supplier] = {}
    for standing in standings:
        found += faults(standing)
        hurry += to_hurry(standing, week)
        proposal = propose(standing, week)
        if proposal is not None:
            suppliers.update({offer.supplier.code: offer.supplier for offer in standing.offers})
            proposed.append((proposal, _line(standing, proposal, used.get(proposal.item, ()))))
    bought: dict[str, list[ReorderLine]] = {}
    for proposal, line in proposed:
        if proposal.action == "buy":
            bought.setdefault(proposal.supplier, []).append(line)
    lines = [line for _, line in proposed]
    return ReorderReport(
        shop=about.name,
        week=str(week),
        digest=digest,
        suppliers=tuple(_supplier_lines(suppliers[code], some) for code, some in sorted(bought.items())),
        to_make=_pressing(line for line in lines if line.action == "make"),
        unsold=_pressing(line for line in lines if line.action in ("no terms", "bad terms")),
        faults=tuple(found),
        hurry=tuple(hurry),
        waiting=waiting,
    )


def _supplier_lines(supplier: Supplier, lines: Iterable[ReorderLine]) -> SupplierLines:
    return SupplierLines(
        supplier.code, supplier.name, supplier.currency, supplier.carriage_paid_minor, _pressing(lines)
    )


def _line(standing: Standing, proposal: Proposal, used: tuple[int, ...]) -> ReorderLine:
    return ReorderLine(
        action=proposal.action,
        item=proposal.item,
        title=proposal.title,
        by_length=proposal.by_length,
        held=standing.held,
        reserved=standing.reserved,
        on_order=sum(due.quantity for due in standing.dues),
        needed=proposal.needed,
        quantity=proposal.quantity,
        cost_minor=proposal.cost_minor,
        currency=proposal.currency,
        latest_day=proposal.latest_day,
        urgency=proposal.urgency,
        why=proposal.why,
        steps=proposal.steps,
        weekly_use=used,
    )


def _pressing(lines: Iterable[ReorderLine]) -> tuple[ReorderLine, ...]:
    """The most pressing first: by last day to order, and so late before urgent before normal; then by item."""
    return tuple(sorted(lines, key=lambda line: (line.latest_day or date.max, line.item)))


def _lines_back(kept: Iterable[Mapping[str, Any]]) -> tuple[ReorderLine, ...]:
    return tuple(
        ReorderLine(
            **{
                **line,
                "latest_day": date.fromisoformat(line["latest_day"]) if line["latest_day"] else None,
                "steps": tuple(line["steps"]),
                "weekly_use": tuple(line["weekly_use"]),
            }
        )
        for line in kept
    )


def _said(supplier: SupplierLines) -> str:
    count = len(supplier.lines)
    lines = f"{count} line{'' if count == 1 else 's'}, {supplier.total}."
    return " ".join(part for part in (lines, supplier.carriage) if part)


def _by_day(line: ReorderLine) -> str:
    if line.latest_day is None:
        return ""
    return f"{'start' if line.action == 'make' else 'order'} by {line.latest_day}"


def _told(line: ReorderLine) -> str:
    mark = "" if line.urgency == "normal" else f"{line.urgency.upper()} "
    cost = line.cost if line.action == "buy" else ""
    parts = (f"{line.shown(line.quantity)} of {line.item}, {line.title}", cost, _by_day(line), line.why)
    return mark + "; ".join(part for part in parts if part)


def _paper_line(line: ReorderLine) -> Any:
    from labels import reordering

    return reordering.ReorderLine(
        item=line.item,
        title=line.title,
        held=line.shown(line.held),
        reserved=line.shown(line.reserved),
        on_order=line.shown(line.on_order),
        need=line.shown(line.needed),
        quantity=line.shown(line.quantity),
        cost=line.cost if line.action == "buy" else "",
        reason="; ".join(part for part in (line.why, _by_day(line)) if part),
        mark="" if line.urgency == "normal" else line.urgency,
        weekly_use=line.weekly_use,
    )


def _decimal(minor: int, currency: str) -> str:
    """A sum as a spreadsheet reads it: with a point and no currency."""
    digits = minor_digits(currency)
    return f"{minor // 10**digits}.{minor % 10**digits:0{digits}d}" if digits else str(minor)


def _plain_cell(text: str) -> str:
    """A text that no spreadsheet takes for a formula, with control characters shown literally."""
    shown = literal(text)
    return f"'{shown}" if shown.startswith(("=", "+", "-", "@")) else shown
