"""How the weekly run reckons an item or a group of items: by least and most, or by a forecast with a target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import cast, get_args

from stockroom.domain.catalogue import Item, ItemGroup, Plan, TargetOf
from stockroom.domain.keeping import LEAST_PER_MILLE, MOST_PER_MILLE, Target
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.lookup import catalogue_of
from stockroom.store import ledger
from stockroom.store.catalogue import read_groups, write_groups, write_items
from stockroom.store.database import Shop


@dataclass(frozen=True, slots=True)
class Planned:
    """How a group, or an item that says so itself, is reckoned."""

    what: str
    """'group fasteners', or 'item tack-10'."""
    planned_by: str
    target: str
    """What is promised, in words; '' where it goes by least and most, and for a single item."""


def plan_group(
    shop: Shop, code: str, plan: str, stamp: Stamp, target_of: str = "", target_permille: int | None = None
) -> Planned:
    """Says how the items of a group are reckoned, where an item does not say otherwise itself.

    Raises `Refusal` for a group that no item is of, for another word than 'limits' or 'forecast', and for a target
    outside of 50 to 99.9 per cent.
    """
    with shop.write() as tx:
        groups = {item.group for item in catalogue_of(shop, tx).items.values()} - {""}
        if code not in groups:
            raise Refusal(unknown("group", code, groups))
        before = read_groups(tx).get(code, ItemGroup(code))
        now = replace(
            before,
            planned_by=_plan(plan),
            target_of=_target_of(target_of) if target_of else before.target_of,
            target_permille=before.target_permille if target_permille is None else _permille(target_permille),
        )
        job = ledger.begin_job(tx, f"group {code} is planned by {now.planned_by}", stamp)
        ledger.keep_no_way_back(tx, job, f"It said how the items of {code} are reckoned.", "Say it anew.")
        write_groups(tx, [now])
        return _planned(now)


def plan_item(shop: Shop, code: str, plan: str, stamp: Stamp) -> Planned:
    """Says how one item is reckoned, whatever its group says; '' leaves it to its group."""
    with shop.write() as tx:
        items = catalogue_of(shop, tx).items
        if code not in items:
            raise Refusal(unknown("item", code, items))
        now = replace(items[code], planned_by=_plan(plan) if plan else "")
        job = ledger.begin_job(tx, f"{code} is planned by {plan or 'its group'}", stamp)
        ledger.keep_no_way_back(tx, job, f"It said how {code} is reckoned.", "Say it anew.")
        write_items(tx, [now])
        return _item_planned(now)


def plans(shop: Shop) -> tuple[Planned, ...]:
    """Every group that items are of, and the items that say otherwise themselves."""
    with shop.read() as tx:
        items = catalogue_of(shop, tx).items.values()
        said = read_groups(tx)
    groups = sorted({item.group for item in items} - {""})
    own = [_item_planned(item) for item in items if item.planned_by]
    return (*(_planned(said.get(code, ItemGroup(code))) for code in groups), *own)


def _planned(group: ItemGroup) -> Planned:
    target = Target(group.target_of, group.target_permille).words() if group.planned_by == "forecast" else ""
    return Planned(f"group {group.code}", group.planned_by, target)


def _item_planned(item: Item) -> Planned:
    return Planned(f"item {item.code}", item.planned_by or "its group", "")


def _plan(text: str) -> Plan:
    if text not in get_args(Plan):
        raise Refusal(f"{quoted(text)} is no way to plan. Say {listed(get_args(Plan), 'or')}.")
    return cast(Plan, text)


def _target_of(text: str) -> TargetOf:
    if text not in get_args(TargetOf):
        raise Refusal(f"{quoted(text)} is nothing that can be promised. Say {listed(get_args(TargetOf), 'or')}.")
    return cast(TargetOf, text)


def _permille(target: int) -> int:
    if not LEAST_PER_MILLE <= target <= MOST_PER_MILLE:
        raise Refusal(f"A target is {LEAST_PER_MILLE / 10:g} to {MOST_PER_MILLE / 10:g} per cent, not {target / 10:g}.")
    return target
