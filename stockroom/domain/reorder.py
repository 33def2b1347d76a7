"""What to buy or make this week, by the simple method: orders in hand, a least and a most for each item, and the
supplier's least quantity and multiple. Exact whole numbers: mm or count, minor units of money.

The rule. What is free, plus what is on order in time, less what orders in hand still need, must not fall below nothing
in any week, nor end below the item's least. Where it does, buy up to the most, or just enough where no most is set,
rounded up to what the supplier sells. The most is exceeded only where the need or the supplier's own terms force it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from stockroom.domain.catalogue import BY_LENGTH, Item
from stockroom.domain.lot_size import Priced, how_much
from stockroom.domain.offer import Offer, terms_faults
from stockroom.domain.weeks import Week
from stockroom.domain.wording import listed

HORIZON_WEEKS = 13
"""Needs later than this after the run's week are shown, not bought, unless the lead time reaches further."""

Action = Literal["buy", "make", "no terms", "bad terms"]
"""Buy it; make it here; nobody sells it; the supplier's terms are impossible."""
Urgency = Literal["late", "urgent", "normal"]
"""Late: ordered on the run's Monday it comes after its need. Urgent: the next week's run would be too late."""


@dataclass(frozen=True, slots=True)
class Due:
    """What is still to come of one purchase."""

    reference: str
    day: date
    quantity: int
    """mm or count, more than 0."""


@dataclass(frozen=True, slots=True)
class OpenNeed:
    """What orders in hand need of one item in one week and do not hold yet."""

    week: Week | None
    """Week they are wanted in; `None`: with no date."""
    quantity: int
    """mm or count, more than 0. Of cloth: a length never shorter than the panels take."""
    orders: tuple[str, ...]
    """Numbers of the orders."""
    out_of_reach: int = 0
    """So much of it that nothing free will serve (no piece long enough, no one lot): only new goods do."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How one item stands: all that a proposal is made from. Quantities in mm or count."""

    item: Item
    held: int
    """Not in quarantine."""
    reserved: int
    quarantined: int
    """Held besides, in quarantine: not counted."""
    dues: tuple[Due, ...]
    needs: tuple[OpenNeed, ...]
    offers: tuple[Offer, ...]
    """The preferred first; the first whose terms are possible is taken."""
    discontinued: bool = False
    low: str = ""
    """That somebody at the shelf says it runs out: 'low-stock tag scanned by HM on 2026-11-20'."""

    @property
    def free(self) -> int:
        """Held and not reserved."""
        return self.held - self.reserved

    def shown(self, quantity: int) -> str:
        """A quantity of it, for people."""
        return self.item.shown(quantity)


@dataclass(frozen=True, slots=True)
class Proposal:
    """One line of the report, with its working."""

    action: Action
    item: str
    title: str
    by_length: bool
    supplier: str
    """Its code, or '' where there is none to buy from."""
    lead_days: int
    quantity: int
    """To buy or make, mm or count."""
    needed: int
    """The least that must come, before rounding: what falls short of the needs and of the item's least."""
    cost_minor: int | None
    """Of the whole quantity, in the supplier's currency; `None` where no price is known."""
    currency: str
    latest_day: date | None
    """Last day to order (to start, where it is made here); `None` where no dated need falls short."""
    urgency: Urgency
    why: str
    """A few words."""
    steps: tuple[str, ...]
    """The whole working, a sentence a step."""


@dataclass(frozen=True, slots=True)
class Shortfall:
    """What a standing lacks, before anybody's terms."""

    first_week: Week | None
    """First week that falls short; `None` where none with a date does."""
    for_needs: int
    """The most that is ever lacking for orders in hand; 0 where nothing is."""
    at_end: int
    """What is left when all that is on order has come and all needs within the horizon are served; may be negative."""
    must: int
    """What must come: `for_needs`, or more to reach the item's least."""
    top: int
    """What would reach the item's most; `must` where there is no most or more must come."""


def propose(standing: Standing, week: Week) -> Proposal | None:
    """What to do about one item in the run of `week`, or `None` where there is enough."""
    made = standing.item.made_here
    offer = None if made else next((offer for offer in standing.offers if not terms_faults(offer)), None)
    lead_days = 0 if offer is None else offer.lead_days
    lack = shortfall(standing, week, lead_days)
    if lack.must <= 0:
        return None
    action: Action = "make" if made else "buy" if offer else "bad terms" if standing.offers else "no terms"
    priced = Priced(lack.top, None, ()) if offer is None else how_much(offer, standing.item, lack.must, lack.top)
    latest, urgency = _when(lack.first_week, week, lead_days)
    steps = (
        *_position_steps(standing, week),
        *_need_steps(standing, week, lead_days),
        *_lack_steps(standing, lack),
        *_source_steps(standing, action, offer),
        *priced.steps,
        *_latest_steps(lack.first_week, latest, lead_days, urgency, action),
    )
    return Proposal(
        action=action,
        item=standing.item.code,
        title=standing.item.title,
        by_length=standing.item.kind in BY_LENGTH,
        supplier=offer.supplier.code if offer else "",
        lead_days=lead_days,
        quantity=priced.quantity,
        needed=lack.must,
        cost_minor=priced.cost_minor,
        currency=offer.supplier.currency if offer else "",
        latest_day=latest,
        urgency=urgency,
        why=_why(standing, lack, action),
        steps=steps,
    )


def last_week_served(week: Week, lead_days: int) -> Week:
    """The last week whose needs the run of `week` buys for: the horizon, or what next week's run would be too late for.

    >>> str(last_week_served(Week(2026, 48), lead_days=14)), str(last_week_served(Week(2026, 48), lead_days=182))
    ('2027-W08', '2027-W22')
    """
    return max(week.following(HORIZON_WEEKS), Week.of(week.monday() + timedelta(days=lead_days + 7)))


def shortfall(standing: Standing, week: Week, lead_days: int) -> Shortfall:
    """What lacks, week by week and in the end.

    For the needs of a week, a purchase is in time when it is due within that week, or no later than goods ordered on
    the run's Monday would come: buying anew would not be quicker, so a late purchase is hurried, not bought again.
    Needs with no date come last, when all that is on order has come.
    """
    earliest = week.monday() + timedelta(days=lead_days)
    served = [need for need in standing.needs if need.week is None or need.week <= last_week_served(week, lead_days)]
    first_week, for_needs = None, 0
    for wanted in sorted({need.week for need in served if need.week is not None}):
        by = max(wanted.monday() + timedelta(days=6), earliest)
        coming = sum(due.quantity for due in standing.dues if due.day <= by)
        lacking = _lacking(standing, [n for n in served if n.week is not None and n.week <= wanted], coming)
        first_week = wanted if lacking > 0 and first_week is None else first_week
        for_needs = max(for_needs, lacking)
    coming = sum(due.quantity for due in standing.dues)
    for_needs = max(for_needs, _lacking(standing, served, coming))
    at_end = standing.free + coming - sum(need.quantity for need in served)
    # Whoever stands at the shelf knows better than the books; where more is on order already, that is enough.
    at_least = 1 if standing.low and not standing.dues else 0
    must = max(for_needs, (standing.item.least or 0) - at_end, at_least)
    most = standing.item.most
    top = must if most is None or must == 0 else max(must, most - at_end)
    return Shortfall(first_week, for_needs, at_end, must, top)


def _lacking(standing: Standing, needs: list[OpenNeed], coming: int) -> int:
    """What lacks for these needs; what nothing free will serve can only be served by what comes."""
    in_all = sum(need.quantity for need in needs) - standing.free
    return max(in_all, sum(need.out_of_reach for need in needs)) - coming


def faults(standing: Standing) -> tuple[str, ...]:
    """Everything that is wrong with what is known of the item, a sentence each; the item is still reckoned with."""
    item = standing.item
    found = [fault for offer in standing.offers for fault in terms_faults(offer)]
    if item.least is not None and item.most is not None and item.most < item.least:
        found.append(
            f"{item.code} is to be kept at {standing.shown(item.least)} at least and {standing.shown(item.most)} at "
            "most, which cannot both be. The least is kept; correct one of them."
        )
    for offer in standing.offers:
        least_bought = max(offer.terms.least_quantity, offer.terms.multiple)
        if item.most is not None and least_bought > item.most:
            found.append(
                f"{offer.supplier.code} sells no less than {standing.shown(least_bought)} of {item.code}, which is "
                f"more than the most to be kept of it, {standing.shown(item.most)}. Correct one of them."
            )
    return tuple(found)


def _when(first_week: Week | None, week: Week, lead_days: int) -> tuple[date | None, Urgency]:
    """Last day to order for the first week that falls short, and how pressing that is."""
    if first_week is None:
        return None, "normal"
    latest = first_week.monday() - timedelta(days=lead_days)
    if latest < week.monday():
        return latest, "late"
    return latest, "urgent" if latest < week.following().monday() else "normal"


def to_hurry(standing: Standing, week: Week) -> tuple[str, ...]:
    """Purchases of it that are past their day, with the orders that need the goods: a sentence each."""
    waiting = tuple(dict.fromkeys(number for need in standing.needs for number in need.orders))
    needed_by = f" Needed by {listed('order ' + number for number in waiting)}." if waiting else ""
    return tuple(
        f"{standing.item.title}: {standing.shown(due.quantity)} of purchase {due.reference} was due on {due.day} "
        f"and has not come. Ask the supplier.{needed_by}"
        for due in sorted(standing.dues, key=lambda due: (due.day, due.reference))
        if due.day < week.monday()
    )


def _position_steps(standing: Standing, week: Week) -> list[str]:
    shown = standing.shown
    free = f"{shown(standing.free)} free: {shown(standing.held)} held, {shown(standing.reserved)} of it reserved"
    besides = f"; {shown(standing.quarantined)} more in quarantine, not counted" if standing.quarantined else ""
    steps = [f"{free}{besides}."]
    for due in sorted(standing.dues, key=lambda due: (due.day, due.reference)):
        late = due.day < week.monday()
        words = f"was due on {due.day} and has not come: ask the supplier" if late else f"due on {due.day}"
        steps.append(f"{shown(due.quantity)} on order with {due.reference}, {words}.")
    return steps


def _need_steps(standing: Standing, week: Week, lead_days: int) -> list[str]:
    shown, last, steps = standing.shown, last_week_served(week, lead_days), []
    for need in sorted(standing.needs, key=lambda need: (need.week is None, need.week or week)):
        when = "with no date" if need.week is None else f"in {need.week}"
        words = f"{shown(need.quantity)} needed {when} and not held yet ({', '.join(need.orders)})"
        if need.week is not None and need.week > last:
            words += f"; that is after {last}, so it is not bought yet"
        elif need.out_of_reach:
            words += f"; for {shown(need.out_of_reach)} of it nothing free is long enough in one lot"
        steps.append(f"{words}.")
    return steps


def _lack_steps(standing: Standing, lack: Shortfall) -> list[str]:
    shown, item, steps = standing.shown, standing.item, []
    if lack.for_needs > 0:
        since = f", first in {lack.first_week}" if lack.first_week else ""
        steps.append(f"Orders in hand fall short by {shown(lack.for_needs)}{since}.")
    limits = [f"least {shown(item.least)}"] if item.least is not None else []
    limits += [f"most {shown(item.most)}"] if item.most is not None else []
    bounds = f" ({', '.join(limits)})" if limits else " (no least or most is set)"
    steps.append(f"In the end {shown(lack.at_end)} would be left{bounds}.")
    reach = f"; {shown(lack.top)} would reach the most" if lack.top > lack.must else ""
    if standing.low:
        steps.append(f"{standing.low[0].upper()}{standing.low[1:]}.")
    steps.append(f"{shown(lack.must)} must come{reach}.")
    return steps


def _source_steps(standing: Standing, action: Action, offer: Offer | None) -> list[str]:
    steps = [fault for other in standing.offers for fault in terms_faults(other)] if not standing.item.made_here else []
    if action == "make":
        steps.append(
            "It is made here. What orders in hand take to make theirs is among the needs; what those made for stock "
            "take is not."
        )
    elif action == "no terms":
        steps.append("Nobody sells it: add terms.")
    elif offer is not None:
        steps.append(f"{offer.supplier.name} ({offer.supplier.code}) sells it, lead time {offer.lead_days} days.")
    if standing.discontinued:
        steps.append("The cloth is discontinued: ask whether it can still be had.")
    return steps


def _latest_steps(
    first_week: Week | None, latest: date | None, lead_days: int, urgency: Urgency, action: Action
) -> list[str]:
    if latest is None or first_week is None:
        return []
    do = "start making" if action == "make" else "order"
    pressing = {
        "late": "; that day is past: it comes late",
        "urgent": "; the next run would be too late",
        "normal": "",
    }[urgency]
    return [f"Last day to {do}: {latest}, {lead_days} days before Monday of {first_week}{pressing}."]


def _why(standing: Standing, lack: Shortfall, action: Action) -> str:
    if lack.for_needs > 0:
        week = f" in {lack.first_week}" if lack.first_week else ""
        words = f"orders short by {standing.shown(lack.for_needs)}{week}"
    elif lack.at_end < (standing.item.least or 0) or not standing.low:
        words = f"{standing.shown(lack.at_end)} left, least is {standing.shown(standing.item.least or 0)}"
    else:
        return standing.low + _WHY_NOT_BOUGHT.get(action, "")
    words += f"; {standing.low}" if standing.low else ""
    return words + _WHY_NOT_BOUGHT.get(action, "")


_WHY_NOT_BOUGHT: dict[Action, str] = {"no terms": "; nobody sells it: add terms", "bad terms": "; terms impossible"}
