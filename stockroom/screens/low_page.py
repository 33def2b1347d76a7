"""What runs out and is to be bought, and what is past its day or soon will be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.expiring import Expiring
from stockroom.jobs.low import LowItem, LowScanned
from stockroom.jobs.papers import Paper
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, labelled, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.running_low import low_words
from stockroom.screens.wording import day
from stockroom.screens.work_page import WorkPage

EMPTY = (
    "Nothing is on the buying list, and nothing is near its day.\n\n"
    "Whoever opens the last of a thing scans the tag at its shelf, on any page."
)
WITHIN_DAYS = 60
"""How far ahead a day is shown."""
_SHELF_TAGS = "RB"
"""Kind letters of what an item lies in."""
Answer = tuple[tuple[LowItem, ...], tuple[Expiring, ...]]


@dataclass(frozen=True, slots=True)
class LowRow:
    """One row: an item to be bought, or a roll or bin with its day."""

    of: LowItem | Expiring

    @property
    def to_buy(self) -> LowItem | None:
        """What is to be bought, if it is that."""
        return self.of if isinstance(self.of, LowItem) else None


def _why(row: LowRow) -> Cell:
    if isinstance(row.of, LowItem):
        return Cell("to buy", "strong")
    return Cell("EXPIRED", "alarm") if row.of.days_left < 0 else Cell(f"{row.of.days_left} d left")


def _day(row: LowRow) -> Cell:
    if isinstance(row.of, LowItem):
        return Cell(f"since {day(row.of.since)}")
    return Cell(f"until {day(row.of.expires)}")


def _beside(row: LowRow) -> Cell:
    if isinstance(row.of, LowItem):
        return Cell("; ".join(row.of.on_order) or "none on order")
    return Cell(f"{row.of.tag} in {row.of.place or 'no place'}: {row.of.amount}")


COLUMNS: tuple[Column[LowRow], ...] = (
    Column("Why", _why, 9),
    Column("What", lambda row: Cell(row.of.title), 18, grow=2),
    Column("Item", lambda row: Cell(row.of.item), 20, grow=1, shown_from=120),
    Column("Day", _day, 17),
    Column("There is", _beside, 18, grow=2),
)


def _words(row: LowRow) -> str:
    return " ".join((row.of.item, row.of.title, *(column.cell(row).text for column in COLUMNS)))


def row_words(row: LowRow) -> Iterator[Line]:
    """One row in full, with what is to be minded of it."""
    yield sentence((row.of.title, "bold"), f"  ({row.of.item})", hang=2)
    if isinstance(row.of, LowItem):
        yield sentence(f"to buy: scanned by {row.of.by}, {day(row.of.since).strip()}", hang=2)
        yield sentence(f"on order: {'; '.join(row.of.on_order) or 'nothing'}", hang=2)
    else:
        sign = f"{SIGN} " if row.of.days_left < 0 else ""
        yield sentence((f"{sign}{row.of.tag}: {row.of.words}.", "bold" if sign else ""), hang=2)
    yield from labelled(row.of.cautions)


class LowPage(WorkPage):
    """What runs out."""

    things = "thing"
    LISTS_STOCK_PAGES = True
    OF_STOCK = True
    KEYS = (
        Key("^O", "To buy", "page_key('^O')", "put something on the buying list by its code"),
        Key("^N", "Not wanted", "page_key('^N')", "take the highlighted item off the buying list"),
    )
    SCANNING = (
        "Scan the tag at the shelf of what runs out: it goes on the list.",
        "Elsewhere only a consumable's tag does so. Twice is once; ^Y takes it back.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._shown: Answer | None = None

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=_key_of, words=_words, empty=EMPTY, id="low-rows")
        yield TextPane(id="low-text", parts=2)

    def reading(self, place: Place) -> str:
        del place
        return "Reading what runs out"

    def read(self, jobs: Jobs, place: Place) -> Answer:
        del place
        return jobs.running_low.buying_list(), jobs.running_low.expiring(WITHIN_DAYS, jobs.today())

    def fill(self, answer: Answer) -> None:
        """Show what is to be bought, then what has a day, the earliest first."""
        self._shown = answer
        self.rows.fill([LowRow(one) for some in answer for one in some])

    @property
    def answer(self) -> Answer | None:
        return self._shown

    @property
    def heading(self) -> str:
        if self._shown is None:
            return "Low"
        to_buy, with_day = self._shown
        return f"Low  ·  {len(to_buy):,} to buy, {len(with_day):,} near their day"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#low-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#low-text", TextPane))

    def show_text(self) -> None:
        """Show the highlighted row in full, and what was done here."""
        row: LowRow | None = self.rows.row
        self.query_one("#low-text", TextPane).show(() if row is None else row_words(row), self.told())

    @on(RowList.Highlighted)
    def _show_row(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a row, which shows it in full."""
        event.stop()

    def usual_papers(self) -> tuple[Paper, ...]:
        """The low-stock tag of what is highlighted."""
        row: LowRow | None = self.rows.row
        return (Paper("low-tag", (row.of.item,)),) if row is not None else ()

    # What is done on it

    def take_scan(self, text: str) -> bool:
        """What lies in a roll or bin runs out; anything else is opened as everywhere."""
        if not is_tag(text) or read_tag(text).kind not in _SHELF_TAGS:
            return False
        self.desk.put_away(text)
        self._put_on(text)
        return True

    def open_highlighted(self) -> None:
        """Open the roll or bin that has a day. What is to be bought is nowhere yet."""
        row: LowRow | None = self.rows.row
        if row is None:
            return
        if isinstance(row.of, Expiring):
            self.post_message(self.Asked(row.of.tag))
        else:
            self.desk.tell(f"{row.of.title} is on the buying list. Ctrl and N takes it off, if no more is wanted.")

    def press(self, key: str) -> None:
        """Do what a key does."""
        row: LowRow | None = self.rows.row
        if key == "^O":
            self.desk.ask(Question("What runs out", "its code, or the tag at its shelf", self._put_on, takes_tags=True))
        elif row is None or row.to_buy is None:
            self.desk.tell("Highlight something on the buying list; Ctrl and N takes it off.")
        else:
            item, not_wanted = row.to_buy.item, self.desk.jobs.running_low.not_wanted
            self.change(f"Taking {item} off the list", lambda stamp: not_wanted(item, stamp), _off_words)

    def _put_on(self, text: str) -> None:
        low = self.desk.jobs.running_low.low
        self.change(f"Putting {text} on the buying list", lambda stamp: low(text, stamp), low_words)


def _key_of(row: LowRow) -> tuple[str, str]:
    return ("", row.of.item) if isinstance(row.of, LowItem) else (row.of.tag, row.of.item)


def _off_words(said: LowScanned) -> tuple[str, ...]:
    return (said.sentence,)
