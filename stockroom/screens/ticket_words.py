"""An order's ticket in words: its head, what it waits for, what is short, its lines, and why each requirement."""

from __future__ import annotations

from collections.abc import Iterator

from stockroom.domain.wording import listed
from stockroom.jobs.printed import delivery
from stockroom.jobs.ticket import Ticket, TicketLine, TicketNeed, TicketWait
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.wording import day, wanted


def part_word(need: TicketNeed) -> str:
    """The part, without what its key says of the item: 'strip' of 'strip:tack-strip:0'."""
    return need.part.partition(":")[0]


def item_words(need: TicketNeed) -> str:
    """The item without its colour, which is said beside it."""
    return (need.title or need.item).removesuffix(f", {need.colour}")


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
    for one in ticket.from_stock:
        yield sentence(f"From stock: {one.sentence}", hang=2)
    for became in ticket.became:
        yield sentence(became, hang=2)
    if ticket.note:
        yield sentence(f"Note: {ticket.note}", hang=2)
    for part in ticket.customers_parts:
        yield sentence(f"Customer's part: {part.what} ({part.tag}), {part.where}", hang=2)
    for said in ticket.swatch_answers:
        yield sentence(said, hang=2)
    for words in ticket.margins:
        yield sentence((f"Margin: {words}", "$quiet-ink"), hang=2)
    for entry in ticket.history:
        yield sentence((f"Changed: {entry}", "$quiet-ink"), hang=2)


def trouble_words(ticket: Ticket) -> Iterator[Line]:
    """What the order waits for and what is short; that nothing is, where so."""
    for offer in ticket.offers:
        yield sentence((f"{SIGN} In stock ", "bold"), offer.words, hang=2)
    if ticket.offers:
        yield sentence("  To use it: ", ("Ctrl and L", "bold"), ", or scan its tag", hang=4)
    for wait in ticket.waits:
        yield from wait_words(wait)
    for swatch in ticket.swatches:
        head = f"{SIGN} Overdue " if swatch.overdue_days else "  Sent "
        yield sentence((head, "bold" if swatch.overdue_days else ""), swatch.sentence, hang=4)
    if ticket.waits:
        yield sentence("  To answer: ", ("Ctrl and N", "bold"), hang=4)
    for shortage in ticket.shortages:
        yield sentence((f"{SIGN} Short ", "bold"), shortage, hang=2)
    for one in ticket.substitutes:
        yield sentence(f"  {one.instead_title} may stand in ({one.free} free): ", ("Ctrl and O", "bold"), hang=4)
    for mix in ticket.mixes:
        yield sentence(f"  To approve a mix of lots of {mix.title}: ", ("Ctrl and O", "bold"), hang=4)
    for words in ticket.left_over:
        yield sentence((f"{SIGN} Left over ", "bold"), words, hang=2)
    if ticket.for_stock and ticket.to_put_away:
        made = listed(f"{one.what} ({one.tag})" for one in ticket.to_put_away)
        yield sentence((f"{SIGN} For stock ", "bold"), f"kept as soon as it is made: {made}", hang=2)
    for kit in (one for one in ticket.to_put_away if one.line and not ticket.for_stock):
        yield sentence((f"{SIGN} Left over ", "bold"), f"{kit.what}, may be kept as one.", hang=2)
    if ticket.to_put_away:
        yield sentence("  To put it away: ", ("Ctrl and L", "bold"), ", or scan its tag", hang=4)
    if ticket.state == "cancelled" and not ticket.left_over:
        yield sentence(("Cancelled; nothing of it lies about any more.", "$quiet-ink"))
    if ticket.state not in ("cancelled", "kept") and not ticket.waits and not ticket.shortages:
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
