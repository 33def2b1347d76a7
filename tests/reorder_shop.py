"""A small shop for the tests of the reorder run, built in a few words: Lindow Trim with a mill and a fastener house."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import insert

from stockroom.domain.about import About
from stockroom.domain.catalogue import (
    Cloth,
    Colour,
    Item,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    Place,
    PriceBreak,
    Supplier,
    Terms,
)
from stockroom.domain.requirement import PanelShape
from stockroom.domain.stamp import Stamp
from stockroom.store import tables as t
from stockroom.store.about import write_about
from stockroom.store.catalogue import (
    write_cloths,
    write_colours,
    write_items,
    write_places,
    write_suppliers,
    write_terms,
)
from stockroom.store.database import Shop, Tx
from stockroom.store.kept_shapes import kept
from stockroom.store.ledger import begin_job
from stockroom.store.stock import write_bins, write_purchases, write_rolls

STAMP = Stamp("AB", datetime(2026, 11, 23, 8, 0, tzinfo=UTC))
CARPET = "carpet/red"
BINDING = "binding/red"
STUD = "turn-button"
BAG = "tool-bag"
SHELL = "bag-shell"
BOOK = """\
format = 1
[book]
code = "boot"
title = "Boot"
version = "1"
[works]
ashgate = "Ashgate"
[series.s1]
title = "Series 1"
chassis = { first = 1001, last = 3999 }
built = { first = "1951-03-01", last = "1954-08-31" }
works = ["ashgate"]
[pieces.TB]
title = "Tool bag"
pattern = "card"
made = "tool-bag"
[[pieces.TB.panels]]
code = "outer"
cloth = "carpet"
role = "bag"
card = { width = 900, length = 400 }
[[pieces.TB.hardware]]
item = "turn-button"
count = 2
ends = "bench"
[roles.bag]
colour = "red"
because = "All are red."
[kits.boot]
title = "Boot"
pieces = ["TB"]
"""
"""A tool bag takes 400 mm of the carpet, which is 1000 mm wide, and two turn-buttons."""


def fill(shop: Shop) -> None:
    """The catalogue and no stock: red carpet and binding, a turn-button, a bag made here, a shell nobody sells."""
    with shop.write() as tx:
        write_about(tx, About("Lindow Trim", "Europe/London", "GBP"), STAMP)
        write_colours(tx, [Colour("red", "red", None)])
        write_cloths(tx, [_cloth("carpet", "cloth", 1000), _cloth("binding", "narrow", 25)])
        write_items(
            tx,
            [
                Item(CARPET, "Boot carpet, red", "cloth", "carpet", "red", least=2000, most=20000),
                Item(BINDING, "Edge binding, red", "narrow", "binding", "red"),
                Item(STUD, "Turn-button fastener", "hardware", least=20, most=60),
                Item(BAG, "Tool bag", "blank", least=2, made_here=True),
                Item(SHELL, "Bag shell", "blank"),
            ],
        )
        write_places(tx, [Place("A1", "Rack A1", 1)])
        write_suppliers(
            tx, [Supplier("mill", "The carpet mill", 21, "GBP", 50000), Supplier("stud", "Studs", 14, "GBP")]
        )
        write_terms(
            tx,
            [
                Terms("mill", CARPET, None, 5000, 1000, (PriceBreak(1, 1800), PriceBreak(15000, 1500))),
                Terms("mill", BINDING, 7, 1, 25000, (PriceBreak(1, 40),)),
                Terms("stud", STUD, None, 10, 5, (PriceBreak(1, 50), PriceBreak(50, 40))),
            ],
        )


def _cloth(code: str, kind: Any, width_mm: int) -> Cloth:
    return Cloth(code, code, kind, "wool", "plain", width_mm, 900, False, 300, 1.0)


@dataclass(slots=True)
class Stocking:
    """Puts things on the shelves of a filled shop, in one transaction."""

    tx: Tx
    job_id: int = field(init=False)

    def __post_init__(self) -> None:
        self.job_id = begin_job(self.tx, "load", STAMP)

    def roll(self, item: str, length_mm: int, lot: str = "1", quarantined: str = "") -> None:
        label = f"{item} {lot} {length_mm} {quarantined}"
        roll = OpeningRoll(label, item, lot, length_mm, 1000, "A1", True, False, 0, quarantined=quarantined)
        write_rolls(self.tx, self.job_id, STAMP, [roll])

    def bin(self, item: str, count: int, lot: str = "") -> None:
        write_bins(self.tx, self.job_id, STAMP, [OpeningBin(item, lot, "A1", count, 0)])

    def purchase(self, item: str, quantity: int, due: date, received: int = 0, reference: str = "P-7") -> None:
        ordered = date(2026, 11, 2)
        supplier = "stud" if item == STUD else "mill"
        write_purchases(
            self.tx, STAMP, [OpeningPurchase(reference, supplier, item, quantity, received, ordered, due, 0)]
        )


@dataclass(slots=True)
class Ordering:
    """Writes orders in hand with requirements, as an explosion would have left them."""

    tx: Tx
    number: str
    wanted: date | None
    state: str = "open"
    order_id: int = field(init=False)
    car_id: int = field(init=False)
    line_id: int = field(init=False)
    pieces: int = 0
    group: str = ""
    """Matching group of what it needs and lacks."""

    def __post_init__(self) -> None:
        tag = self.number
        book_id = self._add(t.KitBook, code=tag, version="1", title="", format=1, source=BOOK, **_kept("loaded"))
        self.car_id = self._add(
            t.Car, tag=f"C{tag}", key=tag, key_folded=tag, chassis_number="", series="", works="", hand=""
        )
        self.order_id = self._add(
            t.CustomerOrder, number=tag, tag=f"O{tag}", customer="Jo Field", customer_folded="jo field",
            wanted=self.wanted, fitted_here=False, book_id=book_id, note="", state=self.state, fitting={}, digest="",
            **_kept("taken"),
        )  # fmt: skip
        self.line_id = self._add(
            t.OrderLine, order_id=self.order_id, number=1, kit="boot", title="Boot", quantity=1, car_id=self.car_id,
            request={}, on_car=[], advice=[],
        )  # fmt: skip

    def need(self, item: str, needed: int, held: int = 0, need: str = "count", shape: PanelShape | None = None) -> None:
        """A requirement for `needed`, of which `held` is held."""
        self.pieces += 1
        self._add(
            t.Requirement, order_id=self.order_id, line=1, path="boot", piece=f"P{self.pieces}", part="", hand="",
            unit=0, need=need, item=item, quantity=needed, needed=needed, held=held, each_mm=0, group=self.group,
            reasons=[], shape=kept(shape) if shape else None, changed=False,
        )  # fmt: skip

    def panels(self, item: str, width_mm: int, length_mm: int, count: int, held: int = 0, way: str = "along") -> None:
        """A requirement for `count` rectangular panels."""
        corners = ((0, 0), (width_mm, 0), (width_mm, length_mm), (0, length_mm))
        self.need(item, count, held, "panel", PanelShape(corners, width_mm, length_mm, way))

    def short(self, item: str, missing: int, would_mix: tuple[str, ...] = ()) -> None:
        """What the last attempt to reserve the order found."""
        self._add(
            t.Shortage, order_id=self.order_id, item=item, group=self.group, car_id=self.car_id, missing=missing,
            sentence="short", would_mix=list(would_mix),
        )  # fmt: skip

    def waits(self, *pieces: str) -> None:
        """The line, or these pieces of it, wait for an answer."""
        self._add(
            t.Waiting, line_id=self.line_id, kind="option", name="bag-length", question="Long or short?", choices=[],
            holds_up=list(pieces),
        )  # fmt: skip

    def _add(self, table: type[Any], **values: Any) -> int:
        number: int = self.tx.execute(insert(table).values(**values).returning(table.id)).scalar_one()
        return number


def _kept(what: str) -> dict[str, Any]:
    return {f"{what}_at": STAMP.at, f"{what}_by": STAMP.by}
