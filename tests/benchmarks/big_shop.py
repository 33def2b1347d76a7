"""A shop a hundred times a real one: 2,000 items, 20,000 rolls, 2,000,000 movements and 5,000 open orders.

It grows out of the demo shop. Three orders are taken and reserved through the jobs; their copies are then written
straight into the tables, each with a car, pieces, rolls, cuts and reservations of its own. Of the copies:

- 400 are of a full boot set, 54 requirements each, wholly held;
- 3,600 are of three pieces, 11 requirements each, wholly held;
- 1,000 are of the same three pieces and hold nothing yet; every fourth of those is marked short.

Every copied order has the two jobs that took and reserved it, with what each kept to be taken back. `EXPECTED` lines of
purchases have not come, `LOW` items are on the buying list, `EXPIRING` bins have a day that is near, and the ledger
goes back five years.

A roll serves one order, as most do that are cut for it. Hardware has a bin to every 50 orders: each block of orders has
items of its own, as a shop with 2,000 items would, and each such bin is promised some 50 to 150 times.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from stockroom.domain.order import LineRequest, OrderRequest
from stockroom.domain.tags import make_tag
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.benchmarks.measured_shop import STAMP, TODAY, full_boot_set, is_whole, make_demo_file

ITEMS, ROLLS, MOVEMENTS, ORDERS = 2_000, 20_000, 2_000_000, 5_000
DEEP, HELD, UNHELD = 400, 3_600, 1_000
"""Copies of a full boot set, of three pieces that are held, and of three pieces that are not. The demo's own orders,
and the three that are copied, make the number of orders a few more than `ORDERS`."""
EXPECTED, LOW, EXPIRING = 500, 200, 300
BLOCK = 50
"""Orders that draw on the same bins of hardware."""
PIECES = ("BKH", "BFM", "LDB")
DEEP_ORDERS = tuple(f"D-{number}" for number in range(1, DEEP + 1))

Row = dict[str, Any]


def make_big_shop(path: Path) -> None:
    """Makes the shop at `path` and closes it."""
    make_demo_file(path)
    with Shop.open(path) as shop:
        for number, held in (("B-1", True), ("B-2", True), ("B-3", False)):
            request = full_boot_set(number)
            take(shop, request if number == "B-1" else _three_pieces(request), STAMP)
            assert not held or is_whole(reserve(shop, number, STAMP))
    with closing(sqlite3.connect(path, isolation_level=None)) as link:
        link.row_factory = sqlite3.Row
        link.execute("PRAGMA synchronous = OFF")
        link.execute("BEGIN")
        copies = _Copies(link)
        for number, prefix, times in (("B-1", "D", DEEP), ("B-2", "H", HELD), ("B-3", "N", UNHELD)):
            copies.copy(number, prefix, times)
        copies.write()
        _expect_and_run_low(link)
        _lengthen_ledger(link)
        link.execute("COMMIT")
        link.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def sizes(path: Path) -> dict[str, int]:
    """How many of each there are: 'items', 'rolls', 'movements', 'open orders', 'requirements'."""
    queries = {
        "items": "SELECT count(*) FROM item",
        "rolls": "SELECT count(*) FROM roll",
        "movements": "SELECT count(*) FROM movement",
        "open orders": "SELECT count(*) FROM customer_order WHERE state = 'open'",
        "requirements": "SELECT count(*) FROM requirement",
    }
    with closing(sqlite3.connect(path)) as link:
        return {what: int(link.execute(query).fetchone()[0]) for what, query in queries.items()}


def _three_pieces(request: OrderRequest) -> OrderRequest:
    line = LineRequest("full-boot-set", 1, request.cars[0].key, PIECES)
    return OrderRequest(request.number, request.customer, request.wanted, False, "", request.cars, (line,))


@dataclass(frozen=True, slots=True)
class _Template:
    """One order as the jobs left it."""

    order: Row
    car: Row
    line: Row
    pieces: list[Row]
    requirements: list[Row]
    reservations: list[Row]
    cuts: list[Row]
    panels: list[Row]


class _Copies:
    """Rows that are to be written, with the next free id of each table and the next serial of each kind of tag."""

    def __init__(self, link: sqlite3.Connection) -> None:
        self._link = link
        self._rows: dict[str, list[Row]] = {}
        self._next = {table: self._one(f"SELECT coalesce(max(id), 0) FROM {table}") for table in _NUMBERED}
        self._serials = {kind: self._one(f"SELECT last FROM counter WHERE name = 'tag {kind}'") for kind in "RBCOP"}
        self._job = self._one("SELECT max(id) FROM job")
        self._ways = {
            row["what"]: json.loads(row["way_back"])
            for row in self._all("SELECT what, way_back FROM job WHERE way_back IS NOT NULL")
        }
        self._holdings = {row["id"]: row for row in self._all("SELECT * FROM holding WHERE kind <> 'past'")}
        self._rolls = {row["holding_id"]: row for row in self._all("SELECT * FROM roll")}
        self._items = {row["code"]: row for row in self._all("SELECT * FROM item")}
        self._bins: dict[tuple[int, int], Row] = {}
        self._copied = 0

    def copy(self, number: str, prefix: str, times: int) -> None:
        """Copies an order: D-1, D-2 …"""
        template = self._template(number)
        for nth in range(1, times + 1):
            self._copied += 1
            self._order(template, f"{prefix}-{nth}", self._copied, is_short=prefix == "N" and nth % 4 == 0)

    def write(self) -> None:
        """Fills up items and rolls, and writes everything."""
        self._fill_up()
        for made in [row for row in self._rows["holding"] if row["kind"] == "bin"]:
            made["held"] = made["reserved"] + 500
            self._received(made)
        for table in (
            *("item", "holding", "roll", "car", "customer_order", "order_line", "piece", "requirement"),
            *("reservation", "planned_cut", "planned_panel", "shortage", "movement", "job"),
        ):
            _insert(self._link, table, self._rows[table])
        for kind, last in self._serials.items():
            self._link.execute("UPDATE counter SET last = ? WHERE name = ?", (last, f"tag {kind}"))

    def _order(self, template: _Template, number: str, nth: int, *, is_short: bool) -> None:
        old_key, key = template.car["key"], f"RP {10_000 + nth}"
        car = self._add("car", template.car, tag=self._tag("C"), key=key, key_folded=f"rp{10_000 + nth}")
        wanted = TODAY + timedelta(days=nth * 7 % 260 - 10)
        customer = f"{_FIRST_NAMES[nth % len(_FIRST_NAMES)]} Example {nth}"
        order = self._add(
            "customer_order",
            template.order,
            number=number,
            tag=self._tag("O"),
            customer=customer,
            customer_folded=customer.casefold(),
            wanted=None if nth % 50 == 0 else wanted.isoformat(),
            fitting=template.order["fitting"].replace(old_key, key),
            digest=f"{nth:064x}",
        )
        request = template.line["request"].replace(old_key, key)
        self._add("order_line", template.line, order_id=order, car_id=car, request=request)
        self._done(f"take order {number}", {"take": {"number": number}}, order)
        for piece in template.pieces:
            self._add("piece", piece, order_id=order, tag=self._tag("P"))
        needs: dict[int, int] = {}
        variant = nth // BLOCK
        for need in template.requirements:
            item = self._variant_item(need["item"], variant) if need["need"] == "count" else need["item"]
            needs[need["id"]] = self._add("requirement", need, order_id=order, item=item)
        held = self._holds(template, needs, variant)
        if held:
            before = self._ways[f"reserve for order {template.order['number']}"]["rows"]["rows"]["requirement"]
            more = {"more": [[column, needs[need], n] for column, need, n in before["more"]]}
            rows = {"orders": [order], "alone": [], "rows": {**held, "requirement": more}}
            self._done(f"reserve for order {number}", {"rows": rows}, order)
        if is_short:
            item = self._variant_item(next(n["item"] for n in template.requirements if n["need"] == "count"), variant)
            sentence = f"{self._items[item]['title']}: 6 are missing."
            self._add(
                "shortage",
                {},
                order_id=order,
                item=item,
                group="",
                car_id=None,
                missing=6,
                sentence=sentence,
                would_mix="[]",
            )

    def _done(self, what: str, way: Row, order: int) -> None:
        """A job, and how it is taken back."""
        kept = {**way, "touched": [f"order {order}"]}
        text = json.dumps(kept, sort_keys=True, separators=(",", ":"))
        self._add("job", {}, what=what, by="AB", at=_AT, way_back=text, undoes_id=None)

    def _holds(self, template: _Template, needs: Mapping[int, int], variant: int) -> dict[str, Any]:
        """What the order holds: of rolls of its own, and of the bins of its block; as the job keeps it."""
        came: dict[str, list[Row]] = {"reservation": [], "planned_cut": []}
        rolls: dict[int, Row] = {}
        for one in (*template.reservations, *template.cuts):
            old = one["holding_id"]
            if self._holdings[old]["kind"] == "roll" and old not in rolls:
                rolls[old] = self._roll(old)
        for one in template.reservations:
            held = rolls.get(one["holding_id"]) or self._bin(one["holding_id"], variant)
            held["reserved"] += one["quantity"]
            need = needs[one["requirement_id"]]
            made = self._add("reservation", one, requirement_id=need, holding_id=held["id"])
            known = {"id": made, "requirement_id": need, "holding_id": held["id"], "quantity": one["quantity"]}
            came["reservation"].append(known)
        cuts: dict[int, int] = {}
        for one in template.cuts:
            held = rolls[one["holding_id"]]
            held["reserved"] += one["to_mm"] - one["from_mm"]
            cut = cuts[one["id"]] = self._add("planned_cut", one, holding_id=held["id"])
            came["planned_cut"].append({"id": cut, "holding_id": held["id"], "state": "planned"})
        for one in template.panels:
            requirement, cut = needs[one["requirement_id"]], cuts[one["cut_id"]]
            self._add("planned_panel", one, requirement_id=requirement, cut_id=cut)
        return {table: {"came": rows} for table, rows in came.items() if rows}

    def _fill_up(self) -> None:
        """Adds rolls and items that no order needs."""
        wanted = ROLLS - len(self._rolls) - len(self._rows["roll"])
        assert wanted >= 0, "the orders need no more rolls than there are to be"
        known = list(self._rolls)
        for nth in range(wanted):
            self._roll(known[nth % len(known)])
        bins = [holding for holding in self._holdings.values() if holding["kind"] == "bin"]
        count = [one["id"] for one in bins if self._items[one["item"]]["kind"] == "hardware"]
        nth = 0
        while len(self._items) < ITEMS:
            self._bin(count[nth % len(count)], 900 + nth // len(count))
            nth += 1

    def _roll(self, old: int) -> Row:
        source = self._holdings[old]
        made = self._holding(source, tag=self._tag("R"), reserved=0)
        self._rows.setdefault("roll", []).append({**self._rolls[old], "holding_id": made["id"], "label": None})
        self._received(made)
        return made

    def _bin(self, old: int, variant: int) -> Row:
        if (old, variant) not in self._bins:
            source = self._holdings[old]
            item = self._variant_item(source["item"], variant)
            self._bins[old, variant] = self._holding(source, tag=self._tag("B"), item=item, held=0, reserved=0)
        return self._bins[old, variant]

    def _holding(self, source: Row, **changed: Any) -> Row:
        changed |= {"last_number": 1, "value_minor": 0, "quarantined": 0, "quarantined_because": ""}
        self._add("holding", source, **changed)
        return self._rows["holding"][-1]

    def _received(self, made: Row) -> None:
        self._add(
            "movement",
            {},
            holding_id=made["id"],
            number=1,
            kind="received",
            quantity=made["held"],
            balance=made["held"],
            value_minor=0,
            order_id=None,
            job_id=self._job,
            reverses_id=None,
            by="AB",
            at=_AT,
            note="opening stock",
        )

    def _variant_item(self, code: str, variant: int) -> str:
        named = f"{code}-{variant}"
        if named not in self._items:
            source = self._items[code]
            title = f"{source['title']}, pattern {variant}"
            made = {**source, "code": named, "title": title, "title_folded": title.casefold()}
            self._items[named] = made
            self._rows.setdefault("item", []).append(made)
        return named

    def _add(self, table: str, source: Row, **changed: Any) -> int:
        self._next[table] += 1
        self._rows.setdefault(table, []).append({**source, **changed, "id": self._next[table]})
        return self._next[table]

    def _tag(self, kind: str) -> str:
        self._serials[kind] += 1
        return make_tag(kind, self._serials[kind])

    def _template(self, number: str) -> _Template:
        (order,) = self._all("SELECT * FROM customer_order WHERE number = ?", number)
        (line,) = self._all("SELECT * FROM order_line WHERE order_id = ?", order["id"])
        (car,) = self._all("SELECT * FROM car WHERE id = ?", line["car_id"])
        assert car["key"] in json.loads(line["request"]).values(), "the line names its car by this key"
        mine = "SELECT id FROM requirement WHERE order_id = ?"
        panels = self._all(f"SELECT * FROM planned_panel WHERE requirement_id IN ({mine})", order["id"])
        laid = {panel["cut_id"] for panel in panels}
        return _Template(
            order,
            car,
            line,
            self._all("SELECT * FROM piece WHERE order_id = ? ORDER BY id", order["id"]),
            self._all("SELECT * FROM requirement WHERE order_id = ? ORDER BY id", order["id"]),
            self._all(f"SELECT * FROM reservation WHERE requirement_id IN ({mine}) ORDER BY id", order["id"]),
            [cut for cut in self._all("SELECT * FROM planned_cut ORDER BY id") if cut["id"] in laid],
            panels,
        )

    def _all(self, query: str, *values: Any) -> list[Row]:
        return [dict(row) for row in self._link.execute(query, values)]

    def _one(self, query: str) -> int:
        return int(self._link.execute(query).fetchone()[0])


_NUMBERED = (
    *("holding", "car", "customer_order", "order_line", "piece", "requirement", "reservation", "planned_cut"),
    *("planned_panel", "shortage", "movement", "job"),
)
_FIRST_NAMES = ("Ann", "Ben", "Clara", "Dan", "Edith", "Frank", "Grace")
_AT = "2026-11-25T08:30:00.000000Z"


def _insert(link: sqlite3.Connection, table: str, rows: Iterable[Row]) -> None:
    rows = list(rows)
    columns = list(rows[0])
    listed, marks = ", ".join(f'"{column}"' for column in columns), ", ".join("?" for _ in columns)
    link.executemany(f"INSERT INTO {table} ({listed}) VALUES ({marks})", _in_turn(rows, columns))


def _in_turn(rows: Iterable[Row], columns: list[str]) -> Iterator[tuple[Any, ...]]:
    for row in rows:
        yield tuple(row[column] for column in columns)


def _expect_and_run_low(link: sqlite3.Connection) -> None:
    """What has not come, what is to be bought, and what has its day."""
    link.execute(
        'INSERT INTO purchase (reference, supplier, item, quantity, received, ordered, due, price_minor, "by", at) '
        "SELECT 'PO-' || (rowid / 3), (SELECT min(code) FROM supplier), code, 100, 0, '2026-11-01', "
        "date('2026-11-15', (rowid % 60) || ' days'), 100, 'AB', ? FROM item WHERE kind = 'hardware' "
        "ORDER BY rowid DESC LIMIT ?",
        (_AT, EXPECTED),
    )
    link.execute(
        "INSERT INTO low_stock (item, \"by\", at, ended_because) SELECT code, 'AB', ?, '' FROM item "
        "WHERE kind = 'hardware' ORDER BY rowid DESC LIMIT ?",
        (_AT, LOW),
    )
    link.execute(
        "UPDATE holding SET expires = date('2026-11-20', (id % 60) || ' days') WHERE id IN "
        "(SELECT id FROM holding WHERE kind = 'bin' AND reserved = 0 ORDER BY id DESC LIMIT ?)",
        (EXPIRING,),
    )


def _lengthen_ledger(link: sqlite3.Connection) -> None:
    """Appends movements until there are enough: out of each holding in turn, and back in again, over five years."""
    there = int(link.execute("SELECT count(*) FROM movement").fetchone()[0])
    holdings = int(link.execute("SELECT count(*) FROM holding WHERE held > 1").fetchone()[0])
    each = 2 * -(-(MOVEMENTS - there) // (2 * holdings))
    link.execute("CREATE TEMP TABLE turn (n INTEGER PRIMARY KEY)")
    link.executemany("INSERT INTO turn VALUES (?)", ((n,) for n in range(1, each + 1)))
    link.execute(
        "INSERT INTO movement (holding_id, number, kind, quantity, balance, value_minor, order_id, job_id, "
        "reverses_id, \"by\", at, note) SELECT h.id, h.last_number + n, iif(n % 2, 'issued', 'returned'), "
        "iif(n % 2, -1, 1), h.held - n % 2, 0, NULL, (SELECT max(id) FROM job), NULL, 'AB', "
        "strftime('%Y-%m-%dT08:30:00.000000Z', '2026-11-25', ((n - ?) * 1826 / ?) || ' days'), 'out and back' "
        "FROM turn CROSS JOIN holding h WHERE h.held > 1 ORDER BY n, h.id",
        (each, each),
    )
    link.execute("UPDATE holding SET last_number = last_number + ? WHERE held > 1", (each,))
