"""Serial numbers, given once each: of tags by kind letter, and of anything else by name."""

from __future__ import annotations

from sqlalchemy import bindparam
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.sql.dml import ReturningInsert

from stockroom.domain.tags import make_tag
from stockroom.store.database import Tx
from stockroom.store.tables import Counter


def _counted(taken: postgresql.Insert | sqlite.Insert) -> ReturningInsert[int]:
    """Adds `n` to the counter `name`, and gives what it is then."""
    return (
        taken.values(name=bindparam("name"), last=bindparam("n"))
        .on_conflict_do_update(index_elements=[Counter.name], set_={"last": Counter.last + taken.excluded.last})
        .returning(Counter.last)
    )


_COUNTED = {"sqlite": _counted(sqlite.insert(Counter)), "postgresql": _counted(postgresql.insert(Counter))}
"""Made once: building a statement takes longer than sending it."""


def next_serial(tx: Tx, name: str, n: int = 1) -> int:
    """Takes the next `n` serials of the counter `name`, and gives the first of them (from 1).

    One statement, so that two writers on PostgreSQL never get the same: the second waits for the first.
    """
    if n < 1:
        raise ValueError(f"{n} serials cannot be taken")
    counted = _COUNTED[tx.dialect.name]
    return int(tx.execute(counted, {"name": name, "n": n}).scalar_one()) - n + 1


def next_tags(tx: Tx, kind: str, n: int) -> list[str]:
    """The next `n` tags of a kind letter (see `stockroom.domain.tags.KINDS`), in rising order; none for 0."""
    if n == 0:
        return []
    first = next_serial(tx, f"tag {kind}", n)
    return [make_tag(kind, serial) for serial in range(first, first + n)]
