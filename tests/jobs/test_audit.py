"""The audit finds each kind of fault. Each is put into a scratch shop whose tables have lost their constraints."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, insert, text, update
from sqlalchemy.engine import Engine

from stockroom.domain.catalogue import Flaw, OpeningBin, OpeningRoll
from stockroom.domain.tags import make_tag
from stockroom.jobs.audit import AuditReport, Proof, audit
from stockroom.store import stock
from stockroom.store import tables as t
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry, append, begin_job, reverse
from stockroom.store.proof import CHECKS
from stockroom.store.tags import next_tags
from stockroom.store.types import Base
from tests.databases import Database, count_statements, plain_engine
from tests.small_shop import STAMP, write_small_shop

P1, T1, K1 = (make_tag(letter, 1) for letter in "PTK")
"""The first tags of a piece, a bundle and a parcel."""
ROLL = OpeningRoll(
    "A", "hood-cloth/black", "W1", 10_000, 1_520, "H1", True, False, 5_000, (Flaw(8_200, 8_240, "slub"),)
)
ROLLS = (
    ROLL,
    replace(ROLL, label="B", lot="W2", length_mm=5_000, flaws=()),
    replace(ROLL, label="C", item="edge-binding/black", width_mm=30, flaws=()),
    replace(ROLL, label="D", lot="W3", quarantined="damp"),
)


def write_good_books(tx: Tx) -> None:
    """Four rolls (A, B, the reel C, D in quarantine), a bin of nuts, an order that holds some of each, a reversal."""
    write_small_shop(tx)
    job = begin_job(tx, "load", STAMP)
    stock.write_rolls(tx, job, STAMP, ROLLS)
    stock.write_bins(tx, job, STAMP, [OpeningBin("nut", "", "B1", 100, 300)])
    bin_id = stock.bins_of(tx, "nut")[0].holding_id
    (issued,) = append(tx, job, STAMP, [Entry(bin_id, "issued", -4)])
    reverse(tx, job, STAMP, issued)
    _write_order(tx)
    _write_holds(tx)


def _write_order(tx: Tx) -> None:
    book = {"code": "plover", "version": "1", "title": "Plover", "format": 1, "source": ""}
    tx.execute(insert(t.KitBook), {**book, "loaded_at": STAMP.at, "loaded_by": STAMP.by})
    car = {"key": "RP 1", "key_folded": "rp1", "chassis_number": "RP 1", "series": "s1", "works": "", "hand": ""}
    tx.execute(insert(t.Car), {"tag": next_tags(tx, "C", 1)[0], **car})
    for number, state in enumerate(("open", "cancelled"), start=1):
        tx.execute(
            insert(t.CustomerOrder),
            {
                "number": f"L-{number}",
                "tag": next_tags(tx, "O", 1)[0],
                "customer": "Tom Hollis",
                "customer_folded": "tom hollis",
                "fitted_here": False,
                "book_id": 1,
                "note": "",
                "state": state,
                "taken_at": STAMP.at,
                "taken_by": STAMP.by,
                "fitting": {},
                "digest": str(number),
            },
        )
        line = {"number": 1, "kit": "hood", "title": "Hood", "quantity": 1, "car_id": 1}
        tx.execute(insert(t.OrderLine), {"order_id": number, **line, "request": {}, "on_car": [], "advice": []})
    shape = {"width_mm": 600, "length_mm": 900}
    for need, item, quantity, part, group, panel in (
        ("panel", "hood-cloth/black", 1, "top", "hood", shape),
        ("panel", "hood-cloth/black", 1, "side", "hood", shape),
        ("length", "edge-binding/black", 2_000, "bound", "", None),
        ("count", "nut", 8, "hardware", "", None),
    ):
        _write_requirement(tx, 1, need, item, quantity, part, group, panel)
    _write_requirement(tx, 2, "count", "nut", 8, "hardware", "", None)


def _write_requirement(
    tx: Tx, order_id: int, need: str, item: str, quantity: int, part: str, group: str, shape: dict[str, int] | None
) -> None:
    is_open = order_id == 1
    tx.execute(
        insert(t.Requirement),
        {
            "order_id": order_id,
            "line": 1,
            "path": "hood",
            "piece": "H",
            "part": part,
            "hand": "",
            "unit": 0,
            "need": need,
            "item": item,
            "quantity": quantity,
            "needed": quantity if is_open else 0,
            "held": quantity if is_open else 0,
            "each_mm": 0,
            "group": group,
            "reasons": [],
            "shape": shape,
            "changed": False,
        },
    )


def _write_holds(tx: Tx) -> None:
    """The panels on the first 900 mm of roll A (holding 1), the binding on C (holding 3), the nuts in their bin (5)."""
    who = {"by": STAMP.by, "at": STAMP.at}
    cut = {"holding_id": 1, "from_mm": 0, "to_mm": 900, "state": "planned", "reasons": []}
    tx.execute(insert(t.PlannedCut), {**cut, **who})
    for requirement_id, x_mm in ((1, 0), (2, 605)):
        panel = {"cut_id": 1, "requirement_id": requirement_id, "x_mm": x_mm, "y_mm": 0, "turned": 0}
        tx.execute(insert(t.PlannedPanel), panel)
    for requirement_id, holding_id, quantity in ((3, 3, 2_000), (4, 5, 8)):
        hold = {"requirement_id": requirement_id, "holding_id": holding_id, "quantity": quantity, "reasons": []}
        tx.execute(insert(t.Reservation), {**hold, **who})
    for holding_id, reserved in ((1, 900), (3, 2_000), (5, 8)):
        tx.execute(update(t.Holding).where(t.Holding.id == holding_id).values(reserved=reserved))


@pytest.fixture
def good(shop: Shop) -> Shop:
    with shop.write() as tx:
        write_good_books(tx)
    return shop


@pytest.fixture
def scratch(database: Database) -> Iterator[Engine]:
    """Good books in tables that have lost every constraint and trigger; whatever is done to them is undone by hand."""
    with Shop.open(database.where) as shop, shop.write() as tx:
        write_good_books(tx)
    engine = plain_engine(database)
    with engine.connect() as connection:
        if database.kind == "sqlite":
            connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
        cascade = "" if database.kind == "sqlite" else "CASCADE"
        for table in Base.metadata.sorted_tables:
            connection.exec_driver_sql(f"CREATE TABLE loose AS SELECT * FROM {table.name}")
            connection.exec_driver_sql(f"DROP TABLE {table.name} {cascade}")
            connection.exec_driver_sql(f"ALTER TABLE loose RENAME TO {table.name}")
        connection.commit()
    yield engine
    engine.dispose()


@contextmanager
def damaged(engine: Engine, *statements: str) -> Iterator[Connection]:
    """The scratch shop with something done to it, which is undone after the block."""
    with engine.connect() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
        yield connection
        connection.rollback()


def found_in(connection: Any) -> list[str]:
    """Every fault but those that the missing triggers are."""
    return [fault for check in CHECKS[:-1] for fault in check.find(connection)]


_MOVEMENT = (
    "INSERT INTO movement (id, holding_id, number, kind, quantity, balance, value_minor, job_id, reverses_id, "
    "\"by\", at, note) SELECT {id}, {holding}, {number}, '{kind}', {quantity}, {balance}, {value}, 1, {reverses}, "
    "\"by\", at, '' FROM movement WHERE id = 1"
)


def movement(holding: int, number: int, kind: str, quantity: int, balance: int, **more: object) -> str:
    values = {"id": 90, "value": 0, "reverses": "NULL", **more}
    return _MOVEMENT.format(holding=holding, number=number, kind=kind, quantity=quantity, balance=balance, **values)


_CUT = (
    'INSERT INTO planned_cut (id, holding_id, from_mm, to_mm, state, reasons, "by", at) '
    "SELECT 9, {holding}, {a}, {b}, 'planned', reasons, \"by\", at FROM planned_cut"
)


_CUT_MADE = (
    movement(1, 2, "cut", -900, 9_100, id=91),
    "UPDATE holding SET held = 9100, last_number = 2, reserved = 0 WHERE id = 1",
    "UPDATE planned_cut SET state = 'cut' WHERE id = 1",
    "UPDATE requirement SET taken = 1 WHERE id IN (1, 2)",
    "INSERT INTO cut (id, planned_cut_id, holding_id, planned_mm, cut_mm, movement_id) VALUES (1, 1, 1, 900, 900, 91)",
)
"""The planned cut was made."""


def _picked(pick: int, requirement: int, holding: int, number: int, quantity: int, left: int) -> tuple[str, ...]:
    """What is reserved for a requirement was picked, by the movement of this number of its holding."""
    there = f"{pick}, {requirement}, {holding}, {quantity}, {91 + pick}"
    return (
        movement(holding, number, "issued", -quantity, left, id=91 + pick),
        f"UPDATE holding SET held = {left}, last_number = {number}, reserved = 0 WHERE id = {holding}",
        f"DELETE FROM reservation WHERE requirement_id = {requirement}",
        f"UPDATE requirement SET taken = {quantity} WHERE id = {requirement}",
        f"INSERT INTO pick (id, requirement_id, holding_id, quantity, movement_id) VALUES ({there})",
    )


_NUTS_PICKED = _picked(1, 4, 5, 4, 8, 92)
_BINDING_PICKED = _picked(2, 3, 3, 2, 2_000, 8_000)


def _given(letter: str) -> str:
    """A statement that says that the first tag of a kind was given."""
    return f"INSERT INTO counter (name, last) VALUES ('tag {letter}', 1)"


_PIECE = (
    f"INSERT INTO piece (id, tag, order_id, line, path, piece, copy) VALUES (1, '{P1}', 1, 1, 'hood', 'H', 1)",
    _given("P"),
)
_TIED = (
    f"INSERT INTO bundle (id, tag, order_id, line, path, copy, state) VALUES (1, '{T1}', 1, 1, 'hood', 1, 'tied')",
    "INSERT INTO bundled (piece_id, bundle_id) VALUES (1, 1)",
    _given("T"),
)
_PACKED = (
    f"INSERT INTO parcel (id, tag, order_id, number, what, state) VALUES (1, '{K1}', 1, 1, 'box', 'open')",
    "INSERT INTO packed (piece_id, parcel_id, how) VALUES (1, 1, 'scanned')",
    _given("K"),
)
_SENT = ("UPDATE customer_order SET state = 'sent' WHERE id = 1",)
_OWED = ("INSERT INTO sent_short (id, order_id, owed, because) VALUES (1, 1, '[]', 'the customer cannot wait')",)
_ALL_TAKEN = (*_CUT_MADE, *_NUTS_PICKED, *_BINDING_PICKED)
"""Everything that the order holds was taken."""
_NOT_WHOLE = (
    "Order L-1: piece 'H' is packed, but hood-cloth/black (top) for it was not all taken.",
    "Order L-1: piece 'H' is packed, but hood-cloth/black (side) for it was not all taken.",
    "Order L-1: piece 'H' is packed, but edge-binding/black (bound) for it was not all taken.",
    "Order L-1: piece 'H' is packed, but nut (hardware) for it was not all taken.",
)
_NOT_CUT = (
    "Order L-1: piece 'H' is in a bundle, but of its panel 'top' only 0 are cut.",
    "Order L-1: piece 'H' is in a bundle, but of its panel 'side' only 0 are cut.",
)

_PART = (
    "INSERT INTO customer_part (id, tag, order_id, what, place, received_by, received_at, given_back_by, "
    "given_back_at) SELECT 1, 'G18', 1, 'hood frame', {place}, \"by\", at, {back_by}, {back_at} FROM planned_cut "
    "WHERE id = 1"
)

_MARGIN = (
    'INSERT INTO margin (id, order_id, holding_id, from_mm, to_mm, "by", at) '
    'SELECT 1, {order}, 1, {a}, {b}, "by", at FROM planned_cut WHERE id = 1'
)
_SWATCH = (
    "INSERT INTO swatch (id, tag, item, lot, holding_id, length_mm, place, gone_because) "
    "VALUES (1, 'S1Y', 'hood-cloth/black', 'W1', {holding}, 0, {place}, '')"
)
_SWATCH_TAG = "INSERT INTO counter (name, last) VALUES ('tag S', 1)"
_SWATCH_SENT = (
    'INSERT INTO swatch_sent (id, swatch_id, order_id, line, name, until, hold_mm, "by", at, answer, said_by, note) '
    "SELECT 1, 1, 1, 1, 'hood', '2026-12-09', 500, \"by\", at, {answer}, '', '' FROM planned_cut WHERE id = 1"
)
_FOR_SWATCH = (
    'INSERT INTO margin (id, order_id, holding_id, from_mm, to_mm, "by", at, sent_id) '
    'SELECT 1, 1, 1, 1000, 1500, "by", at, 1 FROM planned_cut WHERE id = 1'
)
_PART_TAG = "INSERT INTO counter (name, last) VALUES ('tag G', 1)"


_SHEET = (
    "INSERT INTO count_sheet (id, place, state, begun_by, begun_at, ended_by, ended_at) "
    "SELECT 1, 'B1', 'closed', \"by\", at, \"by\", at FROM job WHERE id = 1"
)
_COUNTED = (
    'INSERT INTO counted (id, sheet_id, holding_id, "first", expected, movement_id, "by", at) '
    'SELECT 1, 1, 1, 10000, 10000, 1, "by", at FROM job WHERE id = 1'
)
_READING = (
    "INSERT INTO reading (id, holding_id, lightness, a, b, illuminant, observer, instrument) "
    "VALUES ({id}, {holding}, {L}, 1, 1, '{illuminant}', '10', '')"
)
_VERDICT = (
    'INSERT INTO eye_verdict (id, item, lot, other_lot, verdict, eyes, light, "by", at) '
    "SELECT {id}, 'hood-cloth/black', '{lot}', '{other}', '{says}', 'AB', 'daylight', \"by\", at FROM job WHERE id = 1"
)
FAULTS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "a holding's figure was changed": (
        ("UPDATE holding SET held = 10500 WHERE id = 1",),
        ("Roll R1. (hood-cloth/black) is said to hold 10.50 m, but its movements come to 10.00 m.",),
    ),
    "a receipt was changed": (
        (
            "INSERT INTO purchase (id, reference, item, quantity, received) "
            "VALUES (1, 'P-1', 'hood-cloth/black', 20000, 4000)",
            "INSERT INTO receipt (id, purchase_id, holding_id, movement_id, quantity) VALUES (1, 1, 1, 1, 9000)",
        ),
        (
            "Roll R1. (hood-cloth/black) is said to have come in with 9.00 m, but movement 1 (received) is of 10.00 m, "
            "or of something else.",
            "Of purchase P-1, hood-cloth/black, 4.00 m is said to have come, but 9.00 m was received with it.",
        ),
    ),
    "a reading cannot be": (
        (
            _READING.format(id=1, holding=1, L=138, illuminant="D65"),
            _READING.format(id=2, holding=5, L=38, illuminant="D65"),
            _READING.format(id=3, holding=2, L=38, illuminant=""),
        ),
        (
            "Reading 1 of roll R1. (hood-cloth/black) cannot be: L* 138, a* 1, b* 1 is out of range.",
            "Reading 2 is of B1. (nut), which is no roll.",
            "Readings under '' cannot be: ''/'10' is no light and observer.",
        ),
    ),
    "a master was changed": (
        (
            "UPDATE colour SET lightness = 20 WHERE code = 'black'",
            "UPDATE colour SET lightness = 30, a = 1, b = 1, illuminant = 'D65', observer = '10' WHERE code = 'red'",
            "INSERT INTO master_reading (id, colour, cloth, lightness) VALUES (9, 'red', 'felt', 30)",
        ),
        (
            "The colour black has a master of its own, but master 1, the latest written down, is another.",
            "The colour red has a master of its own, but none was written down.",
            "Master 9 of red is only half written down.",
        ),
    ),
    "an eye verdict was changed": (
        (
            _VERDICT.format(id=1, lot="W1", other="W9", says="match"),
            _VERDICT.format(id=2, lot="W2", other="W1", says="near"),
            _VERDICT.format(id=3, lot="W2", other="W2", says="fine"),
            _VERDICT.format(id=4, lot="W1", other="W3", says="match"),
            _VERDICT.format(id=5, lot="W1", other="W3", says="near"),
        ),
        (
            "Eye verdict 1 on hood-cloth/black is on lot 'W9', of which there never was any.",
            "Eye verdict 2 on hood-cloth/black names its lots 'W2' and 'W1' the wrong way round, so it is not found.",
            "Eye verdict 3 on hood-cloth/black is on one lot, 'W2', and not on two.",
            "Eye verdict 3 on hood-cloth/black says 'fine', which is no verdict.",
            "Lots 'W1' and 'W3' of hood-cloth/black have 2 eye verdicts of one moment.",
        ),
    ),
    "a movement was changed": (
        ("UPDATE movement SET quantity = 60 WHERE id = 5",),
        (
            "Bin B1. (nut) is said to hold 100, but its movements come to 60.",
            "Movement 5 of Bin B1. (nut) says a balance of 100, but the movements up to it come to 60.",
            "Movement 6 of Bin B1. (nut) says a balance of 96, but the movements up to it come to 56.",
            "Movement 7 of Bin B1. (nut) says a balance of 100, but the movements up to it come to 60.",
        ),
    ),
    "a movement's worth was changed": (
        ("UPDATE movement SET value_minor = -400 WHERE id = 6",),
        (
            "Bin B1. (nut) is said to be worth 300, but its movements come to -88.",
            "Movement 6 of Bin B1. (nut) leaves 96 worth -100.",
            "Movement 7 of Bin B1. (nut) leaves 100 worth -88.",
        ),
    ),
    "a movement was deleted": (
        ("DELETE FROM movement WHERE id = 6", "DELETE FROM movement WHERE id = 7"),
        ("Bin B1. (nut) has 1 movements, but its latest is said to be number 3.",),
    ),
    "a movement was deleted in the middle": (
        ("DELETE FROM movement WHERE id = 6",),
        (
            "Bin B1. (nut) is said to hold 100, but its movements come to 104.",
            "Bin B1. (nut) is said to be worth 300, but its movements come to 312.",
            "Bin B1. (nut) has 2 movements, but its latest is said to be number 3.",
            "Movement 7 of Bin B1. (nut) is number 3, where 2 was expected: the numbers have a gap.",
            "Movement 7 of Bin B1. (nut) says a balance of 100, but the movements up to it come to 104.",
            "Movement 7 of Bin B1. (nut) reverses movement 6, which does not exist.",
        ),
    ),
    "a roll went below nothing": (
        (
            movement(2, 2, "cut", -6_000, -1_000),
            "UPDATE holding SET held = -1000, last_number = 2 WHERE id = 2",
        ),
        (
            "Movement 90 of Roll R2. (hood-cloth/black) leaves less than nothing.",
            "Roll R2. (hood-cloth/black) holds -1.00 m, but 0.00 m of it is reserved.",
        ),
    ),
    "an empty roll is worth something": (
        (movement(2, 2, "cut", -5_000, 0), "UPDATE holding SET held = 0, last_number = 2 WHERE id = 2"),
        ("Movement 90 of Roll R2. (hood-cloth/black) leaves 0.00 m worth 5000.",),
    ),
    "a cut brought cloth in": (
        (movement(2, 2, "cut", 100, 5_100), "UPDATE holding SET held = 5100, last_number = 2 WHERE id = 2"),
        ("Movement 90 of Roll R2. (hood-cloth/black) is 'cut' with a quantity of 100.",),
    ),
    "a reversal takes back another quantity": (
        (
            "UPDATE movement SET quantity = 5, balance = 101 WHERE id = 7",
            "UPDATE holding SET held = 101 WHERE id = 5",
        ),
        ("Movement 7 of Bin B1. (nut) has a quantity of 5, but the one it reverses has -4.",),
    ),
    "a movement was reversed twice": (
        (
            movement(5, 4, "reversed", 4, 104, reverses=6),
            "UPDATE holding SET held = 104, last_number = 4 WHERE id = 5",
        ),
        ("Movement 6 is reversed 2 times.",),
    ),
    "a reversal was reversed": (
        (
            movement(5, 4, "reversed", -4, 96, reverses=7),
            "UPDATE holding SET held = 96, last_number = 4 WHERE id = 5",
        ),
        ("Movement 90 of Bin B1. (nut) reverses movement 7, which is a reversal itself.",),
    ),
    "a reversal is of another holding": (
        ("UPDATE movement SET reverses_id = 2 WHERE id = 7",),
        ("Movement 7 of Bin B1. (nut) reverses movement 2, which is of another holding.",),
    ),
    "a reversal names nothing": (
        ("UPDATE movement SET reverses_id = NULL WHERE id = 7",),
        ("Movement 7 of Bin B1. (nut) is 'reversed', but it does not name one it reverses.",),
    ),
    "a movement that is none reverses one": (
        ("UPDATE movement SET kind = 'returned' WHERE id = 7",),
        ("Movement 7 of Bin B1. (nut) is 'returned', but it names one it reverses.",),
    ),
    "what is reserved was changed": (
        ("UPDATE holding SET reserved = 800 WHERE id = 1",),
        ("Roll R1. (hood-cloth/black) is said to have 0.80 m reserved, but 0.90 m of it is promised.",),
    ),
    "more is promised than is held": (
        ("UPDATE reservation SET quantity = 101 WHERE id = 2", "UPDATE holding SET reserved = 101 WHERE id = 5"),
        (
            "Bin B1. (nut) holds 100, but 101 of it is reserved.",
            "Order L-1 needs nut, piece H (hardware): 8 is said to be held, but 101 is promised to it.",
        ),
    ),
    "something is promised out of quarantine": (
        ("UPDATE holding SET quarantined = {yes} WHERE id = 1",),
        ("Roll R1. (hood-cloth/black) is in quarantine, but something of it is promised.",),
    ),
    "two cuts overlap": (
        (
            _CUT.format(holding=1, a=500, b=1_400),
            "UPDATE holding SET reserved = 1800 WHERE id = 1",
            "UPDATE planned_panel SET cut_id = 9 WHERE requirement_id = 2",
        ),
        ("Planned cut 9 (0.50 m to 1.40 m) overlaps another on Roll R1. (hood-cloth/black), which ends at 0.90 m.",),
    ),
    "a cut goes past the end of its roll": (
        (
            "UPDATE planned_cut SET from_mm = 9100, to_mm = 10100 WHERE id = 1",
            "UPDATE holding SET reserved = 1000 WHERE id = 1",
        ),
        ("Planned cut 1 (9.10 m to 10.10 m) does not lie on Roll R1. (hood-cloth/black), which is 10.00 m long.",),
    ),
    "a cut is planned on a bin": (
        (
            "UPDATE planned_cut SET holding_id = 5, to_mm = 50 WHERE id = 1",
            "UPDATE holding SET reserved = 0 WHERE id = 1",
            "UPDATE holding SET reserved = 58 WHERE id = 5",
        ),
        (
            "Planned cut 1 (0.00 m to 0.05 m) is planned on Bin B1. (nut), which is no roll.",
            "Planned panel 1 on Bin B1. (nut) serves a requirement of another item, hood-cloth/black.",
            "Planned panel 2 on Bin B1. (nut) serves a requirement of another item, hood-cloth/black.",
        ),
    ),
    "a cut runs over a flaw": (
        ("UPDATE planned_cut SET from_mm = 8239, to_mm = 9139 WHERE id = 1",),
        (
            "Planned cut 1 (8.239 m to 9.139 m) of Roll R1. (hood-cloth/black) runs over its flaw from 8.20 m to "
            "8.24 m (slub).",
        ),
    ),
    "a panel lies past the edge of its roll": (
        ("UPDATE planned_panel SET x_mm = 921 WHERE id = 2",),
        ("Panel 'side' of piece 'H' does not lie on planned cut 1 (0.00 m to 0.90 m) of Roll R1. (hood-cloth/black).",),
    ),
    "a turned panel is longer than its cut is deep": (
        ("UPDATE planned_panel SET x_mm = 621, turned = 90 WHERE id = 2",),
        ("Panel 'side' of piece 'H' does not lie on planned cut 1",),
    ),
    "a cut serves nothing": (
        (_CUT.format(holding=2, a=0, b=100), "UPDATE holding SET reserved = 100 WHERE id = 2"),
        ("Planned cut 9 (0.00 m to 0.10 m) of Roll R2. (hood-cloth/black) serves no panel.",),
    ),
    "a reservation serves nothing": (
        ("UPDATE reservation SET requirement_id = 77 WHERE id = 2",),
        (
            "Reservation 2 on Bin B1. (nut) serves requirement 77, which does not exist.",
            "Order L-1 needs nut, piece H (hardware): 8 is said to be held, but 0 is promised to it.",
        ),
    ),
    "a requirement holds more than it needs": (
        ("UPDATE requirement SET needed = 7 WHERE id = 4",),
        ("Order L-1 needs nut, piece H (hardware): held 8, needed 7 and in all 8 do not go together.",),
    ),
    "a requirement's held length was changed": (
        ("UPDATE requirement SET held = 1500 WHERE id = 3",),
        (
            "Order L-1 needs edge-binding/black, piece H (bound): 1.50 m is said to be held, but 2.00 m is promised "
            "to it.",
        ),
    ),
    "a car's group is of two lots": (
        (
            _CUT.format(holding=2, a=0, b=900),
            "UPDATE planned_panel SET cut_id = 9 WHERE id = 2",
            "UPDATE holding SET reserved = 900 WHERE id = 2",
        ),
        (
            "hood-cloth/black for the matching group 'hood' of car RP 1 is held from 2 lots (W1 and W2), and nobody "
            "approved the mix.",
        ),
    ),
    "a cancelled order holds something": (
        ("UPDATE customer_order SET state = 'cancelled' WHERE id = 1",),
        ("Order L-1 is cancelled, but 4 of its requirements' holds are still there.",),
    ),
    "a margin is held and not reserved": (
        (_MARGIN.format(order=1, a=1_000, b=1_500),),
        ("Roll R1. (hood-cloth/black) is said to have 0.90 m reserved, but 1.40 m of it is promised.",),
    ),
    "a margin overlaps a cut": (
        (_MARGIN.format(order=1, a=500, b=1_000), "UPDATE holding SET reserved = 1400 WHERE id = 1"),
        ("Margin 1 (0.50 m to 1.00 m) of Roll R1. (hood-cloth/black) does not lie clear on its roll.",),
    ),
    "a margin runs over a flaw": (
        (_MARGIN.format(order=1, a=8_000, b=8_500), "UPDATE holding SET reserved = 1400 WHERE id = 1"),
        ("Margin 1 (8.00 m to 8.50 m) of Roll R1. (hood-cloth/black) runs over a flaw.",),
    ),
    "a cancelled order has a margin": (
        (_MARGIN.format(order=2, a=1_000, b=1_500), "UPDATE holding SET reserved = 1400 WHERE id = 1"),
        ("Margin 1 of Roll R1. (hood-cloth/black) is held for order L-2, which has no use for it.",),
    ),
    "a swatch is of another roll than of its lot's": (
        (_SWATCH.format(holding=3, place="'B1'"), _SWATCH_TAG),
        ("Swatch S1Y is not where its papers say, or its cut is not as it was booked.",),
    ),
    "a swatch is awaited and lies here, and no line waits for it": (
        (_SWATCH.format(holding=1, place="'B1'"), _SWATCH_TAG, _SWATCH_SENT.format(answer="NULL")),
        (
            "Swatch S1Y is not where its papers say, or its cut is not as it was booked.",
            "Swatch S1Y is awaited for order L-1, but no line of it waits for that.",
        ),
    ),
    "a lot is held for a swatch that is answered": (
        (
            _SWATCH.format(holding=1, place="NULL"),
            _SWATCH_TAG,
            _SWATCH_SENT.format(answer="'no'"),
            _FOR_SWATCH,
            "UPDATE holding SET reserved = 1400 WHERE id = 1",
        ),
        ("Roll R1. (hood-cloth/black) is held for swatch S1Y of order L-1, which has no use for it.",),
    ),
    "something stands in for what is still taken, and nobody said yes": (
        (
            "INSERT INTO substitution (id, order_id, line, item, instead, yes_from) "
            "VALUES (1, 1, 1, 'hood-cloth/black', 'edge-binding/black', '')",
        ),
        ("Line 1 of order L-1 is to take edge-binding/black instead of hood-cloth/black, with the yes of nobody",),
    ),
    "a count names a movement that is none of it": (
        (_SHEET, _COUNTED),
        ("Count sheet 1 (closed) names a movement for Roll R1. (hood-cloth/black) that is no count of it.",),
    ),
    "a count is open and has an end": (
        (_SHEET, "UPDATE count_sheet SET state = 'open'"),
        ("Count sheet 1 is open, but it does not say what of, or until when.",),
    ),
    "a customer's part lies nowhere": (
        (_PART.format(place="NULL", back_by="NULL", back_at="NULL"), _PART_TAG),
        ("Customer's part G18 (hood frame) lies in no place, but nobody gave it back.",),
    ),
    "a customer's part that was given back lies in a place": (
        (_PART.format(place="'rack'", back_by="'AB'", back_at="at"), _PART_TAG),
        ("Customer's part G18 (hood frame) was given back, but it is said to lie in rack.",),
    ),
    "nobody gave a customer's part back": (
        (_PART.format(place="NULL", back_by="NULL", back_at="at"), _PART_TAG),
        ("Customer's part G18 (hood frame) is said to be given back, but not by whom and when.",),
    ),
    "more is said to be taken than was": (
        ("UPDATE requirement SET taken = 3 WHERE id = 4",),
        ("Order L-1, nut: 3 is said to be taken, but 0 was picked or cut.",),
    ),
    "a length is said to be taken that was not": (
        ("UPDATE requirement SET taken = 1500 WHERE id = 3",),
        ("Order L-1, edge-binding/black: 1.50 m is said to be taken, but 0.00 m was picked or cut.",),
    ),
    "a panel that was cut is not said to be taken": (
        (*_CUT_MADE, "UPDATE requirement SET taken = 0 WHERE id = 2"),
        ("Order L-1, hood-cloth/black: 0 is said to be taken, but 1 was picked or cut.",),
    ),
    "a pick is of another amount than is held and booked": (
        (*_NUTS_PICKED, "UPDATE pick SET quantity = 7 WHERE id = 1"),
        (
            "Order L-1 needs nut, piece H (hardware): 8 is said to be held, but 7 is promised to it.",
            "Order L-1, nut: 8 is said to be taken, but 7 was picked or cut.",
            "Pick 1 does not agree with the movement that it names.",
        ),
    ),
    "a pick is from another holding than was booked": (
        (*_NUTS_PICKED, "UPDATE pick SET holding_id = 3 WHERE id = 1"),
        ("Pick 1 does not agree with the movement that it names.",),
    ),
    "a pick names no movement": (
        (*_NUTS_PICKED, "UPDATE pick SET movement_id = 77 WHERE id = 1"),
        ("Pick 1 does not agree with the movement that it names.",),
    ),
    "a pick was put back, and is still there": (
        (
            *_NUTS_PICKED,
            movement(5, 5, "reversed", 8, 100, id=95, reverses=92),
            "UPDATE holding SET held = 100, last_number = 5 WHERE id = 5",
        ),
        ("Pick 1 names a movement that was taken back.",),
    ),
    "a cut is of another length than was booked": (
        (*_CUT_MADE, "UPDATE cut SET cut_mm = 850 WHERE id = 1"),
        ("Cut 1 does not agree with the movement that it names.",),
    ),
    "a cut that was made is not written down": (
        (*_CUT_MADE, "DELETE FROM cut"),
        ("Planned cut 1 is cut, but no cut of it is written down.",),
    ),
    "a cut that was made is still planned": (
        (
            *_CUT_MADE,
            "UPDATE planned_cut SET state = 'planned' WHERE id = 1",
            "UPDATE holding SET reserved = 900 WHERE id = 1",
            "UPDATE requirement SET taken = 0 WHERE id IN (1, 2)",
        ),
        ("Planned cut 1 is planned, but a cut of it is written down.",),
    ),
    "a bundle was tied of what is not cut": ((*_PIECE, *_TIED), _NOT_CUT),
    "a bundle was tied of what is not cut for a made-up piece": (
        (*_PIECE, *_TIED, "UPDATE requirement SET path = 'hood/made', unit = 1 WHERE id IN (1, 2)"),
        _NOT_CUT,
    ),
    "a piece is sewn of what is not cut": (
        (*_PIECE, "INSERT INTO sewn (piece_id) VALUES (1)"),
        tuple(f"Order L-1: piece 'H' is sewn, but its panel '{part}' is not cut." for part in ("top", "side")),
    ),
    "a piece was packed that is not whole": ((*_PIECE, *_PACKED), _NOT_WHOLE),
    "a piece was packed that lacks its nuts": (
        (*_CUT_MADE, *_BINDING_PICKED, *_PIECE, *_PACKED),
        _NOT_WHOLE[-1:],
    ),
    "a piece lies in a parcel of another order": (
        (*_ALL_TAKEN, *_PIECE, *_PACKED, "UPDATE parcel SET order_id = 2 WHERE id = 1"),
        (f"Piece {P1} of order L-1 is packed in parcel 1 of order L-2.",),
    ),
    "a sent order holds something": (
        (*_PIECE, *_SENT, *_OWED),
        ("Order L-1 is sent, but 4 of its requirements' holds are still there.",),
    ),
    "an order was sent without one of its pieces": (
        (*_ALL_TAKEN, *_PIECE, *_SENT),
        ("Order L-1 is sent, but 1 of its pieces were never packed, and nobody said why.",),
    ),
    "something is owed of an order that was not sent": (
        _OWED,
        ("Order L-1 has something owed as if it were sent, but it is not.",),
    ),
    "a bundle has the tag of a parcel": (
        (*_CUT_MADE, *_PIECE, *_TIED, *_ALL_TAKEN[len(_CUT_MADE) :], *_PACKED, f"UPDATE bundle SET tag = '{K1}'"),
        (f"The tag {K1} is on 2 things.", f"The tag {K1} is on a bundle; it should be {K1} on a "),
    ),
    "a tag was mistyped": (
        ("UPDATE holding SET tag = 'R4X' WHERE id = 4",),
        ("A roll has no good tag: The tag 'R4X' was mistyped",),
    ),
    "a tag is missing": (
        ("UPDATE place SET tag = '' WHERE code = 'B1'",),
        ("A place has no good tag: '' is not a tag.",),
    ),
    "a tag is of another kind": (
        ("UPDATE holding SET tag = (SELECT tag FROM car) WHERE id = 4",),
        ("The tag C1. is on 2 things.", "The tag C1. is on a roll; it should be C1. on a car."),
    ),
    "a tag was never given": (
        ("UPDATE counter SET last = 3 WHERE name = 'tag R'",),
        ("The tag R4. is on a roll, but its number was never given: it would be given again.",),
    ),
}


def test_good_books_have_no_fault(good: Shop) -> None:
    report = audit(good)
    assert report.faults == ()
    assert report.is_good
    assert report.lines()[0].startswith("Looked at 5 holdings, 7 movements, 1 planned cuts")
    assert report.lines()[-1] == "The books are good."
    told = json.loads(json.dumps(report.as_dict()))
    assert told["good"] is True
    assert told["looked_at"]["movement"] == 7


def test_an_empty_shop_has_no_fault(shop: Shop) -> None:
    assert audit(shop).lines()[0] == "Looked at an empty shop."
    assert audit(shop).is_good


def test_the_scratch_shop_is_good_before_it_is_damaged(scratch: Engine) -> None:
    with damaged(scratch) as connection:
        assert found_in(connection) == []


def test_every_kind_of_fault_is_found_and_no_other(scratch: Engine) -> None:
    yes = "1" if scratch.dialect.name == "sqlite" else "true"
    for what, (statements, sentences) in FAULTS.items():
        with damaged(scratch, *(statement.replace("{yes}", yes) for statement in statements)) as connection:
            found = found_in(connection)
        unexpected = [fault for fault in found if not any(_told(sentence, fault) for sentence in sentences)]
        missing = [sentence for sentence in sentences if not any(_told(sentence, fault) for fault in found)]
        assert (missing, unexpected) == ([], []), what


def _told(sentence: str, fault: str) -> bool:
    """Whether a fault is told so; 'R1.' stands for the tag R1 with its check character."""
    pattern = re.sub(r"\b([RBC][0-9])\\\.", r"\1[0-9A-Z]", re.escape(sentence))
    return re.match(pattern, fault) is not None


def test_an_approved_mix_of_lots_is_no_fault(scratch: Engine) -> None:
    approved = (
        'INSERT INTO mix_approval (id, order_id, item, because, "by", at) '
        "SELECT 1, 1, 'hood-cloth/black', 'seen together', \"by\", at FROM planned_cut WHERE id = 1"
    )
    two_lots, told = FAULTS["a car's group is of two lots"]
    with damaged(scratch, *two_lots, approved) as connection:
        assert found_in(connection) == []
    of_lots = "UPDATE mix_approval SET \"group\" = 'hood', lots = '[{}]'"
    with damaged(scratch, *two_lots, approved, of_lots.format('"W1", "W2", "W3"')) as connection:
        assert found_in(connection) == []
    with damaged(scratch, *two_lots, approved, of_lots.format('"W1", "W3"')) as connection:
        assert found_in(connection) == list(told), "another mix was approved"


@pytest.mark.parametrize(
    "done",
    [
        _CUT_MADE,
        _NUTS_PICKED,
        (*_CUT_MADE, *_PIECE, *_TIED),
        (*_ALL_TAKEN, *_PIECE, *_TIED, *_PACKED),
        (*_ALL_TAKEN, *_PIECE, *_TIED, *_PACKED, *_SENT),
    ],
    ids=["cut", "picked", "tied", "packed", "sent"],
)
def test_each_step_from_the_roll_to_the_van_leaves_good_books(scratch: Engine, done: tuple[str, ...]) -> None:
    with damaged(scratch, *done) as connection:
        assert found_in(connection) == []


def test_panels_that_were_spoilt_after_tying_are_no_fault(scratch: Engine) -> None:
    spoilt = "INSERT INTO spoilt (id, requirement_id, piece_id, count, because) VALUES ({0}, {0}, 1, 1, 'slipped')"
    with damaged(scratch, *_PIECE, *_TIED, spoilt.format(1), spoilt.format(2)) as connection:
        assert found_in(connection) == []


def test_an_order_that_somebody_sent_incomplete_is_no_fault(scratch: Engine) -> None:
    with damaged(scratch, *_ALL_TAKEN, *_PIECE, *_SENT, *_OWED) as connection:
        assert found_in(connection) == []


def test_a_ledger_that_is_no_longer_guarded_is_told(scratch: Engine) -> None:
    with damaged(scratch) as connection:
        assert list(CHECKS[-1].find(connection)) == [
            "The database no longer refuses changes of movements: its triggers are gone or switched off."
        ]


def test_a_trigger_that_was_switched_off_is_told(database: Database) -> None:
    statement = (
        "DROP TRIGGER movement_no_delete"
        if database.kind == "sqlite"
        else "ALTER TABLE movement DISABLE TRIGGER movement_no_change"
    )
    with plain_engine(database).begin() as connection:
        connection.execute(text(statement))
    with Shop.open(database.where) as shop:
        assert [fault for fault in audit(shop).faults if "triggers are gone" in fault]


def test_broken_references_of_a_sqlite_file_are_told(sqlite_shop: Shop, tmp_path: Path) -> None:
    with sqlite_shop.write() as tx:
        write_good_books(tx)
    with sqlite3.connect(tmp_path / "shop.db") as raw:
        raw.execute("PRAGMA foreign_keys = OFF")
        raw.execute("DELETE FROM supplier")
        raw.execute("DELETE FROM job")
    raw.close()
    assert "7 rows of movement name a job that does not exist." in audit(sqlite_shop).faults


def test_a_damaged_sqlite_file_is_told(sqlite_shop: Shop, tmp_path: Path) -> None:
    with sqlite_shop.write() as tx:
        write_good_books(tx)
    with sqlite3.connect(tmp_path / "shop.db") as raw:
        raw.execute("PRAGMA ignore_check_constraints = ON")
        raw.execute("UPDATE holding SET quarantined = 1, quarantined_because = 'damp' WHERE id = 1")
    raw.close()
    assert "The database file is damaged: CHECK constraint failed in holding." in audit(sqlite_shop).faults


def test_the_audit_asks_the_same_questions_however_much_there_is(good: Shop) -> None:
    with count_statements(good) as before:
        audit(good)
    with good.write() as tx:
        job = begin_job(tx, "load", STAMP)
        stock.write_rolls(tx, job, STAMP, [replace(ROLL, label=f"N{number}") for number in range(300)])
    with count_statements(good) as after:
        assert audit(good).is_good
    assert after.count == before.count


def test_names_from_outside_are_shown_literally(scratch: Engine) -> None:
    with damaged(
        scratch, "UPDATE car SET key = 'RP\x1b[31m'", *FAULTS["a car's group is of two lots"][0]
    ) as connection:
        report = AuditReport({}, (Proof("lots", tuple(found_in(connection))),))
    assert not any("\x1b" in line for line in report.lines())
    assert any("\\u001b[31m" in line for line in report.lines())
