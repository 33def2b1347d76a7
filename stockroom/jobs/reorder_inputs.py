"""All that a weekly run is made from: read in one transaction, and known again by its digest.

The clock is no input, nor is who makes the run.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, is_dataclass
from datetime import date
from typing import Any

from stockroom.domain.about import About
from stockroom.domain.book_bills import bills_of_book
from stockroom.domain.catalogue import ItemGroup
from stockroom.domain.last_buy import LastOrder
from stockroom.domain.made_from import MadeFrom
from stockroom.domain.outlook import HISTORY_WEEKS, Past
from stockroom.domain.refusal import Refusal
from stockroom.domain.standing import Standing
from stockroom.domain.weeks import Week
from stockroom.domain.wording import quoted
from stockroom.jobs.lookup import book_of, catalogue_of
from stockroom.store.about import read_about
from stockroom.store.books import books
from stockroom.store.buying import read_standings, read_wantings
from stockroom.store.catalogue import read_groups
from stockroom.store.database import Shop, Tx
from stockroom.store.last_orders import standing_notices
from stockroom.store.weekly_use import clock_set_back, lead_days, weekly_use

FORM = 7
"""Form of the inputs and of the kept report; a program that writes another form makes the run anew."""


@dataclass(frozen=True, slots=True)
class RunInputs:
    """What goes into the run of one week."""

    week: Week
    about: About
    standings: tuple[Standing, ...]
    """In the order of codes."""
    made_from: Mapping[str, MadeFrom]
    """Item made here → what it is made of."""
    groups: Mapping[str, ItemGroup]
    past: Past
    last_orders: Mapping[str, LastOrder]
    """Item → its supplier's notice."""
    set_back: tuple[tuple[date, date], ...]
    """Where a clock was set back: the day before, the day after."""
    waiting: int
    """Requirements that hang on an answer."""
    unread: tuple[str, ...]
    """Kit books that could not be read: sentences."""

    def text(self) -> str:
        """All of it as JSON, the same text for the same inputs."""
        told = {"form": FORM, "week": str(self.week), **{name: getattr(self, name) for name in _TOLD}}
        return json.dumps(told, sort_keys=True, separators=(",", ":"), default=_plain)


_TOLD = ("about", "standings", "made_from", "groups", "past", "last_orders", "set_back", "waiting", "unread")


def gather(shop: Shop, tx: Tx, week: Week) -> RunInputs:
    """Reads everything. Raises `Refusal` for a shop without its facts."""
    about = read_about(tx)
    if about is None:
        raise Refusal("The shop is empty. Load its own files first: stockroom load FOLDER.")
    wantings = read_wantings(tx)
    made_from, unread = _made_from(shop, tx)
    return RunInputs(
        week=week,
        about=about,
        standings=read_standings(tx, wantings),
        made_from=made_from,
        groups=read_groups(tx),
        past=_past(tx, week, about.time_zone),
        last_orders={one.item: LastOrder(one.until, one.weeks, one.note) for one in standing_notices(tx)},
        set_back=clock_set_back(tx),
        waiting=wantings.waiting,
        unread=unread,
    )


def _past(tx: Tx, week: Week, time_zone: str) -> Past:
    found = weekly_use(tx, week, time_zone, HISTORY_WEEKS)
    return Past(found.by_item, found.moves, found.last_came, lead_days(tx, time_zone))


def digest_of(text: str) -> str:
    """SHA-256 of the inputs as `RunInputs.text` gives them, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def packed(text: str) -> str:
    """The inputs as they are kept beside the report."""
    return base64.b64encode(zlib.compress(text.encode(), 6)).decode()


def unpacked(kept: str) -> str:
    """The inputs that `packed` gave."""
    return zlib.decompress(base64.b64decode(kept)).decode()


def _made_from(shop: Shop, tx: Tx) -> tuple[dict[str, MadeFrom], tuple[str, ...]]:
    """What made items consist of, by the newest version of every kit book; and the books that could not be read."""
    view = catalogue_of(shop, tx).view
    newest = {book.code: book.id for book in reversed(books(tx))}
    found: dict[str, MadeFrom] = {}
    unread = []
    for code in sorted(newest):
        try:
            found |= bills_of_book(book_of(shop, tx, newest[code]), view)
        except Refusal:
            unread.append(f"Kit book {quoted(code)} cannot be read: nothing is needed behind what is made by it.")
    return found, tuple(unread)


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return {name: getattr(value, name) for name in value.__dataclass_fields__}
    raise TypeError(f"{value!r} is no input of a run")
