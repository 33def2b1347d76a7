"""How a job is taken back: each says so itself when it is done, and the ways stand in the jobs' own modules.

Most jobs use `remember` (the way 'rows'): what they changed is put back row by row, and what they booked is reversed.
A job that is taken back in another manner keeps a way of its own with `ledger.keep_way_back`, and its module lists it
in `WAYS_BACK`. One that cannot be taken back says why and what to do instead, with `ledger.keep_no_way_back`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.amounts import show_amount
from stockroom.jobs.ready import refuse_unready_packed
from stockroom.store import bundles, changed_rows, jobs_done, ledger, orders
from stockroom.store.changed_rows import Before, Changes
from stockroom.store.database import Shop, Tx
from stockroom.store.jobs_done import Booked, KeptJob

ROWS = "rows"
_CHANGED_SINCE = "What it did was changed since."
_WHATEVER_BECAME = {"customer_part"}
"""What is put back whatever became of the order."""


@dataclass(frozen=True, slots=True)
class Undoing:
    """One job that is being taken back."""

    job: KeptJob
    undo_id: int
    """The job that takes it back: movements that reverse are of this one."""
    stamp: Stamp

    @property
    def data(self) -> dict[str, Any]:
        """What the job kept for this."""
        return self.job.data


def _nothing_known(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - the signature of every `why_not`
    return ""


@dataclass(frozen=True, slots=True)
class WayBack:
    """One way in which jobs are taken back."""

    take_back: Callable[[Shop, Tx, Undoing], tuple[str, ...]]
    """Does it, and tells what was done: sentences. Raises Refusal, with a whole sentence, where that cannot be."""
    why_not: Callable[[Shop, Tx, KeptJob], str] = _nothing_known
    """What is known to stand in the way, without doing anything: a sentence, or ''."""


def remember(
    tx: Tx,
    job_id: int,
    before: Before,
    *,
    touched: Iterable[str] = (),
    alone: Iterable[str] = (),
    way: str = ROWS,
    knows: Mapping[str, Any] | None = None,
) -> None:
    """Keeps with a job what it changed since `before` was looked at, so that it is put back when it is undone.

    `touched`: what it had to do with besides those orders and holdings: 'car 3'. `alone`: that of it which no later
    job may have touched, if this one is to be undone. `way`: another that puts rows back and does something besides,
    and `knows` what it must know for that.
    """
    rows = changed_rows.changed(tx, before)
    of_orders = before.orders if changed_rows.are_of_orders(rows) else ()
    met = {f"order {one}" for one in of_orders} | {f"holding {one}" for one in before.holdings}
    data = {"rows": rows, "orders": list(of_orders), "alone": sorted(alone), **(knows or {})}
    ledger.keep_way_back(tx, job_id, way, data, met | set(touched) | set(alone))


def write_remembered(tx: Tx, what: str, stamp: Stamp, order_id: int, rows: Changes) -> None:
    """Writes down a job that is done, and what it changed of the rows of an order: they are put back to undo it."""
    data = {"rows": rows, "orders": [order_id], "alone": []}
    ledger.write_job(tx, what, stamp, ROWS, data, [f"order {order_id}"])


def reverse_all(tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    """Reverses all that a job booked, newest first; tells what is back and what is gone again."""
    return reverse_booked(tx, undoing, jobs_done.movements_of(tx, undoing.job.id))


def reverse_booked(tx: Tx, undoing: Undoing, booked: Sequence[Booked]) -> tuple[str, ...]:
    """Reverses these movements, newest first, as they are given; tells what is back and what is gone again."""
    for one in booked:
        ledger.reverse(tx, undoing.undo_id, undoing.stamp, one.id, f"undoes {undoing.job.what}")
    return tuple(
        f"{show_amount(one.item_kind, abs(one.quantity))} of {one.title} "
        f"{'is back in' if one.quantity < 0 else 'is no longer in'} {one.tag}."
        for one in reversed(booked)
        if one.quantity and one.tag
    )


def put_rows_back(
    shop: Shop, tx: Tx, undoing: Undoing, book: Callable[[Tx, Undoing], tuple[str, ...]] = reverse_all
) -> tuple[str, ...]:
    """The way 'rows'. `book`: what becomes of the goods. Raises Refusal where what the job did was changed since."""
    rows = undoing.data["rows"]
    mine = orders.orders_to_change(tx, undoing.data["orders"])
    booked = {one.holding_id for one in jobs_done.movements_of(tx, undoing.job.id)}
    changed_rows.lock(tx, booked | changed_rows.holdings_in(tx, rows))
    why = why_rows_stay(shop, tx, undoing.job)
    if why:
        raise Refusal(why)
    changed_rows.take_away(tx, rows)
    told = book(tx, undoing)
    changed_rows.bring_again(tx, rows)
    for one in mine:
        bundles.mark_packed(tx, one.id)
        refuse_unready_packed(shop, tx, one)
        orders.log_change(tx, one.id, undoing.undo_id, f"Undone: {undoing.job.what}", undoing.stamp)
    return told


def _brings_state_back(rows: dict[str, Any], order_id: int) -> bool:
    was = rows.get("customer_order", {}).get("was", ())
    return any(key == order_id and "state" in columns for key, columns in was)


def why_rows_stay(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001 - the signature of every `why_not`
    """Why what a job changed cannot be put back: a sentence, or ''."""
    rows = job.data["rows"]
    if not set(rows) <= _WHATEVER_BECAME:
        ids = [one for one in job.data["orders"] if not _brings_state_back(rows, one)]
        for number, state in orders.states_of(tx, ids):
            if state != "open":
                return f"Order {number} is {state}."
    if jobs_done.touched_since(tx, job, set(job.data["alone"])) or not changed_rows.is_as_left(tx, rows):
        return _CHANGED_SINCE
    if changed_rows.fits_no_longer(tx, rows):
        return "A finished thing of the stock was promised to what it made otherwise."
    return ""


def _never(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:
    raise Refusal(_why_never(shop, tx, undoing.job))


def _why_never(shop: Shop, tx: Tx, job: KeptJob) -> str:  # noqa: ARG001
    return f"{job.data['because']} {job.data['instead']}".strip()


WAYS_BACK = {ROWS: WayBack(put_rows_back, why_rows_stay), ledger.NO_WAY: WayBack(_never, _why_never)}
