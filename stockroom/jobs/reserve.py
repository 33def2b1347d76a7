"""Holding stock for an order, so that it is not promised twice, and naming what is short.

What is held already stays; reserving again only looks for what is still missing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from shlex import quote

from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.holding_plan import HoldingPlan, Stock, plan_holds
from stockroom.jobs.lookup import Catalogue, catalogue_of
from stockroom.jobs.lot_colours import lot_colours
from stockroom.jobs.margin import are_stated, hold_margins
from stockroom.jobs.offer import bound_lots, offers_in
from stockroom.jobs.past_day import told_of_past_days
from stockroom.jobs.stand_in import proposals_in
from stockroom.jobs.swatch_hold import let_go_past
from stockroom.jobs.waiting import hung_up
from stockroom.jobs.way_back import remember, write_remembered
from stockroom.jobs.went_in import lots_to_match
from stockroom.store import bill, changed_rows, holds, ledger, margins, orders, swatches, waits
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop, Tx, aside
from stockroom.store.holds import KeptShortage
from stockroom.store.orders import KeptOrder


@dataclass(frozen=True, slots=True)
class ProposedMix:
    """Lots that together would do for one matching group, if somebody approves the mix."""

    item: str
    lots: tuple[str, ...]
    """All that the group would have; those that would be taken from first."""

    @property
    def as_options(self) -> str:
        """How it is named on the command line."""
        return " ".join((f"--approve-mix {self.item}", *(f"--lot {quote(lot)}" for lot in self.lots)))


@dataclass(frozen=True, slots=True)
class Reserved:
    """What a reservation did."""

    number: str
    held_now: int
    """Requirements that are wholly held and were not before."""
    held_before: int
    """Requirements that were wholly held already."""
    needed: int
    """Requirements in all, besides those that wait for an answer."""
    waiting: int
    """Requirements that hang on an answer."""
    reasons: tuple[str, ...]
    """Why this roll, this lot, this bin: sentences."""
    short: tuple[str, ...]
    """What is short: sentences."""
    would_mix: tuple[str, ...]
    """Items of which several lots together would do, if somebody approves the mix."""
    margins: tuple[str, ...] = ()
    """What is held beside as a margin now: sentences."""
    offers: tuple[str, ...] = ()
    """Finished things of the stock that fit, and how to use them: sentences."""
    substitutes: tuple[str, ...] = ()
    """Permitted substitutes of what is short, what is free of them, and how they are taken: sentences."""
    mixes: tuple[ProposedMix, ...] = ()
    """The mixes that are proposed; how their lots match stands with what is short."""


def reserve(shop: Shop, number: str, stamp: Stamp) -> Reserved:
    """Holds all that the order still needs, or nothing of it.

    Raises Refusal naming every shortage where it cannot all be held; the finding is kept for the rail and the ticket.
    """
    result = reserve_all(shop, number, stamp)
    if result.short:
        raise Refusal(
            f"Order {result.number} is short, so nothing more was held for it: {result.short[0]}"
            + (f" (and {len(result.short) - 1} more)" if len(result.short) > 1 else ""),
            faults=(*result.short[1:], *_what_to_do(result)),
        )
    return result


def reserve_all(shop: Shop, number: str, stamp: Stamp) -> Reserved:
    """`reserve`, with what is short told in the answer; nothing more is held then."""
    with shop.write() as tx:
        order = _open_order(tx, number)
        return _with_offers(shop, tx, order, _reserve_alone(shop, tx, order, stamp, partly=False))


def _what_to_do(result: Reserved) -> list[str]:
    """How a short order goes on, as it is typed."""
    mixes = [
        f"To approve a mix of lots: stockroom reserve {result.number} {mix.as_options} --because WHY --by AB"
        for mix in result.mixes
    ]
    return [
        *mixes,
        *result.offers,
        *result.substitutes,
        f"To hold what there is: stockroom reserve {result.number} --what-there-is. "
        "What is missing stands in the reorder report.",
    ]


def reserve_what_there_is(shop: Shop, number: str, stamp: Stamp) -> Reserved:
    """Holds what there is of what the order still needs, and says what is short."""
    with shop.write() as tx:
        order = _open_order(tx, number)
        return _with_offers(shop, tx, order, _reserve_alone(shop, tx, order, stamp, partly=True))


def _with_offers(shop: Shop, tx: Tx, order: KeptOrder, done: Reserved) -> Reserved:
    """The same, with the finished things of the stock that fit, and with what may stand in for what is short."""
    offers = tuple(one.sentence for one in offers_in(shop, tx, order))
    substitutes = proposals_in(catalogue_of(shop, tx), tx, order) if done.short else ()
    if not offers and not substitutes:
        return done
    return replace(done, offers=offers, substitutes=tuple(one.sentence for one in substitutes))


def reserve_in(shop: Shop, tx: Tx, order: KeptOrder, stamp: Stamp) -> Reserved:
    """`reserve_what_there_is`, as a part of the job that changed the order."""
    return _reserve(tx, order, _found(shop, tx, order), stamp, partly=True).told


def holds_something(tx: Tx, order: KeptOrder) -> bool:
    """Whether anything is held for the order."""
    return any(one.held for one in bill.requirements_of(tx, order.id))


def approve_mix(shop: Shop, number: str, item: str, because: str, stamp: Stamp, lots: Sequence[str] = ()) -> None:
    """Somebody's word that the lots of an item that were proposed may be used together in this order.

    What is approved is what was shown: the mix that stands at the order's shortage. `lots`: those that whoever approves
    was shown. Raises Refusal where another mix, or none, is proposed.
    """
    with shop.write() as tx:
        order = _open_order(tx, number)
        if item not in {one.requirement.item for one in bill.requirements_of(tx, order.id)}:
            raise Refusal(f"Order {order.number} needs no {quoted(item)}, so there is no mix of it to approve.")
        refuse_no_reason(because)
        shown = [one for one in holds.shortages_of(tx, order.id) if one.item == item and one.would_mix]
        if not shown:
            raise Refusal(
                f"No mix of {item} is proposed for order {order.number}, and what nobody was shown cannot be approved. "
                f"The best there is stands at what is short: stockroom reserve {order.number}"
            )
        approved = [one for one in shown if not lots or set(one.would_mix) == set(lots)]
        if not approved:
            raise Refusal(
                f"What is proposed for order {order.number} is another mix now: {shown[0].sentence}",
                tuple(one.sentence for one in shown[1:]),
            )
        groups = [((one.car_id or 0, one.group, one.item), one.would_mix) for one in approved]
        approve_mixes_in(tx, order, groups, because, stamp)


def refuse_no_reason(because: str) -> None:
    """Raises Refusal where a mix is approved without one."""
    if not because.strip():
        raise Refusal("A mix of lots is approved with a reason: say why the difference will not be seen.")


def approve_mixes_in(
    tx: Tx, order: KeptOrder, mixes: Sequence[tuple[tuple[int, str, str], Sequence[str]]], because: str, stamp: Stamp
) -> None:
    """`approve_mix`, within the transaction of the job that needs it: (car, group, item) and all the lots of each."""
    refuse_no_reason(because)
    before = changed_rows.look(tx, changed_rows.MIXES, orders=[order.id])
    item = mixes[0][0][2]
    job = ledger.begin_job(tx, f"approve a mix of lots of {item} for order {order.number}", stamp)
    for group, lots in mixes:
        holds.approve_mix(tx, order.id, group, lots, because, stamp)
        names = listed(map(lot_name, sorted(lots)))
        orders.log_change(tx, order.id, job, f"A mix of lots of {item} was approved, {names}: {because}", stamp)
    remember(tx, job, before)


def _open_order(tx: Tx, number: str) -> KeptOrder:
    order = orders.order_to_change(tx, number)
    if order.state != "open":
        raise Refusal(f"Order {order.number} is {order.state}: nothing can be held for it.")
    return order


def _reserve_alone(shop: Shop, tx: Tx, order: KeptOrder, stamp: Stamp, *, partly: bool) -> Reserved:
    """A reservation that is a job of its own, where it holds anything."""
    found = _found(shop, tx, order)
    # An order for which nothing is held need not be looked at before: what it holds then is what this job held.
    before = None if found.is_bare else changed_rows.look(tx, changed_rows.PROMISES, orders=[order.id])
    done = _reserve(tx, order, found, stamp, partly=partly)
    if done.plan.holds_more or done.told.margins:
        what = "reserve" if done.plan.holds_more else "hold a margin"
        rows = _came_first(tx, order, found, done) if before is None else changed_rows.changed(tx, before)
        write_remembered(tx, f"{what} for order {order.number}", stamp, order.id, rows)
    return done.told


@dataclass(frozen=True, slots=True)
class _Found:
    """What a reservation finds."""

    catalogue: Catalogue
    requirements: list[KeptRequirement]
    short: list[KeptShortage]
    """What the last reservation lacked."""

    @property
    def is_bare(self) -> bool:
        """Whether nothing is held for the order, not even as a margin, and nothing is known to be short."""
        return not (self.short or are_stated(self.catalogue) or any(one.held for one in self.requirements))


@dataclass(frozen=True, slots=True)
class _Done:
    """What a reservation did."""

    told: Reserved
    plan: HoldingPlan
    cuts: Mapping[int, int]
    """Planned cut → its roll: what was written of the plan."""


def _found(shop: Shop, tx: Tx, order: KeptOrder) -> _Found:
    return _Found(catalogue_of(shop, tx), bill.requirements_to_hold(tx, order.id), holds.shortages_of(tx, order.id))


def _came_first(tx: Tx, order: KeptOrder, found: _Found, done: _Done) -> changed_rows.Changes:
    """How the first reservation of an order is taken back."""
    more: defaultdict[int, dict[str, int]] = defaultdict(dict)
    for requirement_id, held in done.plan.held().items():
        more[requirement_id]["held"] = held
    for one in found.requirements:
        needed = done.plan.needed.get(one.id, one.needed)
        if needed != one.needed:
            more[one.id]["needed"] = needed - one.needed
    return changed_rows.came_first(tx, order.id, done.cuts, more, is_short=bool(done.plan.short))


def _reserve(tx: Tx, order: KeptOrder, known: _Found, stamp: Stamp, *, partly: bool) -> _Done:
    catalogue, requirements = known.catalogue, known.requirements
    waiting = hung_up(requirements, waits.waits_of(tx, order.id))
    wanted = [one for one in requirements if one.id not in waiting]
    before = sum(1 for one in wanted if one.needed and one.held == one.needed)
    if are_stated(catalogue) and any(one.held < one.needed for one in wanted):
        # Its own margin is what an order takes first.
        margins.let_go_of_margins(tx, order.id)
    let_go_past(tx, (one.requirement.item for one in wanted if one.held < one.needed), stamp)
    found = _plan(catalogue, tx, order, wanted, stamp.at.date())
    if found.short:
        wanted, found = _planned_afresh(catalogue, tx, order, wanted, found, partly=partly, today=stamp.at.date())
    if found.short and not partly:
        found.cuts, found.takes, found.needed = [], [], {}
    cuts: Mapping[int, int] = {}
    if found.holds_more:
        holds.need(tx, found.needed)
        cuts = holds.hold(tx, found.cuts, found.takes, stamp)
    found.short = told_of_past_days(tx, found.short, stamp.at.date())
    if found.short != known.short:
        holds.rewrite_shortages(tx, order.id, found.short)
    after = _wholly_held(wanted, found)
    beside = hold_margins(catalogue, tx, order, stamp)
    result = Reserved(
        order.number,
        after - before,
        before,
        sum(1 for one in wanted if found.needed.get(one.id, one.needed)),
        sum(1 for one in requirements if one.id in waiting and one.needed),
        tuple(dict.fromkeys(reason for reasons in found.reasons() for reason in reasons)),
        tuple(one.sentence for one in found.short),
        tuple(one.item for one in found.short if one.would_mix),
        beside,
        mixes=tuple(ProposedMix(one.item, one.would_mix) for one in found.short if one.would_mix),
    )
    return _Done(result, found, cuts)


def _planned_afresh(
    catalogue: Catalogue,
    tx: Tx,
    order: KeptOrder,
    wanted: list[KeptRequirement],
    found: HoldingPlan,
    *,
    partly: bool,
    today: date,
) -> tuple[list[KeptRequirement], HoldingPlan]:
    """Plans the short groups again without what they hold in part: nothing of it is cut, so it need not bind them.

    A hood held in part from a lot that ran out is so held whole from the lot that came in since. Where that does not
    serve, what is held stays as it is.
    """
    short = {(one.car_id, one.group, one.item) for one in found.short}
    cars = {line.number: line.car_id for line in order.lines}

    def group(one: KeptRequirement) -> tuple[int | None, str, str]:
        if one.requirement.need == "count":
            return None, "", one.requirement.item
        return cars[one.requirement.key.line], one.requirement.group, one.requirement.item

    partly_held = [one.id for one in wanted if one.held and group(one) in short]
    if not partly_held:
        return wanted, found
    with aside(tx) as attempt:
        holds.release(tx, partly_held)
        ids = {one.id for one in wanted}
        now = [one for one in bill.requirements_to_hold(tx, order.id) if one.id in ids]
        again = _plan(catalogue, tx, order, now, today)
        still = {(one.car_id, one.group, one.item) for one in again.short}
        if still < short and (partly or not still):
            attempt.keep()
            return now, again
    return wanted, found


def _wholly_held(wanted: Sequence[KeptRequirement], found: HoldingPlan) -> int:
    more = found.held()
    return sum(
        1 for one in wanted if (needed := found.needed.get(one.id, one.needed)) and one.held + more[one.id] == needed
    )


def _plan(
    catalogue: Catalogue, tx: Tx, order: KeptOrder, wanted: Sequence[KeptRequirement], today: date
) -> HoldingPlan:
    """What to hold of what is missing. Stock is read once, in a few statements, however much there is of it."""
    items = {
        one.requirement.item
        for one in wanted
        if one.held < one.needed or one.requirement.need == "made" or one.requirement.key.unit
    }
    if not items:
        return HoldingPlan()
    bound = bound_lots(tx, order)
    agreed = _agreed_lots(tx, order, wanted)
    free = holds.candidates(tx, items, today)
    free |= {item: [one for one in free[item] if one.lot in lots] for item, lots in agreed.items() if item in free}
    plan = plan_holds(
        wanted,
        {line.number: (line.car_id, line.request.quantity) for line in order.lines},
        Stock(
            free,
            bound,
            holds.approved_mixes(tx, order.id, bound),
            holds.lots_spoilt(tx, order.id),
            catalogue,
            lot_colours(catalogue, tx),
            lots_to_match(tx, order, [one.requirement for one in wanted]),
        ),
    )
    plan.short = [_told_of_agreed(one, agreed) for one in plan.short]
    return plan


def _agreed_lots(tx: Tx, order: KeptOrder, wanted: Sequence[KeptRequirement]) -> dict[str, set[str]]:
    """Item → the lots whose swatches the customer agreed to, where all that is wanted of it waited for such a swatch.

    Nothing else is held of it then.
    """
    by_requirement: defaultdict[int, set[str]] = defaultdict(set)
    for _, requirement_id, _, _, lot in swatches.agreed_lots(tx, [line.car_id for line in order.lines]):
        by_requirement[requirement_id].add(lot)
    found: dict[str, set[str]] = {}
    for item in {one.requirement.item for one in wanted if one.id in by_requirement}:
        lots = [by_requirement.get(one.id) for one in wanted if one.requirement.item == item and one.held < one.needed]
        if lots and all(lots):
            found[item] = set().union(*filter(None, lots))
    return found


def _told_of_agreed(short: KeptShortage, agreed: Mapping[str, set[str]]) -> KeptShortage:
    """A shortage, with the reason why no other lot is looked at."""
    if short.item not in agreed:
        return short
    lots = listed(map(lot_name, sorted(agreed[short.item])))
    told = f"The customer agreed to {lots} by its swatch; for another lot, send a swatch of that."
    return replace(short, sentence=f"{short.sentence} {told}")
