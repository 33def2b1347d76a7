"""The racks page: every place with what lies in it. The filter finds a place by whatever lies there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.stamp import Stamp
from stockroom.jobs.move import MovedTo, ThingMoved
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.racks import Rack
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.shelf_page import ShelfPage
from stockroom.screens.shelving import alike_haystack, alike_line, hand_words, what_short
from stockroom.screens.wording import counted

EMPTY = "There are no places yet.\n\nLoad them from a shell, in a table of places:  stockroom load FOLDER"
NOWHERE = "These lie in no place that is known: scan each, then the place where it lies."
_WIDE = 120
_NAMED = 40
"""So many kinds of things are named in a row, which shows fewer."""
_SHOWN = 60
"""So many kinds of things are shown of the highlighted place: a page opens all of them, and can be filtered."""


def _promised(rack: Rack) -> Cell:
    return Cell(f"{rack.promised} of {rack.held}" if rack.promised else "")


def _apart(rack: Rack) -> Cell:
    return Cell(f"{rack.quarantined} QUARANTINE" if rack.quarantined else "", "alarm")


def _lies_there(rack: Rack) -> Cell:
    apart = _apart(rack).text
    named = dict.fromkeys((*map(what_short, rack.lying[:_NAMED]), *rack.no_stock))
    return Cell("; ".join(((apart,) if apart else ()) + tuple(named)), "alarm" if apart else "")


def _how_much(rack: Rack) -> Cell:
    each = (f"{what_short(some)} {some.amount}" for some in rack.lying[:_NAMED])
    return Cell("; ".join((*each, *rack.no_stock)))


COLUMNS: tuple[Column[Rack], ...] = (
    Column("Place", lambda rack: Cell(rack.place or "none", "strong"), 6),
    Column("Title", lambda rack: Cell(rack.title), 20, grow=1),
    Column("Holds", lambda rack: Cell(str(rack.held) if rack.lying else "empty"), 5),
    Column("Promised", _promised, 8),
    Column("Apart", _apart, 12, shown_from=_WIDE),
    Column("What lies there", _lies_there, 12, grow=2, shown_below=_WIDE),
    Column("What lies there", _how_much, 12, grow=4, shown_from=_WIDE),
)


def _words(rack: Rack) -> str:
    return " ".join((rack.place, rack.tag, rack.title, *map(alike_haystack, rack.lying), *rack.no_stock))


def rack_words(rack: Rack) -> Iterator[Line]:
    """One place with all that lies in it."""
    yield sentence((f"{rack.place} {rack.title}".strip(), "bold"), f"  {rack.tag}", hang=2)
    if not rack.place:
        yield sentence(NOWHERE)
    for some in rack.lying[:_SHOWN]:
        yield alike_line(some)
    if left := sum(len(some.tags) for some in rack.lying[_SHOWN:]):
        yield sentence(f"and {counted(left, 'more thing')}: Enter opens the place.", hang=2)
    for words in rack.no_stock:
        yield sentence(words, hang=2)
    if not rack.lying and not rack.no_stock:
        yield sentence("Nothing lies here.")


def _moved_between(result: object) -> set[str]:
    """The places that something was moved out of and into; none where something else was done."""
    things = result.things if isinstance(result, MovedTo) else (result,)
    return {place for one in things if isinstance(one, ThingMoved) for place in (one.from_place, one.place)}


class RacksPage(ShelfPage):
    """Every place."""

    things = "place"

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._racks: tuple[Rack, ...] | None = None

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda rack: rack.place, words=_words, empty=EMPTY, id="racks-rows")
        yield TextPane(id="racks-text", parts=2)

    def reading(self, place: Place) -> str:
        del place
        return "Looking over the racks"

    def read(self, jobs: Jobs, place: Place) -> tuple[Rack, ...]:
        del place
        return jobs.racks.looked_over(())

    def read_part(self, result: object, jobs: Jobs, stamp: Stamp) -> tuple[Rack, ...] | None:
        """When something was moved, only the places that it left and came to are looked over again."""
        del stamp
        known = self._racks
        places = _moved_between(result)
        if known is None or not places <= {rack.place for rack in known if rack.place} or not places:
            return None
        fresh = {rack.place: rack for rack in jobs.racks.looked_over(sorted(places))}
        return tuple(fresh.get(rack.place, rack) for rack in known)

    def fill(self, racks: tuple[Rack, ...]) -> None:
        """Show these places, in the order in which one walks past them."""
        self._racks = racks
        self.rows.fill(racks)

    @property
    def answer(self) -> tuple[Rack, ...] | None:
        return self._racks

    @property
    def heading(self) -> str:
        return f"Racks  ·  {counted(self.rows.total, self.things)}" if self.rows.filled else "Racks"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#racks-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#racks-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tag of the highlighted place."""
        rack: Rack | None = self.rows.row
        return tags_again(rack.tag) if rack is not None else ()

    def show_text(self) -> None:
        """Show all that lies in the highlighted place, what is in hand, and what was done."""
        rack: Rack | None = self.rows.row
        in_hand = hand_words(self.hand) if self.hand else ()
        shown = () if rack is None else rack_words(rack)
        self.query_one("#racks-text", TextPane).show(shown, (*in_hand, *self.told()))

    def open_highlighted(self) -> None:
        """Open the highlighted place."""
        rack: Rack | None = self.rows.row
        if rack is not None and rack.place:
            self.desk.go(Place("contents", (rack.place,)))
        elif rack is not None:
            self.desk.tell(NOWHERE)

    @on(RowList.Highlighted)
    def _show_rack(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _open_chosen(self, event: RowList.Chosen) -> None:
        event.stop()
        self.open_highlighted()
