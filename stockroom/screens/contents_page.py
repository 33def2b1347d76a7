"""The contents of one place, or all there is of an item: its rolls, reels, bins and finished things, one by one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.racks import PlaceContents, Thing
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.shelf_page import ShelfPage
from stockroom.screens.shelving import Contents, hand_words, state_words, thing_haystack, thing_words, what_short
from stockroom.screens.wording import counted

EMPTY = "By the books nothing lies here.\n\nWhat lies here all the same: scan it, then this place."
_WIDE = 120


def _state(thing: Thing) -> Cell:
    return Cell(state_words(thing), "alarm") if thing.quarantined else Cell("yes", "quiet")


COLUMNS: tuple[Column[Thing], ...] = (
    Column("Place", lambda thing: Cell(thing.place or "none"), 6),
    Column("Tag", lambda thing: Cell(thing.tag, "strong"), 7),
    Column("What", lambda thing: Cell(what_short(thing)), 14, grow=3),
    Column("Kind", lambda thing: Cell(thing.kind), 9, shown_from=_WIDE),
    Column("Lot", lambda thing: Cell(thing.lot), 6),
    Column("Holds", lambda thing: Cell(thing.amount), 8),
    Column("Reserved", lambda thing: Cell(thing.reserved), 9, shown_from=_WIDE),
    Column("Free", lambda thing: Cell(thing.free), 8),
    Column("May be used", _state, 11, grow=1),
)


def things_of(found: Contents) -> tuple[Thing, ...]:
    """What there is, whether of a place or of items."""
    if isinstance(found, PlaceContents):
        return found.things
    return tuple(thing for item in found for thing in item.things)


def contents_words(found: Contents) -> Iterator[Line]:
    """What there is to know of the place, or of each item, beside its things."""
    if isinstance(found, PlaceContents):
        for words in found.no_stock:
            yield sentence(words, hang=2)
        return
    for item in found:
        apart = f", {item.quarantined} in quarantine" if item.quarantined else ""
        said = f": {item.held} in all, {item.reserved} reserved, {item.free} free{apart}"
        yield sentence((item.title, "bold"), said, hang=2)


class ContentsPage(ShelfPage):
    """One place, or one item."""

    things = "thing"
    SCANNING = ("Scan things, then the place they go to; a place alone, or a name, is shown.",)
    KEYS = (*ShelfPage.KEYS, Key("^L", "", "page_key('^L')", "where else there is the same item"))

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._found: Contents | None = None
        self._named = ""

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda thing: thing.tag, words=thing_haystack, empty=EMPTY, id="contents-rows")
        yield TextPane(id="contents-text", parts=2)

    def read(self, jobs: Jobs, place: Place) -> tuple[str, Contents]:
        return place.first, jobs.racks.look_up(place.first)

    def fill(self, answer: tuple[str, Contents]) -> None:
        """Show these things, which were looked up by this name."""
        self._named, self._found = answer
        self.rows.fill(things_of(self._found))

    def clear(self) -> None:
        """Show nothing."""
        self._found = None
        self.forget()
        self.activate(0)
        self.rows.empty_out()

    @property
    def answer(self) -> tuple[str, Contents] | None:
        return (self._named, self._found) if self._found is not None else None

    @property
    def named(self) -> tuple[str, ...]:
        return (self._named,) if self._found is not None else ()

    @property
    def heading(self) -> str:
        if self._found is None:
            return "Racks"
        count = counted(self.rows.total, self.things)
        if isinstance(self._found, PlaceContents):
            return f"{self._found.place}, {self._found.title}  ·  {count}"
        named = self._found[0].title if len(self._found) == 1 else f"{len(self._found)} items called {self._named}"
        return f"{named}  ·  {count}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#contents-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#contents-text", TextPane))

    def highlighted_tag(self) -> str:
        thing: Thing | None = self.rows.row
        return thing.tag if thing is not None else ""

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tag of the highlighted thing; that of the place."""
        place = tags_again(self._found.tag) if isinstance(self._found, PlaceContents) else ()
        return (*tags_again(self.highlighted_tag()), *place)

    def show_text(self) -> None:
        """Show the highlighted thing in full, what is in hand, what was done, and what there is to know beside."""
        thing: Thing | None = self.rows.row
        in_hand = hand_words(self.hand) if self.hand else ()
        beside = contents_words(self._found) if self._found is not None else ()
        shown = () if thing is None else thing_words(thing)
        self.query_one("#contents-text", TextPane).show(shown, (*in_hand, *self.told(), *beside))

    def open_highlighted(self) -> None:
        """Open the highlighted thing: what it is promised to, and what became of it."""
        if tag := self.highlighted_tag():
            self.post_message(self.Asked(tag))

    def press(self, key: str) -> None:
        """Do what a key does."""
        thing: Thing | None = self.rows.row
        if key != "^L":
            super().press(key)
        elif thing is not None:
            self.desk.go(Place("contents", (thing.item,)))
        else:
            self.desk.tell("Nothing is highlighted.")

    @on(RowList.Highlighted)
    def _show_thing(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a thing, which shows it in full."""
        event.stop()
