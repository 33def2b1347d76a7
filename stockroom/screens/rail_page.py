"""The rail: the orders in hand by the date they are wanted, how ready each is and what is short."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import ComposeResult

from stockroom.jobs.papers import Paper, of_orders
from stockroom.jobs.printed import delivery
from stockroom.screens.desk import Desk
from stockroom.screens.holding import reserve_each
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, labelled, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import bar, counted, day, overdue, wanted
from stockroom.screens.work_page import WorkPage

if TYPE_CHECKING:
    from stockroom.jobs.rail import RailEntry
    from stockroom.screens.calls import Jobs

EMPTY = "No orders in hand.\n\nTo take one, type in a shell:  stockroom take ORDER.toml\nThen F5 shows it here."
_WIDE = 120
MARKED = "✓"
"""Stands before the number of a marked order."""


def _wanted_short(entry: RailEntry) -> Cell:
    if entry.overdue_days:
        return Cell(f"OVERDUE {entry.overdue_days} d", "alarm")
    return Cell(day(entry.wanted) if entry.wanted else " open")


def _wanted_long(entry: RailEntry) -> Cell:
    if entry.wanted is None:
        return Cell(" open")
    if entry.overdue_days:
        return Cell(f"{day(entry.wanted)}  {overdue(entry.overdue_days)}", "alarm")
    return Cell(day(entry.wanted))


def _kits(entry: RailEntry) -> Cell:
    """What was ordered; one of a thing goes without saying, where there is little room."""
    return Cell("; ".join(kit.removeprefix("1 × ") for kit in entry.kits))


def ready_words(entry: RailEntry) -> str:
    """How ready an order is, with what it waits for."""
    waiting = f"waits {entry.waits}" if entry.waits else ""
    if entry.answer_overdue_days:
        waiting = "answer overdue"
    return waiting if entry.ready == "waits" else ", ".join(filter(None, (entry.ready, waiting)))


def _ready(entry: RailEntry) -> Cell:
    return Cell(ready_words(entry), {"held": "", "not held yet": "quiet"}.get(entry.ready, "strong"))


def _held_short(entry: RailEntry) -> Cell:
    return Cell(f"{bar(entry.held, entry.needed, 4)} {entry.held}/{entry.needed}")


def _held_long(entry: RailEntry) -> Cell:
    return Cell(f"{bar(entry.held, entry.needed, 8)} held {entry.held} of {entry.needed}")


_BEFORE: tuple[Column[RailEntry], ...] = (
    Column(" Wanted", _wanted_short, 12, shown_below=_WIDE),
    Column(" Wanted", _wanted_long, 28, shown_from=_WIDE),
)
_BEHIND: tuple[Column[RailEntry], ...] = (
    Column("Customer", lambda entry: Cell(entry.customer), 12, grow=2),
    Column("Kits", _kits, 12, grow=3),
    Column("Ready", _ready, 14),
    Column("Held", _held_short, 12, shown_below=_WIDE),
    Column("Held", _held_long, 24, shown_from=_WIDE),
    Column("Short", lambda entry: Cell("; ".join(entry.short)), 16, grow=3, shown_from=_WIDE),
)


def _words(entry: RailEntry) -> str:
    return " ".join((entry.number, entry.tag, entry.customer, *entry.kits, *entry.cars))


def detail(entry: RailEntry) -> Iterator[Line]:
    """The highlighted order in full, since a row may have been cut short."""
    due = wanted(entry.wanted, entry.overdue_days)
    where = delivery(entry.fitted_here)
    yield sentence((entry.number, "bold"), f"  {entry.customer}  ·  {due}  ·  {where}")
    yield from labelled(
        (
            ("Kits", "; ".join(entry.kits)),
            ("Cars", "; ".join(entry.cars)),
            ("Held", f"{entry.held} of {counted(entry.needed, 'requirement')}"),
        )
    )
    if entry.short:
        yield sentence((f"{SIGN} Short  ", "bold"), "; ".join(entry.short), hang=9)
    if entry.waits:
        late = f", one to a swatch {overdue(entry.answer_overdue_days)}" if entry.answer_overdue_days else ""
        told = f"for {counted(entry.waits, 'answer')}{late}; the ticket names them"
        yield sentence((f"{SIGN} Waits  ", "bold"), told)


class RailPage(WorkPage):
    """The orders in hand."""

    things = "order"
    LISTS_STOCK_PAGES = True
    KEYS = (
        Key("Space", "Mark", "page_key('Space')", "mark the order, to do the same for several"),
        Key("^R", "Reserve", "page_key('^R')", "hold what the order, or the marked orders, need"),
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._marked: set[str] = set()
        self._entries: tuple[RailEntry, ...] | None = None

    def compose(self) -> ComposeResult:
        columns = (*_BEFORE, Column("Order", self._number, 8), *_BEHIND)
        yield RowList(columns, key=lambda entry: entry.number, words=_words, empty=EMPTY, id="rail-rows")
        yield TextPane(id="rail-detail")

    def fill(self, entries: tuple[RailEntry, ...]) -> None:
        """Show these orders, in the order in which the job hung them. An order that is gone is marked no longer."""
        self._entries = entries
        self._marked &= {entry.number for entry in entries}
        self.rows.fill(entries)

    def begin(self, entries: tuple[RailEntry, ...]) -> None:
        """Show these orders, the first there are, while all of them are still being read."""
        self.rows.begin(entries)

    @property
    def answer(self) -> tuple[RailEntry, ...] | None:
        return self._entries

    def reading(self, place: Place) -> str:
        del place
        return "Reading the rail"

    def read(self, jobs: Jobs, place: Place) -> tuple[RailEntry, ...]:
        del place
        return jobs.rail(jobs.today())

    def press(self, key: str) -> None:
        """Do what a key does."""
        if key != "^R":
            self._mark()
        elif self.orders():
            reserve_each(self, self.orders())
        else:
            self.desk.tell("No order is highlighted.")

    def _mark(self) -> None:
        """Mark the highlighted order, or take its mark away."""
        entry: RailEntry | None = self.rows.row
        if entry is not None:
            self._marked ^= {entry.number}
            self.rows.refresh()
            self.rows.move(1)
            self.post_message(self.Renamed())

    def orders(self) -> tuple[str, ...]:
        """The marked orders; where none is marked, the highlighted one."""
        entry: RailEntry | None = self.rows.row
        marked = tuple(one.number for one in self._entries or () if one.number in self._marked)
        return marked or ((entry.number,) if entry is not None else ())

    def usual_papers(self) -> tuple[Paper, ...]:
        """What is printed of the marked orders, or of the highlighted one, before they are picked."""
        return of_orders(self.orders())

    def _number(self, entry: RailEntry) -> Cell:
        return Cell(f"{MARKED} {entry.number}" if entry.number in self._marked else entry.number, "strong")

    @property
    def heading(self) -> str:
        if not self.rows.filled:
            return "Rail"
        marked = f", {len(self._marked)} marked" if self._marked else ""
        return f"Rail  ·  {counted(self.rows.total, self.things)} in hand{marked}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#rail-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#rail-detail", TextPane))

    def open_highlighted(self) -> None:
        if self.rows.row is not None:
            self.post_message(self.Asked(self.rows.row.number))

    @on(RowList.Highlighted)
    def _show_detail(self, event: RowList.Highlighted) -> None:
        self.query_one("#rail-detail", TextPane).show(() if event.row is None else detail(event.row))

    @on(RowList.Chosen)
    def _open_chosen(self, event: RowList.Chosen) -> None:
        event.stop()
        self.open_highlighted()
