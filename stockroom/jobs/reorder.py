"""The weekly reorder run: what to buy and make, from whom, by when and why, by supplier.

A run is known by its week and a digest of what went in. The same week on unchanged stock gives the kept report back;
the clock only says which week it is where none is named.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from stockroom.domain.catalogue import BY_LENGTH, Supplier
from stockroom.domain.idle import Idle, idle
from stockroom.domain.outlook import outlooks, with_year_use
from stockroom.domain.refusal import Refusal
from stockroom.domain.reorder import Proposal, Reckoned, faults, to_hurry
from stockroom.domain.stamp import Stamp
from stockroom.domain.top_up import candidates, top_ups
from stockroom.domain.weekly_run import Run, run_week
from stockroom.domain.weeks import Week
from stockroom.domain.yearly_cost import Costs
from stockroom.jobs.reorder_inputs import RunInputs, digest_of, gather, packed
from stockroom.jobs.reorder_remarks import books_remarks
from stockroom.jobs.reorder_report import LaterNeed, ReorderLine, ReorderReport, SupplierLines, line_weeks
from stockroom.jobs.swatch_hold import let_go_of_all_past
from stockroom.store.database import Shop
from stockroom.store.runs import is_latest, keep_run, make_latest, run_of_digest

MOST_YEARS_OFF = 100
"""A run for a week further from today is a slip of the pen."""
PICTURED_WEEKS = 26
"""Past use is pictured for so many weeks."""


def reorder(shop: Shop, week: str | None, today: date, stamp: Stamp) -> ReorderReport:
    """The reorder run of an ISO week ('2026-W48'), or of the week `today` is in: made and kept, or the kept one.

    The report hangs on the week and on what the shop holds, needs, has on order and used; not on `today` or the
    `stamp`, which says who made it first. Raises `Refusal` for a week there is not, and for a shop without its facts.
    """
    run = week_meant(week, today)
    let_go_of_all_past(shop, stamp)
    with shop.read() as tx:
        inputs = gather(shop, tx, run)
        text = inputs.text()
        digest = digest_of(text)
        made = run_of_digest(tx, str(run), digest)
        is_last = made is None or is_latest(tx, str(run), digest)
    if not is_last:
        # The stock was otherwise meanwhile, and another run was made on that: this one is what is gone by again.
        with shop.write() as tx:
            make_latest(tx, str(run), digest)
    if made is not None:
        return ReorderReport.from_dict(made.report)
    report = _report(inputs, digest, reckoned(inputs)).to_dict()
    with shop.write() as tx:
        # Somebody may have made the same run between reading and writing.
        if run_of_digest(tx, str(run), digest) is None:
            keep_run(tx, str(run), digest, report, packed(text), stamp)
    return ReorderReport.from_dict(report)


def week_meant(week: str | None, today: date) -> Week:
    """The week that is named, or the one `today` is in. Raises `Refusal` for a week there is not."""
    run = Week.of(today) if week is None else Week.parse(week)
    if abs(run.year - today.year) > MOST_YEARS_OFF:
        raise Refusal(f"Week {run} is more than {MOST_YEARS_OFF} years away. Write it as {Week.of(today)}.")
    return run


def reckoned(inputs: RunInputs) -> Run:
    """Every item reckoned through."""
    known = outlooks(inputs.standings, inputs.groups, inputs.past, inputs.last_orders, inputs.week)
    about = inputs.about
    costs = Costs(about.order_cost_minor, about.keeping_percent, about.currency)
    if costs.keeping_percent:
        known = with_year_use(known, inputs.standings, inputs.past)
    return run_week(inputs.standings, inputs.made_from, known, inputs.week, costs)


def _report(inputs: RunInputs, digest: str, run: Run) -> ReorderReport:
    week = inputs.week
    lines: list[tuple[Proposal, ReorderLine]] = []
    suppliers: dict[str, Supplier] = {}
    for one in run.reckoned:
        suppliers.update({offer.supplier.code: offer.supplier for offer in one.standing.offers})
        if one.proposal is not None:
            used = inputs.past.used.get(one.proposal.item, ())
            lines.append((one.proposal, _line(one, one.proposal, used[-PICTURED_WEEKS:])))
    bought: dict[str, list[ReorderLine]] = {}
    for proposal, line in lines:
        if proposal.action == "buy":
            bought.setdefault(proposal.supplier, []).append(line)
    return ReorderReport(
        shop=inputs.about.name,
        week=str(week),
        digest=digest,
        suppliers=tuple(
            sorted((_supplier_lines(suppliers[code], some, inputs, run) for code, some in bought.items()), key=_presses)
        ),
        to_make=_pressing(line for _, line in lines if line.action == "make"),
        unsold=_pressing(line for _, line in lines if line.action in ("no terms", "bad terms")),
        faults=(*(fault for one in inputs.standings for fault in faults(one)), *run.faults, *inputs.unread),
        hurry=tuple(sentence for one in inputs.standings for sentence in to_hurry(one, week)),
        waiting=inputs.waiting,
        books=books_remarks(inputs.past.silent(), inputs.set_back, week),
        later=tuple(_later(one) for one in run.reckoned if one.later),
        idle=_idle(inputs),
        currency=inputs.about.currency,
    )


def _idle(inputs: RunInputs) -> tuple[Idle, ...]:
    """What lies idle, what is worth most first."""
    silent = inputs.past.silent()
    found = (
        idle(one, inputs.past.weekly(one.item.code, silent), inputs.past.last_came.get(one.item.code))
        for one in inputs.standings
    )
    return tuple(sorted(filter(None, found), key=lambda one: (not one.dead, -one.worth_minor, one.item)))


def _supplier_lines(supplier: Supplier, lines: Iterable[ReorderLine], inputs: RunInputs, run: Run) -> SupplierLines:
    found = SupplierLines(
        supplier.code, supplier.name, supplier.currency, supplier.carriage_paid_minor, _pressing(lines)
    )
    if not found.lacking_minor:
        return found
    others = candidates(supplier.code, run.reckoned, inputs.past.used)
    return replace(found, top_ups=top_ups(found.lacking_minor, supplier.carriage_paid_minor, others))


def _line(one: Reckoned, proposal: Proposal, used: tuple[int, ...]) -> ReorderLine:
    standing = one.standing
    return ReorderLine(
        action=proposal.action,
        method=proposal.method,
        basis=proposal.basis,
        item=proposal.item,
        title=proposal.title,
        by_length=proposal.by_length,
        lead_days=proposal.lead_days,
        held=standing.held,
        reserved=standing.reserved,
        on_order=sum(due.quantity for due in standing.dues),
        needed=proposal.needed,
        quantity=proposal.quantity,
        cost_minor=proposal.cost_minor,
        currency=proposal.currency,
        latest_day=proposal.latest_day,
        urgency=proposal.urgency,
        why="; ".join(filter(None, (proposal.why, proposal.ask, *standing.stand_in_words))),
        ask=proposal.ask,
        steps=proposal.steps,
        weekly_use=used,
        weeks=line_weeks(one.rows),
    )


def _later(one: Reckoned) -> LaterNeed:
    item = one.standing.item
    return LaterNeed(item.code, item.title, item.kind in BY_LENGTH, one.later)


def _presses(supplier: SupplierLines) -> tuple[date, str]:
    return supplier.lines[0].latest_day or date.max, supplier.code


def _pressing(lines: Iterable[ReorderLine]) -> tuple[ReorderLine, ...]:
    """The most pressing first: by last day to order, and so late before urgent before normal; then by item."""
    return tuple(sorted(lines, key=lambda line: (line.latest_day or date.max, line.item)))
