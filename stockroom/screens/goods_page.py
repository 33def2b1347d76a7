"""The goods in page: what is on order and has not come."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.jobs.purchasing import Expected
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted, day, overdue
from stockroom.screens.work_page import WorkPage

EMPTY = "Nothing is on order that has not come.\n\nWhat was bought is written down in a shell:  stockroom purchase"
_WIDE = 120


def _due_short(line: Expected) -> Cell:
    return Cell(f"OVERDUE {line.late_days} d", "alarm") if line.late_days else Cell(day(line.due))


def _due_long(line: Expected) -> Cell:
    if line.late_days:
        return Cell(f"{day(line.due)}  {overdue(line.late_days)}", "alarm")
    return Cell(day(line.due))


COLUMNS: tuple[Column[Expected], ...] = (
    Column("Purchase", lambda line: Cell(line.reference, "strong"), 8),
    Column(" Due", _due_short, 13, shown_below=_WIDE),
    Column(" Due", _due_long, 28, shown_from=_WIDE),
    Column("To come", lambda line: Cell(line.shown), 9),
    Column("What", lambda line: Cell(line.title), 16, grow=3),
    Column("Item", lambda line: Cell(line.item), 20, grow=1, shown_from=_WIDE),
    Column("Supplier", lambda line: Cell(line.supplier), 12, grow=2),
)


def key_of(line: Expected) -> tuple[str, str]:
    """What tells lines apart."""
    return line.reference, line.item


def _words(line: Expected) -> str:
    return " ".join((line.reference, line.supplier, line.item, line.title, overdue(1) if line.late_days else ""))


def line_words(line: Expected) -> Iterator[Line]:
    """One line of a purchase in full, since its row may have been cut short."""
    yield sentence((f"{line.reference}  {line.title}", "bold"), f" ({line.item})", hang=2)
    late = f", {overdue(line.late_days)}" if line.late_days else ""
    yield sentence(f"{line.shown} still to come from {line.supplier}, due {day(line.due).strip()}{late}", hang=2)


class GoodsInPage(WorkPage):
    """What is expected."""

    things = "line"
    OF_STOCK = True

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._expected: tuple[Expected, ...] | None = None

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=key_of, words=_words, empty=EMPTY, id="goods-rows")
        yield TextPane(id="goods-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        del place
        return "Reading what is expected"

    def read(self, jobs: Jobs, place: Place) -> tuple[Expected, ...]:
        del place
        return jobs.goods.expected(jobs.today())

    def fill(self, expected: tuple[Expected, ...]) -> None:
        """Show these lines, in the order in which the job gave them."""
        self._expected = expected
        self.rows.fill(expected)

    @property
    def answer(self) -> tuple[Expected, ...] | None:
        return self._expected

    @property
    def heading(self) -> str:
        return f"Goods in  ·  {counted(self.rows.total, self.things)} expected" if self.rows.filled else "Goods in"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#goods-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#goods-text", TextPane))

    def show_text(self) -> None:
        """Show the highlighted line in full, and what was done here."""
        line: Expected | None = self.rows.row
        self.query_one("#goods-text", TextPane).show(() if line is None else line_words(line), self.told())

    @on(RowList.Highlighted)
    def _show_line(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a line, which shows it in full."""
        event.stop()
