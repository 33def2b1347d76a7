"""Which stock to hold for the requirements of one order: the trade's allocation, asked for each group that must match.

Nothing is written here. Made-up items come first, since what stock lacks of them is made from its own materials; then
everything else, one matching group and item of one car at a time, each seeing what the ones before it have taken.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from stockroom.domain.allocation import free_stretches, plan_cuts
from stockroom.domain.cut_plans import PlannedCut
from stockroom.domain.cutting import RollFree
from stockroom.domain.group_rule import SEEN_BESIDE_NOTHING, LotColours, MatchingGroup
from stockroom.domain.lay import PanelToLay
from stockroom.domain.quantities import show_length
from stockroom.domain.requirement import PanelShape
from stockroom.domain.shortage import Short, lot_name
from stockroom.domain.takes import (
    BinFree,
    ReelFree,
    RunNeeded,
    lengths_for_what_there_is,
    plan_counts,
)
from stockroom.domain.what_there_is import cuts_for_what_there_is
from stockroom.domain.wording import listed
from stockroom.jobs.lookup import Catalogue
from stockroom.store.bill import KeptRequirement
from stockroom.store.holds import Candidate, CutToHold, KeptShortage, TakeToHold

_Group = tuple[int, str, str, str]
"""Car, matching group, item, way of holding: what is found together. Counted goods match anything: 0 and ''."""


@dataclass(slots=True)
class HoldingPlan:
    """What to hold for one order, and what is short."""

    cuts: list[CutToHold] = field(default_factory=list)
    takes: list[TakeToHold] = field(default_factory=list)
    short: list[KeptShortage] = field(default_factory=list)
    needed: dict[int, int] = field(default_factory=dict)
    """Requirement id → what is needed of it now, where that changes."""

    @property
    def holds_more(self) -> bool:
        """Whether anything is to be held, or needed, that was not before."""
        return bool(self.cuts or self.takes or self.needed)

    def held(self) -> dict[int, int]:
        """Requirement id → how much is to be held for it: mm, a count, or panels."""
        more: defaultdict[int, int] = defaultdict(int)
        for take in self.takes:
            more[take.requirement_id] += take.quantity
        for cut in self.cuts:
            for panel in cut.panels:
                more[panel[0]] += 1
        return more

    def reasons(self) -> list[tuple[str, ...]]:
        """The reasons of every cut and every reservation."""
        return [cut.reasons for cut in self.cuts] + [take.reasons for take in self.takes]


@dataclass(frozen=True, slots=True)
class Stock:
    """What may be held, and what binds the choice."""

    free: Mapping[str, Sequence[Candidate]]
    """Item code → what is free of it in part."""
    bound: Mapping[tuple[int, str, str], set[str]]
    """(car, group, item) → the lots its matching group has already."""
    mixes: Mapping[tuple[int, str, str], Sequence[frozenset[str]]]
    """(car, group, item) → the mixes that somebody approved, each all the lots that its matching group would have."""
    spoilt: Mapping[int, frozenset[str]]
    """Requirement id → the lots of its spoilt panels: what is cut again is of the lot that it was of."""
    catalogue: Catalogue
    colours: Callable[[str], LotColours]
    """Item code → what is known of the colours of its lots: asked only where one lot is not enough."""
    to_match: Mapping[tuple[int, str, str], frozenset[str]] = field(default_factory=dict)
    """(car, group, item) → lots that went out before and that the order asks to match (`MatchingGroup.to_match`)."""


def _roll_free(one: Candidate, cut: Sequence[tuple[int, int]] = ()) -> RollFree:
    return RollFree(
        one.holding_id,
        one.tag,
        one.lot,
        one.width_mm,
        one.held,
        free_stretches(one.held, (*one.promised, *one.flaws, *cut)),
        one.remnant,
        one.received_on.toordinal() if one.received_on else 0,
    )


def matching_group(
    at: tuple[int, str, str],
    bound: Mapping[tuple[int, str, str], set[str]],
    mixes: Mapping[tuple[int, str, str], Sequence[frozenset[str]]],
    to_match: Mapping[tuple[int, str, str], frozenset[str]],
    colours: Callable[[str], LotColours],
) -> MatchingGroup:
    """What binds the lots of one car, matching group and item; the others as of `Stock`."""
    _, name, item = at
    if not name and at not in to_match:
        return SEEN_BESIDE_NOTHING
    return MatchingGroup(
        frozenset(bound.get(at, ())), to_match.get(at, frozenset()), tuple(mixes.get(at, ())), partial(colours, item)
    )


def cuts_on(
    roll: Candidate, panels: Sequence[tuple[int, PanelShape]], catalogue: Catalogue, why: str
) -> tuple[CutToHold, ...]:
    """Cuts for all of these panels (requirement id and shape) on what is free of one roll; none if they do not go."""
    return cuts_on_any([roll], panels, catalogue, why)


def cuts_on_any(
    rolls: Sequence[Candidate], panels: Sequence[tuple[int, PanelShape]], catalogue: Catalogue, why: str
) -> tuple[CutToHold, ...]:
    """The same on what is free of several rolls of one item and lot."""
    if not rolls:
        return ()
    cloth = catalogue.cloths[catalogue.items[rolls[0].item].cloth]
    found = plan_cuts([PanelToLay(one, shape) for one, shape in panels], [_roll_free(one) for one in rolls], cloth)
    if isinstance(found, Short):
        return ()
    return tuple(_to_hold(cut, why) for cut in found.cuts)


def _to_hold(cut: PlannedCut, *why: str) -> CutToHold:
    laid = tuple((place.ref, place.x_mm, place.y_mm, place.turned) for place in cut.placements)
    return CutToHold(cut.holding_id, cut.from_mm, cut.to_mm, laid, (*why, *cut.reasons))


@dataclass(slots=True)
class _Desk:
    """One plan in the making."""

    stock: Stock
    plan: HoldingPlan = field(default_factory=HoldingPlan)
    cut: defaultdict[int, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))
    """Stretches this plan has taken, by holding."""
    taken: defaultdict[int, int] = field(default_factory=lambda: defaultdict(int))
    """Lengths and counts this plan has taken, by holding."""

    def rolls(self, item: str) -> list[RollFree]:
        """What is free of an item's rolls, clear of flaws and of every promise."""
        return [_roll_free(one, self.cut[one.holding_id]) for one in self.stock.free[item] if one.kind == "roll"]

    def reels(self, item: str) -> list[ReelFree]:
        """What is free of an item's reels."""
        return [
            ReelFree(
                one.holding_id,
                one.tag,
                one.lot,
                one.held - one.reserved - self.taken[one.holding_id],
                one.remnant,
                one.received_on.toordinal() if one.received_on else 0,
            )
            for one in self.stock.free[item]
            if one.kind == "roll"
        ]

    def bins(self, item: str) -> list[BinFree]:
        """What is free of an item's bins, in walking order."""
        return [
            BinFree(
                one.holding_id,
                one.tag,
                one.lot,
                one.held - one.reserved - self.taken[one.holding_id],
                self.stock.catalogue.walks.get(one.place, 0),
            )
            for one in self.stock.free[item]
            if one.kind == "bin"
        ]

    def take(self, holding_id: int, requirement_id: int, quantity: int, reasons: tuple[str, ...]) -> None:
        """Adds a reservation to the plan."""
        self.taken[holding_id] += quantity
        self.plan.takes.append(TakeToHold(holding_id, requirement_id, quantity, reasons))

    def cut_from(self, cut: CutToHold) -> None:
        """Adds a cut to the plan."""
        self.cut[cut.holding_id].append((cut.from_mm, cut.to_mm))
        self.plan.cuts.append(cut)

    def need(self, one: KeptRequirement, now: int) -> None:
        """Writes down that so much of a requirement is needed now."""
        if now != one.needed:
            self.plan.needed[one.id] = now

    def lack(self, group: _Group, missing: int, sentence: str, would_mix: tuple[str, ...] = ()) -> None:
        """Adds a shortage, its sentence headed by what is short."""
        car_id, name, item, _ = group
        title = self.stock.catalogue.items[item].title
        told = f"{title}: {sentence}"
        self.plan.short.append(KeptShortage(item, name, car_id or None, missing, told, would_mix))

    def matching(self, group: _Group) -> MatchingGroup:
        """What binds a group."""
        stock = self.stock
        return matching_group(group[:3], stock.bound, stock.mixes, stock.to_match, stock.colours)


def plan_holds(wanted: Sequence[KeptRequirement], lines: Mapping[int, tuple[int, int]], stock: Stock) -> HoldingPlan:
    """What to hold of what is missing of `wanted`. `lines`: line number → car id and quantity of the line."""
    desk = _Desk(stock)
    called = _plan_made_up(desk, wanted, lines)
    for group, some in _grouped(wanted, lines, called).items():
        _PLAN_BY[group[3]](desk, group, some, lines)
    return desk.plan


def _grouped(
    wanted: Iterable[KeptRequirement], lines: Mapping[int, tuple[int, int]], called: set[int]
) -> dict[_Group, list[KeptRequirement]]:
    grouped: defaultdict[_Group, list[KeptRequirement]] = defaultdict(list)
    for one in wanted:
        requirement = one.requirement
        if requirement.need != "made" and (one.held < one.needed if not requirement.key.unit else one.id in called):
            seen = (0, "") if requirement.need == "count" else (lines[requirement.key.line][0], requirement.group)
            grouped[(*seen, requirement.item, requirement.need)].append(one)
    return dict(grouped)


# --- made-up items -------------------------------------------------------------------------------------------------


def _plan_made_up(desk: _Desk, wanted: Sequence[KeptRequirement], lines: Mapping[int, tuple[int, int]]) -> set[int]:
    """Takes made-up items from stock; gives the ids of the materials that are needed for those that stock lacks."""
    materials: defaultdict[tuple[int, str, str], list[KeptRequirement]] = defaultdict(list)
    for one in wanted:
        key = one.requirement.key
        if key.unit and not one.covered:  # what a finished thing is to be is not made
            materials[key.line, key.path.removesuffix("/made"), key.piece].append(one)
    called: set[int] = set()
    for one in wanted:
        if one.requirement.need == "made":
            key = one.requirement.key
            called |= _plan_units(desk, one, materials[key.line, key.path, key.piece], lines[key.line][0])
    return called


def _plan_units(desk: _Desk, made: KeptRequirement, parts: Sequence[KeptRequirement], car_id: int) -> set[int]:
    """Shares out the units of a made-up item: those that hold material are made, the others come from stock first.

    As many as stock lacks are made too: their materials are needed now, and the units themselves no longer. Gives the
    ids of what is needed of the materials.
    """
    begun = {part.requirement.key.unit for part in parts if part.held}
    missing = made.requirement.quantity - made.covered - made.held - len(begun)
    bins = desk.bins(made.requirement.item) if missing else []
    there = min(missing, sum(free.free for free in bins))
    if there:
        _take_counts(desk, made, there, bins)
    lacking = missing - there
    if lacking and not parts:
        group = (car_id, made.requirement.group, made.requirement.item, "made")
        desk.lack(group, lacking, f"{lacking} short, and the kit book does not say what it is made of.")
        return set()
    to_make = begun.union(sorted({part.requirement.key.unit for part in parts} - begun)[:lacking])
    for part in parts:
        desk.need(part, part.requirement.quantity if part.requirement.key.unit in to_make else 0)
    desk.need(made, made.held + there)
    return {part.id for part in parts if part.requirement.key.unit in to_make and part.held < part.requirement.quantity}


# --- panels, lengths, counts ---------------------------------------------------------------------------------------


def _missing(desk: _Desk, one: KeptRequirement) -> int:
    return desk.plan.needed.get(one.id, one.needed) - one.held


def _plan_panels(
    desk: _Desk, group: _Group, some: Sequence[KeptRequirement], lines: Mapping[int, tuple[int, int]]
) -> None:
    item = desk.stock.catalogue.items[group[2]]
    if not group[1]:
        # What is seen beside nothing matches nothing; but what is cut again is of the lot that the spoilt one was of.
        for one in some:
            if one.id in desk.stock.spoilt:
                _plan_again(desk, group, one, lines)
        some = [one for one in some if one.id not in desk.stock.spoilt]
    panels = [panel for one in some for panel in _panels(one, _missing(desk, one), lines)]
    plan, short = cuts_for_what_there_is(
        panels, desk.rolls(item.code), desk.stock.catalogue.cloths[item.cloth], desk.matching(group)
    )
    for cut in plan.cuts:
        desk.cut_from(_to_hold(cut))
    if short is not None:
        desk.lack(group, short.missing, short.sentence, short.would_mix)


def _plan_again(desk: _Desk, group: _Group, one: KeptRequirement, lines: Mapping[int, tuple[int, int]]) -> None:
    """A panel in no matching group that was spoilt: from its lot, or from another where somebody approved that."""
    item, lots = desk.stock.catalogue.items[group[2]], desk.stock.spoilt[one.id]
    plan, short = cuts_for_what_there_is(
        _panels(one, _missing(desk, one), lines),
        desk.rolls(item.code),
        desk.stock.catalogue.cloths[item.cloth],
        replace(SEEN_BESIDE_NOTHING, bound_to=lots, approved=tuple(desk.stock.mixes.get(group[:3], ()))),
    )
    names = listed(lot_name(lot) for lot in sorted(lots))
    for cut in plan.cuts:
        desk.cut_from(_to_hold(replace(cut, reasons=(f"Cut again; the spoilt one was of {names}.", cut.reasons[-1]))))
    if short is not None:
        would = " Another lot would do, if somebody approves the mix with initials." if short.would_mix else ""
        need = show_length(short.missing)
        desk.lack(
            group,
            short.missing,
            f"What was spoilt is cut again from {names}, and not enough of that is free: {need} is needed.{would}",
            short.would_mix,
        )


def _panels(one: KeptRequirement, missing: int, lines: Mapping[int, tuple[int, int]]) -> list[PanelToLay]:
    """The panels of a requirement that have no place yet, each told which piece it belongs to.

    A kit's own panels of one piece stay together; those of another kit on the same line are another piece.
    """
    requirement = one.requirement
    if requirement.shape is None:
        return []
    key = requirement.key
    each_kit = max(1, requirement.quantity // lines[key.line][1])
    return [
        PanelToLay(one.id, requirement.shape, f"{key.line}/{key.path}/{key.piece}/{number // each_kit}")
        for number in range(requirement.quantity - missing, requirement.quantity)
    ]


def _plan_lengths(
    desk: _Desk, group: _Group, some: Sequence[KeptRequirement], lines: Mapping[int, tuple[int, int]]
) -> None:
    item = desk.stock.catalogue.items[group[2]]
    runs = [_run(one, _missing(desk, one), lines) for one in some]
    useful = desk.stock.catalogue.cloths[item.cloth].shortest_useful_mm
    plan, short = lengths_for_what_there_is(runs, desk.reels(item.code), useful, desk.matching(group))
    for take in plan.takes:
        desk.take(take.holding_id, take.ref, take.quantity, take.reasons)
    if short is not None:
        desk.lack(group, short.missing, short.sentence, short.would_mix)


def _run(one: KeptRequirement, missing: int, lines: Mapping[int, tuple[int, int]]) -> RunNeeded:
    """What is missing of a requirement of narrow goods, told which piece of which kit it belongs to."""
    key = one.requirement.key
    each = one.requirement.quantity if key.unit else one.requirement.quantity // lines[key.line][1]
    copies = missing // each if each and missing % each == 0 else 1
    piece = f"{key.line}/{key.path}/{key.piece}/{key.unit}" if key.piece else ""
    return RunNeeded(one.id, missing, one.requirement.each_mm, piece, max(1, copies))


def _plan_counts(
    desk: _Desk, group: _Group, some: Sequence[KeptRequirement], _lines: Mapping[int, tuple[int, int]]
) -> None:
    """Counted goods: as many as there are, requirement by requirement."""
    lacking = 0
    for one in some:
        bins = desk.bins(group[2])
        missing = _missing(desk, one)
        there = min(missing, sum(free.free for free in bins))
        if there:
            _take_counts(desk, one, there, bins)
        lacking += missing - there
    if lacking:
        needed = sum(_missing(desk, one) for one in some)
        desk.lack(group, lacking, f"{needed} needed, {needed - lacking} free, {lacking} short.")


def _take_counts(desk: _Desk, one: KeptRequirement, there: int, bins: Sequence[BinFree]) -> None:
    found = plan_counts(there, bins, one.id)
    if isinstance(found, Short):  # `there` is never more than is free
        raise AssertionError(found.sentence)
    for take in found.takes:
        desk.take(take.holding_id, take.ref, take.quantity, take.reasons)


_PLAN_BY = {"panel": _plan_panels, "length": _plan_lengths, "count": _plan_counts}
