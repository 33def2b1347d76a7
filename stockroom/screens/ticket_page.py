"""An order's ticket: what it is for, what it waits for, what is short, and every requirement with its reasons."""

from __future__ import annotations

from typing import Any

from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from stockroom.jobs.papers import Paper, of_ticket, tags_again
from stockroom.jobs.ticket import Ticket, TicketNeed
from stockroom.screens.answering import ask_answer
from stockroom.screens.calls import Jobs
from stockroom.screens.customers_parts import ask_received, ask_where_to, part_tag
from stockroom.screens.desk import Desk
from stockroom.screens.holding import ask_mix, reserve
from stockroom.screens.key_line import Key
from stockroom.screens.leaving_over import ask_cancel, ask_of_ticket, take_scan
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Paragraphs
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.swatch_asking import ask_substitute, ask_swatch, take_swatch
from stockroom.screens.ticket_words import facts, item_words, order_words, part_word, trouble_words, why
from stockroom.screens.work_page import WorkPage

EMPTY = "This order has no requirements yet.\nWhat it waits for, if anything, is said above."
_WIDE = 120


def _piece(need: TicketNeed) -> Cell:
    mark = f"{SIGN} " if need.changed else ""
    return Cell(f"{mark}{need.piece} {need.hand}".strip(), "strong" if need.changed else "")


def _place(need: TicketNeed) -> Cell:
    return Cell("; ".join(dict.fromkeys(hold.place for hold in need.holds)))


def _where(need: TicketNeed) -> Cell:
    return Cell("; ".join(f"{hold.place} {hold.tag}".strip() for hold in need.holds))


def _held(need: TicketNeed) -> Cell:
    return Cell(need.held, {"held": "", "not held yet": "quiet"}.get(need.held, "alarm"))


COLUMNS: tuple[Column[TicketNeed], ...] = (
    Column("Line", lambda need: Cell(str(need.line)), 4, shown_from=_WIDE),
    Column("Kit", lambda need: Cell(need.kit), 12, grow=2, shown_from=_WIDE),
    Column("Piece", _piece, 11),
    Column("Part", lambda need: Cell(part_word(need)), 8),
    Column("Item", lambda need: Cell(item_words(need)), 14, grow=3),
    Column("Colour", lambda need: Cell(need.colour), 9, grow=1),
    Column("Amount", lambda need: Cell(need.amount), 8),
    Column("Held", _held, 12),
    Column("Where", _place, 8, grow=1, shown_below=_WIDE),
    Column("Where", _where, 20, grow=2, shown_from=_WIDE),
    Column("Lot", lambda need: Cell(", ".join(dict.fromkeys(hold.lot for hold in need.holds))), 10, shown_from=_WIDE),
)


def _words(need: TicketNeed) -> str:
    places = (word for hold in need.holds for word in (hold.tag, hold.place, hold.lot))
    return " ".join(
        (need.kit, need.piece, need.part, need.hand, need.item, need.title, need.colour, need.held, *places)
    )


def _key(need: TicketNeed) -> tuple[object, ...]:
    return (need.line, need.kit, need.piece, need.part, need.hand, need.item)


def _to_ask(ticket: Ticket) -> tuple[object, ...]:
    return ticket.to_put_away, ticket.offers, ticket.from_stock


class TicketPage(WorkPage):
    """One order."""

    things = "requirement"
    KEYS = (
        Key("^N", "Answer", "page_key('^N')", "give the answer that a line waits for; again: the next"),
        Key("^R", "Reserve", "page_key('^R')", "hold what the order needs: all of it, or what there is"),
        Key(
            "^O",
            "Mix lots",
            "page_key('^O')",
            "approve a mix of lots, with the reason; take what may stand in",
        ),
        Key("^L", "Left over", "page_key('^L')", "use what is in finished stock, or put away what is left over"),
        Key("^T", "Cancel", "page_key('^T')", "cancel the order, once you have seen what lies about of it"),
        Key("^K", "Part", "page_key('^K')", "a customer's part came in; scan one to move it or give it back"),
    )

    SCANNING = ("Scan what is left over or offered: it is put away or used. All else opens.",)

    ticket: Ticket | None = None
    """What is shown."""

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._scanned = ""
        self._turn = 0
        self._left_turn = 0
        self._mix_turn = 0

    def compose(self) -> ComposeResult:
        yield Static(id="ticket-facts", markup=False)
        yield TextPane(id="ticket-sheet", parts=2)
        yield RowList(COLUMNS, key=_key, words=_words, empty=EMPTY, id="ticket-needs")
        yield TextPane(id="ticket-why")

    def fill(self, ticket: Ticket) -> None:
        """Show this ticket."""
        if self.named != (ticket.number,):
            self.clear()
        if self.ticket is None or self.ticket.waits != ticket.waits:
            self._turn = 0
        if self.ticket is None or _to_ask(self.ticket) != _to_ask(ticket):
            self._left_turn = 0
        self.ticket = ticket
        self.query_one("#ticket-facts", Static).update(Paragraphs(facts(ticket)), layout=False)
        self.query_one("#ticket-sheet", TextPane).show(trouble_words(ticket), (*self.told(), *order_words(ticket)))
        self.rows.fill(ticket.needs)

    def point_at(self, piece: str, hand: str, tag: str) -> None:
        """A piece of the order was scanned, or none: its first requirement is highlighted, and its tag is at hand."""
        self._scanned = tag
        if piece:
            self.rows.find(lambda need: need.piece == piece and need.hand == hand)

    def clear(self) -> None:
        """Show no ticket."""
        self.ticket = None
        self.forget()
        self._scanned = ""
        self._turn = self._left_turn = self._mix_turn = 0
        self.activate(0)
        self.query_one("#ticket-facts", Static).update(layout=False)
        self.query_one("#ticket-sheet", TextPane).show((), ())
        self.rows.empty_out()

    @property
    def answer(self) -> Ticket | None:
        return self.ticket

    @property
    def named(self) -> tuple[str, ...]:
        return (self.ticket.number,) if self.ticket else ()

    def reading(self, place: Place) -> str:
        return f"Reading order {place.first}"

    def read(self, jobs: Jobs, place: Place) -> Ticket:
        return jobs.ticket(place.first, jobs.today())

    def orders(self) -> tuple[str, ...]:
        return self.named

    def usual_papers(self) -> tuple[Paper, ...]:
        return (*tags_again(self._scanned), *of_ticket(self.ticket)) if self.ticket else ()

    def take_scan(self, text: str) -> bool:
        """What is left over, offered, or a customer's part of it is asked about; all else opens as everywhere."""
        if self.ticket is not None and (take_scan(self, self.ticket, text) or take_swatch(self, self.ticket, text)):
            return True
        tag = part_tag(text)
        if self.ticket is None or tag not in {part.tag for part in self.ticket.customers_parts}:
            return False
        self.desk.put_away(text)
        ask_where_to(self, tag)
        return True

    def press(self, key: str) -> None:
        """Do what a key does."""
        if self.ticket is None:
            return
        if key == "^R":
            reserve(self, self.ticket.number)
        elif key == "^K":
            ask_received(self, self.ticket.number)
        elif key == "^L":
            ask_of_ticket(self, self.ticket, self._left_turn)
            self._left_turn += 1
        elif key == "^T":
            ask_cancel(self, self.ticket.number)
        elif key == "^N":
            self._ask_answer(self.ticket)
        else:
            self._ask_mix(self.ticket)

    def _ask_answer(self, ticket: Ticket) -> None:
        if not ticket.waits:
            self.desk.tell("This order waits for no answer.")
            return
        wait = ticket.waits[self._turn % len(ticket.waits)]
        if wait.kind != "swatch" or not ask_swatch(self, ticket, wait):
            ask_answer(self, ticket, wait)
        self._turn += 1

    def _ask_mix(self, ticket: Ticket) -> None:
        """Ask of the highlighted item, where a mix of it would do; else of the first of which one would.

        Pressed again, it asks about what may stand in, one after another.
        """
        if not ticket.mixes and not ticket.substitutes:
            self.desk.tell(
                "No two lots together would help this order, and nothing may stand in: there is no mix to approve."
            )
            return
        turn = self._mix_turn % (bool(ticket.mixes) + len(ticket.substitutes))
        self._mix_turn += 1
        if turn >= bool(ticket.mixes):
            ask_substitute(self, ticket, ticket.substitutes[turn - bool(ticket.mixes)])
            return
        need: TicketNeed | None = self.rows.row
        here = [mix for mix in ticket.mixes if need is not None and mix.item == need.item]
        ask_mix(self, ticket, (here or ticket.mixes)[0])

    @property
    def heading(self) -> str:
        if self.ticket is None:
            return "Ticket"
        return f"Ticket {self.ticket.number}  ·  {self.ticket.customer}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#ticket-needs", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#ticket-sheet", TextPane), self.query_one("#ticket-why", TextPane))

    def open_highlighted(self) -> None:
        """Open the roll or bin where the highlighted requirement is held."""
        need: TicketNeed | None = self.rows.row
        if need is None:
            return
        if need.holds:
            self.post_message(self.Asked(need.holds[0].tag))
        else:
            what = f"{need.piece} {part_word(need)}".strip()
            self.post_message(self.Said(f"Nothing is held for {what} yet, so there is no tag to open."))

    @on(RowList.Highlighted)
    def _show_why(self, event: RowList.Highlighted) -> None:
        self.query_one("#ticket-why", TextPane).show(() if event.row is None else why(event.row))

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click on a requirement shows its reasons, which highlighting it has done."""
        event.stop()
