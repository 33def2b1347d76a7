"""What lines of orders take instead of what their kits ask for, each with the customer's yes."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import bindparam, delete, insert, select

from stockroom.domain.stamp import Stamp
from stockroom.domain.substitutes import Substituted
from stockroom.store import tables as t
from stockroom.store.database import Tx

_S = t.Substitution
_OF_ORDER = (
    select(_S.line, _S.item, _S.instead, _S.yes_from, _S.by, _S.at, _S.note)
    .where(_S.order_id == bindparam("order"))
    .order_by(_S.line, _S.item)
)


def substitutions_of(tx: Tx, order_id: int) -> dict[int, dict[str, Substituted]]:
    """Line of an order → item as the kit book has it → what is taken instead."""
    found: dict[int, dict[str, Substituted]] = {}
    for line, item, instead, yes_from, by, at, note in tx.execute(_OF_ORDER, {"order": order_id}):
        found.setdefault(line, {})[item] = Substituted(item, instead, yes_from, by, at.date(), note)
    return found


def keep_substitution(
    tx: Tx, order_id: int, line: int, items: tuple[str, str], said: tuple[str, str], stamp: Stamp
) -> None:
    """A line takes the second item instead of the first. `said`: who of the customer's said yes, and a note."""
    (item, instead), (yes_from, note) = items, said
    drop_substitution(tx, order_id, line, item)
    if item != instead:
        row = {"order_id": order_id, "line": line, "item": item, "instead": instead, "yes_from": yes_from, "note": note}
        tx.execute(insert(_S), {**row, "by": stamp.by, "at": stamp.at})


def drop_substitution(tx: Tx, order_id: int, line: int, item: str) -> None:
    """A line takes what the kit book has again."""
    tx.execute(delete(_S).where(_S.order_id == order_id, _S.line == line, _S.item == item))


def drop_substitutions(tx: Tx, order_id: int, lines: Collection[int]) -> None:
    """These lines ask for something else now, so that no yes to what they asked for stands."""
    if lines:
        tx.execute(delete(_S).where(_S.order_id == order_id, _S.line.in_(sorted(lines))))
