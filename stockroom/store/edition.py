"""Which edition of the catalogue the shop has: it rises with every change, so that what was read is known as old."""

from __future__ import annotations

from sqlalchemy import bindparam, select

from stockroom.store.database import Tx
from stockroom.store.tables import Counter
from stockroom.store.tags import next_serial

_NAME = "catalogue edition"
_LAST = select(Counter.last).where(Counter.name == bindparam("name"))


def edition(tx: Tx) -> int:
    """The edition now; 0 before anything was loaded."""
    return tx.execute(_LAST, {"name": _NAME}).scalar() or 0


def new_edition(tx: Tx) -> None:
    """Whoever changes the catalogue says so here, in the same transaction."""
    next_serial(tx, _NAME)
