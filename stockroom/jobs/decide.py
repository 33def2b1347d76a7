"""Deciding on the lines of a reorder run: what is accepted, or changed with a reason, is bought; the rest is put off.

The accepted lines of one supplier are one purchase with a reference of ours, due when the lead time has passed, at the
price of the break that is reached. More is added to it as long as it was not printed and nothing of it has come.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom.domain.catalogue import Item, Supplier, Terms
from stockroom.domain.offer import Offer, cost_at, price_at, sold_quantity
from stockroom.domain.quantities import show_money
from stockroom.domain.questions import Question, open_of, refuse_open, refuse_strange
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.weeks import Week
from stockroom.domain.wording import listed, unknown
from stockroom.jobs.buying import bought_in_week, bought_lines, standing_of_run
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.purchasing import COME, day_meant, quantity_meant
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.reorder_report import ReorderLine
from stockroom.jobs.reorder_runs import report_of
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import catalogue, decisions, jobs_done, ledger, low_stock, purchases
from stockroom.store.database import Shop, Tx
from stockroom.store.decisions import KeptDecision, NewDecision
from stockroom.store.jobs_done import KeptJob
from stockroom.store.purchases import NewPurchase
from stockroom.store.runs import run_by_number, run_to_change
from stockroom.store.tags import count_on, next_serial

QUESTIONS = {
    "bought-since": "more of it was bought after the run was made",
    "not-sold": "a quantity that the supplier's terms do not have",
    "too-little": "less than must come",
}
"""What may be asked about, by the name it is confirmed with."""
_COUNTER = "purchase"
_OURS = "P-"
LONGEST_PUT_OFF_DAYS = 366


@dataclass(frozen=True, slots=True)
class NewOrder:
    """A purchase that lines became, or were added to."""

    reference: str
    supplier: str
    """Its name."""
    items: tuple[str, ...]
    due: date
    """Of its latest line."""
    sentence: str


@dataclass(frozen=True, slots=True)
class LinesDecided:
    """What deciding did."""

    changed_anything: bool
    orders: tuple[NewOrder, ...]
    sentences: tuple[str, ...]
    """What was done with which line, and what was decided already."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One line that is to be bought."""

    item: Item
    line: ReorderLine
    supplier: Supplier
    terms: Terms | None
    quantity: int
    because: str

    @property
    def price_minor(self) -> int:
        """Of one, or of one metre; 0 where none is known."""
        return (price_at(self.terms, self.quantity) if self.terms else None) or 0

    @property
    def lead_days(self) -> int:
        """Days from ordering to receiving."""
        return Offer(self.supplier, self.terms).lead_days if self.terms else self.supplier.lead_days


def accept(shop: Shop, run: int, items: Sequence[str], stamp: Stamp, sure: Collection[str] = ()) -> LinesDecided:
    """Buys these lines of a run as they are proposed. What was bought already is told, and nothing happens to it.

    Raises Refusal for an item that has no line to buy, and where something is asked that is not in `sure`.
    """
    return _buy(shop, run, dict.fromkeys(items, ""), "", stamp, sure)


def change(
    shop: Shop, run: int, item: str, quantity: str, because: str, stamp: Stamp, sure: Collection[str] = ()
) -> LinesDecided:
    """Buys one line of a run in another quantity, a length with its unit or a count. Takes a reason.

    Raises Refusal as `accept` does, for what is no quantity, and where it was bought already: then another is not had.
    """
    said_in_a_line(reason=because)
    if not because.strip():
        raise Refusal("Say why it is bought in another quantity than was proposed.")
    done = _buy(shop, run, {item: quantity}, because.strip(), stamp, sure)
    if not done.changed_anything:
        raise Refusal(f"{done.sentences[0]} To buy another quantity of it, undo that first.")
    return done


def asked(shop: Shop, run: int, quantities: Mapping[str, str], stamp: Stamp) -> tuple[Question, ...]:
    """What would be asked before lines are bought; `quantities`: item → another quantity, or '' as proposed."""
    with shop.read() as tx:
        wanted, _ = _read(shop, tx, run, quantities, "", stamp)
        return _questions(tx, run, wanted)


def put_off(shop: Shop, run: int, items: Sequence[str], because: str, stamp: Stamp, until: str = "") -> LinesDecided:
    """Puts lines of a run off until a day ('2026-12-18'), or until the next week's run. Takes a reason.

    The run is not changed, nor are the next ones: they show the line as put off until that day.
    """
    said_in_a_line(reason=because)
    if not because.strip():
        raise Refusal("Say why it is put off: what it waits for.")
    with shop.write() as tx:
        kept = run_to_change(tx, run)
        day = _until(until, Week.parse(kept.week), stamp.at.date())
        found = bought_lines(report_of(kept))
        standing = standing_of_run(tx, kept, stamp.at.date())
        fresh, sentences = [], []
        for item in dict.fromkeys(items):
            if item not in found:
                raise Refusal(_no_line(tx, kept.week, item, found))
            before = standing.get(item)
            if before is not None and before.purchase_id is not None:
                sentences.append(_bought_already(before))
            elif before is not None and (before.until, before.because) == (day, because.strip()):
                sentences.append(f"{item} is put off until {day} already.")
            else:
                fresh.append(item)
        if not fresh:
            return LinesDecided(False, (), tuple(sentences))
        job = ledger.begin_job(tx, f"put off {_some(fresh)} until {day}: {because.strip()}", stamp)
        ids = [
            decisions.keep_decision(tx, NewDecision(run, item, "put off", 0, because.strip(), day), job, stamp)
            for item in fresh
        ]
        ledger.keep_way_back(tx, job, "put off", {"decisions": ids}, [f"line {item}" for item in fresh])
    put = tuple(f"{found[item][1].title} is put off until {day}." for item in fresh)
    return LinesDecided(True, (), (*put, *sentences))


# Buying


def _buy(
    shop: Shop, run: int, quantities: Mapping[str, str], because: str, stamp: Stamp, sure: Collection[str]
) -> LinesDecided:
    refuse_strange(sure, QUESTIONS)
    with shop.write() as tx:
        run_to_change(tx, run)
        wanted, already = _read(shop, tx, run, quantities, because, stamp)
        refuse_open(open_of(_questions(tx, run, wanted), sure), "Nothing was bought yet")
        if not wanted:
            return LinesDecided(False, (), tuple(map(_bought_already, already)))
        by_supplier: dict[str, list[_Wanted]] = defaultdict(list)
        for one in wanted:
            by_supplier[one.supplier.code].append(one)
        references = {code: _reference(tx, run, code, stamp.at.date()) for code in sorted(by_supplier)}
        bought = f"{_some([one.item.code for one in wanted])}, {listed(references.values())}"
        job = ledger.begin_job(tx, f"buy by the weekly run: {bought}", stamp)
        kept = [_write(tx, run, references[one.supplier.code], one, job, stamp) for one in wanted]
        data = {
            "decisions": [one[0] for one in kept],
            "purchases": [one[1] for one in kept],
            "low": [row for one in kept for row in one[2]],
        }
        ledger.keep_way_back(tx, job, "buy lines", data, [f"purchase {one[1]}" for one in kept])
    orders = tuple(_order(references[code], some, stamp.at.date()) for code, some in sorted(by_supplier.items()))
    return LinesDecided(True, orders, (*(order.sentence for order in orders), *map(_bought_already, already)))


def _read(
    shop: Shop, tx: Tx, run: int, quantities: Mapping[str, str], because: str, stamp: Stamp
) -> tuple[list[_Wanted], list[KeptDecision]]:
    """What is to be bought, and the decisions on what was bought already, in the order of items."""
    kept = run_by_number(tx, run)
    found = bought_lines(report_of(kept))
    standing = standing_of_run(tx, kept, stamp.at.date())
    items, suppliers = catalogue_of(shop, tx).items, catalogue.read_suppliers(tx)
    terms = {(one.supplier, one.item): one for one in catalogue.read_terms(tx)}
    wanted, already = [], []
    for code in sorted(quantities):
        if code not in found:
            raise Refusal(_no_line(tx, kept.week, code, found))
        before = standing.get(code)
        if before is not None and before.purchase_id is not None:
            already.append(before)
            continue
        supplier, line = found[code]
        if not supplier:
            raise Refusal(f"Nobody sells {line.title} on possible terms. Add or correct terms, and make the run anew.")
        quantity = quantity_meant(quantities[code], items[code]) if quantities[code] else line.quantity
        why = because if quantity != line.quantity else ""
        wanted.append(_Wanted(items[code], line, suppliers[supplier], terms.get((supplier, code)), quantity, why))
    return wanted, already


def _questions(tx: Tx, run: int, wanted: Sequence[_Wanted]) -> tuple[Question, ...]:
    since = purchases.written_since_run(tx, run, [one.item.code for one in wanted])
    asked = []
    for one in wanted:
        shown = one.item.shown
        if since.get(one.item.code):
            asked.append(
                Question(
                    "bought-since",
                    f"{one.item.title} was bought after the run was made, {listed(since[one.item.code])}. "
                    "Is this to be bought besides? A run made anew counts it.",
                )
            )
        sold = sold_quantity(one.terms, one.quantity) if one.terms else one.quantity
        if sold != one.quantity and one.quantity != one.line.quantity:
            asked.append(
                Question(
                    "not-sold",
                    f"By its terms {one.supplier.name} sells {shown(sold)} of {one.item.title}, not "
                    f"{shown(one.quantity)}. Has it agreed?",
                )
            )
        if one.quantity < one.line.needed:
            asked.append(
                Question(
                    "too-little",
                    f"{shown(one.quantity)} of {one.item.title} is less than the {shown(one.line.needed)} that must "
                    "come. Is it enough?",
                )
            )
    return tuple(asked)


def _reference(tx: Tx, run: int, supplier: str, today: date) -> str:
    """The purchase that lines of a supplier go on: one of this run and day that can still be added to, or a new one."""
    mine = [one for one in decisions.decisions_of_run(tx, run) if one.supplier == supplier]
    for reference in dict.fromkeys(one.reference for one in reversed(mine)):
        lines = purchases.lines_to_change(tx, reference)
        jobs = [one.job_id for one in decisions.decisions_behind(tx, reference)]
        printed = any(order_printed(reference) in some for some in jobs_done.printed_of(tx, jobs).values())
        untouched = all(purchases.is_untouched(tx, one.id) and one.ordered == today for one in lines)
        if untouched and not printed:
            return reference
    known = set(purchases.references(tx))
    ours = [one.removeprefix(_OURS) for one in known if one.startswith(_OURS)]
    count_on(
        tx, _COUNTER, max((int(one) for one in ours if one.isascii() and one.isdigit() and len(one) < 7), default=0)
    )
    return f"{_OURS}{next_serial(tx, _COUNTER):04d}"


def order_printed(reference: str) -> str:
    """What is kept with a job when the order of its purchase was printed."""
    return f"purchase order {reference}"


def _write(tx: Tx, run: int, reference: str, one: _Wanted, job: int, stamp: Stamp) -> tuple[int, int, list[int]]:
    """Writes one line down: the numbers of its decision and of its purchase, and what of low stock it ends."""
    today = stamp.at.date()
    new = NewPurchase(
        reference, one.supplier.code, one.item.code, one.quantity, today, today + timedelta(days=one.lead_days),
        one.price_minor,
    )  # fmt: skip
    line_id = purchases.add_purchase(tx, new, stamp)
    how = NewDecision(
        run, one.item.code, "changed" if one.because else "accepted", one.quantity, one.because, None, line_id
    )
    decision = decisions.keep_decision(tx, how, job, stamp)
    return decision, line_id, low_stock.end_low_stock(tx, one.item.code, "bought", stamp)


def _order(reference: str, wanted: Sequence[_Wanted], today: date) -> NewOrder:
    supplier = wanted[0].supplier
    due = today + timedelta(days=max(one.lead_days for one in wanted))
    cost = sum(cost_at(one.price_minor, one.quantity, one.item.kind) for one in wanted)
    unpriced = sum(not one.price_minor for one in wanted)
    goods = listed(f"{one.item.shown(one.quantity)} of {one.item.title}" for one in wanted)
    money = show_money(cost, supplier.currency) + (f" and {unpriced} with no known price" if unpriced else "")
    sentence = f"Purchase {reference}, {supplier.name}: {goods}; {money}, due by {due}."
    return NewOrder(reference, supplier.name, tuple(one.item.code for one in wanted), due, sentence)


# Words


def _no_line(tx: Tx, week: str, item: str, found: Collection[str]) -> str:
    before = bought_in_week(tx, week, item)
    if before is not None:
        return f"{_bought_already(before)} The run as it is now has no more of it to buy."
    return unknown(f"item of the run of {week}", item, sorted(found))


def _bought_already(one: KeptDecision) -> str:
    return (
        f"{one.item} was bought already, purchase {one.reference} ({one.by}, {one.at:%Y-%m-%d}). "
        "Nothing more is bought of it."
    )


def _some(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else f"{len(items)} lines"


def _until(text: str, week: Week, today: date) -> date:
    """The day until which something is put off: the one that was typed, or the Monday of the next week's run."""
    if not text.strip():
        return max(week, Week.of(today)).following().monday()
    day = day_meant(text, today)
    if day <= today:
        raise Refusal(f"{day} is today: it is to be decided now. Put it off until a later day.")
    if (day - today).days > LONGEST_PUT_OFF_DAYS:
        raise Refusal(f"{day} is more than a year away. If it is not wanted, set the item's least instead.")
    return day


# The way back


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - as every way back is called
    data = undoing.data
    decisions.drop_decisions(tx, data["decisions"])
    for line_id in sorted(data["purchases"]):
        if not purchases.take_away(tx, line_id):
            raise Refusal(COME)
    low_stock.reopen_low_stock(tx, data["low"], "bought")
    return ("It is no longer on order in the books, and is to be decided again. If it was ordered, tell the supplier.",)


def _why_bought(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - as every way back is called
    return "" if all(purchases.is_untouched(tx, one) for one in job.data["purchases"]) else COME


def _take_up(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - as every way back is called
    decisions.drop_decisions(tx, undoing.data["decisions"])
    return ("It is to be decided again.",)


WAYS_BACK = {"buy lines": WayBack(_take_back, _why_bought), "put off": WayBack(_take_up)}
