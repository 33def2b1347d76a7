"""What to buy or make of one item this week. Exact whole numbers: mm or count, minor units of money.

The simple method: orders in hand, a least and a most for each item, and the supplier's least quantity. What lacks is
reckoned in shortfall.py; where it does, buy up to the most, or just enough where no most is set, rounded up to what the
supplier sells (lot_size.py). The most is exceeded only where the need or the supplier's own terms force it. An outlook
adds what is to be covered besides: a forecast's reorder point, or a last buy.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Literal

from stockroom.domain.call_off import call_off_steps
from stockroom.domain.catalogue import BY_LENGTH, Item, Plan
from stockroom.domain.lot_size import Priced, how_much
from stockroom.domain.net_need import WeekRow, made_by_week, week_rows
from stockroom.domain.offer import Offer, sold_in, terms_faults
from stockroom.domain.reorder_steps import (
    Action,
    Urgency,
    lack_steps,
    latest_steps,
    making_step,
    need_steps,
    position_steps,
    source_steps,
    why_words,
)
from stockroom.domain.shortfall import HORIZON_WEEKS, Cover, Shortfall, last_week_served, shortfall
from stockroom.domain.standing import OneLot, Standing
from stockroom.domain.weeks import Week
from stockroom.domain.whole_rolls import ask_words, in_one_lot, must_come, rolls_steps
from stockroom.domain.wording import listed
from stockroom.domain.yearly_cost import NO_COSTS, Costs, YearUse, yearly

__all__ = ["Action", "Outlook", "Proposal", "Reckoned", "Urgency", "faults", "reckon", "to_hurry"]

Method = Literal["limits", "forecast", "last buy"]
"""What a line goes by: orders in hand with a least and a most; a forecast as well; what is bought for the last time."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is known of one item's future besides orders in hand."""

    method: Plan = "limits"
    words: str = ""
    """A few words: by what it is forecast, or why it is not."""
    steps: tuple[str, ...] = ()
    """How the forecast came about, a sentence each."""
    covers: tuple[Cover, ...] = ()
    expected: Mapping[Week, int] = field(default_factory=dict)
    """Use forecast for the weeks to come, mm or count, orders in hand included."""
    last_day: date | None = None
    """Last day on which it can be ordered at all."""
    year_use: YearUse | None = None
    """What a year takes; `None` where nobody can say, or where it is bought for the last time."""


NO_OUTLOOK = Outlook()


@dataclass(frozen=True, slots=True)
class Proposal:
    """One line of the report, with its working."""

    action: Action
    method: Method
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
    basis: str = ""
    """Where a forecast is asked for: by what it is forecast, or why it is not; a few words."""
    ask: str = ""
    """What the supplier is to be asked for besides: 'ask for 12.40 m in one dye lot (order L-1044)'."""
    ready: tuple[tuple[Week, int], ...] = ()
    """Made here: how much must be ready in which week."""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """One item reckoned through, whether anything is to be bought or not."""

    standing: Standing
    lack: Shortfall
    rows: tuple[WeekRow, ...]
    """The weeks to come, with nothing bought or made."""
    proposal: Proposal | None
    """`None` where there is enough."""
    steps: tuple[str, ...]
    """The whole working, a sentence a step."""
    later: int = 0
    """Firm needs after the last week that is bought for: shown, not bought."""
    offer: Offer | None = None
    """Whose it is bought on, or would be."""


def reckon(standing: Standing, week: Week, outlook: Outlook = NO_OUTLOOK, costs: Costs = NO_COSTS) -> Reckoned:
    """One item reckoned through in the run of `week`; `costs`: what the shop says that ordering and keeping cost."""
    item, made = standing.item, standing.item.made_here
    gone = outlook.last_day if outlook.last_day is not None and outlook.last_day < week.monday() else None
    possible = () if made or gone else standing.offers
    offer = next((offer for offer in possible if not terms_faults(offer)), None)
    lead_days = item.make_days if made else 0 if offer is None else offer.lead_days
    lack = shortfall(standing, week, lead_days, outlook.covers)
    rows = tuple(week_rows(standing, lack, week, week.following(HORIZON_WEEKS), outlook.expected))
    steps = (
        *position_steps(standing, week),
        *need_steps(standing, week, lead_days),
        *outlook.steps,
        *lack_steps(standing, lack),
    )
    last = last_week_served(week, lead_days)
    later = sum(need.quantity for need in standing.needs if need.week is not None and need.week > last)
    if lack.must <= 0:
        return Reckoned(standing, lack, rows, None, (*steps, "Nothing is to be bought or made."), later, offer)
    action: Action = "make" if made else "buy" if offer else "bad terms" if possible else "no terms"
    lots = in_one_lot(standing, week, lead_days, offer.terms.roll_mm) if offer else ()
    net = tuple((row.week, row.net) for row in rows if row.week is not None and not lots)
    priced = _bought(offer, item, lack, lots, net, outlook, costs) if offer else _unbought(item, lack, action)
    first_week = lack.first_week or _runs_out(rows)
    latest, urgency = _when(first_week, week, lead_days, None if gone else outlook.last_day)
    steps = (
        *steps,
        *source_steps(standing, action, offer, gone),
        *priced.steps,
        *latest_steps(first_week, latest, lead_days, urgency, action),
    )
    deciding = lack.deciding
    proposal = Proposal(
        action=action,
        method="last buy" if deciding and deciding.cover.what == "last buy" else outlook.method,
        item=item.code,
        title=item.title,
        by_length=item.kind in BY_LENGTH,
        supplier=offer.supplier.code if offer else "",
        lead_days=lead_days,
        quantity=priced.quantity,
        needed=lack.must,
        cost_minor=priced.cost_minor,
        currency=offer.supplier.currency if offer else "",
        latest_day=latest,
        urgency=urgency,
        why=why_words(standing, lack, action, gone),
        steps=steps,
        basis=outlook.words,
        ask=ask_words(item, lots),
        ready=made_by_week(lack, priced.quantity, item.batch, week) if made else (),
    )
    return Reckoned(standing, lack, rows, proposal, steps, later, offer)


def _bought(
    offer: Offer,
    item: Item,
    lack: Shortfall,
    lots: tuple[OneLot, ...],
    net: tuple[tuple[Week, int], ...],
    outlook: Outlook,
    costs: Costs,
) -> Priced:
    """How much to buy: enough rolls for what must come in one lot each, and what costs least."""
    known, unknown = yearly(costs, outlook.year_use, offer, item)
    roll_mm = offer.terms.roll_mm
    must = must_come(lots, roll_mm, lack.must)
    priced = how_much(offer, item, must, max(lack.top, must), known)
    lot_steps = rolls_steps(item, lots, roll_mm, lack.must)
    return replace(priced, steps=(*lot_steps, *unknown, *priced.steps, *call_off_steps(offer, item, net, costs)))


def _unbought(item: Item, lack: Shortfall, action: Action) -> Priced:
    """How much to make, in whole batches; of what nobody sells, what lacks."""
    if action != "make" or item.batch == 1:
        return Priced(lack.top, None, ())
    quantity = max(-(-lack.must // item.batch), lack.top // item.batch) * item.batch
    return Priced(quantity, None, (making_step(item, quantity),))


def _runs_out(rows: tuple[WeekRow, ...]) -> Week | None:
    """The first week in which what is left would not last for the use that is forecast; `None`: it lasts."""
    used = 0
    for row in rows:
        used += row.expected
        if row.week is not None and used and row.left < used:
            return row.week
    return None


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
        least_bought = max(offer.terms.least_quantity, sold_in(offer.terms))
        if item.most is not None and least_bought > item.most:
            found.append(
                f"{offer.supplier.code} sells no less than {standing.shown(least_bought)} of {item.code}, which is "
                f"more than the most to be kept of it, {standing.shown(item.most)}. Correct one of them."
            )
    return (*found, *_currencies(standing))


def _currencies(standing: Standing) -> tuple[str, ...]:
    """Whether its suppliers are paid in several currencies: then nothing is said of who is cheaper."""
    paid: dict[str, Offer] = {}
    for offer in standing.offers:
        paid.setdefault(offer.supplier.currency, offer)
    if len(paid) < 2:
        return ()
    sellers = listed(f"{offer.supplier.code} in {currency}" for currency, offer in paid.items())
    first = standing.offers[0].supplier.code
    return (
        f"{standing.item.code} is sold by {sellers}: prices in several currencies are not compared. "
        f"It is bought from {first}, which comes first.",
    )


def _when(first_week: Week | None, week: Week, lead_days: int, last_day: date | None) -> tuple[date | None, Urgency]:
    """Last day to order for the first week that falls short, or at all, and how pressing that is."""
    days = [first_week.monday() - timedelta(days=lead_days)] if first_week else []
    days += [last_day] if last_day else []
    if not days:
        return None, "normal"
    latest = min(days)
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
