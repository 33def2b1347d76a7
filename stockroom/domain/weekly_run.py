"""The weekly run over all items: made items before what they are made of, so that a proposal to make one brings the
need of its parts behind it.

Each item is reckoned once, in the order of low-level codes (net_need.py). What is to be ready in a week takes its
parts in the week in which making must begin.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from stockroom.domain.catalogue import Item
from stockroom.domain.made_from import MadeFrom, Part
from stockroom.domain.net_need import levels, start_week
from stockroom.domain.reorder import NO_OUTLOOK, Outlook, Proposal, Reckoned, reckon
from stockroom.domain.standing import OpenNeed, Standing
from stockroom.domain.weeks import Week
from stockroom.domain.wording import listed
from stockroom.domain.yearly_cost import NO_COSTS, Costs


@dataclass(frozen=True, slots=True)
class Run:
    """What a run comes to."""

    reckoned: tuple[Reckoned, ...]
    """Every item, in the order of codes."""
    faults: tuple[str, ...]
    """What is wrong with the bills, a sentence each."""


def run_week(
    standings: Iterable[Standing],
    made_from: Mapping[str, MadeFrom],
    outlooks: Mapping[str, Outlook],
    week: Week,
    costs: Costs = NO_COSTS,
) -> Run:
    """Every item reckoned through in the run of `week`. `made_from`, `outlooks`: by item, where there are any."""
    known = {one.item.code: one for one in standings}
    bills = {item: [part.item for part in bill.parts] for item, bill in made_from.items() if item in known}
    order = levels(bills)
    behind: defaultdict[str, list[OpenNeed]] = defaultdict(list)
    found: dict[str, Reckoned] = {}
    for code in sorted(known, key=lambda code: (order.code.get(code, 0), code)):
        standing = known[code]
        if behind[code]:
            standing = replace(standing, needs=(*standing.needs, *behind[code]))
        one = reckon(standing, week, outlooks.get(code, NO_OUTLOOK), costs)
        if one.proposal is not None and one.proposal.action == "make":
            bill = made_from.get(code)
            kept = tuple(part for part in bill.parts if part.item in order.parts.get(code, ())) if bill else ()
            taken = tuple(_taken(standing.item, one.proposal, kept, week))
            for part, need in taken:
                behind[part].append(need)
            one = _explained(one, one.proposal, _steps(bill, taken, known))
        found[code] = one
    return Run(tuple(found[code] for code in sorted(found)), tuple(map(_cycle_words, order.cycles)))


def _taken(item: Item, proposal: Proposal, parts: Iterable[Part], week: Week) -> Iterator[tuple[str, OpenNeed]]:
    """What making it takes: each part's code and its need, by the week in which making begins."""
    starts: defaultdict[Week, int] = defaultdict(int)
    for ready, quantity in proposal.ready:
        starts[start_week(ready, item.make_days, week)] += quantity
    for start, quantity in sorted(starts.items()):
        for part in parts:
            yield part.item, OpenNeed(start, part.amount(quantity), (), to_make=f"{quantity} of {item.code}")


def _steps(
    bill: MadeFrom | None, taken: Iterable[tuple[str, OpenNeed]], known: Mapping[str, Standing]
) -> tuple[str, ...]:
    if bill is None:
        return ("No kit book says what it is made of, so nothing is needed behind it: see to its parts yourself.",)
    steps = [
        f"To make {need.to_make} from {need.week} on takes {known[part].shown(need.quantity)} of {part}."
        if part in known
        else f"To make {need.to_make} takes {part}, which is not in the catalogue."
        for part, need in taken
    ]
    if bill.depends:
        steps.append(f"What hangs on the car is not among that: {listed(bill.depends)}. See to it yourself.")
    return tuple(steps)


def _explained(one: Reckoned, proposal: Proposal, steps: tuple[str, ...]) -> Reckoned:
    return replace(one, steps=(*one.steps, *steps), proposal=replace(proposal, steps=(*proposal.steps, *steps)))


def _cycle_words(cycle: tuple[str, ...]) -> str:
    way = " is made of ".join(cycle)
    return f"A bill leads back to itself: {way}. Its last step is left out of the run; correct the kit book."
