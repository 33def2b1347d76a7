"""An order's ticket: what it is for, what it waits for, what is short, and every requirement with its reasons."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from stockroom.jobs.papers import Paper, of_ticket
from stockroom.jobs.printed import delivery
from stockroom.jobs.ticket import Ticket, TicketLine, TicketNeed, TicketWait
from stockroom.screens.calls import Jobs
from stockroom.screens.key_line import Key
from stockroom.screens.page import Page, TextPane
from stockroom.screens.paragraphs import SIGN, Line, Paragraphs, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import day, wanted

EMPTY = "This order has no requirements yet.\nWhat it waits for, if anything, is said above."
_WIDE = 120


def _piece(need: TicketNeed) -> Cell:
    mark = f"{SIGN} " if need.changed else ""
    return Cell(f"{mark}{need.piece} {need.hand}".strip(), "strong" if need.changed else "")


def part_word(need: TicketNeed) -> str:
    """The part, without what its key says of the item: 'strip' of 'strip:tack-strip:0'."""
    return need.part.partition(":")[0]


def item_words(need: TicketNeed) -> str:
    """The item without its colour, which is said beside it."""
    return (need.title or need.item).removesuffix(f", {need.colour}")


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


def facts(ticket: Ticket) -> Iterator[Line]:
    """The head of the ticket: two lines."""
    due = wanted(ticket.wanted, ticket.overdue_days)
    late = "bold" if ticket.overdue_days else ""
    yield sentence(
        (due[0].upper() + due[1:], late),
        f"  ·  {delivery(ticket.fitted_here)}  ·  {ticket.state}  ·  tag {ticket.tag}",
    )
    taken = f"{day(ticket.taken_at.date()).strip()} {ticket.taken_at:%H:%M}"
    yield sentence((f"Taken by {ticket.taken_by} {taken}  ·  kit book {ticket.book}", "$quiet-ink"))


def line_words(line: TicketLine) -> Iterator[Line]:
    """One line of the order: what, for which car, and what is different about this car."""
    yield sentence((f"{line.number}  {line.quantity} × {line.title}", "bold"), hang=3)
    if line.car_words or line.car:
        yield sentence(f"   car {line.car_words or line.car}", hang=7)
    for change in line.changes:
        yield sentence(" ", (f"{SIGN} This car: {change}", "bold"), hang=5)
    for text in line.on_car:
        yield sentence(f"   already on the car: {text}", hang=5)
    for text in line.advice:
        yield sentence(f"   advice: {text}", hang=5)


def wait_words(wait: TicketWait) -> Iterator[Line]:
    """One answer awaited, and what it holds up."""
    choices = f" ({', '.join(wait.choices)})" if wait.choices else ""
    yield sentence((f"{SIGN} Waits ", "bold"), f"line {wait.line}, {wait.name}: {wait.question}{choices}", hang=2)
    if wait.holds_up:
        yield sentence(f"  holds up {', '.join(wait.holds_up)}", hang=4)


def order_words(ticket: Ticket) -> Iterator[Line]:
    """The lines of the order, its note, the customer's parts and its history."""
    for line in ticket.lines:
        yield from line_words(line)
    if ticket.note:
        yield sentence(f"Note: {ticket.note}", hang=2)
    for part in ticket.customers_parts:
        yield sentence(f"Customer's part: {part.what} ({part.tag}), {part.where}", hang=2)
    for words in ticket.margins:
        yield sentence((f"Margin: {words}", "$quiet-ink"), hang=2)
    for entry in ticket.history:
        yield sentence((f"Changed: {entry}", "$quiet-ink"), hang=2)


def trouble_words(ticket: Ticket) -> Iterator[Line]:
    """What the order waits for and what is short; that nothing is, where so."""
    for wait in ticket.waits:
        yield from wait_words(wait)
    if ticket.waits:
        command = shlex.join(("stockroom", "answer", ticket.number, ticket.waits[0].name))
        yield sentence("  To answer, type in a shell:  ", (f"{command} ANSWER", "bold"), hang=4)
    for shortage in ticket.shortages:
        yield sentence((f"{SIGN} Short ", "bold"), shortage, hang=2)
    if not ticket.waits and not ticket.shortages:
        yield sentence(("Waits for no answer; nothing is short.", "$quiet-ink"))


def why(need: TicketNeed) -> Iterator[Line]:
    """The working of one requirement: what is needed and why, what is held for it and why that."""
    what = " ".join(filter(None, (need.piece, part_word(need), need.hand)))
    material = ", ".join(filter(None, (item_words(need), need.colour)))
    yield sentence((f"{what}: ", "bold"), f"{need.amount} of {material}, ", (need.held, "bold"), hang=2)
    if need.changed:
        yield sentence((f"{SIGN} Changed for this car.", "bold"))
    for reason in need.reasons:
        yield sentence(f"  {reason}", hang=4)
    for hold in need.holds:
        lot = f", lot {hold.lot}" if hold.lot else ""
        yield sentence("Held ", (hold.amount, "bold"), f", {hold.tag} at {hold.place}{lot}", hang=2)
        for reason in hold.reasons:
            yield sentence(f"  {reason}", hang=4)


class TicketPage(Page):
    """One order."""

    things = "requirement"
    KEYS = (Key("Tab", "", "next_pane(1)", "let the arrow keys move the next part of the page"),)

    ticket: Ticket | None = None
    """What is shown."""

    def compose(self) -> ComposeResult:
        yield Static(id="ticket-facts", markup=False)
        yield TextPane(id="ticket-sheet", parts=2)
        yield RowList(COLUMNS, key=_key, words=_words, empty=EMPTY, id="ticket-needs")
        yield TextPane(id="ticket-why")

    def fill(self, ticket: Ticket, piece: str = "", hand: str = "") -> None:
        """Show this ticket, with the first requirement of that piece and hand highlighted."""
        if self.named != (ticket.number,):
            self.clear()
        self.ticket = ticket
        self.query_one("#ticket-facts", Static).update(Paragraphs(facts(ticket)))
        self.query_one("#ticket-sheet", TextPane).show(trouble_words(ticket), order_words(ticket))
        self.rows.fill(ticket.needs)
        if piece:
            self.rows.find(lambda need: need.piece == piece and need.hand == hand)

    def clear(self) -> None:
        """Show no ticket."""
        self.ticket = None
        self.activate(0)
        self.query_one("#ticket-facts", Static).update()
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

    def papers(self) -> tuple[Paper, ...]:
        return of_ticket(self.ticket) if self.ticket else ()

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
