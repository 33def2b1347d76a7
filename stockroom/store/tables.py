"""Every table that is kept: the best description of what the shop's database holds.

Lengths are whole mm, counts whole, money whole minor units of the shop's currency. A colour, cloth, item, place and
supplier is known by its code, everything else by a number. Columns ending in `_folded` are case-folded for searching.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from stockroom.store.types import Base, Id, Json
from stockroom.store.version import SCHEMA as SCHEMA


def _one_of(column: str, *values: str) -> CheckConstraint:
    listed = ", ".join(f"'{value}'" for value in values)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


class About(Base):
    """The shop itself: one row."""

    __tablename__ = "about"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    schema: Mapped[int]
    shop_name: Mapped[str]
    time_zone: Mapped[str]
    currency: Mapped[str]
    opening: Mapped[date | None]
    """The day the books were opened."""
    made_at: Mapped[datetime]
    most_points: Mapped[int] = mapped_column(server_default="40")
    """A roll with more points per 100 yd² is suggested for quarantine."""
    recount_length: Mapped[int] = mapped_column(server_default="1")
    """A counted length further off the books than so many per cent is counted again."""
    recount_count: Mapped[int] = mapped_column(server_default="1")
    """Likewise of what is counted in whole ones."""
    colour_factors: Mapped[str] = mapped_column(server_default="1:1:1")
    """kL:kC:kH by which colours are compared."""
    order_cost_minor: Mapped[int] = mapped_column(server_default="0")
    """What one order line costs to place and to receive; 0: nobody said."""
    keeping_percent: Mapped[int] = mapped_column(server_default="0")
    """What keeping stock costs a year, in per cent of its worth; 0: nobody said."""


class Counter(Base):
    """The last serial given for each kind of tag, and the last order number."""

    __tablename__ = "counter"
    name: Mapped[str] = mapped_column(primary_key=True)
    last: Mapped[int]


class Job(Base):
    """One thing somebody did: what, who, when. Movements and order changes name theirs."""

    __tablename__ = "job"
    id: Mapped[Id]
    what: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]
    way_back: Mapped[dict[str, Any] | None] = mapped_column(Json)
    """What undoing it must know, by the name of what undoes it; none: it cannot be undone."""
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), unique=True)
    """The job that this one took back."""


class Colour(Base):
    """A colour of the shop, with its master reading."""

    __tablename__ = "colour"
    code: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    name_folded: Mapped[str]
    lightness: Mapped[float | None]
    a: Mapped[float | None]
    b: Mapped[float | None]
    illuminant: Mapped[str | None]
    observer: Mapped[str | None]


class Cloth(Base):
    """A roll material or narrow goods, without its colour."""

    __tablename__ = "cloth"
    __table_args__ = (_one_of("kind", "cloth", "narrow"), CheckConstraint("width_mm > 0", name="width_positive"))
    code: Mapped[str] = mapped_column(primary_key=True)
    title: Mapped[str]
    kind: Mapped[str]
    fibre: Mapped[str]
    grain: Mapped[str]
    width_mm: Mapped[int]
    mass_g_m2: Mapped[int]
    nap: Mapped[bool]
    shortest_useful_mm: Mapped[int]
    colour_tolerance: Mapped[float]
    hazards: Mapped[str]
    substitutes: Mapped[list[str]] = mapped_column(Json)
    discontinued: Mapped[bool]
    margin_mm: Mapped[int] = mapped_column(server_default="0")
    """So much of a lot stays held for an order beside what is planned, until it is packed."""


class Item(Base):
    """Anything stocked."""

    __tablename__ = "item"
    __table_args__ = (
        _one_of("kind", "cloth", "narrow", "hardware", "blank", "kit", "consumable", "piece"),
        Index("ix_item_cloth_colour", "cloth", "colour"),
    )
    code: Mapped[str] = mapped_column(primary_key=True)
    title: Mapped[str]
    title_folded: Mapped[str]
    kind: Mapped[str]
    cloth: Mapped[str | None] = mapped_column(ForeignKey("cloth.code"))
    colour: Mapped[str | None] = mapped_column(ForeignKey("colour.code"))
    mass_g: Mapped[int]
    group: Mapped[str]
    least: Mapped[int | None]
    most: Mapped[int | None]
    hazards: Mapped[str]
    storage: Mapped[str]
    made_here: Mapped[bool]
    posting: Mapped[str] = mapped_column(server_default="")
    """What is to be minded when it is posted."""
    substitutes: Mapped[list[str]] = mapped_column(Json, server_default="[]")
    """Codes of items that may stand in for it, with the customer's yes; those of its cloth hold besides."""
    discontinued: Mapped[bool] = mapped_column(server_default=text("false"))
    """This colour of its cloth is no more made, though others may be."""
    planned_by: Mapped[str] = mapped_column(server_default="")
    """'limits' or 'forecast': how the weekly run reckons it; empty: as its group."""
    make_days: Mapped[int] = mapped_column(server_default="0")
    """Days that making it here takes."""
    batch: Mapped[int] = mapped_column(server_default="1")
    """It is made here in whole batches of so many."""


class ItemGroup(Base):
    """How the weekly run reckons the items of one group, where an item does not say otherwise."""

    __tablename__ = "item_group"
    __table_args__ = (
        _one_of("planned_by", "limits", "forecast"),
        _one_of("target_of", "cycle", "shelf"),
        CheckConstraint("0 < target_permille AND target_permille < 1000", name="target_is_a_share"),
    )
    code: Mapped[str] = mapped_column(primary_key=True)
    planned_by: Mapped[str]
    target_of: Mapped[str]
    """'cycle': the chance that stock lasts until the next delivery; 'shelf': the share of demand met from the shelf."""
    target_permille: Mapped[int]


class Place(Base):
    """A rack, shelf or bin, with its tag and its turn on the walk."""

    __tablename__ = "place"
    code: Mapped[str] = mapped_column(primary_key=True)
    tag: Mapped[str] = mapped_column(unique=True)
    title: Mapped[str]
    walk: Mapped[int]


class Holding(Base):
    """What the ledger keeps account of: a roll, a bin (item × place × lot), one finished thing, or an item's past.

    The past is what moved before the books opened. A bin that is partly in quarantine is two holdings.

    `held` is the sum of its movements, kept beside them for speed; `reserved` is promised out of it.
    """

    __tablename__ = "holding"
    __table_args__ = (
        _one_of("kind", "roll", "bin", "made", "past"),
        CheckConstraint("reserved >= 0", name="reserved_not_negative"),
        CheckConstraint("reserved <= held", name="reserved_within_held"),
        CheckConstraint("NOT quarantined OR reserved = 0", name="nothing_reserved_in_quarantine"),
        Index("ix_holding_item", "item", "kind"),
        Index(
            "uq_holding_bin",
            "item",
            "place",
            "lot",
            "quarantined",
            unique=True,
            sqlite_where=text("kind = 'bin'"),
            postgresql_where=text("kind = 'bin'"),
        ),
        Index(
            "uq_holding_past",
            "item",
            unique=True,
            sqlite_where=text("kind = 'past'"),
            postgresql_where=text("kind = 'past'"),
        ),
    )
    id: Mapped[Id]
    kind: Mapped[str]
    tag: Mapped[str | None] = mapped_column(unique=True)
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    place: Mapped[str | None] = mapped_column(ForeignKey("place.code"), index=True)
    lot: Mapped[str]
    held: Mapped[int]
    reserved: Mapped[int]
    quarantined: Mapped[bool]
    quarantined_because: Mapped[str]
    last_number: Mapped[int]
    """Number of its latest movement."""
    value_minor: Mapped[int]
    """What is held is worth, at what was paid."""
    expires: Mapped[date | None]
    """The day after which it is not to be used."""


class Roll(Base):
    """One physical roll, reel or remnant: what a holding of kind 'roll' is besides its length."""

    __tablename__ = "roll"
    __table_args__ = (CheckConstraint("width_mm > 0", name="width_positive"),)
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), primary_key=True)
    label: Mapped[str | None] = mapped_column(unique=True)
    """The shop's own mark for it in the opening stock."""
    width_mm: Mapped[int]
    """Its own usable width; a remnant may be part-width."""
    measured: Mapped[bool]
    """False: its length is the supplier's claim."""
    remnant: Mapped[bool]
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("roll.holding_id"))
    flaws: Mapped[list[Any]] = mapped_column(Json)
    """[from_mm, to_mm, what] from the inner end."""
    received_on: Mapped[date | None]


class Reading(Base):
    """A CIE L*a*b* reading of a roll; there may be several of one."""

    __tablename__ = "reading"
    id: Mapped[Id]
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    lightness: Mapped[float]
    a: Mapped[float]
    b: Mapped[float]
    illuminant: Mapped[str]
    observer: Mapped[str]
    """In degrees."""
    by: Mapped[str]
    at: Mapped[datetime]
    instrument: Mapped[str]
    """What it was taken with; may be empty."""


class MasterReading(Base):
    """A master reading of a colour as it was written down. The latest of a colour, and of a cloth, stands."""

    __tablename__ = "master_reading"
    __table_args__ = (Index("ix_master_reading_colour", "colour"),)
    id: Mapped[Id]
    colour: Mapped[str] = mapped_column(ForeignKey("colour.code"))
    cloth: Mapped[str | None] = mapped_column(ForeignKey("cloth.code"))
    """It was read in this cloth and holds in it alone; none: it holds in every cloth that has no master of its own."""
    lightness: Mapped[float | None]
    """None, as the other figures: from then on it had no master."""
    a: Mapped[float | None]
    b: Mapped[float | None]
    illuminant: Mapped[str | None]
    observer: Mapped[str | None]
    by: Mapped[str]
    """Empty: it was there before this was kept."""
    at: Mapped[datetime]
    instrument: Mapped[str]
    """What it was taken with; may be empty."""


class EyeVerdict(Base):
    """Somebody's judgement of two dye lots of one item side by side. The latest of two lots stands."""

    __tablename__ = "eye_verdict"
    __table_args__ = (_one_of("verdict", "match", "near", "no-match"), Index("ix_eye_verdict_item", "item"))
    id: Mapped[Id]
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    lot: Mapped[str]
    """The one whose name comes first."""
    other_lot: Mapped[str]
    verdict: Mapped[str]
    eyes: Mapped[str]
    """Initials of whoever looked."""
    light: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Finished(Base):
    """A made piece, or a whole kit, that is stock: what a holding of kind 'made' is besides being one.

    It is left over from an order, or was made for stock.
    """

    __tablename__ = "finished"
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), primary_key=True)
    title: Mapped[str]
    kit: Mapped[str]
    """Code of the kit that it is, or is a piece of."""
    piece: Mapped[str]
    """Code of the piece; empty: it is the whole kit."""
    hand: Mapped[str]
    book_id: Mapped[int] = mapped_column(ForeignKey("kit_book.id"))
    """The version of the kit book that it was made by."""
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    """The order that it was made for."""
    covers: Mapped[list[Any]] = mapped_column(Json)
    """What is in it: the requirements that it meets, each with its item, shape, amount and lots."""
    lacks: Mapped[list[str]] = mapped_column(Json)
    """What of it was not there yet when it became stock: sentences."""
    changes: Mapped[list[str]] = mapped_column(Json)
    """How it differs from the book's: sentences."""


class FromStock(Base):
    """A piece of an order that a finished thing of the stock is to be, so that it need not be made."""

    __tablename__ = "from_stock"
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    amounts: Mapped[list[Any]] = mapped_column(Json)
    """[requirement id, amount]: so much of each requirement it covers."""
    movement_id: Mapped[int | None] = mapped_column(ForeignKey("movement.id"))
    """What booked it out; none until it is fetched."""
    by: Mapped[str]
    at: Mapped[datetime]


class LeftOver(Base):
    """What became of a piece that was begun for an order which did not take it: stock, or scrap."""

    __tablename__ = "left_over"
    __table_args__ = (CheckConstraint("holding_id IS NOT NULL OR because <> ''", name="stock_or_scrap"),)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    holding_id: Mapped[int | None] = mapped_column(ForeignKey("holding.id"), index=True)
    """The finished thing that it became, or is in; none: it was scrapped."""
    because: Mapped[str]
    """Why it was scrapped; empty where it became stock."""
    amounts: Mapped[list[Any]] = mapped_column(Json)
    """[requirement id, amount]: so much of what was taken went with it."""
    by: Mapped[str]
    at: Mapped[datetime]


class Movement(Base):
    """One line of the ledger. Appended by `stockroom.store.ledger`; never updated or deleted."""

    __tablename__ = "movement"
    __table_args__ = (
        UniqueConstraint("holding_id", "number"),
        UniqueConstraint("reverses_id"),
        _one_of("kind", "received", "cut", "issued", "returned", "moved", "counted", "scrapped", "made", "reversed"),
        CheckConstraint("balance >= 0", name="balance_not_negative"),
        # Millions of them: what a job, an order or a stretch of time had to do with is never looked for in all.
        Index("ix_movement_job", "job_id"),
        Index("ix_movement_order", "order_id"),
        Index("ix_movement_at", "at"),
    )
    id: Mapped[Id]
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"))
    number: Mapped[int]
    """1, 2, 3 … within its holding: ledger order is this, not the clock."""
    kind: Mapped[str]
    quantity: Mapped[int]
    """Signed: mm or count."""
    balance: Mapped[int]
    """Held after it."""
    value_minor: Mapped[int]
    """Signed."""
    order_id: Mapped[int | None] = mapped_column(ForeignKey("customer_order.id"))
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("movement.id"))
    by: Mapped[str]
    at: Mapped[datetime]
    note: Mapped[str]


class KitBook(Base):
    """One version of a kit book, with its source text."""

    __tablename__ = "kit_book"
    __table_args__ = (UniqueConstraint("code", "version"),)
    id: Mapped[Id]
    code: Mapped[str]
    version: Mapped[str]
    title: Mapped[str]
    format: Mapped[int]
    source: Mapped[str]
    loaded_at: Mapped[datetime]
    loaded_by: Mapped[str]


class Car(Base):
    """One car through the years and all its orders."""

    __tablename__ = "car"
    __table_args__ = (_one_of("hand", "", "left", "right"),)
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    key: Mapped[str]
    """How the shop speaks of it: its chassis number where that is known."""
    key_folded: Mapped[str] = mapped_column(unique=True)
    """The key without blanks and case, by which a later order finds it again."""
    chassis_number: Mapped[str]
    series: Mapped[str]
    works: Mapped[str]
    built: Mapped[date | None]
    hand: Mapped[str]
    body_colour: Mapped[str | None] = mapped_column(ForeignKey("colour.code"))
    trim_colour: Mapped[str | None] = mapped_column(ForeignKey("colour.code"))
    hood_colour: Mapped[str | None] = mapped_column(ForeignKey("colour.code"))


class CarChange(Base):
    """A change of pattern proved on the car and kept with it."""

    __tablename__ = "car_change"
    id: Mapped[Id]
    car_id: Mapped[int] = mapped_column(ForeignKey("car.id"), index=True)
    order_id: Mapped[int | None] = mapped_column(ForeignKey("customer_order.id"))
    change: Mapped[dict[str, Any]] = mapped_column(Json)
    by: Mapped[str]
    at: Mapped[datetime]


class CustomerOrder(Base):
    """An order: who for, when wanted, sent or fitted here."""

    __tablename__ = "customer_order"
    __table_args__ = (
        _one_of("state", "open", "cancelled", "cut", "sent", "kept"),
        Index("ix_customer_order_state", "state", "wanted"),
    )
    id: Mapped[Id]
    number: Mapped[str] = mapped_column(unique=True)
    tag: Mapped[str] = mapped_column(unique=True)
    customer: Mapped[str]
    customer_folded: Mapped[str]
    wanted: Mapped[date | None]
    fitted_here: Mapped[bool]
    book_id: Mapped[int] = mapped_column(ForeignKey("kit_book.id"))
    """The version it was taken under."""
    note: Mapped[str]
    state: Mapped[str]
    taken_at: Mapped[datetime]
    taken_by: Mapped[str]
    fitting: Mapped[dict[str, Any]] = mapped_column(Json)
    """Car key → its fitting steps."""
    digest: Mapped[str]
    """Of the request as it came: the same file taken twice is known again."""
    for_stock: Mapped[bool] = mapped_column(server_default=text("false"))
    """Nobody ordered it: what is made becomes stock, and the order ends as 'kept'."""


class OrderLine(Base):
    """One line of an order: so many of a kit, or single pieces of it, for one car."""

    __tablename__ = "order_line"
    __table_args__ = (UniqueConstraint("order_id", "number"), CheckConstraint("quantity > 0", name="quantity_positive"))
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    number: Mapped[int]
    kit: Mapped[str]
    title: Mapped[str]
    quantity: Mapped[int]
    car_id: Mapped[int] = mapped_column(ForeignKey("car.id"), index=True)
    request: Mapped[dict[str, Any]] = mapped_column(Json)
    """What was asked for, as it was asked."""
    on_car: Mapped[list[Any]] = mapped_column(Json)
    """Hardware that is on the car already: [path, piece, item, count, half]."""
    advice: Mapped[list[str]] = mapped_column(Json)


class Waiting(Base):
    """A named answer that a line waits for, or waited for."""

    __tablename__ = "waiting"
    __table_args__ = (UniqueConstraint("line_id", "kind", "name"),)
    id: Mapped[Id]
    line_id: Mapped[int] = mapped_column(ForeignKey("order_line.id"))
    kind: Mapped[str]
    name: Mapped[str]
    question: Mapped[str]
    choices: Mapped[list[str]] = mapped_column(Json)
    holds_up: Mapped[list[str]] = mapped_column(Json)
    """Pieces that hang on it; empty: the whole line."""
    answer: Mapped[str | None]
    answered_by: Mapped[str | None]
    answered_at: Mapped[datetime | None]


class OrderChange(Base):
    """What was changed about an order after it was taken: a sentence, with who and when."""

    __tablename__ = "order_change"
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    what: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Requirement(Base):
    """One line of an order's exploded bill of materials, with its reason."""

    __tablename__ = "requirement"
    __table_args__ = (
        UniqueConstraint("order_id", "line", "path", "piece", "part", "hand", "unit"),
        _one_of("need", "panel", "length", "count", "made"),
        CheckConstraint("quantity > 0", name="quantity_positive"),
        CheckConstraint("0 <= held AND held <= needed AND needed <= quantity", name="held_within_needed"),
        CheckConstraint("0 <= taken AND taken <= held", name="taken_within_held"),
        CheckConstraint("0 <= covered AND covered <= quantity", name="covered_within_quantity"),
        Index("ix_requirement_item", "item"),
    )
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    line: Mapped[int]
    path: Mapped[str]
    piece: Mapped[str]
    part: Mapped[str]
    hand: Mapped[str]
    unit: Mapped[int]
    need: Mapped[str]
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    quantity: Mapped[int]
    """As exploded."""
    needed: Mapped[int]
    """Of `quantity`, what is wanted from stock now: what a made-up item consists of is needed only for the units that
    stock lacks (0 until then), and the made-up item itself for the others."""
    held: Mapped[int]
    """Of `needed`, what is held: planned panels, mm or count; what was taken for it stays counted."""
    each_mm: Mapped[int]
    group: Mapped[str]
    reasons: Mapped[list[str]] = mapped_column(Json)
    shape: Mapped[dict[str, Any] | None] = mapped_column(Json)
    changed: Mapped[bool]
    taken: Mapped[int] = mapped_column(server_default="0")
    """Of `held`, what has been picked or cut."""
    covered: Mapped[int] = mapped_column(server_default="0")
    """Of `quantity`, what is not needed because a finished thing of the stock has it."""


class Piece(Base):
    """One physical piece of an order, with its tag."""

    __tablename__ = "piece"
    __table_args__ = (UniqueConstraint("order_id", "line", "path", "piece", "copy"),)
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    line: Mapped[int]
    path: Mapped[str]
    piece: Mapped[str]
    copy: Mapped[int]
    title: Mapped[str]
    hand: Mapped[str]
    group: Mapped[str]
    note: Mapped[str]
    steps: Mapped[list[int]] = mapped_column(Json)
    steps_in_all: Mapped[int]
    holes_left: Mapped[list[str]] = mapped_column(Json)
    changed: Mapped[bool]
    changes: Mapped[list[str]] = mapped_column(Json)


class PlannedCut(Base):
    """One contiguous stretch of one roll, with the arrangement of the panels on it.

    Positions are measured from the roll's inner end.
    """

    __tablename__ = "planned_cut"
    __table_args__ = (
        CheckConstraint("0 <= from_mm AND from_mm < to_mm", name="stretch"),
        _one_of("state", "planned", "cut"),
        Index("ix_planned_cut_holding", "holding_id", "state"),
    )
    id: Mapped[Id]
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"))
    from_mm: Mapped[int]
    to_mm: Mapped[int]
    state: Mapped[str]
    reasons: Mapped[list[str]] = mapped_column(Json)
    by: Mapped[str]
    at: Mapped[datetime]


class PlannedPanel(Base):
    """One panel laid on a planned cut, and the requirement it serves."""

    __tablename__ = "planned_panel"
    __table_args__ = (Index("ix_planned_panel_requirement", "requirement_id"), Index("ix_planned_panel_cut", "cut_id"))
    id: Mapped[Id]
    cut_id: Mapped[int] = mapped_column(ForeignKey("planned_cut.id"))
    requirement_id: Mapped[int] = mapped_column(ForeignKey("requirement.id"))
    x_mm: Mapped[int]
    """Across the roll, from its left edge."""
    y_mm: Mapped[int]
    """Along the roll, from the cut's `from_mm`."""
    turned: Mapped[int]
    """Degrees: 0, 90 or 180."""


class Swatch(Base):
    """A swatch of a dye lot: a small piece with a tag and a place of its own. It is no stock any more."""

    __tablename__ = "swatch"
    __table_args__ = (
        CheckConstraint("length_mm >= 0", name="length_not_negative"),
        CheckConstraint("(length_mm = 0) = (movement_id IS NULL)", name="length_is_booked"),
        Index("ix_swatch_item", "item", "lot"),
    )
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    lot: Mapped[str]
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    """The roll or reel that it is of."""
    length_mm: Mapped[int]
    """So much of the roll it took; 0: it was cut from an offcut."""
    movement_id: Mapped[int | None] = mapped_column(ForeignKey("movement.id"))
    """What booked it out of the roll."""
    place: Mapped[str | None] = mapped_column(ForeignKey("place.code"), index=True)
    """None: a customer has it, or it is gone."""
    gone_because: Mapped[str]
    """Why there is no such swatch any more; empty while there is."""
    by: Mapped[str]
    at: Mapped[datetime]


class SwatchSent(Base):
    """A swatch that went to a customer for a line of an order, and what the customer said to it."""

    __tablename__ = "swatch_sent"
    __table_args__ = (
        _one_of("answer", "yes", "no", "not needed"),
        CheckConstraint("hold_mm >= 0", name="hold_not_negative"),
        CheckConstraint("(answer IS NULL) = (answered_at IS NULL)", name="answer_has_a_day"),
    )
    id: Mapped[Id]
    swatch_id: Mapped[int] = mapped_column(ForeignKey("swatch.id"), index=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    line: Mapped[int]
    name: Mapped[str]
    """What the line waits for, by its name."""
    until: Mapped[date]
    """The last day on which its lot is held without an answer."""
    hold_mm: Mapped[int]
    """So much of its lot is to be held meanwhile."""
    by: Mapped[str]
    at: Mapped[datetime]
    answer: Mapped[str | None]
    """'not needed': the line waits for it no more, for another reason."""
    said_by: Mapped[str]
    """Who of the customer's said so; empty until it is answered."""
    note: Mapped[str]
    answered_by: Mapped[str | None]
    answered_at: Mapped[datetime | None]


class Margin(Base):
    """A stretch of a roll that stays held for an order, in case a panel is spoilt: of the lot that its panels have.

    No panel is planned on it. It counts in the roll's `reserved`, and is let go when the order is sent or cancelled.
    One that is held for a swatch that was sent is let go when that is answered, or its day is past.
    """

    __tablename__ = "margin"
    __table_args__ = (
        CheckConstraint("0 <= from_mm AND from_mm < to_mm", name="stretch"),
        Index("ix_margin_holding", "holding_id"),
        Index(
            "uq_margin_order",
            "order_id",
            "holding_id",
            unique=True,
            sqlite_where=text("sent_id IS NULL"),
            postgresql_where=text("sent_id IS NULL"),
        ),
    )
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"))
    from_mm: Mapped[int]
    """From the roll's inner end."""
    to_mm: Mapped[int]
    by: Mapped[str]
    at: Mapped[datetime]
    sent_id: Mapped[int | None] = mapped_column(ForeignKey("swatch_sent.id"), index=True)
    """The swatch for whose answer it is held; none: it is a margin."""


class Substitution(Base):
    """What a line of an order takes instead of what its kit asks for, since the customer said yes to it."""

    __tablename__ = "substitution"
    __table_args__ = (UniqueConstraint("order_id", "line", "item"),)
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    line: Mapped[int]
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    """As the kit book has it."""
    instead: Mapped[str] = mapped_column(ForeignKey("item.code"))
    """What is taken."""
    yes_from: Mapped[str]
    """Who of the customer's said yes."""
    note: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Reservation(Base):
    """A requirement's hold on narrow goods, counted goods or made-up pieces."""

    __tablename__ = "reservation"
    __table_args__ = (
        UniqueConstraint("requirement_id", "holding_id"),
        CheckConstraint("quantity > 0", name="quantity_positive"),
        Index("ix_reservation_holding", "holding_id"),
    )
    id: Mapped[Id]
    requirement_id: Mapped[int] = mapped_column(ForeignKey("requirement.id"))
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"))
    quantity: Mapped[int]
    reasons: Mapped[list[str]] = mapped_column(Json)
    by: Mapped[str]
    at: Mapped[datetime]


class Pick(Base):
    """What was really taken for a requirement: so much of one holding, by one movement."""

    __tablename__ = "pick"
    __table_args__ = (CheckConstraint("quantity > 0", name="quantity_positive"), UniqueConstraint("movement_id"))
    id: Mapped[Id]
    requirement_id: Mapped[int] = mapped_column(ForeignKey("requirement.id"), index=True)
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    quantity: Mapped[int]
    movement_id: Mapped[int] = mapped_column(ForeignKey("movement.id"))
    by: Mapped[str]
    at: Mapped[datetime]


class Cut(Base):
    """A planned cut as it was really made, and what became of what was left over."""

    __tablename__ = "cut"
    __table_args__ = (CheckConstraint("cut_mm > 0", name="length_positive"), UniqueConstraint("planned_cut_id"))
    id: Mapped[Id]
    planned_cut_id: Mapped[int] = mapped_column(ForeignKey("planned_cut.id"))
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    planned_mm: Mapped[int]
    cut_mm: Mapped[int]
    movement_id: Mapped[int] = mapped_column(ForeignKey("movement.id"))
    note: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Spoilt(Base):
    """A panel that was spoilt and is cut again: which, why, who says so."""

    __tablename__ = "spoilt"
    __table_args__ = (CheckConstraint("count > 0", name="count_positive"),)
    id: Mapped[Id]
    requirement_id: Mapped[int] = mapped_column(ForeignKey("requirement.id"), index=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    count: Mapped[int]
    because: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]
    lot: Mapped[str | None]
    """The dye lot that it was cut from; none: nobody wrote it down."""
    cut_id: Mapped[int | None] = mapped_column(ForeignKey("planned_cut.id"))
    """The cut that it was on; none: nobody wrote it down, before revision 0004."""


class Stage(Base):
    """A station of the sewing room that the shop names itself: binding, sewing, fasteners, an outworker."""

    __tablename__ = "stage"
    code: Mapped[str] = mapped_column(primary_key=True)
    title: Mapped[str]
    turn: Mapped[int]
    """Its turn among the stages."""


class Bundle(Base):
    """The cut panels of one kit of an order line, tied and tagged."""

    __tablename__ = "bundle"
    __table_args__ = (
        UniqueConstraint("order_id", "line", "path", "copy"),
        _one_of("state", "tied", "packed", "left over"),
    )
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    line: Mapped[int]
    path: Mapped[str]
    copy: Mapped[int]
    state: Mapped[str]
    stage: Mapped[str | None] = mapped_column(ForeignKey("stage.code"))
    """Where it is; `None`: at the bench."""
    holder: Mapped[str]
    """Who has it, where the stage does not say."""
    since: Mapped[datetime]
    by: Mapped[str]


class Bundled(Base):
    """A piece whose panels are in a bundle."""

    __tablename__ = "bundled"
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    bundle_id: Mapped[int] = mapped_column(ForeignKey("bundle.id"), index=True)


class BundleStep(Base):
    """A bundle scanned out to a stage or in again."""

    __tablename__ = "bundle_step"
    __table_args__ = (_one_of("way", "tied", "out", "in"),)
    id: Mapped[Id]
    bundle_id: Mapped[int] = mapped_column(ForeignKey("bundle.id"), index=True)
    way: Mapped[str]
    stage: Mapped[str | None] = mapped_column(ForeignKey("stage.code"))
    holder: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Sewn(Base):
    """A piece whose panels were sewn together: one piece from then on."""

    __tablename__ = "sewn"
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    by: Mapped[str]
    at: Mapped[datetime]


class Parcel(Base):
    """One parcel of an order, or what was issued to a car that is fitted here."""

    __tablename__ = "parcel"
    __table_args__ = (UniqueConstraint("order_id", "number"), _one_of("state", "open", "closed"))
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"))
    number: Mapped[int]
    what: Mapped[str]
    """What kind of parcel: 'box', 'long parcel', 'to the car'."""
    state: Mapped[str]
    opened_by: Mapped[str]
    opened_at: Mapped[datetime]
    closed_by: Mapped[str | None]
    closed_at: Mapped[datetime | None]


class Packed(Base):
    """A piece that was put into a parcel."""

    __tablename__ = "packed"
    __table_args__ = (_one_of("how", "scanned", "ticked"),)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    parcel_id: Mapped[int] = mapped_column(ForeignKey("parcel.id"), index=True)
    how: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class SentShort(Base):
    """Somebody's word that an order goes out incomplete, and what is owed."""

    __tablename__ = "sent_short"
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), unique=True)
    owed: Mapped[list[str]] = mapped_column(Json)
    because: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Shortage(Base):
    """What the last attempt to reserve an order found short, in words."""

    __tablename__ = "shortage"
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    group: Mapped[str]
    car_id: Mapped[int | None] = mapped_column(ForeignKey("car.id"))
    missing: Mapped[int]
    """mm or count; of cloth, the length that the panels without a place would take."""
    sentence: Mapped[str]
    would_mix: Mapped[list[str]] = mapped_column(Json)
    """All the lots that its matching group would have, if somebody approves the mix."""


class MixApproval(Base):
    """Somebody's word that these lots may be used in one matching group of one order."""

    __tablename__ = "mix_approval"
    id: Mapped[Id]
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    because: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]
    group: Mapped[str] = mapped_column(server_default="")
    car_id: Mapped[int | None] = mapped_column(ForeignKey("car.id"))
    lots: Mapped[list[str]] = mapped_column(Json, server_default="[]")
    """All the lots that the group was to have; none where they were not written down, before revision 0004."""


class CustomerPart(Base):
    """A customer's frame or bright part that came in: never counted as our stock."""

    __tablename__ = "customer_part"
    id: Mapped[Id]
    tag: Mapped[str] = mapped_column(unique=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("customer_order.id"), index=True)
    car_id: Mapped[int | None] = mapped_column(ForeignKey("car.id"))
    what: Mapped[str]
    place: Mapped[str | None] = mapped_column(ForeignKey("place.code"))
    received_by: Mapped[str]
    received_at: Mapped[datetime]
    given_back_by: Mapped[str | None]
    given_back_at: Mapped[datetime | None]


class Supplier(Base):
    """Who sells it."""

    __tablename__ = "supplier"
    code: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    lead_days: Mapped[int]
    currency: Mapped[str]
    carriage_paid_minor: Mapped[int]


class Terms(Base):
    """What one supplier asks for one item."""

    __tablename__ = "terms"
    __table_args__ = (UniqueConstraint("supplier", "item"), Index("ix_terms_item", "item"))
    id: Mapped[Id]
    supplier: Mapped[str] = mapped_column(ForeignKey("supplier.code"))
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    lead_days: Mapped[int | None]
    least_quantity: Mapped[int]
    multiple: Mapped[int]
    preferred: Mapped[bool]
    breaks: Mapped[list[Any]] = mapped_column(Json)
    """[from_quantity, price_minor] for one (counted) or one metre (by length), ascending."""
    roll_mm: Mapped[int | None]
    """It comes in whole rolls or reels of this length."""


class Purchase(Base):
    """What is on order with a supplier."""

    __tablename__ = "purchase"
    __table_args__ = (
        UniqueConstraint("reference", "item"),
        CheckConstraint("quantity > 0", name="quantity_positive"),
        CheckConstraint("received >= 0", name="received_not_negative"),
        Index("ix_purchase_item", "item"),
    )
    id: Mapped[Id]
    reference: Mapped[str]
    supplier: Mapped[str] = mapped_column(ForeignKey("supplier.code"))
    item: Mapped[str] = mapped_column(ForeignKey("item.code"))
    quantity: Mapped[int]
    received: Mapped[int]
    ordered: Mapped[date]
    due: Mapped[date]
    price_minor: Mapped[int]
    by: Mapped[str]
    at: Mapped[datetime]
    closed_because: Mapped[str] = mapped_column(server_default="")
    """Why no more of it will come, or is wanted; empty while it is open or all has come."""
    closed_by: Mapped[str | None]
    closed_at: Mapped[datetime | None]


class Receipt(Base):
    """Goods that came in: one roll, or so many of a counted item, against a purchase or without one."""

    __tablename__ = "receipt"
    __table_args__ = (CheckConstraint("quantity > 0", name="quantity_positive"), UniqueConstraint("movement_id"))
    id: Mapped[Id]
    purchase_id: Mapped[int | None] = mapped_column(ForeignKey("purchase.id"), index=True)
    supplier: Mapped[str | None] = mapped_column(ForeignKey("supplier.code"))
    delivery: Mapped[str]
    """The supplier's delivery note, as it is written there; may be empty."""
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    movement_id: Mapped[int] = mapped_column(ForeignKey("movement.id"))
    quantity: Mapped[int]
    """As it was booked in: mm or count. A length that was not measured is the supplier's claim."""
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    by: Mapped[str]
    at: Mapped[datetime]


class Inspection(Base):
    """A roll looked over flaw by flaw, by the four-point system."""

    __tablename__ = "inspection"
    id: Mapped[Id]
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    faults: Mapped[list[Any]] = mapped_column(Json)
    """[at_mm, length_mm, what] from the inner end."""
    points: Mapped[int]
    length_mm: Mapped[int]
    """So much was looked over."""
    width_mm: Mapped[int]
    by: Mapped[str]
    at: Mapped[datetime]


class Moved(Base):
    """Where a movement of kind 'moved' took a whole roll or finished thing from, and where to."""

    __tablename__ = "moved"
    movement_id: Mapped[int] = mapped_column(ForeignKey("movement.id"), primary_key=True)
    from_place: Mapped[str | None] = mapped_column(ForeignKey("place.code"))
    to_place: Mapped[str | None] = mapped_column(ForeignKey("place.code"))


class CountSheet(Base):
    """A count that somebody goes round with: of a place, or of an item."""

    __tablename__ = "count_sheet"
    __table_args__ = (_one_of("state", "open", "closed", "left"),)
    id: Mapped[Id]
    place: Mapped[str | None] = mapped_column(ForeignKey("place.code"), index=True)
    """What is counted is all that lies here …"""
    item: Mapped[str | None] = mapped_column(ForeignKey("item.code"), index=True)
    """… or all there is of this."""
    state: Mapped[str]
    begun_by: Mapped[str]
    begun_at: Mapped[datetime]
    ended_by: Mapped[str | None]
    ended_at: Mapped[datetime | None]


class Counted(Base):
    """One holding's figure on a count sheet."""

    __tablename__ = "counted"
    __table_args__ = (
        UniqueConstraint("sheet_id", "holding_id"),
        CheckConstraint("first >= 0", name="first_not_negative"),
        CheckConstraint("second IS NULL OR second >= 0", name="second_not_negative"),
    )
    id: Mapped[Id]
    sheet_id: Mapped[int] = mapped_column(ForeignKey("count_sheet.id"))
    holding_id: Mapped[int] = mapped_column(ForeignKey("holding.id"), index=True)
    first: Mapped[int]
    """What was counted: mm or count."""
    second: Mapped[int | None]
    """What was counted when it was counted again."""
    expected: Mapped[int]
    """What the books held at the moment of the figure that stands: movements made later are no difference."""
    movement_id: Mapped[int | None] = mapped_column(ForeignKey("movement.id"))
    """What put the books right; none where the figure was right, or until the sheet is closed."""
    by: Mapped[str]
    at: Mapped[datetime]


class LowStock(Base):
    """A low-stock tag that was scanned: somebody at the shelf says that this is running out."""

    __tablename__ = "low_stock"
    id: Mapped[Id]
    item: Mapped[str] = mapped_column(ForeignKey("item.code"), index=True)
    by: Mapped[str]
    at: Mapped[datetime]
    ended_because: Mapped[str]
    """'bought', 'received', 'not wanted'; empty while it stands on the buying list."""
    ended_by: Mapped[str | None]
    ended_at: Mapped[datetime | None]


class LastOrder(Base):
    """A supplier's notice that an item can be ordered until a day, and no more after it."""

    __tablename__ = "last_order"
    __table_args__ = (CheckConstraint("weeks > 0", name="weeks_positive"),)
    id: Mapped[Id]
    item: Mapped[str] = mapped_column(ForeignKey("item.code"), index=True)
    until: Mapped[date]
    """The last day to order."""
    weeks: Mapped[int]
    """Buy for so many weeks after it."""
    note: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]
    ended_because: Mapped[str]
    """Why it holds no longer; empty while it does."""
    ended_by: Mapped[str | None]
    ended_at: Mapped[datetime | None]


class ReplacedTag(Base):
    """A tag that was torn or lost, and the one that took its place."""

    __tablename__ = "replaced_tag"
    old: Mapped[str] = mapped_column(primary_key=True)
    new: Mapped[str] = mapped_column(unique=True)
    because: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class Printed(Base):
    """Paper that a job gave rise to, so that undoing the job can name what to throw away."""

    __tablename__ = "printed"
    id: Mapped[Id]
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    what: Mapped[str]
    """What it is, for people: 'tag R1042L', 'packing list of order L-1041'."""
    at: Mapped[datetime]


class ReorderRun(Base):
    """One week's proposals with their working, known by the week and a digest of what went in."""

    __tablename__ = "reorder_run"
    __table_args__ = (UniqueConstraint("week", "digest"),)
    id: Mapped[Id]
    week: Mapped[str]
    digest: Mapped[str]
    report: Mapped[dict[str, Any]] = mapped_column(Json)
    by: Mapped[str]
    at: Mapped[datetime]
    inputs: Mapped[str | None]
    """All that went in, from which the digest is made: JSON, deflated, in base 64. None: kept by an older program."""
    turn: Mapped[int | None]
    """The run of a week with the highest is the latest. None: kept by an older program; its id does for it."""


class BuyingDecision(Base):
    """What somebody decided on a line of a reorder run. The latest on a line stands; none is ever changed."""

    __tablename__ = "buying_decision"
    __table_args__ = (
        _one_of("decision", "accepted", "changed", "put off"),
        CheckConstraint("quantity >= 0", name="quantity_not_negative"),
    )
    id: Mapped[Id]
    run_id: Mapped[int] = mapped_column(ForeignKey("reorder_run.id"), index=True)
    item: Mapped[str] = mapped_column(ForeignKey("item.code"), index=True)
    decision: Mapped[str]
    quantity: Mapped[int]
    """What was bought, mm or count; 0 where it was put off."""
    because: Mapped[str]
    """Why it was changed or put off; empty where it was accepted as proposed."""
    until: Mapped[date | None]
    """Put off: it is proposed again from this day on."""
    purchase_id: Mapped[int | None] = mapped_column(ForeignKey("purchase.id"), index=True)
    """The line of a purchase that it became."""
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    by: Mapped[str]
    at: Mapped[datetime]


TRIGGERS: dict[str, list[str]] = {
    "sqlite": [
        f"CREATE TRIGGER movement_no_{verb} BEFORE {verb.upper()} ON movement BEGIN "
        f"SELECT RAISE(ABORT, 'a movement is never changed: append a reversing one'); END"
        for verb in ("update", "delete")
    ],
    "postgresql": [
        "CREATE FUNCTION movement_stays() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'a movement is never changed: append a reversing one'; END $$",
        "CREATE TRIGGER movement_no_change BEFORE UPDATE OR DELETE ON movement "
        "FOR EACH ROW EXECUTE FUNCTION movement_stays()",
    ],
}
"""What holds the first law in the database itself, by dialect."""

# tables are complete
