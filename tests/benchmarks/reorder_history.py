"""Three years of weekly history, suppliers for everything and a forecast for every item, written into a big shop."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from tests.benchmarks.measured_shop import TODAY

WEEKS = 156
_KINDS = ((1.0, 3), (0.9, 8), (0.3, 4), (0.12, 20))
"""Chance of use in a week, and how much at most at a time: smooth, erratic, intermittent and lumpy items."""


def write_history(path: Path) -> int:
    """Gives every item weekly movements over three years and terms where it has none; how many movements there are."""
    chance = random.Random(20261125)
    with closing(sqlite3.connect(path, isolation_level=None)) as link:
        link.execute("PRAGMA synchronous = OFF")
        link.execute("BEGIN")
        items = [code for (code,) in link.execute("SELECT code FROM item ORDER BY code")]
        by_length = {
            code for (code,) in link.execute("SELECT code FROM item WHERE kind IN ('cloth', 'narrow') ORDER BY code")
        }
        holding = int(link.execute("SELECT max(id) FROM holding").fetchone()[0])
        past = dict(link.execute("SELECT item, id FROM holding WHERE kind = 'past'"))
        for item in items:
            if item not in past:
                holding += 1
                past[item] = holding
                link.execute(
                    "INSERT INTO holding (id, kind, item, lot, held, reserved, quarantined, quarantined_because, "
                    "last_number, value_minor) VALUES (?, 'past', ?, '', 0, 0, 0, '', 0, 0)",
                    (holding, item),
                )
        numbers = dict(link.execute("SELECT holding_id, max(number) FROM movement GROUP BY holding_id"))
        link.executemany(
            "INSERT INTO movement (holding_id, number, kind, quantity, balance, value_minor, order_id, job_id, "
            "reverses_id, \"by\", at, note) VALUES (?, ?, ?, ?, 0, 0, NULL, 1, NULL, 'AB', ?, '')",
            (
                (past[item], numbers.get(past[item], 0) + 1 + number, "issued", -quantity * scale, at)
                for place, item in enumerate(items)
                for scale in (1000 if item in by_length else 1,)
                for number, (quantity, at) in enumerate(_uses(chance, *_KINDS[place % len(_KINDS)]))
            ),
        )
        link.execute(
            "INSERT INTO terms (supplier, item, lead_days, least_quantity, multiple, preferred, breaks) "
            "SELECT 'tern', code, 14, 10, 10, 1, '[[1,40],[500,36]]' FROM item "
            "WHERE NOT made_here AND code NOT IN (SELECT item FROM terms)"
        )
        link.execute("UPDATE item SET planned_by = 'forecast'")
        link.execute("COMMIT")
        link.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return int(link.execute("SELECT count(*) FROM movement").fetchone()[0])


def _uses(chance: random.Random, often: float, most: int) -> list[tuple[int, str]]:
    """How much is used, and when, in each week of three years with use."""
    first = TODAY - timedelta(weeks=WEEKS)
    found = []
    for week in range(WEEKS):
        if chance.random() < often:
            day = first + timedelta(weeks=week)
            found.append((chance.randint(1, most), f"{day.isoformat()}T10:00:00.000000Z"))
    return found
