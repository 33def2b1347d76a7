"""What stock was worth at the end of a day, by item and in all, at what was paid for it.

The books are read as they stood then: what was put right later does not change what they said. What has no known price
is named and is in no sum.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.cost import show_each
from stockroom.domain.quantities import show_money
from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import listed, quoted
from stockroom.jobs.amounts import show_amount
from stockroom.store import racks
from stockroom.store import worth as books
from stockroom.store.about import read_about
from stockroom.store.database import Shop, Tx
from stockroom.store.worth import HoldingWorth, ItemWorth


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of an item, and what it is worth."""

    held: int
    """mm or count."""
    value_minor: int
    priced: int
    """Of `held`, what has a price: the average is reckoned from that alone."""
    each: str
    """The average of one, or of a metre; '' where nothing has a price."""


@dataclass(frozen=True, slots=True)
class ItemValue:
    """What was held of one item, and what it was worth."""

    item: str
    title: str
    group: str
    by_length: bool
    """Amounts are mm; else they are counts."""
    usable: Amount
    quarantined: Amount
    """In quarantine, which is not in `usable`."""


@dataclass(frozen=True, slots=True)
class ThingValue:
    """What one roll, bin or finished thing was worth, at what was paid for that very one."""

    item: str
    tag: str
    kind: str
    """'roll', 'bin' or 'made'."""
    lot: str
    quarantined: bool
    held: int
    value_minor: int
    each: str
    """Of one, or of a metre; '' where it has no price."""


@dataclass(frozen=True, slots=True)
class Worth:
    """What stock was worth at the end of a day."""

    day: date
    time_zone: str
    currency: str
    items: tuple[ItemValue, ...]
    """By code; those of which something was held."""
    things: tuple[ThingValue, ...]
    """Of each item in turn; empty unless they were asked for."""
    value_minor: int
    """In all, without what is in quarantine."""
    quarantined_minor: int
    remarks: tuple[str, ...]
    """What has no price, what was bought in another currency, where an average is too low: sentences."""


def worth(
    shop: Shop,
    now: datetime,
    day: date | None = None,
    item: str = "",
    group: str | None = None,
    things_of: bool = False,
) -> Worth:
    """What stock was worth at the end of `day` (a day of the shop's own time zone; today without it).

    `item`: only that; `group`: only the items of that group; `things_of`: roll by roll and bin by bin too. Raises
    Refusal for a day that is still to come, and for an item or a group that nobody knows.
    """
    with shop.read() as tx:
        about = read_about(tx)
        if about is None:
            raise Refusal("Nothing was loaded into this shop yet, so nothing in it is worth anything.")
        zone = ZoneInfo(about.time_zone)
        today = now.astimezone(zone).date()
        wanted = day or today
        if wanted > today:
            raise Refusal(f"{wanted} is still to come. What stock is worth can be told up to today, {today}.")
        code = _item(tx, item) if item.strip() else ""
        if group is not None:
            _refuse_unknown_group(tx, group)
        instant = end_of_day(wanted, zone)
        rows = books.worth_by_item(tx, instant, code, group)
        things = books.worth_by_holding(tx, instant, code, group) if things_of else []
        abroad = books.bought_abroad(tx, about.currency)
        diluted = books.diluted_bins(tx, instant)
    items = tuple(_items(rows, about.currency))
    lengths = {one.item: one.by_length for one in items}
    return Worth(
        wanted,
        about.time_zone,
        about.currency,
        items,
        tuple(_thing(one, lengths[one.item], about.currency) for one in things),
        sum(one.usable.value_minor for one in items),
        sum(one.quarantined.value_minor for one in items),
        (*_unpriced(rows, abroad), *_diluted(rows, diluted), *_before(rows, wanted, about.opening)),
    )


def end_of_day(day: date, zone: ZoneInfo) -> datetime:
    """The last instant of a day in the shop: what is dated later was not yet."""
    return datetime.combine(day + timedelta(days=1), time(), zone).astimezone(UTC) - timedelta(microseconds=1)


def _item(tx: Tx, name: str) -> str:
    """Code of the one item that is called so."""
    found = racks.items_like(tx, name)
    if not found:
        raise Refusal(f"There is no item {quoted(name)}. 'stockroom racks WORDS' finds one by its name.")
    if len(found) > 1:
        raise Refusal(f"{quoted(name)} may be several items. Say which: {listed(found[:12], 'or')}.")
    return found[0]


def _refuse_unknown_group(tx: Tx, group: str) -> None:
    known = books.groups_in_use(tx)
    if group not in known:
        named = listed(known, "or") if known else "no item is in one"
        raise Refusal(f"There is no group {quoted(group)} of items. Groups: {named}.")


def _items(rows: Sequence[ItemWorth], currency: str) -> Iterator[ItemValue]:
    by_item: defaultdict[str, dict[bool, ItemWorth]] = defaultdict(dict)
    for row in rows:
        by_item[row.item][bool(row.quarantined)] = row
    for item, found in by_item.items():
        one = next(iter(found.values()))
        by_length = one.kind in BY_LENGTH
        usable, apart = (_amount(found.get(state), by_length, currency) for state in (False, True))
        yield ItemValue(item, one.title, one.group, by_length, usable, apart)


def _amount(row: ItemWorth | None, by_length: bool, currency: str) -> Amount:
    if row is None:
        return Amount(0, 0, 0, "")
    return Amount(row.held, row.value_minor, row.priced, show_each(row.value_minor, row.priced, by_length, currency))


def _thing(one: HoldingWorth, by_length: bool, currency: str) -> ThingValue:
    each = show_each(one.value_minor, one.held, by_length, currency) if one.value_minor else ""
    return ThingValue(one.item, one.tag, one.kind, one.lot, one.quarantined, one.held, one.value_minor, each)


def _unpriced(rows: Iterable[ItemWorth], abroad: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """What has no price, item by item; what was kept beside a cut was paid with that."""
    for row in rows:
        where = " in quarantine" if row.quarantined else ""
        without = row.held - row.priced - row.side_pieces
        if without:
            why = no_price_words(row.item, abroad)
            yield f"{show_amount(row.kind, without)} of {row.title} ({row.item}){where} without a known price.{why}"
        if row.side_pieces:
            amount = show_amount(row.kind, row.side_pieces)
            yield f"{amount} of {row.title} ({row.item}){where} is side pieces: paid with the cut they were left from."


def no_price_words(item: str, abroad: Mapping[str, Sequence[str]]) -> str:
    """Why goods of an item may have no price: they were bought in another currency; '' where that is not known."""
    other = abroad.get(item, ())
    return f" Some was bought in {listed(other)}, and nothing is converted." if other else ""


def _diluted(rows: Sequence[ItemWorth], diluted: Sequence[tuple[str, str]]) -> Iterator[str]:
    titles = {row.item: row.title for row in rows}
    for item, tag in diluted:
        if item in titles:
            yield f"Some of {titles[item]} in {tag} came in without a price: the average there is too low."


def _before(rows: Sequence[ItemWorth], day: date, opening: date | None) -> Iterator[str]:
    if not rows:
        since = f" They were opened on {opening}." if opening and opening > day else ""
        yield f"By the books nothing was held at the end of {day}.{since}"


def summed_words(found: Worth) -> str:
    """The last line: what it comes to."""
    apart = (
        f"; besides, in quarantine: {show_money(found.quarantined_minor, found.currency)}"
        if found.quarantined_minor
        else ""
    )
    return f"In all: {show_money(found.value_minor, found.currency)}{apart}"
