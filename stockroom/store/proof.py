"""The proof of the books: whether what is kept beside each other still agrees, fault by fault, in sentences.

Each check is one question put to the database as a set, however much it holds, and gives a sentence for each fault.
Nothing here trusts a constraint or a trigger: a damaged or tampered shop is what it is for.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, text

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import KINDS, read_tag
from stockroom.store.colour_proof import masters_stand, readings_can_be, verdicts_are_on_lots
from stockroom.store.database import Tx
from stockroom.store.group_proof import groups_are_of_one_lot


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that is proved."""

    what: str
    """What holds where nothing is found: 'balances follow from movements'."""
    find: Callable[[Tx], Iterator[str]]
    """Gives a sentence for each fault."""


def rows_looked_at(tx: Tx) -> dict[str, int]:
    """How many rows of each kind the proof is about."""
    kinds = ("holding", "movement", "planned_cut", "planned_panel", "reservation", "requirement", "customer_order")
    query = " UNION ALL ".join(f"SELECT '{kind}' AS kind, count(*) AS n FROM {kind}" for kind in kinds)
    return {kind.replace("_", " "): number for kind, number in tx.execute(text(query))}


def _held_is_sum(tx: Tx) -> Iterator[str]:
    query = """
        SELECT h.kind, h.tag, h.item, i.kind AS item_kind, h.held, h.value_minor, h.last_number,
               CAST(coalesce(sum(m.quantity), 0) AS BIGINT) AS moved,
               CAST(coalesce(sum(m.value_minor), 0) AS BIGINT) AS worth,
               count(m.id) AS movements
        FROM holding h JOIN item i ON i.code = h.item LEFT JOIN movement m ON m.holding_id = h.id
        GROUP BY h.id, h.kind, h.tag, h.item, i.kind, h.held, h.value_minor, h.last_number
        HAVING h.held <> coalesce(sum(m.quantity), 0) OR h.value_minor <> coalesce(sum(m.value_minor), 0)
            OR h.last_number <> count(m.id)
        ORDER BY h.id"""
    for row in tx.execute(text(query)):
        if row.held != row.moved:
            held, moved = _amount(row.held, row), _amount(row.moved, row)
            yield f"{_name(row)} is said to hold {held}, but its movements come to {moved}."
        if row.value_minor != row.worth:
            yield f"{_name(row)} is said to be worth {row.value_minor}, but its movements come to {row.worth}."
        if row.last_number != row.movements:
            yield f"{_name(row)} has {row.movements} movements, but its latest is said to be number {row.last_number}."


def _chain_has_no_gaps(tx: Tx) -> Iterator[str]:
    query = """
        SELECT c.id, c.number, c.nth, c.balance, c.running, c.worth, h.kind, h.tag, h.item, i.kind AS item_kind
        FROM (SELECT id, holding_id, number, balance,
                     row_number() OVER (PARTITION BY holding_id ORDER BY number, id) AS nth,
                     CAST(sum(quantity) OVER (PARTITION BY holding_id ORDER BY number, id) AS BIGINT) AS running,
                     CAST(sum(value_minor) OVER (PARTITION BY holding_id ORDER BY number, id) AS BIGINT) AS worth
              FROM movement) c
        JOIN holding h ON h.id = c.holding_id JOIN item i ON i.code = h.item
        WHERE c.number <> c.nth OR c.balance <> c.running OR c.running < 0 OR c.worth < 0
           OR (c.running = 0 AND c.worth <> 0)
        ORDER BY c.holding_id, c.number, c.id"""
    for row in tx.execute(text(query)):
        which = f"Movement {row.id} of {_name(row)}"
        if row.number != row.nth:
            yield f"{which} is number {row.number}, where {row.nth} was expected: the numbers have a gap."
        if row.balance != row.running:
            balance, running = _amount(row.balance, row), _amount(row.running, row)
            yield f"{which} says a balance of {balance}, but the movements up to it come to {running}."
        if row.running < 0:
            yield f"{which} leaves less than nothing."
        if row.worth < 0 or (row.running == 0 and row.worth != 0):
            yield f"{which} leaves {_amount(row.running, row)} worth {row.worth}."


def _kinds_have_signs(tx: Tx) -> Iterator[str]:
    query = """
        SELECT m.id, m.kind AS movement_kind, m.quantity, h.kind, h.tag, h.item
        FROM movement m JOIN holding h ON h.id = m.holding_id
        WHERE (m.kind IN ('cut', 'issued', 'scrapped') AND m.quantity >= 0)
           OR (m.kind IN ('received', 'made') AND m.quantity <= 0)
        ORDER BY m.id"""
    for row in tx.execute(text(query)):
        yield f"Movement {row.id} of {_name(row)} is {row.movement_kind!r} with a quantity of {row.quantity}."


def _reversals_match(tx: Tx) -> Iterator[str]:
    query = """
        SELECT m.id, m.kind AS movement_kind, m.quantity, m.holding_id, m.reverses_id,
               r.id AS first_id, r.kind AS first_kind, r.quantity AS first_quantity, r.holding_id AS first_holding,
               h.kind, h.tag, h.item
        FROM movement m JOIN holding h ON h.id = m.holding_id LEFT JOIN movement r ON r.id = m.reverses_id
        WHERE ((m.kind = 'reversed') <> (m.reverses_id IS NOT NULL))
           OR (m.reverses_id IS NOT NULL AND (r.id IS NULL OR r.kind = 'reversed' OR r.holding_id <> m.holding_id
               OR r.quantity <> -m.quantity))
        ORDER BY m.id"""
    for row in tx.execute(text(query)):
        which = f"Movement {row.id} of {_name(row)}"
        if row.reverses_id is None or row.movement_kind != "reversed":
            names = "names" if row.reverses_id else "does not name"
            yield f"{which} is {row.movement_kind!r}, but it {names} one it reverses."
        elif row.first_id is None:
            yield f"{which} reverses movement {row.reverses_id}, which does not exist."
        elif row.first_kind == "reversed":
            yield f"{which} reverses movement {row.first_id}, which is a reversal itself."
        elif row.first_holding != row.holding_id:
            yield f"{which} reverses movement {row.first_id}, which is of another holding."
        else:
            yield f"{which} has a quantity of {row.quantity}, but the one it reverses has {row.first_quantity}."
    twice = """
        SELECT reverses_id, count(*) AS n FROM movement WHERE reverses_id IS NOT NULL
        GROUP BY reverses_id HAVING count(*) > 1 ORDER BY reverses_id"""
    for row in tx.execute(text(twice)):
        yield f"Movement {row.reverses_id} is reversed {row.n} times."


def _reserved_is_promised(tx: Tx) -> Iterator[str]:
    query = """
        SELECT h.kind, h.tag, h.item, i.kind AS item_kind, h.held, h.reserved, h.quarantined,
               CAST(coalesce(p.promised, 0) + coalesce(r.promised, 0) + coalesce(m.promised, 0)
                    + coalesce(f.promised, 0) AS BIGINT) AS promised
        FROM holding h JOIN item i ON i.code = h.item
        LEFT JOIN (SELECT holding_id, sum(to_mm - from_mm) AS promised FROM planned_cut WHERE state = 'planned'
                   GROUP BY holding_id) p ON p.holding_id = h.id
        LEFT JOIN (SELECT holding_id, sum(quantity) AS promised FROM reservation GROUP BY holding_id) r
               ON r.holding_id = h.id
        LEFT JOIN (SELECT holding_id, sum(to_mm - from_mm) AS promised FROM margin GROUP BY holding_id) m
               ON m.holding_id = h.id
        LEFT JOIN (SELECT DISTINCT holding_id, 1 AS promised FROM from_stock WHERE movement_id IS NULL) f
               ON f.holding_id = h.id
        WHERE h.reserved <> coalesce(p.promised, 0) + coalesce(r.promised, 0) + coalesce(m.promised, 0)
                            + coalesce(f.promised, 0)
           OR h.reserved > h.held OR h.reserved < 0
           OR (h.quarantined AND (h.reserved <> 0 OR p.promised > 0 OR r.promised > 0 OR m.promised > 0
                                  OR f.promised > 0))
        ORDER BY h.id"""
    for row in tx.execute(text(query)):
        reserved = _amount(row.reserved, row)
        if row.reserved != row.promised:
            promised = _amount(row.promised, row)
            yield f"{_name(row)} is said to have {reserved} reserved, but {promised} of it is promised."
        if row.reserved > row.held:
            yield f"{_name(row)} holds {_amount(row.held, row)}, but {reserved} of it is reserved."
        if row.reserved < 0:
            yield f"{_name(row)} has less than nothing reserved: {reserved}."
        if row.quarantined and (row.reserved or row.promised):
            yield f"{_name(row)} is in quarantine, but something of it is promised."


def _cuts_lie_on_rolls(tx: Tx) -> Iterator[str]:
    query = """
        SELECT c.id, c.from_mm, c.to_mm, c.before_mm, h.kind, h.tag, h.item, h.held
        FROM (SELECT id, holding_id, from_mm, to_mm,
                     max(to_mm) OVER (PARTITION BY holding_id ORDER BY from_mm, id
                                      ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS before_mm
              FROM planned_cut WHERE state = 'planned') c
        JOIN holding h ON h.id = c.holding_id
        WHERE h.kind <> 'roll' OR c.from_mm < 0 OR c.to_mm <= c.from_mm OR c.to_mm > h.held OR c.before_mm > c.from_mm
        ORDER BY h.id, c.from_mm, c.id"""
    for row in tx.execute(text(query)):
        which = f"Planned cut {row.id} ({_stretch(row)})"
        if row.kind != "roll":
            yield f"{which} is planned on {_name(row)}, which is no roll."
        elif not 0 <= row.from_mm < row.to_mm <= row.held:
            yield f"{which} does not lie on {_name(row)}, which is {show_length(row.held)} long."
        if row.before_mm is not None and row.before_mm > row.from_mm:
            yield f"{which} overlaps another on {_name(row)}, which ends at {show_length(row.before_mm)}."


def _cuts_keep_off_flaws(tx: Tx) -> Iterator[str]:
    query = """
        SELECT c.id, c.from_mm, c.to_mm, h.kind, h.tag, h.item, r.flaws
        FROM planned_cut c JOIN holding h ON h.id = c.holding_id JOIN roll r ON r.holding_id = h.id
        WHERE c.state = 'planned' AND r.flaws <> '[]' ORDER BY h.id, c.from_mm"""
    for row in tx.execute(text(query)):
        for from_mm, to_mm, what in json.loads(row.flaws):
            if row.from_mm < to_mm and from_mm < row.to_mm:
                yield (
                    f"Planned cut {row.id} ({_stretch(row)}) of {_name(row)} runs over its flaw "
                    f"from {show_length(from_mm)} to {show_length(to_mm)} ({what})."
                )


def _panels_lie_on_cuts(tx: Tx) -> Iterator[str]:
    """A panel's box lies on its cut and within the width of its roll; every planned cut serves a panel."""
    query = """
        SELECT p.id, p.x_mm, p.y_mm, p.turned, q.shape, c.id AS cut_id, c.from_mm, c.to_mm, r.width_mm,
               h.kind, h.tag, h.item, q.piece, q.part
        FROM planned_panel p JOIN planned_cut c ON c.id = p.cut_id JOIN holding h ON h.id = c.holding_id
        JOIN roll r ON r.holding_id = h.id JOIN requirement q ON q.id = p.requirement_id
        WHERE c.state = 'planned' ORDER BY p.id"""
    for row in tx.execute(text(query)):
        shape = json.loads(row.shape) if row.shape else {"width_mm": 0, "length_mm": 0}
        box = (shape["width_mm"], shape["length_mm"])
        across, along = reversed(box) if row.turned % 180 else box
        if not (0 <= row.x_mm <= row.width_mm - across and 0 <= row.y_mm <= row.to_mm - row.from_mm - along):
            yield (
                f"Panel {row.part!r} of piece {row.piece!r} does not lie on planned cut {row.cut_id} ({_stretch(row)}) "
                f"of {_name(row)}."
            )
    empty = """
        SELECT c.id, c.from_mm, c.to_mm, h.kind, h.tag, h.item FROM planned_cut c JOIN holding h ON h.id = c.holding_id
        WHERE c.state = 'planned' AND NOT EXISTS (SELECT 1 FROM planned_panel p WHERE p.cut_id = c.id) ORDER BY c.id"""
    for row in tx.execute(text(empty)):
        yield f"Planned cut {row.id} ({_stretch(row)}) of {_name(row)} serves no panel."


def _holds_serve_requirements(tx: Tx) -> Iterator[str]:
    query = """
        SELECT s.what, s.id, s.requirement_id, s.item, q.id AS found, q.item AS wanted, h.kind, h.tag
        FROM (SELECT 'Reservation' AS what, r.id, r.requirement_id, r.holding_id, h.item
              FROM reservation r JOIN holding h ON h.id = r.holding_id
              UNION ALL
              SELECT 'Planned panel', p.id, p.requirement_id, c.holding_id, h.item
              FROM planned_panel p JOIN planned_cut c ON c.id = p.cut_id JOIN holding h ON h.id = c.holding_id) s
        JOIN holding h ON h.id = s.holding_id LEFT JOIN requirement q ON q.id = s.requirement_id
        WHERE q.id IS NULL OR q.item <> s.item ORDER BY s.what, s.id"""
    for row in tx.execute(text(query)):
        if row.found is None:
            yield f"{row.what} {row.id} on {_name(row)} serves requirement {row.requirement_id}, which does not exist."
        else:
            yield f"{row.what} {row.id} on {_name(row)} serves a requirement of another item, {row.wanted}."


def _requirements_are_not_overheld(tx: Tx) -> Iterator[str]:
    query = """
        SELECT q.id, o.number, q.item, q.piece, q.part, q.quantity, q.needed, q.held, q.covered,
               i.kind AS item_kind, q.need,
               CAST(coalesce(p.n, 0) + coalesce(r.n, 0) + coalesce(k.n, 0) AS BIGINT) AS promised
        FROM requirement q JOIN customer_order o ON o.id = q.order_id JOIN item i ON i.code = q.item
        LEFT JOIN (SELECT requirement_id, count(*) AS n FROM planned_panel GROUP BY requirement_id) p
               ON p.requirement_id = q.id
        LEFT JOIN (SELECT requirement_id, sum(quantity) AS n FROM reservation GROUP BY requirement_id) r
               ON r.requirement_id = q.id
        LEFT JOIN (SELECT requirement_id, sum(quantity) AS n FROM pick GROUP BY requirement_id) k
               ON k.requirement_id = q.id
        WHERE q.held <> coalesce(p.n, 0) + coalesce(r.n, 0) + coalesce(k.n, 0)
           OR q.held > q.needed OR q.needed + q.covered > q.quantity OR q.held < 0
        ORDER BY q.id"""
    for row in tx.execute(text(query)):
        where = f", piece {row.piece}" if row.piece else ""
        which = f"Order {row.number} needs {row.item}{where} ({row.part})"
        shown = [
            str(number) if row.need == "panel" else _amount(number, row)
            for number in (row.held, row.promised, row.needed, row.quantity)
        ]
        held, promised, needed, quantity = shown
        if row.held != row.promised:
            yield f"{which}: {held} is said to be held, but {promised} is promised to it."
        if not 0 <= row.held <= row.needed <= row.quantity - row.covered:
            of_stock = f", from finished things {row.covered}" if row.covered else ""
            yield f"{which}: held {held}, needed {needed}{of_stock} and in all {quantity} do not go together."


def _what_was_taken_was_booked(tx: Tx) -> Iterator[str]:
    counts = """
        SELECT q.id, o.number, q.item, q.taken, i.kind AS item_kind, q.need,
               CAST(coalesce(c.n, 0) + coalesce(k.n, 0) AS BIGINT) AS went
        FROM requirement q JOIN customer_order o ON o.id = q.order_id JOIN item i ON i.code = q.item
        LEFT JOIN (SELECT p.requirement_id, count(*) AS n FROM planned_panel p JOIN planned_cut c ON c.id = p.cut_id
                   WHERE c.state = 'cut' GROUP BY p.requirement_id) c ON c.requirement_id = q.id
        LEFT JOIN (SELECT requirement_id, sum(quantity) AS n FROM pick GROUP BY requirement_id) k
               ON k.requirement_id = q.id
        WHERE q.taken <> coalesce(c.n, 0) + coalesce(k.n, 0) ORDER BY q.id"""
    for row in tx.execute(text(counts)):
        said, went = (str(n) if row.need == "panel" else _amount(n, row) for n in (row.taken, row.went))
        yield f"Order {row.number}, {row.item}: {said} is said to be taken, but {went} was picked or cut."
    movements = """
        SELECT t.what, t.id, t.amount, t.holding_id, -m.quantity AS booked, m.holding_id AS there,
               EXISTS (SELECT 1 FROM movement b WHERE b.reverses_id = t.movement_id) AS taken_back
        FROM (SELECT 'Pick' AS what, id, quantity AS amount, holding_id, movement_id FROM pick
              UNION ALL SELECT 'Cut', id, cut_mm, holding_id, movement_id FROM cut) t
        LEFT JOIN movement m ON m.id = t.movement_id ORDER BY t.what, t.id"""
    for row in tx.execute(text(movements)):
        if row.amount != row.booked or row.holding_id != row.there:
            yield f"{row.what} {row.id} does not agree with the movement that it names."
        if row.taken_back:
            yield f"{row.what} {row.id} names a movement that was taken back."
    cuts = """
        SELECT p.id, p.state, c.id AS made FROM planned_cut p LEFT JOIN cut c ON c.planned_cut_id = p.id
        WHERE (p.state = 'cut') <> (c.id IS NOT NULL) ORDER BY p.id"""
    for row in tx.execute(text(cuts)):
        yield f"Planned cut {row.id} is {row.state}, but {'a cut' if row.made else 'no cut'} of it is written down."


def _done_orders_hold_nothing(tx: Tx) -> Iterator[str]:
    query = """
        SELECT o.number, o.state, count(*) AS n
        FROM customer_order o JOIN requirement q ON q.order_id = o.id
        JOIN (SELECT p.requirement_id FROM planned_panel p JOIN planned_cut c ON c.id = p.cut_id AND c.state = 'planned'
              UNION ALL SELECT requirement_id FROM reservation) s ON s.requirement_id = q.id
        WHERE o.state IN ('cancelled', 'sent', 'kept') GROUP BY o.id, o.number, o.state ORDER BY o.id"""
    for row in tx.execute(text(query)):
        yield f"Order {row.number} is {row.state}, but {row.n} of its requirements' holds are still there."
    promised = """
        SELECT DISTINCT o.id, o.number, o.state, h.tag
        FROM customer_order o JOIN piece p ON p.order_id = o.id JOIN from_stock s ON s.piece_id = p.id
        JOIN holding h ON h.id = s.holding_id
        WHERE o.state <> 'open' AND s.movement_id IS NULL ORDER BY o.id, h.tag"""
    for row in tx.execute(text(promised)):
        yield f"Order {row.number} is {row.state}, but the finished thing {row.tag} is still promised to it."


_ALIKE = """
        WITH alike AS (SELECT p.order_id, p.line, p.path, p.piece, count(*) AS pieces, count(b.piece_id) AS bundled,
                              count(k.piece_id) AS packed, count(w.piece_id) AS sewn
                       FROM piece p LEFT JOIN bundled b ON b.piece_id = p.id LEFT JOIN packed k ON k.piece_id = p.id
                                    LEFT JOIN sewn w ON w.piece_id = p.id
                       GROUP BY p.order_id, p.line, p.path, p.piece)"""
"""The copies of each piece of an order together: they share their requirements."""


def _bundles_are_cut(tx: Tx) -> Iterator[str]:
    spoilt = "SELECT requirement_id, sum(count) AS n FROM spoilt GROUP BY requirement_id"
    query = f"""{_ALIKE}
        SELECT o.number, q.piece, q.part, q.taken
        FROM requirement q JOIN customer_order o ON o.id = q.order_id
        JOIN alike a ON a.order_id = q.order_id AND a.line = q.line AND a.path = q.path AND a.piece = q.piece
        LEFT JOIN ({spoilt}) s ON s.requirement_id = q.id
        WHERE q.need = 'panel' AND q.unit = 0
          AND a.bundled * q.quantity > (q.taken + coalesce(s.n, 0)) * a.pieces
        UNION ALL
        SELECT o.number, q.piece, q.part, q.taken
        FROM requirement q JOIN customer_order o ON o.id = q.order_id
        JOIN piece p ON p.order_id = q.order_id AND p.line = q.line AND p.path || '/made' = q.path
                    AND p.piece = q.piece AND p.copy = q.unit
        JOIN bundled b ON b.piece_id = p.id
        LEFT JOIN ({spoilt}) s ON s.requirement_id = q.id
        WHERE q.need = 'panel' AND q.unit > 0 AND q.needed > q.taken + coalesce(s.n, 0)
        ORDER BY 1, 2, 3"""
    for row in tx.execute(text(query)):
        yield (
            f"Order {row.number}: piece {row.piece!r} is in a bundle, but of its panel {row.part!r} only {row.taken} "
            f"{'is' if row.taken == 1 else 'are'} cut."
        )


def _sewn_pieces_are_cut(tx: Tx) -> Iterator[str]:
    query = f"""{_ALIKE}
        SELECT o.number, q.piece, q.part, q.taken
        FROM requirement q JOIN customer_order o ON o.id = q.order_id
        JOIN alike a ON a.order_id = q.order_id AND a.line = q.line AND a.path = q.path AND a.piece = q.piece
        WHERE q.need = 'panel' AND q.unit = 0 AND a.sewn * q.quantity > q.taken * a.pieces
        UNION ALL
        SELECT o.number, q.piece, q.part, q.taken
        FROM requirement q JOIN customer_order o ON o.id = q.order_id
        JOIN piece p ON p.order_id = q.order_id AND p.line = q.line AND p.path || '/made' = q.path
                    AND p.piece = q.piece AND p.copy = q.unit
        JOIN sewn w ON w.piece_id = p.id
        WHERE q.need = 'panel' AND q.unit > 0 AND q.needed > q.taken
        ORDER BY 1, 2, 3"""
    for row in tx.execute(text(query)):
        yield f"Order {row.number}: piece {row.piece!r} is sewn, but its panel {row.part!r} is not cut."


def _packed_pieces_belong(tx: Tx) -> Iterator[str]:
    strangers = """
        SELECT p.tag, o.number, h.number AS there, r.number AS parcel
        FROM packed k JOIN piece p ON p.id = k.piece_id JOIN customer_order o ON o.id = p.order_id
        JOIN parcel r ON r.id = k.parcel_id JOIN customer_order h ON h.id = r.order_id
        WHERE p.order_id <> r.order_id ORDER BY k.piece_id"""
    for row in tx.execute(text(strangers)):
        yield f"Piece {row.tag} of order {row.number} is packed in parcel {row.parcel} of order {row.there}."
    unfinished = f"""{_ALIKE}
        SELECT o.number, q.piece, q.part, q.item
        FROM requirement q JOIN customer_order o ON o.id = q.order_id
        JOIN alike a ON a.order_id = q.order_id AND a.line = q.line AND a.path = q.path AND a.piece = q.piece
        WHERE q.need <> 'made' AND q.unit = 0 AND a.packed * q.quantity > (q.taken + q.covered) * a.pieces
        ORDER BY q.id"""
    for row in tx.execute(text(unfinished)):
        what = f"piece {row.piece!r}" if row.piece else "the packet of hardware"
        yield f"Order {row.number}: {what} is packed, but {row.item} ({row.part}) for it was not all taken."


def _sent_orders_are_packed(tx: Tx) -> Iterator[str]:
    query = """
        SELECT o.number, count(*) AS n
        FROM customer_order o JOIN piece p ON p.order_id = o.id
        WHERE o.state = 'sent' AND NOT EXISTS (SELECT 1 FROM packed k WHERE k.piece_id = p.id)
          AND NOT EXISTS (SELECT 1 FROM sent_short s WHERE s.order_id = o.id)
        GROUP BY o.id, o.number ORDER BY o.id"""
    for row in tx.execute(text(query)):
        yield f"Order {row.number} is sent, but {row.n} of its pieces were never packed, and nobody said why."
    early = """
        SELECT o.number FROM sent_short s JOIN customer_order o ON o.id = s.order_id
        WHERE o.state <> 'sent' ORDER BY o.id"""
    for row in tx.execute(text(early)):
        yield f"Order {row.number} has something owed as if it were sent, but it is not."


def _margins_lie_clear(tx: Tx) -> Iterator[str]:
    """A margin lies on a roll, clear of flaws, cuts and other margins, is of an open order and of a lot that it has."""
    overlaps = """
        SELECT m.id, m.from_mm, m.to_mm, h.kind, h.tag, h.item
        FROM margin m JOIN holding h ON h.id = m.holding_id
        WHERE h.kind <> 'roll' OR m.from_mm < 0 OR m.to_mm <= m.from_mm OR m.to_mm > h.held
           OR EXISTS (SELECT 1 FROM planned_cut c WHERE c.holding_id = m.holding_id AND c.state = 'planned'
                      AND c.from_mm < m.to_mm AND m.from_mm < c.to_mm)
           OR EXISTS (SELECT 1 FROM margin n WHERE n.holding_id = m.holding_id AND n.id <> m.id
                      AND n.from_mm < m.to_mm AND m.from_mm < n.to_mm)
        ORDER BY m.id"""
    for row in tx.execute(text(overlaps)):
        yield f"Margin {row.id} ({_stretch(row)}) of {_name(row)} does not lie clear on its roll."
    flawed = """
        SELECT m.id, m.from_mm, m.to_mm, h.kind, h.tag, h.item, r.flaws
        FROM margin m JOIN holding h ON h.id = m.holding_id JOIN roll r ON r.holding_id = h.id
        WHERE r.flaws <> '[]' ORDER BY m.id"""
    for row in tx.execute(text(flawed)):
        if any(first < row.to_mm and row.from_mm < last for first, last, _ in json.loads(row.flaws)):
            yield f"Margin {row.id} ({_stretch(row)}) of {_name(row)} runs over a flaw."
    idle = """
        SELECT m.id, o.number, o.state, h.kind, h.tag, h.item
        FROM margin m JOIN holding h ON h.id = m.holding_id LEFT JOIN customer_order o ON o.id = m.order_id
        WHERE m.sent_id IS NULL AND (o.id IS NULL OR o.state <> 'open'
           OR NOT EXISTS (SELECT 1 FROM requirement q WHERE q.order_id = o.id AND q.item = h.item AND q.need = 'panel'))
        ORDER BY m.id"""
    for row in tx.execute(text(idle)):
        yield f"Margin {row.id} of {_name(row)} is held for order {row.number}, which has no use for it."


def _swatches_are_where_they_are_said_to_be(tx: Tx) -> Iterator[str]:
    """A swatch lies in a place, is with a customer or is gone; what is held for one is of its lot, and is awaited."""
    astray = """
        SELECT s.tag, s.place, s.gone_because,
               (SELECT count(*) FROM swatch_sent n WHERE n.swatch_id = s.id AND n.answer IS NULL) AS awaited
        FROM swatch s JOIN holding h ON h.id = s.holding_id LEFT JOIN movement v ON v.id = s.movement_id
        WHERE h.item <> s.item OR (s.gone_because <> '' AND s.place IS NOT NULL)
           OR (s.movement_id IS NOT NULL AND (v.holding_id <> s.holding_id OR v.quantity <> -s.length_mm))
           OR EXISTS (SELECT 1 FROM swatch_sent n WHERE n.swatch_id = s.id AND n.answer IS NULL
                      AND (s.place IS NOT NULL OR s.gone_because <> ''))
           OR (SELECT count(*) FROM swatch_sent n WHERE n.swatch_id = s.id AND n.answer IS NULL) > 1
        ORDER BY s.id"""
    for row in tx.execute(text(astray)):
        yield f"Swatch {row.tag} is not where its papers say, or its cut is not as it was booked."
    idle = """
        SELECT m.id, h.kind, h.tag, h.item, s.tag AS swatch, o.number
        FROM margin m JOIN holding h ON h.id = m.holding_id
        JOIN swatch_sent n ON n.id = m.sent_id JOIN swatch s ON s.id = n.swatch_id
        JOIN customer_order o ON o.id = n.order_id
        WHERE n.answer IS NOT NULL OR n.order_id <> m.order_id OR o.state <> 'open'
           OR h.item <> s.item OR h.lot <> s.lot
        ORDER BY m.id"""
    for row in tx.execute(text(idle)):
        yield f"{_name(row)} is held for swatch {row.swatch} of order {row.number}, which has no use for it."
    stray = """
        SELECT s.tag, o.number FROM swatch_sent n JOIN swatch s ON s.id = n.swatch_id
        JOIN customer_order o ON o.id = n.order_id
        WHERE n.answer IS NULL AND (o.state <> 'open' OR NOT EXISTS (
            SELECT 1 FROM order_line l JOIN waiting w ON w.line_id = l.id
            WHERE l.order_id = n.order_id AND l.number = n.line AND w.kind = 'swatch' AND w.name = n.name
              AND w.answered_at IS NULL))
        ORDER BY n.id"""
    for row in tx.execute(text(stray)):
        yield f"Swatch {row.tag} is awaited for order {row.number}, but no line of it waits for that."


def _substitutes_are_agreed_and_taken(tx: Tx) -> Iterator[str]:
    """What is taken instead has somebody's yes, and the order takes it, no longer what it stands in for."""
    query = """
        SELECT o.number, s.line, s.item, s.instead, s.yes_from
        FROM substitution s JOIN customer_order o ON o.id = s.order_id
        WHERE s.yes_from = '' OR s.item = s.instead OR (o.state = 'open' AND EXISTS (
            SELECT 1 FROM requirement q WHERE q.order_id = s.order_id AND q.line = s.line AND q.item = s.item)
            AND NOT EXISTS (SELECT 1 FROM substitution n WHERE n.order_id = s.order_id AND n.line = s.line
                            AND n.instead = s.item))
        ORDER BY s.id"""
    for row in tx.execute(text(query)):
        yield (
            f"Line {row.line} of order {row.number} is to take {row.instead} instead of {row.item}, with the yes of "
            f"{row.yes_from or 'nobody'}, but does not."
        )


def _customers_parts_lie_somewhere(tx: Tx) -> Iterator[str]:
    query = """
        SELECT g.tag, g.what, g.place, g.given_back_by, g.given_back_at FROM customer_part g
        WHERE (g.given_back_by IS NULL) <> (g.given_back_at IS NULL)
           OR (g.place IS NULL) <> (g.given_back_at IS NOT NULL)
        ORDER BY g.id"""
    for row in tx.execute(text(query)):
        which = f"Customer's part {row.tag} ({row.what})"
        if (row.given_back_by is None) != (row.given_back_at is None):
            yield f"{which} is said to be given back, but not by whom and when."
        elif row.place is None:
            yield f"{which} lies in no place, but nobody gave it back."
        else:
            yield f"{which} was given back, but it is said to lie in {row.place}."


def _counts_were_booked(tx: Tx) -> Iterator[str]:
    """What a count put right was booked on what was counted, once its sheet was closed and by nothing else."""
    query = """
        SELECT c.id, c.sheet_id, s.state, h.kind, h.tag, h.item
        FROM counted c JOIN count_sheet s ON s.id = c.sheet_id JOIN holding h ON h.id = c.holding_id
        JOIN movement m ON m.id = c.movement_id
        WHERE m.holding_id <> c.holding_id OR m.kind <> 'counted' OR s.state <> 'closed' ORDER BY c.id"""
    for row in tx.execute(text(query)):
        yield f"Count sheet {row.sheet_id} ({row.state}) names a movement for {_name(row)} that is no count of it."
    sheets = """
        SELECT id, state FROM count_sheet
        WHERE (place IS NULL) = (item IS NULL) OR (state = 'open') <> (ended_at IS NULL) ORDER BY id"""
    for row in tx.execute(text(sheets)):
        yield f"Count sheet {row.id} is {row.state}, but it does not say what of, or until when."


def _finished_things_agree(tx: Tx) -> Iterator[str]:
    """A finished thing is there or not, is described, and is what the orders that use it say."""
    things = """
        SELECT h.kind, h.tag, h.item, h.held, f.holding_id, u.pieces, u.fetched, u.orders
        FROM holding h LEFT JOIN finished f ON f.holding_id = h.id
        LEFT JOIN (SELECT s.holding_id, count(*) AS pieces, count(s.movement_id) AS fetched,
                          count(DISTINCT p.order_id) AS orders
                   FROM from_stock s JOIN piece p ON p.id = s.piece_id GROUP BY s.holding_id) u ON u.holding_id = h.id
        WHERE (h.kind = 'made') <> (f.holding_id IS NOT NULL) OR (h.kind = 'made' AND h.held NOT IN (0, 1))
           OR (u.pieces > 0 AND h.kind <> 'made') OR u.orders > 1
           OR (u.fetched > 0 AND (u.fetched <> u.pieces OR h.held <> 0))
        ORDER BY h.id"""
    for row in tx.execute(text(things)):
        if (row.kind == "made") != (row.holding_id is not None):
            yield f"{_name(row)} is {'not ' if row.holding_id is None else ''}described as a finished thing."
        elif row.kind == "made" and row.held not in (0, 1):
            yield f"{_name(row)} is one thing, but it is said to hold {row.held}."
        else:
            yield f"{_name(row)} is used in ways that do not go together."
    movements = """
        SELECT h.kind, h.tag, h.item, o.number
        FROM from_stock s JOIN holding h ON h.id = s.holding_id JOIN piece p ON p.id = s.piece_id
        JOIN customer_order o ON o.id = p.order_id JOIN movement m ON m.id = s.movement_id
        WHERE m.holding_id <> h.id OR m.kind <> 'issued' OR m.quantity <> -1 OR m.order_id IS NULL
           OR m.order_id <> o.id OR EXISTS (SELECT 1 FROM movement b WHERE b.reverses_id = m.id)
        ORDER BY s.piece_id"""
    for row in tx.execute(text(movements)):
        yield f"{_name(row)} is said to be fetched for order {row.number}, but no movement says so."
    yield from _amounts_agree(tx)


def _amounts_agree(tx: Tx) -> Iterator[str]:
    """What finished things cover, and what went with what was kept or scrapped, agrees with the requirements."""
    rows = "SELECT s.amounts, p.order_id FROM {} s JOIN piece p ON p.id = s.piece_id"
    covered, gone = Counter[int](), Counter[int]()
    for counted, table in ((covered, "from_stock"), (gone, "left_over")):
        for row in tx.execute(text(rows.format(table))):
            for requirement_id, amount in json.loads(row.amounts):
                counted[requirement_id] += amount
    query = """
        SELECT q.id, o.number, q.item, q.covered, q.taken, i.kind AS item_kind, q.need
        FROM requirement q JOIN customer_order o ON o.id = q.order_id JOIN item i ON i.code = q.item
        WHERE q.covered <> 0
           OR q.order_id IN (SELECT p.order_id FROM piece p JOIN from_stock s ON s.piece_id = p.id)
           OR q.order_id IN (SELECT p.order_id FROM piece p JOIN left_over l ON l.piece_id = p.id)
        ORDER BY q.id"""
    for row in tx.execute(text(query)):
        if row.covered != covered[row.id]:
            yield (
                f"Order {row.number}, {row.item}: finished things are said to have {row.covered} of it, "
                f"but those it uses have {covered[row.id]}."
            )
        if gone[row.id] > row.taken:
            yield (
                f"Order {row.number}, {row.item}: {gone[row.id]} is said to be in what was kept or scrapped, "
                f"but {row.taken} was taken."
            )


def _left_over_is_of_no_order(tx: Tx) -> Iterator[str]:
    query = """
        SELECT p.tag, o.number, o.state FROM left_over l JOIN piece p ON p.id = l.piece_id
        JOIN customer_order o ON o.id = p.order_id LEFT JOIN finished f ON f.holding_id = l.holding_id
        WHERE NOT (o.state IN ('cancelled', 'kept') OR (o.state = 'open' AND o.for_stock))
           OR (l.holding_id IS NOT NULL AND (f.order_id IS NULL OR f.order_id <> o.id))
        ORDER BY p.id"""
    for row in tx.execute(text(query)):
        yield f"Piece {row.tag} of order {row.number} ({row.state}) is said to be left over, which it is not."
    unkept = """
        SELECT o.number, count(*) AS n FROM customer_order o JOIN piece p ON p.order_id = o.id
        WHERE o.state = 'kept' AND NOT EXISTS (SELECT 1 FROM left_over l WHERE l.piece_id = p.id)
        GROUP BY o.id, o.number ORDER BY o.id"""
    for row in tx.execute(text(unkept)):
        yield f"Order {row.number} is kept, but of {row.n} of its pieces nobody says where they are."


def _tags_are_good(tx: Tx) -> Iterator[str]:
    query = """
        SELECT CASE WHEN h.kind = 'roll' THEN 'R' WHEN h.kind = 'past' THEN '' WHEN i.kind = 'kit' THEN 'K'
                    WHEN h.kind = 'made' THEN 'P' ELSE 'B' END
            AS letter, h.tag AS tag
        FROM holding h JOIN item i ON i.code = h.item WHERE h.kind <> 'past' OR h.tag IS NOT NULL
        UNION ALL SELECT 'L', tag FROM place UNION ALL SELECT 'C', tag FROM car
        UNION ALL SELECT 'O', tag FROM customer_order UNION ALL SELECT 'P', tag FROM piece
        UNION ALL SELECT 'G', tag FROM customer_part UNION ALL SELECT 'S', tag FROM swatch
        UNION ALL SELECT 'T', tag FROM bundle UNION ALL SELECT 'K', tag FROM parcel"""
    given = tx.execute(text(query)).all()
    last: dict[str, int] = dict(tx.execute(text("SELECT name, last FROM counter")).all())
    for tag, times in Counter(row.tag for row in given).items():
        if times > 1:
            yield f"The tag {tag} is on {times} things."
    for letter, tag in given:
        yield from _tag_fault(letter, tag, last)


def _tag_fault(letter: str, tag: str | None, last: dict[str, int]) -> Iterator[str]:
    what = KINDS.get(letter, "past")
    try:
        read = read_tag(tag or "")
    except Refusal as refusal:
        yield f"A {what} has no good tag: {refusal.sentence}"
        return
    if str(read) != tag or read.kind != letter:
        yield f"The tag {tag} is on a {what}; it should be {read} on a {KINDS[read.kind]}."
    elif read.serial > last.get(f"tag {letter}", 0):
        yield f"The tag {tag} is on a {what}, but its number was never given: it would be given again."


def _database_is_whole(tx: Tx) -> Iterator[str]:
    """What the database itself says of its pages, indexes and references, and whether it still guards the ledger."""
    if tx.dialect.name == "sqlite":
        for (said,) in tx.execute(text("PRAGMA integrity_check(100)")):
            if said != "ok":
                yield f"The database file is damaged: {said}."
        broken = Counter((row[0], row[2]) for row in tx.execute(text("PRAGMA foreign_key_check")))
        for (table, names), number in sorted(broken.items()):
            yield f"{number} rows of {table} name a {names} that does not exist."
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'movement'"
        wanted = {"movement_no_update", "movement_no_delete"}
    else:
        query = (
            "SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass('movement') AND tgenabled <> 'D' "
            "AND NOT tgisinternal"
        )
        wanted = {"movement_no_change"}
    if wanted - set(tx.execute(text(query)).scalars()):
        yield "The database no longer refuses changes of movements: its triggers are gone or switched off."


def _receipts_were_booked(tx: Tx) -> Iterator[str]:
    booked = """
        SELECT r.id, r.quantity, m.id AS movement, m.quantity AS moved, m.kind AS movement_kind, h.kind, h.tag, h.item,
               i.kind AS item_kind
        FROM receipt r JOIN movement m ON m.id = r.movement_id JOIN holding h ON h.id = r.holding_id
        JOIN item i ON i.code = h.item
        WHERE m.kind <> 'received' OR m.holding_id <> r.holding_id OR m.quantity <> r.quantity
        ORDER BY r.id"""
    for row in tx.execute(text(booked)):
        yield (
            f"{_name(row)} is said to have come in with {_amount(row.quantity, row)}, but movement {row.movement} "
            f"({row.movement_kind}) is of {_amount(row.moved, row)}, or of something else."
        )
    bought = """
        SELECT p.reference, p.item, p.received, i.kind AS item_kind, CAST(sum(r.quantity) AS BIGINT) AS came
        FROM purchase p JOIN receipt r ON r.purchase_id = p.id JOIN holding h ON h.id = r.holding_id AND h.item = p.item
        JOIN item i ON i.code = p.item LEFT JOIN movement undone ON undone.reverses_id = r.movement_id
        WHERE undone.id IS NULL
        GROUP BY p.id, p.reference, p.item, p.received, i.kind
        HAVING sum(r.quantity) > p.received
        ORDER BY p.id"""
    for row in tx.execute(text(bought)):
        yield (
            f"Of purchase {row.reference}, {row.item}, {_amount(row.received, row)} is said to have come, but "
            f"{_amount(row.came, row)} was received with it."
        )


OF_THE_LEDGER: tuple[Check, ...] = (
    Check("what each holding holds and is worth is the sum of its movements", _held_is_sum),
    Check("balances follow from one movement to the next, with no gap in their numbers", _chain_has_no_gaps),
    Check("every movement goes the way its kind says", _kinds_have_signs),
    Check("every reversal takes back one movement, once and wholly", _reversals_match),
)
"""What goes through every movement there ever was. Nothing but `ledger` appends one, under its own rules."""
OF_WHAT_STANDS: tuple[Check, ...] = (
    Check(
        "what is reserved is what is promised, never more than is held, and nothing in quarantine",
        _reserved_is_promised,
    ),
    Check("planned cuts lie on their rolls and do not overlap", _cuts_lie_on_rolls),
    Check("planned cuts keep off flaws", _cuts_keep_off_flaws),
    Check("panels lie on their cuts", _panels_lie_on_cuts),
    Check("whatever is held serves a requirement of the same item", _holds_serve_requirements),
    Check("no requirement holds more than it needs", _requirements_are_not_overheld),
    Check("what was taken was picked or cut, and booked so", _what_was_taken_was_booked),
    Check("each car's matching groups are of one lot, or of an approved mix", groups_are_of_one_lot),
    Check("cancelled and sent orders hold nothing", _done_orders_hold_nothing),
    Check("the panels in a bundle are cut, but for those spoilt since", _bundles_are_cut),
    Check("the panels of sewn pieces are cut", _sewn_pieces_are_cut),
    Check("packed pieces are of their parcel's order, and whole", _packed_pieces_belong),
    Check("a sent order has every piece packed, or somebody's word for what is owed", _sent_orders_are_packed),
    Check("margins lie clear on their rolls, and are of open orders that use their cloth", _margins_lie_clear),
    Check("swatches are somewhere, and what is held for one is of its lot", _swatches_are_where_they_are_said_to_be),
    Check("what stands in for something has a customer's yes, and is what is taken", _substitutes_are_agreed_and_taken),
    Check("what was received was booked so, and counted to its purchase", _receipts_were_booked),
    Check("customers' parts lie in a place until they are given back", _customers_parts_lie_somewhere),
    Check("what a count put right was booked on what was counted", _counts_were_booked),
    Check(
        "finished things are there or used, once, and cover what the orders that use them say", _finished_things_agree
    ),
    Check("what was kept or scrapped is of no order that wants it", _left_over_is_of_no_order),
    Check("readings of rolls can be, and were taken under a known light", readings_can_be),
    Check("each colour's master is the one that was written down last", masters_stand),
    Check("eye verdicts are on two lots that there were", verdicts_are_on_lots),
    Check("every tag is well formed and on one thing", _tags_are_good),
)
"""What is proved of what there is now: what is promised, taken, tied, packed and written down."""
CHECKS: tuple[Check, ...] = (
    *OF_THE_LEDGER,
    *OF_WHAT_STANDS,
    Check("the database is whole and guards the ledger", _database_is_whole),
)
"""Everything that is proved, in the order in which it is told."""


_KIND_NAMES = {"roll": "Roll", "made": "Finished thing"}


def _name(row: Row[Any]) -> str:
    if row.kind == "past":
        return f"The past of {row.item}"
    return f"{_KIND_NAMES.get(row.kind, 'Bin')} {row.tag} ({row.item})"


def _amount(number: int, row: Row[Any]) -> str:
    return show_length(number) if row.item_kind in BY_LENGTH else str(number)


def _stretch(row: Row[Any]) -> str:
    return f"{show_length(row.from_mm)} to {show_length(row.to_mm)}"
