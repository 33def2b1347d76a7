"""A first look into a shop's file, before anything heavy is loaded: what the shop is, and the first orders on the rail.

Loading the database's library takes longer than all else that a screen needs to show its first rows. So the first look
reads them with what Python brings along, and only where there is nothing to it: the very version of the tables that
this program knows, in a SQLite file that answers at once. Anything else is left to `Shop.open`, which says what there
is to say.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from stockroom.store.rail import RailRow, first_orders
from stockroom.store.version import SCHEMA

_WAIT_S = 0.1
"""Somebody who changes the tables just now is not waited for."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen, all at one moment."""

    shop_name: str
    time_zone: str
    orders: tuple[RailRow, ...]


def look_into(path: str | os.PathLike[str], most: int) -> Seen | None:
    """The shop in this file with at most so many of its orders; `None` where it takes more than a look."""
    address = f"{Path(path).resolve().as_uri()}?mode=rw"
    try:
        with closing(sqlite3.connect(address, uri=True, isolation_level=None, timeout=_WAIT_S)) as link:
            link.execute("PRAGMA query_only = ON")
            link.execute("BEGIN")
            about = link.execute("SELECT schema, shop_name, time_zone FROM about").fetchone()
            if about is None or about[0] != SCHEMA:
                return None
            return Seen(about[1], about[2], tuple(first_orders(link.execute, most)))
    except (sqlite3.Error, OSError, ValueError):
        return None
