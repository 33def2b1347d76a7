"""Serial numbers, given once each: of tags by kind letter, and of anything else by name."""

from __future__ import annotations

from collections.abc import Container, Sequence

from sqlalchemy import bindparam, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.sql.dml import ReturningInsert

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag, read_tag
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


def tags_for(tx: Tx, kind: str, own: Sequence[str], used: Container[str | None]) -> list[str]:
    """A tag for each thing: its `own`, where it brings one along, else (an empty text) the next.

    No serial of an own tag is given again. Raises `Refusal` where one is among those `used` on other things.
    """
    taken = [tag for tag in own if tag and tag in used]
    if taken:
        raise Refusal(
            f"{', '.join(taken[:5])} {'is' if len(taken) == 1 else 'are'} on something else of this shop. "
            "Leave the tag out, and a new one is given."
        )
    never_again(tx, kind, max((read_tag(tag).serial for tag in own if tag), default=0))
    fresh = iter(next_tags(tx, kind, sum(not tag for tag in own)))
    return [tag or next(fresh) for tag in own]


def never_again(tx: Tx, kind: str, serial: int) -> None:
    """No serial of a tag of this kind up to `serial` is given from now on."""
    count_on(tx, f"tag {kind}", serial)


def count_on(tx: Tx, name: str, serial: int) -> None:
    """The counter `name` goes on from `serial` at the least."""
    given: int = tx.execute(select(Counter.last).where(Counter.name == name)).scalar() or 0
    if serial > given:
        next_serial(tx, name, serial - given)
