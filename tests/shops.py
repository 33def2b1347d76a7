"""A shop for tests in a few words, loaded through the same door as a real one.

    stock_shop(shop, tmp_path, roll("carpet/red", 6_000), bin_of("stud", 40))
    taken = take(shop, order(line("boot-set")), STAMP)

The book is small enough to be reckoned by hand. A tonneau cover is one panel of hood cloth, 1.30 m of the 1.50 m that
a roll is wide, and 1 m long: so many tonneau covers, so many metres. The hood is two such panels, in the same matching
group. Each jack bag and tool bag is a blank, or one panel of leathercloth that takes 500 mm or 400 mm of the roll.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import select

from stockroom.domain.order import CarRequest, Change, LineRequest, OrderRequest
from stockroom.domain.stamp import Stamp
from stockroom.jobs.load import LoadReport, load
from stockroom.store import bill, holds, orders, pieces, stock
from stockroom.store.bill import KeptRequirement
from stockroom.store.database import Shop
from stockroom.store.holds import KeptHold, KeptShortage
from stockroom.store.orders import KeptOrder
from stockroom.store.types import Base

TODAY = date(2026, 11, 25)
STAMP = Stamp("AB", datetime(2026, 11, 25, 8, 30, tzinfo=UTC))
LATER = Stamp("CD", datetime(2026, 11, 26, 9, 15, tzinfo=UTC))
PLENTY = 60_000
"""mm: more of a cloth than any order of a test needs."""

BOOK = """\
format = 1
[book]
code = "plover"
title = "Ravensworth Plover"
version = "1"
[works]
ashgate = "Ashgate"
fenmoor = "Fenmoor"
[series.s1]
title = "Series 1"
chassis = { first = 1001, last = 3999 }
built = { first = "1951-03-01", last = "1954-08-31" }
works = ["ashgate"]
[series.s2]
title = "Series 2"
chassis = { first = 4001, last = 7999 }
built = { first = "1954-09-01" }
works = ["ashgate", "fenmoor"]
[options.bag-length]
ask = "A long or a short jack bag?"
choices = { long = "long", short = "short" }
[options.window]
ask = "Is the rear window sewn in or zipped?"
choices = { sewn = "sewn in", zipped = "zipped" }
[roles.carpet]
colour = { rule = "carpet-colour" }
because = "Carpet and its binding go together."
[[rules.carpet-colour]]
when = { chassis = { last = 2149 } }
then = "@trim"
because = "Early cars took the trim colour."
[[rules.carpet-colour]]
when = { chassis = { first = 2150 } }
then = "black"
because = "From chassis 2150 on it was black."
[[rules.jack-bag-blank]]
when = { option.bag-length = "long" }
then = "jack-bag-long"
because = "The order asks for it."
[[rules.jack-bag-blank]]
when = { option.bag-length = "short" }
then = "jack-bag-short"
because = "The order asks for it."
[[rules.zipped]]
when = { option.window = "zipped" }
then = true
because = "The order asks for it."
[[rules.zipped]]
when = { option.window = "sewn" }
then = false
because = "The order asks for it sewn in."
[[rules.clips]]
when = { works = "ashgate" }
then = 6
because = "Ashgate set six."
[[rules.clips]]
when = { works = "fenmoor" }
then = 4
because = "Fenmoor set four."
[outlines.floor]
points = [[0, 0], [800, 0], [800, 600], [0, 600]]
edges = { front = [0, 1], right = [1, 2], rear = [2, 3], left = [3, 0] }
[outlines.side]
points = [[0, 0], [400, 0], [400, 400], [0, 500]]
edges = { bottom = [0, 1], slope = [2, 3] }
[outlines.cover]
points = [[0, 0], [1300, 0], [1300, 1000], [0, 1000]]
edges = { front = [0, 1] }
[pieces.BF]
title = "Boot floor"
pattern = "outline"
group = "boot"
note = "Press it down from the middle."
[[pieces.BF.panels]]
code = "top"
cloth = "carpet"
role = "carpet"
outline = "floor"
[[pieces.BF.panels.holes]]
name = "filler"
at = [200, 250]
diameter = 60
made = "marked"
[[pieces.BF.panels.edging]]
how = "bound"
edges = ["front", "rear"]
goods = "binding"
role = "carpet"
end = 20
[[pieces.BF.hardware]]
item = "stud"
count = 4
ends = "loose"
half = "stud"
[[pieces.BF.hardware]]
item = "clip"
count = 2
ends = "on the car"
[pieces.BSL]
title = "Boot side, left"
pattern = "outline"
group = "boot"
hand = "left"
[[pieces.BSL.panels]]
code = "side"
cloth = "carpet"
role = "carpet"
outline = "side"
[pieces.BSR]
title = "Boot side, right"
pattern = "outline"
group = "boot"
hand = "right"
[[pieces.BSR.panels]]
code = "side"
cloth = "carpet"
role = "carpet"
outline = "side"
mirrored = true
[pieces.HL]
title = "Hood cover, left"
pattern = "outline"
group = "top"
hand = "left"
[[pieces.HL.panels]]
code = "half"
cloth = "hood-cloth"
role = "hood"
outline = "cover"
[pieces.HR]
title = "Hood cover, right"
pattern = "outline"
group = "top"
hand = "right"
[[pieces.HR.panels]]
code = "half"
cloth = "hood-cloth"
role = "hood"
outline = "cover"
[pieces.HZ]
title = "Window zip"
pattern = "length"
present = { rule = "zipped" }
[[pieces.HZ.strips]]
goods = "zip"
role = "hood"
length = 1200
[pieces.TN]
title = "Tonneau cover"
pattern = "outline"
group = "top"
[[pieces.TN.panels]]
code = "cover"
cloth = "hood-cloth"
role = "hood"
outline = "cover"
[pieces.RT]
title = "Header-rail trim"
pattern = "length"
[[pieces.RT.strips]]
goods = "binding"
role = "trim"
length = 900
[[pieces.RT.hardware]]
item = "clip"
count = { rule = "clips" }
ends = "bench"
[pieces.JB]
title = "Jack bag"
pattern = "length"
made = { rule = "jack-bag-blank" }
[[pieces.JB.panels]]
code = "body"
cloth = "leathercloth"
role = "trim"
set_length = { length = 500 }
[pieces.TB]
title = "Tool bag"
pattern = "length"
made = "tool-bag-blank"
[[pieces.TB.panels]]
code = "body"
cloth = "leathercloth"
role = "trim"
set_length = { length = 400 }
[[pieces.TB.hardware]]
item = "stud"
count = 3
ends = "sewn in"
[pieces.SC]
title = "Side curtain"
pattern = "outline"
count = 2
[[pieces.SC.panels]]
code = "curtain"
cloth = "hood-cloth"
role = "hood"
outline = "cover"
[kits.boot-set]
title = "Full boot set"
pieces = ["BF", "BSL", "BSR"]
[[kits.boot-set.spares]]
item = "stud"
count = 1
because = "One is lost."
[[kits.boot-set.steps]]
at = 10
do = "Glue the floor at the front."
pieces = ["BF"]
[[kits.boot-set.steps]]
at = 20
do = "Fit the sides."
pieces = ["BSL", "BSR"]
[[kits.boot-set.steps]]
at = 30
do = "Finish the floor."
pieces = ["BF"]
[kits.hood]
title = "Hood"
pieces = ["HL", "HR", "HZ"]
options = ["window"]
[kits.tonneau]
title = "Tonneau cover"
pieces = ["TN"]
[kits.header-rail]
title = "Header-rail trim"
pieces = ["RT"]
[kits.jack-bag]
title = "Jack bag"
pieces = ["JB"]
options = ["bag-length"]
[kits.tool-bag]
title = "Tool bag"
pieces = ["TB"]
[kits.side-curtains]
title = "Side curtains"
pieces = ["SC"]
measurements = ["How high is the door top?"]
[kits.touring]
title = "Touring set"
kits = ["boot-set", "tool-bag"]
"""

_BODY = 'code = "body"\ncloth = "leathercloth"\nrole = "trim"\nset_length = { length = 400 }\n'
BOOK_WITH_POCKETS = BOOK.replace(_BODY, f"{_BODY}[[pieces.TB.panels]]\n{_BODY.replace('body', 'pocket')}")
"""The same, but a tool bag is sewn from two panels: body and pocket."""
BOOK_2 = BOOK.replace('version = "1"', 'version = "2"').replace("count = 4\nends", "count = 5\nends")
"""The next version: five studs to a boot floor."""

_COLOURS = ("black", "red", "green", "fawn")
_FILES = {
    "shop.toml": 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\n',
    "colours.csv": "code,name\n" + "".join(f"{code},{code}\n" for code in _COLOURS),
    "cloths.csv": "code,title,kind,width,nap,shortest_useful,colour_tolerance\n"
    "carpet,Boot carpet,cloth,1400,yes,300,1\n"
    "hood-cloth,Hood cloth,cloth,1500,yes,300,1\n"
    "leathercloth,Leathercloth,cloth,1400,no,200,1\n"
    "binding,Edge binding,narrow,20,no,200,1\n"
    "zip,Zip,narrow,30,no,200,1\n",
    "items.csv": "code,title,kind,cloth,colour,made_here\n"
    + "".join(
        f"{cloth}/{colour},,{'narrow' if cloth in ('binding', 'zip') else 'cloth'},{cloth},{colour},\n"
        for cloth in ("carpet", "hood-cloth", "leathercloth", "binding", "zip")
        for colour in _COLOURS
    )
    + "stud,Stud,hardware,,,\nclip,Clip,hardware,,,\n"
    + "".join(f"{code},,blank,,,yes\n" for code in ("tool-bag-blank", "jack-bag-long", "jack-bag-short")).replace(
        ",,blank", ",Bag blank,blank"
    ),
    "places.csv": "code,title,walk\nR1,Rack,1\nB1,Bins,2\nB2,More bins,3\n",
    "stages.csv": "code,title,turn\nsewing,Sewing,1\nfasteners,Fasteners,2\n",
}


# --- stock ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Stocked:
    """One row of rolls.csv or bins.csv."""

    table: str
    row: Mapping[str, object]


def roll(item: str, length_mm: int, lot: str = "1", **more: object) -> Stocked:
    """A roll, reel or remnant; `more` are other columns, such as remnant='yes', flaws='0-500 stain'."""
    return Stocked("rolls", {"item": item, "lot": lot, "length": length_mm, "place": "R1", "measured": "yes", **more})


def bin_of(item: str, count: int, lot: str = "", place: str = "B1") -> Stocked:
    """A bin of something counted."""
    return Stocked("bins", {"item": item, "lot": lot, "place": place, "count": count})


def plenty() -> tuple[Stocked, ...]:
    """Enough of everything but blanks, of one lot each."""
    cloths = ("carpet/red", "carpet/black", "hood-cloth/fawn", "leathercloth/red", "binding/red", "binding/black")
    return (*(roll(item, PLENTY) for item in (*cloths, "zip/fawn")), bin_of("stud", 400), bin_of("clip", 100))


def stock_shop(shop: Shop, folder: Path, *stocked: Stocked, book: str = BOOK) -> LoadReport:
    """Loads the catalogue, the book and this stock into a shop without rows. A roll without a label gets one."""
    files = {**_FILES, "plover.toml": book}
    for table in ("rolls", "bins"):
        rows = [one.row for one in stocked if one.table == table]
        if table == "rolls":
            rows = [{"label": f"roll-{number}", **row} for number, row in enumerate(rows, start=1)]
        if rows:
            files[f"{table}.csv"] = _csv(rows)
    return load_files(shop, folder, files)


def load_files(shop: Shop, folder: Path, files: Mapping[str, str]) -> LoadReport:
    """Writes files (name → text) to a fresh folder within `folder` and loads it."""
    source = folder / f"files-{len(list(folder.iterdir()))}"
    source.mkdir()
    for name, text in files.items():
        (source / name).write_text(text, encoding="utf-8")
    return load(shop, source, STAMP, opening=TODAY)


def _csv(rows: Sequence[Mapping[str, object]]) -> str:
    names = list(dict.fromkeys(name for row in rows for name in row))
    lines = [",".join(f'"{row.get(name, "")}"' for name in names) for row in rows]
    return "\n".join([",".join(names), *lines, ""])


# --- orders --------------------------------------------------------------------------------------------------------


EARLY = CarRequest("RP 1500", "RP 1500", hand="right", body_colour="green", trim_colour="red", hood_colour="fawn")
"""A Series 1 car of before the change-over: red trim, and red carpet."""
LATE = CarRequest("RP 3000", "RP 3000", hand="right", body_colour="green", trim_colour="red", hood_colour="fawn")
"""A Series 1 car of after it: red trim, and black carpet."""
SECOND = CarRequest("RP 5000", "RP 5000", hand="right", body_colour="green", trim_colour="red", hood_colour="fawn")
"""A Series 2 car: nobody has said which works built it."""


def line(kit: str, quantity: int = 1, car: CarRequest = EARLY, **more: Any) -> LineRequest:
    """One line of an order; the other fields of `LineRequest` by name."""
    return LineRequest(kit, quantity, car.key, **more)


def order(
    *lines: LineRequest,
    number: str = "",
    wanted: date | None = None,
    cars: Sequence[CarRequest] = (),
    customer: str = "Ann Example",
    **more: Any,
) -> OrderRequest:
    """An order of these lines; of the cars of this module, those that the lines name are told with it."""
    known = {car.key: car for car in (EARLY, LATE, SECOND, *cars)}
    told = tuple(known[key] for key in dict.fromkeys(one.car for one in lines))
    values = {"fitted_here": False, "book": "", **more}
    return OrderRequest(number, customer, wanted, cars=told, lines=lines, **values)


def change(what: str, piece: str, **more: Any) -> Change:
    """A change that AB asked for."""
    return Change(what, piece, str(more.pop("because", "the owner asked for it")), "AB", **more)  # type: ignore[arg-type]


# --- looking -------------------------------------------------------------------------------------------------------


def dump(shop: Shop) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table: two dumps are equal when nothing was written between them."""
    with shop.read() as tx:
        return {
            table.name: [tuple(row) for row in tx.execute(select(table).order_by(*table.primary_key.columns))]
            for table in Base.metadata.sorted_tables
        }


def changed_tables(before: Mapping[str, Sequence[Any]], after: Mapping[str, Sequence[Any]]) -> set[str]:
    """Names of the tables in which two dumps differ."""
    return {name for name in before if before[name] != after[name]}


@dataclass(frozen=True, slots=True)
class Looked:
    """One order with all that is kept of it, at one moment."""

    order: KeptOrder
    requirements: tuple[KeptRequirement, ...]
    holds: tuple[KeptHold, ...]
    tags: Mapping[tuple[int, str, int], str] = field(repr=False)
    """Line, piece and copy → tag."""
    shortages: tuple[KeptShortage, ...]

    def held(self, item: str) -> int:
        """What is held of an item: mm of cloth cut, mm or count taken."""
        return sum(one.quantity for one in self.holds if one.item == item)

    def lots(self, item: str) -> set[str]:
        """The lots it is held from."""
        return {one.lot for one in self.holds if one.item == item}

    def needed(self, item: str) -> int:
        """What is needed of an item now: panels, mm or count."""
        return sum(one.needed for one in self.requirements if one.requirement.item == item)

    def pieces(self) -> set[str]:
        """Codes of the pieces that have requirements."""
        return {one.requirement.key.piece for one in self.requirements if one.requirement.key.piece}

    @property
    def wholly_held(self) -> bool:
        """Whether everything needed is held."""
        return all(one.held == one.needed for one in self.requirements)


def look(shop: Shop, number: str) -> Looked:
    """All that is kept of an order."""
    with shop.read() as tx:
        kept = orders.order_by(tx, number)
        return Looked(
            kept,
            tuple(bill.requirements_of(tx, kept.id)),
            tuple(holds.holds_of(tx, kept.id)),
            {(one.piece.line, one.piece.piece, one.piece.copy): one.tag for one in pieces.pieces_of(tx, kept.id)},
            tuple(holds.shortages_of(tx, kept.id)),
        )


def free(shop: Shop, item: str) -> int:
    """What is free of an item in all its rolls and bins; mm or count. Nothing of what is quarantined."""
    with shop.read() as tx:
        rolls = [(one.held_mm, one.reserved_mm, one.quarantined) for one in stock.rolls_of(tx, item)]
        bins = [(one.held, one.reserved, one.quarantined) for one in stock.bins_of(tx, item)]
    return sum(held - reserved for held, reserved, quarantined in (*rolls, *bins) if not quarantined)


def propose_mix(shop: Shop, number: str, item: str, *lots: str, group: str = "") -> None:
    """Writes down that a mix of these lots was proposed for an order, as its last reservation would."""
    with shop.write() as tx:
        order = orders.order_by(tx, number)
        short = KeptShortage(item, group, order.lines[0].car_id, 1, f"{item}: short.", lots)
        holds.rewrite_shortages(tx, order.id, [short])
