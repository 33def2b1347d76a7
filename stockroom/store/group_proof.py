"""The proof that what is seen together is of one dye lot, or of lots that somebody approved together."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import combinations

from sqlalchemy import text

from stockroom.store.database import Tx


def groups_are_of_one_lot(tx: Tx) -> Iterator[str]:
    """A group of several lots of which not every two were approved together, in any of its car's orders."""
    query = """
        WITH used AS (
            SELECT l.car_id, q."group" AS grp, q.item, h.lot, q.order_id,
                   CASE WHEN o.for_stock THEN o.id ELSE 0 END AS alone
            FROM requirement q
            JOIN customer_order o ON o.id = q.order_id AND o.state NOT IN ('cancelled', 'kept')
            JOIN order_line l ON l.order_id = q.order_id AND l.number = q.line
            JOIN (SELECT p.requirement_id, c.holding_id FROM planned_panel p JOIN planned_cut c ON c.id = p.cut_id
                  UNION SELECT requirement_id, holding_id FROM reservation
                  UNION SELECT requirement_id, holding_id FROM pick) s ON s.requirement_id = q.id
            JOIN holding h ON h.id = s.holding_id
            WHERE q."group" <> '' AND q.need IN ('panel', 'length'))
        SELECT DISTINCT a.id, a.key, u.grp, u.item, u.alone, u.lot, u.order_id
        FROM used u
        JOIN (SELECT car_id, grp, item, alone FROM used GROUP BY car_id, grp, item, alone
              HAVING count(DISTINCT lot) > 1) m
          ON m.car_id = u.car_id AND m.grp = u.grp AND m.item = u.item AND m.alone = u.alone
        JOIN car a ON a.id = u.car_id
        ORDER BY a.id, u.grp, u.item, u.alone, u.lot, u.order_id"""
    mixed: dict[tuple[int, str, str, str, int], tuple[set[str], set[int]]] = {}
    for row in tx.execute(text(query)):
        lots, orders = mixed.setdefault((row.id, row.key, row.grp, row.item, row.alone), (set(), set()))
        lots.add(row.lot)
        orders.add(row.order_id)
    approvals = 'SELECT order_id, item, "group" AS grp, lots FROM mix_approval ORDER BY id'
    approved = tx.execute(text(approvals)).all() if mixed else []
    for (_, key, group, item, _), (lots, orders) in mixed.items():
        mine = [one for one in approved if one.order_id in orders and one.item == item and (one.grp or group) == group]
        # An approval from before lots were written down is for all of them.
        mixes = [set(json.loads(one.lots or "[]")) or lots for one in mine]
        if all(any({one, other} <= mix for mix in mixes) for one, other in combinations(sorted(lots), 2)):
            continue
        yield (
            f"{item} for the matching group {group!r} of car {key} is held from {len(lots)} lots "
            f"({min(lots)} and {max(lots)}{' and others' if len(lots) > 2 else ''}), and nobody approved the mix."
        )
