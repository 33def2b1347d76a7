"""A supplier's notice: until when an item can be ordered. The weekly run proposes a last buy by it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockroom.domain.last_buy import USUAL_WEEKS
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import literal, unknown
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import last_orders, ledger
from stockroom.store.database import Shop, Tx

LONGEST_WEEKS = 520
"""A last buy for more than ten years is a slip of the pen."""
LONGEST_NOTE = 200


@dataclass(frozen=True, slots=True)
class Noticed:
    """What giving or taking back a notice did."""

    item: str
    title: str
    changed_anything: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Notice:
    """A notice that holds."""

    item: str
    title: str
    until: date
    weeks: int
    note: str
    by: str


def give_notice(shop: Shop, item: str, until: date, stamp: Stamp, weeks: int = USUAL_WEEKS, note: str = "") -> Noticed:
    """Writes down that an item can be ordered until a day, and for how many weeks after it to buy.

    A notice that holds is replaced. Raises `Refusal` for what is no item or is made here, for impossible weeks and
    for a day that is past.
    """
    if not 0 < weeks <= LONGEST_WEEKS:
        raise Refusal(f"A last buy for {weeks} weeks cannot be; say 1 to {LONGEST_WEEKS}.")
    if until < stamp.at.date():
        raise Refusal(f"{until} is past: nothing can be ordered by then any more. Is the year right?")
    with shop.write() as tx:
        items = catalogue_of(shop, tx).items
        if item not in items:
            raise Refusal(unknown("item", item, items))
        what = items[item]
        if what.made_here:
            raise Refusal(f"{what.title} is made here, so no supplier can end it.")
        said = literal(note)[:LONGEST_NOTE]
        before = last_orders.notice_of(tx, item)
        if before is not None and (before.until, before.weeks, before.note) == (until, weeks, said):
            return Noticed(item, what.title, False, f"{what.title}: that is written down already.")
        job = ledger.begin_job(tx, f"{item} can be ordered until {until}", stamp)
        if before is not None:
            last_orders.end_notice(tx, before.id, "another notice", stamp)
        number = last_orders.keep_notice(tx, item, until, weeks, said, stamp)
        ledger.keep_way_back(tx, job, "notice", {"id": number, "before": before.id if before else None})
        return Noticed(
            item, what.title, True,
            f"{what.title} can be ordered until {until}. The weekly run buys for {weeks} weeks after that.",
        )  # fmt: skip


def notice_ends(shop: Shop, item: str, because: str, stamp: Stamp) -> Noticed:
    """A notice holds no longer: it was bought, or can be had again. Raises `Refusal` where there is none."""
    with shop.write() as tx:
        before = last_orders.notice_of(tx, item)
        if before is None:
            raise Refusal(f"There is no notice of '{literal(item)}'. List them: stockroom last-order.")
        job = ledger.begin_job(tx, f"the notice of {item} holds no longer", stamp)
        last_orders.end_notice(tx, before.id, literal(because)[:LONGEST_NOTE] or "holds no longer", stamp)
        ledger.keep_way_back(tx, job, "notice ended", {"id": before.id})
        return Noticed(item, before.title, True, f"{before.title}: the notice holds no longer.")


def notices(shop: Shop) -> tuple[Notice, ...]:
    """The notices that hold, by the last day to order."""
    with shop.read() as tx:
        return tuple(
            Notice(one.item, one.title, one.until, one.weeks, one.note, one.by)
            for one in last_orders.standing_notices(tx)
        )


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    if not last_orders.drop_notice(tx, undoing.data["id"]):
        raise Refusal("The notice holds no longer.")
    if undoing.data["before"]:
        last_orders.reopen_notice(tx, undoing.data["before"])
    return ("The notice is gone, and the one before it holds again.",)


def _holds_again(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    last_orders.reopen_notice(tx, undoing.data["id"])
    return ("The notice holds again.",)


WAYS_BACK = {"notice": WayBack(_take_back), "notice ended": WayBack(_holds_again)}
