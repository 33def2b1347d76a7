"""The working of one item of the weekly run, in sentences for whoever asks why."""

from __future__ import annotations

from datetime import date
from typing import Literal

from stockroom.domain.catalogue import Item
from stockroom.domain.lots_shared import least_left_out
from stockroom.domain.offer import Offer, terms_faults
from stockroom.domain.shortfall import Covered, Shortfall, last_week_served
from stockroom.domain.standing import OpenNeed, Standing
from stockroom.domain.weeks import Week

Action = Literal["buy", "make", "no terms", "bad terms"]
"""Buy it; make it here; nobody sells it; the supplier's terms are impossible."""
Urgency = Literal["late", "urgent", "normal"]
"""Late: ordered on the run's Monday it comes after its need. Urgent: the next week's run would be too late."""
_ORDERS_NAMED = 12
"""Orders that one sentence names."""


def position_steps(standing: Standing, week: Week) -> list[str]:
    """What there is of it and what is to come."""
    shown = standing.shown
    free = f"{shown(standing.free)} free: {shown(standing.held)} held, {shown(standing.reserved)} of it reserved"
    besides = f"; {shown(standing.quarantined)} more in quarantine, not counted" if standing.quarantined else ""
    steps = [f"{free}{besides}."]
    for due in sorted(standing.dues, key=lambda due: (due.day, due.reference)):
        late = due.day < week.monday()
        words = f"was due on {due.day} and has not come: ask the supplier" if late else f"due on {due.day}"
        steps.append(f"{shown(due.quantity)} on order with {due.reference}, {words}.")
    return steps


def need_steps(standing: Standing, week: Week, lead_days: int) -> list[str]:
    """What is needed in which week, and by whom."""
    shown, last, steps = standing.shown, last_week_served(week, lead_days), []
    for need in sorted(standing.needs, key=lambda need: (need.week is None, need.week or week)):
        when = "with no date" if need.week is None else f"in {need.week}"
        words = f"{shown(need.quantity)} needed {when} {_for_what(need)}"
        if need.week is not None and need.week > last:
            words += f"; that is after {last}, so it is not bought yet"
        elif need.out_of_reach > need.quantity:
            anew = f"{shown(need.out_of_reach)} is to come anew, each order's in one lot"
            words += f"; with what is held of it {anew}: nothing free is long enough"
        elif need.out_of_reach:
            words += f"; for {shown(need.out_of_reach)} of it nothing free is long enough in one lot"
        steps.append(f"{words}.")
    served = (need for need in standing.needs if need.week is None or need.week <= last)
    return steps + _shared_steps(standing, tuple(one.quantity for need in served for one in need.from_one_lot))


def _shared_steps(standing: Standing, each: tuple[int, ...]) -> list[str]:
    """How far the free lots go for what is needed in one lot each."""
    if not each:
        return []
    shown, lots, least = standing.shown, len(standing.lots), least_left_out(each, standing.lots)
    one = "one length" if len(each) == 1 else f"{len(each)} lengths"
    words = f"Of that, {one} ({shown(sum(each))} in all) must be of one dye lot each"
    if not lots:
        return [f"{words}, and no lot has anything free."]
    free = f"{'One lot has' if lots == 1 else f'{lots} lots have'} something free, {shown(max(standing.lots))} the most"
    reach = f"however that is shared out, {shown(least)} finds no lot" if least else "shared out, it is enough"
    return [f"{words}. {free}: {reach}."]


def _for_what(need: OpenNeed) -> str:
    if need.to_make:
        return f"to make {need.to_make}"
    named, more = need.orders[:_ORDERS_NAMED], len(need.orders) - _ORDERS_NAMED
    return f"and not held yet ({', '.join(named)}{f' and {more} more' if more > 0 else ''})"


def lack_steps(standing: Standing, lack: Shortfall) -> list[str]:
    """What falls short, of the needs, of the least and of what is to be covered."""
    shown, item, steps = standing.shown, standing.item, []
    if lack.for_needs > 0:
        since = f", first in {lack.first_week}" if lack.first_week else ""
        steps.append(f"{_IN_FULL[_whose(standing)]} fall short by {shown(lack.for_needs)}{since}.")
    limits = [f"least {shown(item.least)}"] if item.least is not None else []
    limits += [f"most {shown(item.most)}"] if item.most is not None else []
    bounds = f" ({', '.join(limits)})" if limits else " (no least or most is set)"
    steps.append(f"In the end {shown(lack.at_end)} would be left{bounds}.")
    for one in lack.covered:
        steps += _cover_steps(standing, one)
    if standing.low:
        steps.append(f"{standing.low[0].upper()}{standing.low[1:]}.")
    if lack.must > 0:
        reach = f"; {shown(lack.top)} would reach the most" if lack.top > lack.must else ""
        steps.append(f"{shown(lack.must)} must come{reach}.")
    return steps


def _cover_steps(standing: Standing, one: Covered) -> list[str]:
    """What is to be covered beside the orders in hand, and how far it is."""
    shown, cover = standing.shown, one.cover
    part = f"of the {shown(cover.quantity)}, orders in hand take {shown(one.firm)}: not on top of it, but part of it"
    reached = (
        f"{shown(one.lacking)} is lacking" if one.lacking > 0 else f"that is enough, with {shown(-one.lacking)} over"
    )
    return [
        *cover.steps,
        f"Until {cover.until} ({cover.what}), {part}; so {shown(one.besides)} is to be there besides.",
        f"{shown(one.left)} will be there by then, free or on order; {reached}.",
    ]


def source_steps(standing: Standing, action: Action, offer: Offer | None, gone: date | None) -> list[str]:
    """Where it is to come from. `gone`: it could be ordered until that day."""
    steps = [fault for other in standing.offers for fault in terms_faults(other)] if not standing.item.made_here else []
    if action == "make":
        days = standing.item.make_days
        takes = f", which takes {days} {'day' if days == 1 else 'days'}" if days else ""
        steps.append(f"It is made here{takes}. What it is made of is among the needs of that.")
    elif gone is not None:
        steps.append(f"It could be ordered until {gone}, which is past: find another supplier, or what may stand in.")
    elif action == "no terms":
        steps.append("Nobody sells it: add terms.")
    elif offer is not None:
        steps.append(f"{offer.supplier.name} ({offer.supplier.code}) sells it, lead time {offer.lead_days} days.")
    if standing.discontinued:
        steps.append("The cloth is discontinued: ask whether it can still be had.")
    steps += [f"{words}." for words in standing.stand_in_words]
    return steps


def making_step(item: Item, quantity: int) -> str:
    """How much is made at a time."""
    return f"Make {item.shown(quantity)}: it is made {item.shown(item.batch)} at a time."


def latest_steps(
    first_week: Week | None, latest: date | None, lead_days: int, urgency: Urgency, action: Action
) -> list[str]:
    """The last day to do something about it."""
    if latest is None:
        return []
    do = "start making" if action == "make" else "order"
    pressing = {
        "late": "; that day is past: it comes late",
        "urgent": "; the next run would be too late",
        "normal": "",
    }[urgency]
    before = f", {lead_days} days before Monday of {first_week}" if first_week else ""
    return [f"Last day to {do}: {latest}{before}{pressing}."]


def why_words(standing: Standing, lack: Shortfall, action: Action, gone: date | None) -> str:
    """Why there is a line for it, in a few words. `gone`: it could be ordered until that day."""
    deciding = lack.deciding
    unbought = _WHY_NOT_BOUGHT.get(action, "") if gone is None else f"; could be ordered until {gone} only"
    if deciding is not None:
        words = (
            f"{deciding.cover.what}: {standing.shown(deciding.besides)} to be there besides orders by "
            f"{deciding.cover.until}, {standing.shown(deciding.left)} will be"
        )
    elif lack.for_needs > 0:
        week = f" in {lack.first_week}" if lack.first_week else ""
        words = f"{_whose(standing)} short by {standing.shown(lack.for_needs)}{week}"
    elif lack.at_end < (standing.item.least or 0) or not standing.low:
        words = f"{standing.shown(lack.at_end)} left, least is {standing.shown(standing.item.least or 0)}"
    else:
        return standing.low + unbought
    words += f"; {standing.low}" if standing.low else ""
    return words + unbought


def _whose(standing: Standing) -> str:
    """Whose needs they are."""
    to_make = {bool(need.to_make) for need in standing.needs}
    if to_make == {True}:
        return "parts of what is to be made"
    return "orders and what is to be made" if True in to_make else "orders"


_IN_FULL = {
    "orders": "Orders in hand",
    "parts of what is to be made": "Parts of what is to be made",
    "orders and what is to be made": "Orders in hand and what is to be made",
}
_WHY_NOT_BOUGHT: dict[Action, str] = {"no terms": "; nobody sells it: add terms", "bad terms": "; terms impossible"}
