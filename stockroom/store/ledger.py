"""The ledger: the only room where stock changes. A job begins, appends movements, and may reverse one.

Everything here runs inside the transaction of the job that caused it. A movement is never updated or deleted; what a
holding holds and is worth is kept beside it and is always the sum of its movements.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import bindparam, insert, select, update

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.store.database import Tx, lock_rows
from stockroom.store.tables import Holding, Item, Job, Movement
from stockroom.store.types import Base

MovementKind = Literal["received", "cut", "issued", "returned", "moved", "counted", "scrapped", "made", "reversed"]
"""What happened. 'reversed' is written by `reverse` alone."""

TOUCHED = "touched"
NO_WAY = "none"
"""The name under which a job keeps why it cannot be taken back."""

_OUT = frozenset({"cut", "issued", "scrapped"})
_IN = frozenset({"received", "made"})
_AT_ONCE = 10_000
"""Rows named in one statement: both databases limit the parameters of one."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One movement to be appended.

    >>> Entry(holding_id=7, kind="cut", quantity=-1200).value_minor is None
    True
    """

    holding_id: int
    kind: MovementKind
    quantity: int
    """Signed, mm or count: cut, issued and scrapped take out, received and made bring in, the others do either."""
    value_minor: int | None = None
    """Signed worth of it. `None`: its share of what the holding is worth, which is nothing where nothing is held."""
    note: str = ""
    order_id: int | None = None
    at: datetime | None = None
    """When it happened, where that was before the job (the history of a shop); an aware moment."""


@dataclass(slots=True)
class _Account:
    """A holding as it stands while entries are appended to it."""

    held: int
    reserved: int
    value_minor: int
    number: int


_JOB: Any = Job.__table__
# Made once: building a statement takes longer than sending it.
_INSERT_JOB = insert(Job).returning(Job.id)
_KEEP_WAY_BACK = (
    update(_JOB).where(_JOB.c.id == bindparam("job")).values(way_back=bindparam("kept", type_=_JOB.c.way_back.type))
)


def begin_job(tx: Tx, what: str, stamp: Stamp) -> int:
    """Writes down that somebody does `what` ('load', 'count', ...), and gives the job's number."""
    return tx.execute(_INSERT_JOB, {"what": what, "by": stamp.by, "at": stamp.at}).scalar_one()


def write_job(tx: Tx, what: str, stamp: Stamp, way: str, data: Mapping[str, Any], touched: Iterable[str] = ()) -> int:
    """`begin_job` and `keep_way_back` at once, where what the job did is known by then; gives the job's number."""
    row = {"what": what, "by": stamp.by, "at": stamp.at, "way_back": _way_back(way, data, touched)}
    return tx.execute(_INSERT_JOB, row).scalar_one()


def keep_way_back(tx: Tx, job_id: int, way: str, data: Mapping[str, Any], touched: Iterable[str] = ()) -> None:
    """Keeps with a job how it is taken back: the name of the way, and what that must know (JSON).

    `touched`: what the job had to do with, 'order 5', 'holding 9', 'car 2': a job that can no longer be taken back is
    told the later ones with which it met. The ways are named in `stockroom.jobs.undo`.
    """
    tx.execute(_KEEP_WAY_BACK, {"job": job_id, "kept": _way_back(way, data, touched)})


def _way_back(way: str, data: Mapping[str, Any], touched: Iterable[str]) -> dict[str, Any]:
    return {way: dict(data), TOUCHED: sorted(set(touched))}


def keep_no_way_back(tx: Tx, job_id: int, because: str, instead: str, touched: Iterable[str] = ()) -> None:
    """Keeps with a job why it cannot be taken back, and what to do instead: sentences."""
    keep_way_back(tx, job_id, NO_WAY, {"because": because, "instead": instead}, touched)


def append(tx: Tx, job_id: int, stamp: Stamp, entries: Iterable[Entry]) -> tuple[int, ...]:
    """Appends the movements in the order given, and gives their numbers in that order.

    The holdings are locked first. Nothing may be taken below nothing, nor (when all are appended) below what is
    reserved. Goods that leave never carry off more worth than there is, and an empty holding is worth nothing.

    Raises `Refusal` naming the holding, and ValueError for an entry whose sign does not go with its kind.
    """
    wanted = list(entries)
    for entry in wanted:
        _check_sign(entry)
    return _write(tx, job_id, stamp, [(entry, None) for entry in wanted])


def reverse(tx: Tx, job_id: int, stamp: Stamp, movement_id: int, note: str = "") -> int:
    """Puts a movement right by a reversing one, of opposite quantity and worth. Gives the reversing movement's number.

    Raises `Refusal` for a movement that does not exist, is a reversal itself or was reversed already, or whose goods
    are gone.
    """
    found = tx.execute(select(Movement).where(Movement.id == movement_id)).mappings().first()
    if found is None:
        raise Refusal(f"There is no movement {movement_id} in the ledger, so it cannot be reversed.")
    if found["kind"] == "reversed":
        raise Refusal(f"Movement {movement_id} is a reversal itself. Enter again what it took back.")
    _accounts(tx, [found["holding_id"]])  # the lock: nobody else reverses it between the look and the write
    earlier = tx.execute(select(Movement.id, Movement.by).where(Movement.reverses_id == movement_id)).first()
    if earlier is not None:
        raise Refusal(f"Movement {movement_id} was reversed already, by movement {earlier.id} ({earlier.by}).")
    entry = Entry(
        found["holding_id"],
        "reversed",
        -found["quantity"],
        -found["value_minor"],
        note or f"reverses {found['kind']}, movement {movement_id}",
        found["order_id"],
    )
    return _write(tx, job_id, stamp, [(entry, movement_id)])[0]


def _check_sign(entry: Entry) -> None:
    wrong = (
        (entry.kind in _OUT and entry.quantity >= 0)
        or (entry.kind in _IN and entry.quantity <= 0)
        or entry.kind == "reversed"
    )
    if wrong:
        raise ValueError(f"a movement cannot be {entry.kind!r} with quantity {entry.quantity}")


def _write(tx: Tx, job_id: int, stamp: Stamp, entries: Sequence[tuple[Entry, int | None]]) -> tuple[int, ...]:
    if not entries:
        return ()
    accounts = _accounts(tx, [entry.holding_id for entry, _ in entries])
    rows = [_book(tx, accounts, entry, reverses, job_id, stamp) for entry, reverses in entries]
    for holding_id, account in accounts.items():
        if account.held < account.reserved:
            raise Refusal(_reserved_sentence(tx, holding_id, account))
    ids = tx.scalars(insert(Movement).returning(Movement.id, sort_by_parameter_order=True), rows).all()
    tx.execute(
        update(Holding)
        .where(Holding.id == bindparam("this"))
        .values(held=bindparam("now"), value_minor=bindparam("worth"), last_number=bindparam("latest")),
        [
            {"this": holding_id, "now": one.held, "worth": one.value_minor, "latest": one.number}
            for holding_id, one in accounts.items()
        ],
    )
    return tuple(ids)


def _accounts(tx: Tx, holding_ids: Iterable[int]) -> dict[int, _Account]:
    """The holdings named, locked in the order of their numbers."""
    ids = sorted(set(holding_ids))
    found: dict[int, _Account] = {}
    for start in range(0, len(ids), _AT_ONCE):
        some = ids[start : start + _AT_ONCE]
        lock_rows(tx, Base.metadata.tables["holding"], some)
        query = select(Holding.id, Holding.held, Holding.reserved, Holding.value_minor, Holding.last_number)
        for id_, held, reserved, value_minor, number in tx.execute(query.where(Holding.id.in_(some))):
            found[id_] = _Account(held, reserved, value_minor, number)
    if len(found) < len(ids):
        raise Refusal(f"There is no holding {min(set(ids) - set(found))} in this shop, so nothing can be moved in it.")
    return found


def _book(
    tx: Tx,
    accounts: dict[int, _Account],
    entry: Entry,
    reverses: int | None,
    job_id: int,
    stamp: Stamp,
) -> dict[str, Any]:
    """Takes one entry into its account, and gives the row that says so."""
    account = accounts[entry.holding_id]
    balance = account.held + entry.quantity
    if balance < 0:
        raise Refusal(_too_little_sentence(tx, entry.holding_id, account.held, -entry.quantity))
    value_minor = _worth(account, entry, balance)
    account.held = balance
    account.value_minor += value_minor
    account.number += 1
    return {
        "holding_id": entry.holding_id,
        "number": account.number,
        "kind": entry.kind,
        "quantity": entry.quantity,
        "balance": balance,
        "value_minor": value_minor,
        "order_id": entry.order_id,
        "job_id": job_id,
        "reverses_id": reverses,
        "by": stamp.by,
        "at": entry.at or stamp.at,
        "note": entry.note,
    }


def _worth(account: _Account, entry: Entry, balance: int) -> int:
    """The entry's signed worth, kept such that the holding is never worth less than nothing, and nothing when empty."""
    if balance == 0:
        return -account.value_minor
    if entry.value_minor is not None:
        return max(entry.value_minor, -account.value_minor)
    if account.held == 0:
        return 0
    share = account.value_minor * abs(entry.quantity) // account.held
    return share if entry.quantity > 0 else -share


def _names(tx: Tx, holding_id: int) -> tuple[str, str]:
    """What a holding is called in a sentence, and the kind of its item."""
    row = tx.execute(
        select(Holding.kind, Holding.tag, Holding.item, Holding.place, Item.kind.label("item_kind"))
        .join(Item, Item.code == Holding.item)
        .where(Holding.id == holding_id)
    ).one()
    if row.kind == "past":
        return f"the past of {row.item}", row.item_kind
    where = f" in {row.place}" if row.place else ""
    return f"{row.kind} {row.tag} ({row.item}{where})", row.item_kind


def _shown(quantity: int, item_kind: str) -> str:
    return show_length(quantity) if item_kind in BY_LENGTH else str(quantity)


def _too_little_sentence(tx: Tx, holding_id: int, held: int, taken: int) -> str:
    name, kind = _names(tx, holding_id)
    return (
        f"{_shown(taken, kind)} cannot be taken from {name}: it holds {_shown(held, kind)}. "
        "Count it, or take from another."
    )


def _reserved_sentence(tx: Tx, holding_id: int, account: _Account) -> str:
    name, kind = _names(tx, holding_id)
    return (
        f"That would leave {_shown(account.held, kind)} in {name}, of which {_shown(account.reserved, kind)} "
        "is reserved. Release what is reserved first, or take less."
    )
