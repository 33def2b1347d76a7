"""The counts page: the counts that go on, the places whose turn it is to be counted, and those whose turn comes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.count import Begun, Sheet
from stockroom.jobs.count_due import CountsDue, PlaceDue
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.racks import PlaceContents
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.shelving import Contents, code_of, resolved
from stockroom.screens.wording import counted, day
from stockroom.screens.work_page import WorkPage

EMPTY = "There is nothing to count: nothing lies in any place.\n\nLoad the stock from a shell:  stockroom load FOLDER"
_WIDE = 120
_COUNTED = frozenset("RBL")
"""Kind letters of tags that a count is begun by: a place, or a thing whose item is counted everywhere."""
Counts = tuple[tuple[Sheet, ...], CountsDue]


@dataclass(frozen=True, slots=True)
class Turn:
    """One row: a count that goes on, or a place that may be counted."""

    sheet: Sheet | None
    place: PlaceDue | None
    is_due: bool

    @property
    def what(self) -> str:
        """What is counted, as a count is begun by it."""
        if self.sheet is not None:
            return self.sheet.place or self.sheet.item
        return self.place.place if self.place else ""


def turns_of(counts: Counts) -> tuple[Turn, ...]:
    """Counts that go on first, then the places that are due, then the others by the day."""
    sheets, due = counts
    going = {one.place for one in sheets}
    every = {one.place: one for one in (*due.due, *due.to_come)}
    open_ = (Turn(one, every.get(one.place), False) for one in sheets)
    now = (Turn(None, one, True) for one in due.due if one.place not in going)
    later = (Turn(None, one, False) for one in due.to_come if one.place not in going)
    return (*open_, *now, *later)


def _title(turn: Turn) -> Cell:
    if turn.place is not None:
        return Cell(turn.place.title)
    return Cell(turn.sheet.what if turn.sheet else "")


def _turn(turn: Turn) -> Cell:
    if turn.sheet is not None:
        return Cell(f"sheet {turn.sheet.number}: {turn.sheet.left} left", "strong")
    if turn.place is None:
        return Cell("")
    if turn.is_due:
        over = turn.place.days - turn.place.every_days
        return Cell(f"DUE, {counted(over, 'day')} over" if over > 0 else "DUE today", "strong")
    return Cell(f"from {day(turn.place.due).strip()}", "quiet")


def _last(turn: Turn) -> Cell:
    if turn.place is None:
        return Cell("")
    return Cell(day(turn.place.last_counted) if turn.place.last_counted else "never")


def _every(turn: Turn) -> Cell:
    return Cell(f"{turn.place.every_days} days" if turn.place else "")


COLUMNS: tuple[Column[Turn], ...] = (
    Column("Place", lambda turn: Cell(turn.place.place if turn.place else "item", "strong"), 6),
    Column("Title", _title, 16, grow=2),
    Column("Turn", _turn, 18),
    Column("Last counted", _last, 12),
    Column("Every", _every, 8),
    Column("Why", lambda turn: Cell(turn.place.because if turn.place else ""), 20, grow=4, shown_from=_WIDE),
)


def _words(turn: Turn) -> str:
    begun = turn.sheet.begun_by if turn.sheet else ""
    return " ".join((turn.what, _title(turn).text, _turn(turn).text, begun))


def turn_words(turn: Turn) -> Iterator[Line]:
    """One row in full, with why its turn is when it is."""
    yield sentence((f"{turn.what}  {_title(turn).text}", "bold"), hang=2)
    if turn.sheet is not None:
        one = turn.sheet
        begun = f"{one.begun_at:%H:%M} on {day(one.begun_at.date()).strip()}"
        yield sentence(f"Sheet {one.number} was begun by {one.begun_by} at {begun}; {one.left} left. Enter goes on.")
    if turn.place is not None:
        yield sentence(turn.place.because)


def rule_words(due: CountsDue) -> Iterator[Line]:
    """When a place is due, and when a figure stands."""
    yield sentence(due.rule)
    yield sentence(due.tolerance)


def begin_count(page: WorkPage, what: str) -> None:
    """Begin a count of a place or an item, or join the one that goes on, and go to its sheet."""
    begin = page.desk.jobs.counting.begin

    def done(begun: Begun) -> None:
        page.desk.go(Place("sheet", (str(begun.sheet.number),)))
        if not begun.is_new:
            page.desk.mention(f"{begun.sheet.begun_by} began this count: you are on the same sheet.")

    page.desk.signed(lambda stamp: page.desk.do(f"Beginning a count of {what}", lambda: begin(what, stamp), done))


def find_and_count(page: WorkPage, text: str) -> None:
    """Begin a count of the place, or of the item, that was scanned or typed; of an item it is asked first."""

    def done(found: Contents | None) -> None:
        if found is None:
            page.post_message(page.Asked(text))
            return
        page.desk.put_away(text)
        if isinstance(found, PlaceContents):
            begin_count(page, found.place)
        else:
            _ask_item(page, found[0].title, code_of(found, text))

    page.desk.do(f"Looking for {text}", lambda: resolved(page.desk.jobs, text), done)


def _ask_item(page: WorkPage, title: str, item: str) -> None:
    def answered(code: str) -> None:
        begin_count(page, code)

    page.desk.tell((f"Count {title} in all its places.", "bold"))
    page.desk.ask(Question("Count it everywhere", "Enter begins it; Esc leaves it", answered, item))


class CountPage(WorkPage):
    """What is to be counted."""

    things = "place"
    OF_STOCK = True
    SCANNING = (
        "Enter counts the highlighted place, or goes on with its sheet; so does its tag.",
        "The tag of a roll or bin counts its item in all places; codes may be typed.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._counts: Counts | None = None

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda turn: turn.what, words=_words, empty=EMPTY, id="counts-rows")
        yield TextPane(id="counts-text", parts=2)

    def reading(self, place: Place) -> str:
        del place
        return "Reading what is to be counted"

    def read(self, jobs: Jobs, place: Place) -> Counts:
        del place
        return jobs.counting.sheets(), jobs.counting.due(jobs.now())

    def fill(self, counts: Counts) -> None:
        """Show these counts and places."""
        self._counts = counts
        self.rows.fill(turns_of(counts))

    @property
    def answer(self) -> Counts | None:
        return self._counts

    @property
    def heading(self) -> str:
        if self._counts is None:
            return "Counts"
        sheets, due = self._counts
        return f"Counts  ·  {counted(len(due.due), 'place')} due, {counted(len(sheets), 'sheet')} open"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#counts-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#counts-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tag of the highlighted place."""
        turn: Turn | None = self.rows.row
        return tags_again(turn.place.tag) if turn is not None and turn.place is not None else ()

    def show_text(self) -> None:
        """Show the highlighted row in full, and the rule."""
        turn: Turn | None = self.rows.row
        rule = rule_words(self._counts[1]) if self._counts else ()
        self.query_one("#counts-text", TextPane).show(() if turn is None else turn_words(turn), (*self.told(), *rule))

    def take_scan(self, text: str) -> bool:
        """A place is counted; of a roll or bin its item; anything else is looked for, or opened as everywhere."""
        if is_tag(text) and read_tag(text).kind not in _COUNTED:
            return False
        find_and_count(self, text)
        return True

    def open_highlighted(self) -> None:
        """Begin to count the highlighted place, or go on."""
        turn: Turn | None = self.rows.row
        if turn is not None and turn.sheet is not None:
            self.desk.go(Place("sheet", (str(turn.sheet.number),)))
        elif turn is not None:
            begin_count(self, turn.what)

    @on(RowList.Highlighted)
    def _show_turn(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a row, which shows it in full: to begin a count writes something."""
        event.stop()
