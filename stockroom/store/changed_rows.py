"""What a job changes besides the ledger, row by row, so that it can be taken back.

    before = look(tx, PROMISES, orders=[order.id])
    ...                                                    # the job writes
    ledger.keep_way_back(tx, job, "rows", {"rows": changed(tx, before)}, touched)

What is added and what is gone is remembered by row, what is altered by column. Numbers that several jobs add to (what
a requirement holds) are remembered as what was added, so that jobs which never met are taken back in any order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import Column, Select, Table, bindparam, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from stockroom.domain.refusal import Refusal
from stockroom.store import tables as t
from stockroom.store.database import Tx, lock_rows
from stockroom.store.types import Base, Day, Moment

Row = dict[str, Any]
Changes = dict[str, dict[str, list[Any]]]
"""Table → 'came' and 'gone': rows; 'was': [key, {column: [before, as the job left it]}]; 'more': [column, key, n].

Plain JSON: it is kept with the job.
"""
Which = Callable[[Any], Any]
"""The clause for the rows of some orders, of some holdings, or of some requirements."""


@dataclass(frozen=True, slots=True)
class Watched:
    """How the rows of one table are looked at and remembered."""

    table: Table
    which: Which
    of: str = "order"
    """'order', 'holding' or 'requirement': what `which` asks for."""
    columns: tuple[str, ...] = ()
    """Those that are looked at, the key first; all of them where empty. With some only, rows do not come and go."""
    known_by: tuple[str, ...] = ()
    """Columns by which a row that came is known again; all of them where empty."""
    counted: tuple[str, ...] = ()
    """Numbers that other jobs add to as well."""
    loose: tuple[str, ...] = ()
    """Other jobs may set these anew; only what is still as this job left it is put back."""

    @property
    def key(self) -> Column[Any]:
        """Its primary key: one column, in every table that is watched."""
        (key,) = self.table.primary_key
        return key

    @property
    def looked_at(self) -> tuple[str, ...]:
        """The columns that are looked at."""
        return self.columns or tuple(column.name for column in self.table.columns)


def _of_order(model: type[Base]) -> Which:
    return lambda ids: model.__table__.c.order_id.in_(ids)


def _through(column: Any, parent: Any, parent_order: Any) -> Which:
    return lambda ids: column.in_(select(parent).where(parent_order.in_(ids)))


def _laid_for(ids: Any) -> Any:
    laid = select(t.PlannedPanel.cut_id).join(t.Requirement, t.Requirement.id == t.PlannedPanel.requirement_id)
    return (t.PlannedCut.state == "planned") & t.PlannedCut.id.in_(laid.where(t.Requirement.order_id.in_(ids)))


def _cars_of(ids: Any) -> Any:
    return t.Car.id.in_(select(t.OrderLine.car_id).where(t.OrderLine.order_id.in_(ids)))


def _table(model: type[Base]) -> Table:
    table = model.__table__
    assert isinstance(table, Table)
    return table


_COUNTS = ("needed", "held", "taken")
_POSITION = ("from_mm", "to_mm")
_WHO = ("reasons", "by", "at")
_REQUIREMENT, _LINE, _BUNDLE, _PARCEL = t.Requirement, t.OrderLine, t.Bundle, t.Parcel
_HELD = (
    Watched(_table(t.PlannedCut), _laid_for, known_by=("id", "holding_id", "state"), loose=_POSITION),
    Watched(
        _table(t.PlannedPanel),
        _through(t.PlannedPanel.requirement_id, _REQUIREMENT.id, _REQUIREMENT.order_id),
        known_by=("id", "cut_id", "requirement_id"),
    ),
    Watched(
        _table(t.Reservation),
        _through(t.Reservation.requirement_id, _REQUIREMENT.id, _REQUIREMENT.order_id),
        known_by=("id", "requirement_id", "holding_id", "quantity"),
        counted=("quantity",),
        loose=_WHO,
    ),
    Watched(
        _table(t.Margin), _of_order(t.Margin), known_by=("id", "order_id", "holding_id", "sent_id"), loose=_POSITION
    ),
    Watched(_table(t.Shortage), _of_order(t.Shortage)),
)
MIXES = (Watched(_table(t.MixApproval), _of_order(t.MixApproval)),)
"""The mixes of lots that were approved for an order."""
FROM_STOCK = (
    Watched(
        _table(t.FromStock),
        _through(t.FromStock.piece_id, t.Piece.id, t.Piece.order_id),
        known_by=("piece_id", "holding_id", "movement_id"),
    ),
)
"""The finished things that an order has, or is to have."""
PROMISES = (
    Watched(
        _table(_REQUIREMENT),
        _of_order(_REQUIREMENT),
        columns=("id", *_COUNTS, "covered"),
        counted=(*_COUNTS, "covered"),
    ),
    *_HELD,
)
"""What is held for an order, and what it is short of."""
_TAKEN = (
    Watched(
        _table(t.Pick),
        _through(t.Pick.requirement_id, _REQUIREMENT.id, _REQUIREMENT.order_id),
        known_by=("id", "requirement_id", "holding_id", "quantity"),
    ),
    Watched(_table(t.Spoilt), _through(t.Spoilt.requirement_id, _REQUIREMENT.id, _REQUIREMENT.order_id)),
)
TAKING = (*PROMISES, *_TAKEN)
"""What is held for an order and what was picked for it."""
PICKING = (
    Watched(_table(_REQUIREMENT), _REQUIREMENT.id.in_, of="requirement", columns=("id", *_COUNTS), counted=_COUNTS),
    Watched(
        _table(t.Reservation),
        t.Reservation.requirement_id.in_,
        of="requirement",
        known_by=("id", "requirement_id", "holding_id", "quantity"),
        counted=("quantity",),
        loose=_WHO,
    ),
    Watched(
        _table(t.Pick),
        t.Pick.requirement_id.in_,
        of="requirement",
        known_by=("id", "requirement_id", "holding_id", "quantity"),
    ),
)
"""What is reserved for some requirements and what was picked for them."""
SEWN = (Watched(_table(t.Sewn), _through(t.Sewn.piece_id, t.Piece.id, t.Piece.order_id)),)
"""The pieces of an order whose panels are sewn together."""
BUNDLES = (
    Watched(_table(_BUNDLE), _of_order(_BUNDLE), known_by=("id", "tag", "order_id", "copy", "stage", "holder")),
    Watched(_table(t.Bundled), _through(t.Bundled.bundle_id, _BUNDLE.id, _BUNDLE.order_id)),
    Watched(_table(t.BundleStep), _through(t.BundleStep.bundle_id, _BUNDLE.id, _BUNDLE.order_id)),
)
"""What of an order is tied, and where it is."""
PACKING = (
    *BUNDLES,
    *SEWN,
    Watched(_table(_PARCEL), _of_order(_PARCEL)),
    Watched(_table(t.Packed), _through(t.Packed.parcel_id, _PARCEL.id, _PARCEL.order_id)),
)
"""What of an order is tied, sewn and packed."""
PARTS = (Watched(_table(t.CustomerPart), _of_order(t.CustomerPart)),)
"""The customer's parts of an order."""
HEAD = (Watched(_table(t.CustomerOrder), t.CustomerOrder.id.in_),)
"""What an order says of itself, besides its lines."""
ORDER = (
    *HEAD,
    Watched(_table(_LINE), _of_order(_LINE)),
    Watched(_table(t.Waiting), _through(t.Waiting.line_id, _LINE.id, _LINE.order_id)),
    Watched(_table(t.Car), _cars_of),
    Watched(_table(t.CarChange), _of_order(t.CarChange)),
    Watched(_table(t.SwatchSent), _of_order(t.SwatchSent)),
    Watched(_table(t.Substitution), _of_order(t.Substitution)),
    Watched(_table(_REQUIREMENT), _of_order(_REQUIREMENT), counted=_COUNTS),
    Watched(_table(t.Piece), _of_order(t.Piece)),
    *FROM_STOCK,
    *_HELD,
    *MIXES,
    *_TAKEN,
    *PACKING,
    Watched(_table(t.SentShort), _of_order(t.SentShort)),
)
"""Everything of an order: what was asked for, what it is made of, what is held, taken, tied, sewn and packed."""
KEPT = (
    *HEAD,
    Watched(
        _table(t.LeftOver),
        _through(t.LeftOver.piece_id, t.Piece.id, t.Piece.order_id),
        known_by=("piece_id", "holding_id"),
    ),
    next(one for one in _HELD if one.table.name == t.Margin.__tablename__),
)
"""What changes of an order when its pieces are kept: its state, what became of them, and the margins it had."""
ROLLS = (
    Watched(
        _table(t.Holding),
        t.Holding.id.in_,
        of="holding",
        columns=("id", "tag", "place", "lot", "quarantined", "quarantined_because", "expires"),
    ),
    Watched(_table(t.Roll), t.Roll.holding_id.in_, of="holding"),
)
"""What is written down of a roll or bin besides what the ledger says: place, flaws, whether it was measured."""
SWATCHES = (Watched(_table(t.Swatch), t.Swatch.holding_id.in_, of="holding"),)
"""The swatches of a roll, and where each is."""

_LENGTHS = (t.PlannedCut.__tablename__, t.Margin.__tablename__)
_SELF = {
    "planned_cut": ("holding_id", "by", "at"),
    "planned_panel": ("cut_id", "requirement_id"),
    "reservation": ("requirement_id", "holding_id"),
    "margin": ("order_id", "holding_id", "sent_id"),
}
"""What a row is, whatever its number: with another of these it is another row."""
_NEEDS = t.Requirement.__tablename__
_FINDINGS = t.Shortage.__tablename__
"""Found anew by every reservation: put back where no other was found since, and else left alone."""


@dataclass(frozen=True, slots=True)
class Before:
    """What was there before a job wrote."""

    watched: tuple[Watched, ...]
    orders: tuple[int, ...]
    holdings: tuple[int, ...]
    requirements: tuple[int, ...]
    rows: dict[str, dict[Any, Row]]


def look(
    tx: Tx,
    watched: Sequence[Watched],
    *,
    orders: Sequence[int] = (),
    holdings: Sequence[int] = (),
    requirements: Sequence[int] = (),
) -> Before:
    """Looks at what a job is about to change: the rows of some orders, of some holdings, of some requirements."""
    named = (("order", orders), ("holding", holdings), ("requirement", requirements))
    ids = {what: tuple(sorted(set(some))) for what, some in named}
    rows = {one.table.name: _rows(tx, one, ids[one.of]) for one in watched}
    return Before(tuple(watched), ids["order"], ids["holding"], ids["requirement"], rows)


def _rows(tx: Tx, watched: Watched, ids: Sequence[int]) -> dict[Any, Row]:
    if not ids:
        return {}
    names = watched.looked_at
    key = names.index(watched.key.name)
    return {row[key]: dict(zip(names, row, strict=True)) for row in tx.execute(_looking(watched), {"ids": ids})}


@cache
def _looking(watched: Watched) -> Select[Any]:
    """The statement that looks at rows. It is made once: to put it together takes longer than to have it answered."""
    which = watched.which(bindparam("ids", expanding=True))
    return select(*(watched.table.c[name] for name in watched.looked_at)).where(which)


def changed(tx: Tx, before: Before) -> Changes:
    """What is different now: the way back of the job that wrote between `look` and this."""
    now = look(tx, before.watched, orders=before.orders, holdings=before.holdings, requirements=before.requirements)
    found: Changes = {}
    for one in before.watched:
        difference = _difference(one, before.rows[one.table.name], now.rows[one.table.name])
        if difference:
            found[one.table.name] = difference
    _panels_go_with_their_cuts(before, found)
    return found


def came_first(
    tx: Tx, order_id: int, cuts: Mapping[int, int], more: Mapping[int, Mapping[str, int]], *, is_short: bool
) -> Changes:
    """`changed` of PROMISES, without a look before, where a job held something for an order that had nothing.

    All that is there now came by that job then. `cuts`: planned cut → its roll. `more`: requirement → column → what
    was added to it. `is_short`: whether the job found anything short, where nothing was known to be.
    """
    found: Changes = {_NEEDS: {"more": [[name, key, n] for key, some in more.items() for name, n in some.items()]}}
    if cuts:
        rows = [{"id": cut, "holding_id": roll, "state": "planned"} for cut, roll in cuts.items()]
        found[t.PlannedCut.__tablename__] = {"came": rows}
    for name in (t.Reservation.__tablename__, *((_FINDINGS,) if is_short else ())):
        one = _WATCHED[name]
        known_by = one.known_by or one.looked_at
        came = [_to_json({key: row[key] for key in known_by}) for row in _rows(tx, one, [order_id]).values()]
        if came:
            found[name] = {"came": came}
    return found


def _panels_go_with_their_cuts(before: Before, found: Changes) -> None:
    """Panels on a cut that came go with it; those on one that is gone come back with it, whatever has their numbers."""
    cuts = found.get("planned_cut", {})
    came, gone = ({row["id"] for row in cuts.get(which, ())} for which in ("came", "gone"))
    if not came | gone:
        return
    panels = found.setdefault("planned_panel", {})
    known = {row["id"] for row in panels.get("gone", ())}
    laid = before.rows["planned_panel"]
    again = [_to_json(row) for key, row in laid.items() if row["cut_id"] in gone and key not in known]
    panels["gone"] = [*panels.get("gone", ()), *again]
    panels["came"] = [row for row in panels.get("came", ()) if row["cut_id"] not in came]
    panels["was"] = [one for one in panels.get("was", ()) if laid[one[0]]["cut_id"] not in gone]


def _difference(one: Watched, old: Mapping[Any, Row], new: Mapping[Any, Row]) -> dict[str, list[Any]]:
    gone = [_to_json(row) for key, row in old.items() if key not in new]
    known_by = one.known_by or one.looked_at
    # SQLite gives the number of a row that is gone to another: that one came, and the other is gone.
    others = {key for key, row in new.items() if key in old and _is_another(one, old[key], row)}
    gone += [_to_json(old[key]) for key in others]
    old = {key: row for key, row in old.items() if key not in others}
    came = [_to_json({name: row[name] for name in known_by}) for key, row in new.items() if key not in old]
    was: list[Any] = []
    more: list[Any] = []
    for key, row in new.items():
        before = old.get(key)
        if before is None or before == row:
            continue
        more += [[name, key, row[name] - before[name]] for name in one.counted if row[name] != before[name]]
        altered = {
            name: [_plain(before[name]), _plain(row[name])]
            for name in one.looked_at
            if name not in one.counted and row[name] != before[name] and not _follows(one, before, row, name)
        }
        if altered:
            was.append([key, altered])
    parts = {"gone": gone, "came": came, "was": was, "more": more}
    return {name: rows for name, rows in parts.items() if rows}


def _is_another(one: Watched, before: Row, now: Row) -> bool:
    return any(before[name] != now[name] for name in _SELF.get(one.table.name, ()))


def _follows(one: Watched, before: Row, now: Row, name: str) -> bool:
    """Whether a bundle was tied and is packed, or the other way: that follows from what is packed of it."""
    return one.table.name == "bundle" and name == "state" and {before[name], now[name]} == {"tied", "packed"}


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else value


def _to_json(row: Row) -> Row:
    return {name: _plain(value) for name, value in row.items()}


def _from_json(table: Table, row: Mapping[str, Any]) -> Row:
    read: Row = {}
    for name, value in row.items():
        kind = table.c[name].type
        if value is not None and isinstance(kind, Moment):
            value = datetime.fromisoformat(value)
        elif value is not None and isinstance(kind, Day):
            value = date.fromisoformat(value)
        read[name] = value
    return read


# --- taking it back --------------------------------------------------------------------------------------------------


_WATCHED = {one.table.name: one for one in (*ROLLS, *SWATCHES, *PARTS, *PROMISES, *KEPT, *ORDER)}
_IN_TURN = [table.name for table in Base.metadata.sorted_tables]
"""What is referred to before what refers to it."""


def are_of_orders(changes: Changes) -> bool:
    """Whether anything of an order is different, and not only of a roll or bin, or of a swatch of one."""
    return not changes.keys() <= {one.table.name for one in (*ROLLS, *SWATCHES)}


def holdings_in(tx: Tx, changes: Changes) -> set[int]:
    """The holdings of which something was, or is to be, promised."""
    found: set[int] = set()
    for name in (*_LENGTHS, "reservation"):
        part = changes.get(name, {})
        found |= {row["holding_id"] for row in (*part.get("came", ()), *part.get("gone", ()))}
        keys = [key for key, _ in part.get("was", ())] + [key for _, key, _ in part.get("more", ())]
        if keys:
            table = Base.metadata.tables[name]
            found |= set(tx.execute(select(table.c.holding_id).where(table.c.id.in_(keys))).scalars())
    return found | {holding for some in _promised_things(tx, changes) for holding in some}


def _promised_things(tx: Tx, changes: Changes) -> tuple[set[int], set[int]]:
    """The finished things that were promised, and not fetched, before the job changed their rows, and after it."""
    part = changes.get(t.FromStock.__tablename__, {})
    before = {row["holding_id"] for row in part.get("gone", ()) if row["movement_id"] is None}
    after = {row["holding_id"] for row in part.get("came", ()) if row["movement_id"] is None}
    now = _by_key(tx, _WATCHED[t.FromStock.__tablename__], [key for key, _ in part.get("was", ())])
    for key, columns in part.get("was", ()):
        if key in now:
            row = {name: [now[key][name]] * 2 for name in ("holding_id", "movement_id")} | columns
            for at, some in enumerate((before, after)):
                some |= {row["holding_id"][at]} if row["movement_id"][at] is None else set()
    return before, after


def fits_no_longer(tx: Tx, changes: Changes) -> bool:
    """Whether a finished thing was promised since to pieces whose requirements the job made, or made otherwise."""
    part = changes.get(_NEEDS, {})
    made = {row["id"] for row in part.get("came", ())}
    counted = {*_COUNTS, "covered"}
    made |= {key for key, columns in part.get("was", ()) if set(columns) - counted}
    if not made:
        return False
    by_this_job = changes.get(t.FromStock.__tablename__, {})
    known = {row["piece_id"] for row in by_this_job.get("came", ())} | {key for key, _ in by_this_job.get("was", ())}
    orders = select(t.Requirement.order_id).where(t.Requirement.id.in_(made))
    rows = select(t.FromStock.piece_id, t.FromStock.amounts).join(t.Piece, t.Piece.id == t.FromStock.piece_id)
    return any(
        row.piece_id not in known and made & {requirement for requirement, _ in row.amounts}
        for row in tx.execute(rows.where(t.Piece.order_id.in_(orders)))
    )


def lock(tx: Tx, holding_ids: Iterable[int]) -> None:
    """Nobody else changes these holdings until the job is done."""
    lock_rows(tx, _table(t.Holding), holding_ids)


def is_as_left(tx: Tx, changes: Changes) -> bool:
    """Whether all that the job changed is still as it left it, besides what other jobs may have added to or moved."""
    return all(_is_as_left(tx, _WATCHED[name], part) for name, part in changes.items() if name != _FINDINGS)


def _is_as_left(tx: Tx, one: Watched, part: Mapping[str, list[Any]]) -> bool:
    came = [_from_json(one.table, row) for row in part.get("came", ())]
    there = _by_key(tx, one, [row[one.key.name] for row in came])
    for row in came:
        now = there.get(row[one.key.name])
        if now is None or any(now[name] != row[name] for name in row if name not in (*one.counted, *one.loose)):
            return False
        if any(now[name] < row[name] for name in one.counted if name in row and one.table.name == "reservation"):
            return False
    was = _by_key(tx, one, [key for key, _ in part.get("was", ())])
    for key, columns in part.get("was", ()):
        left = _from_json(one.table, {name: after for name, (_, after) in columns.items() if name not in one.loose})
        now = was.get(key)
        if now is None or any(now[name] != value for name, value in left.items()):
            return False
    added = {key for _, key, _ in part.get("more", ())}
    return len(_by_key(tx, one, list(added))) == len(added)


def _by_key(tx: Tx, one: Watched, keys: Sequence[Any]) -> dict[Any, Row]:
    found = tx.execute(select(one.table).where(one.key.in_(keys))).mappings() if keys else ()
    return {row[one.key.name]: dict(row) for row in found}


def take_away(tx: Tx, changes: Changes) -> None:
    """Takes away what the job added. The goods that it took may be booked back then, and the rest be brought again."""
    with _still_free():
        before, after = _promised_things(tx, changes)
        less: defaultdict[int, int] = defaultdict(int, dict.fromkeys(after - before, -1))
        for name in reversed(_IN_TURN):
            part = changes.get(name, {})
            one = _WATCHED.get(name)
            if one is None or not part:
                continue
            if name == _FINDINGS:
                _forget_findings(tx, one, part)
                continue
            came = [_from_json(one.table, row) for row in part.get("came", ())]
            if came and name == "reservation":
                _release(tx, came, less)
            elif came:
                _drop(tx, one, [row[one.key.name] for row in came], less)
            if name == _NEEDS:
                _needs_as_before(tx, one, part)
                continue
            _add(tx, one, [(column, key, -n) for column, key, n in part.get("more", ()) if not _waits(one, n)], less)
        _reserve_more(tx, less)


def _needs_as_before(tx: Tx, one: Watched, part: Mapping[str, list[Any]]) -> None:
    """What is needed of each requirement and how much of it is held go together: neither may exceed the other."""
    values: defaultdict[int, Row] = defaultdict(dict)
    for key, columns in part.get("was", ()):
        values[key] |= _from_json(one.table, {name: pair[0] for name, pair in columns.items()})
    for column, key, n in part.get("more", ()):
        values[key][column] = one.table.c[column] - n
    for key, row in sorted(values.items()):
        tx.execute(update(one.table).where(one.key == key).values(row))


def _waits(one: Watched, n: int) -> bool:
    """Whether a number comes back only when the goods are: a reservation that was made smaller."""
    return one.table.name == "reservation" and n < 0


def _forget_findings(tx: Tx, one: Watched, part: Mapping[str, list[Any]]) -> None:
    keys = [row["id"] for row in part.get("came", ())]
    if keys and _is_as_left(tx, one, part):
        tx.execute(delete(one.table).where(one.table.c.id.in_(keys)))


def _release(tx: Tx, came: Sequence[Row], less: defaultdict[int, int]) -> None:
    """Reservations that were added end; where more was added to one since, that stays."""
    table = _table(t.Reservation)
    for row in came:
        now = tx.execute(select(table.c.quantity).where(table.c.id == row["id"])).scalar_one()
        mine = table.c.id == row["id"]
        if now == row["quantity"]:
            tx.execute(delete(table).where(mine))
        else:
            tx.execute(update(table).where(mine).values(quantity=now - row["quantity"]))
        less[row["holding_id"]] -= row["quantity"]


def _drop(tx: Tx, one: Watched, keys: Sequence[Any], less: defaultdict[int, int]) -> None:
    if one.table.name in _LENGTHS:
        for now in _by_key(tx, one, keys).values():
            less[now["holding_id"]] -= now["to_mm"] - now["from_mm"]
    if one.table.name == "planned_cut":
        tx.execute(delete(t.PlannedPanel).where(t.PlannedPanel.cut_id.in_(keys)))
    mine: Any = one.key.in_(keys)
    if one.table.name == "parcel":  # begun by the first piece, it may hold others by now
        mine = mine & one.key.not_in(select(t.Packed.parcel_id))
    tx.execute(delete(one.table).where(mine))


def _add(tx: Tx, one: Watched, more: Sequence[tuple[str, Any, int]], less: defaultdict[int, int]) -> None:
    by_key: defaultdict[Any, dict[str, int]] = defaultdict(dict)
    for column, key, n in more:
        by_key[key][column] = n
    for row_key, columns in sorted(by_key.items()):
        if one.table.name == "reservation":
            holding = tx.execute(select(one.table.c.holding_id).where(one.key == row_key)).scalar_one()
            less[holding] += columns["quantity"]
        values = {name: one.table.c[name] + n for name, n in columns.items()}
        tx.execute(update(one.table).where(one.key == row_key).values(values))


def bring_again(tx: Tx, changes: Changes) -> None:
    """Brings again what the job did away with, and makes what it altered as it was before."""
    with _still_free():
        before, after = _promised_things(tx, changes)
        more: defaultdict[int, int] = defaultdict(int, dict.fromkeys(before - after, 1))
        renumbered: dict[tuple[str, Any], Any] = {}
        for name in _IN_TURN:
            part = changes.get(name, {})
            one = _WATCHED.get(name)
            if one is None or not part:
                continue
            for key, columns in part.get("was", ()) if name != _NEEDS else ():
                _make_as_it_was(tx, one, key, columns)
            if name == _FINDINGS and tx.execute(_any_finding(part)).first() is not None:
                continue
            _add(tx, one, [(column, key, -n) for column, key, n in part.get("more", ()) if _waits(one, n)], more)
            for row in part.get("gone", ()):
                _insert_again(tx, one, _from_json(one.table, row), more, renumbered)
        _reserve_more(tx, more)


def _any_finding(part: Mapping[str, list[Any]]) -> Any:
    orders = {row["order_id"] for row in (*part.get("gone", ()), *part.get("came", ()))}
    return select(t.Shortage.id).where(t.Shortage.order_id.in_(orders)).limit(1)


def _make_as_it_was(tx: Tx, one: Watched, key: Any, columns: Mapping[str, Sequence[Any]]) -> None:
    now = tx.execute(select(one.table).where(one.key == key)).mappings().one()
    before = _from_json(one.table, {name: pair[0] for name, pair in columns.items()})
    left = _from_json(one.table, {name: pair[1] for name, pair in columns.items()})
    values = {name: value for name, value in before.items() if now[name] == left[name]}
    if values:
        tx.execute(update(one.table).where(one.key == key).values(values))


def _insert_again(
    tx: Tx, one: Watched, row: Row, more: defaultdict[int, int], renumbered: dict[tuple[str, Any], Any]
) -> None:
    for column in one.table.columns:
        for foreign in column.foreign_keys:
            row[column.name] = renumbered.get((foreign.column.table.name, row[column.name]), row[column.name])
    if one.table.name in _LENGTHS and row.get("state", "planned") == "planned":
        more[row["holding_id"]] += row["to_mm"] - row["from_mm"]
    if one.table.name == "reservation":
        more[row["holding_id"]] += row["quantity"]
        mine = (t.Reservation.requirement_id == row["requirement_id"]) & (t.Reservation.holding_id == row["holding_id"])
        added = update(t.Reservation).where(mine).values(quantity=t.Reservation.quantity + row["quantity"])
        if tx.execute(added).rowcount:
            return
    # SQLite gives the number of a row that is gone to another; the row that comes again then has a new one.
    if one.key.name == "id" and tx.execute(select(one.key).where(one.key == row["id"])).first() is not None:
        old = row.pop("id")
        renumbered[one.table.name, old] = tx.execute(insert(one.table).returning(one.key), row).scalar_one()
    else:
        tx.execute(insert(one.table), row)


def _reserve_more(tx: Tx, by_holding: Mapping[int, int]) -> None:
    holding = _table(t.Holding)
    rows = [{"row_id": one, "more": more} for one, more in sorted(by_holding.items()) if more]
    if rows:
        tx.execute(
            update(holding)
            .where(holding.c.id == bindparam("row_id"))
            .values(reserved=holding.c.reserved + bindparam("more")),
            rows,
        )


@contextmanager
def _still_free() -> Iterator[None]:
    """What stands in the way of taking a job back, as the database knows it, in words."""
    try:
        yield
    except IntegrityError as error:
        raise Refusal("What it held, or what it made, is in use by now.") from error
