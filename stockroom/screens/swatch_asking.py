"""Swatches and substitutes on the ticket: one is sent, answered, or taken, with the name of whoever said yes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag, read_tag
from stockroom.screens.desk import Question
from stockroom.screens.holding import reserved_words
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.work_page import WorkPage

if TYPE_CHECKING:
    from stockroom.jobs.stand_in import Proposal
    from stockroom.jobs.substitute import SubstituteTaken
    from stockroom.jobs.swatch_awaited import Awaited
    from stockroom.jobs.swatch_sent import SentOut, SwatchAnswered
    from stockroom.jobs.ticket import Ticket, TicketWait

USUAL_WAIT = "14d"
"""Enter alone waits so long for an answer."""


def swatch_tag(text: str) -> str:
    """The tag, where a swatch was scanned; else ''."""
    return str(read_tag(text)) if is_tag(text) and read_tag(text).kind == "S" else ""


def sent_for(ticket: Ticket, wait: TicketWait) -> tuple[Awaited, ...]:
    """The swatches that were sent for what a line waits for."""
    return tuple(one for one in ticket.swatches if (one.line, one.name) == (wait.line, wait.name))


def take_swatch(page: WorkPage, ticket: Ticket, text: str) -> bool:
    """A swatch was scanned: one that this order waits for is answered, another is sent where a line waits for one."""
    tag = swatch_tag(text)
    if not tag or ticket.state != "open":
        return False
    awaited = next((one for one in ticket.swatches if one.tag == tag), None)
    if awaited is not None:
        page.desk.put_away(text)
        ask_swatch_answer(page, ticket, awaited)
        return True
    waiting = [one for one in ticket.waits if one.kind == "swatch" and not sent_for(ticket, one)]
    if not waiting:
        return False
    page.desk.put_away(text)
    ask_until(page, ticket, waiting[0], tag)
    return True


def ask_swatch(page: WorkPage, ticket: Ticket, wait: TicketWait) -> bool:
    """Ask what a line waits for that waits for a swatch: which one is sent, or what was said to the one that was.

    False where that is asked as every other answer is: a yes that somebody had by other means.
    """
    sent = sent_for(ticket, wait)
    if len(sent) == 1:
        ask_swatch_answer(page, ticket, sent[0])
        return True
    if not sent:
        return False
    page.desk.tell((f"Line {wait.line}: {len(sent)} swatches were sent. ", "bold"), "Scan the one that is answered.")
    return True


def ask_until(page: WorkPage, ticket: Ticket, wait: TicketWait, tag: str) -> None:
    """Ask until when the answer to a swatch is waited for; it is sent then."""
    send = page.desk.jobs.ordering.send_swatch

    def answered(until: str) -> None:
        page.change(
            f"Sending swatch {tag}",
            lambda stamp: send(tag, ticket.number, until, stamp, wait.line, wait.name),
            _sent_words,
            refused=lambda: page.desk.ask(question),
        )

    page.desk.tell(
        (f"Swatch {tag} goes to {ticket.customer} for line {wait.line}, {wait.name}. ", "bold"),
        "Enough of its lot is held until that day, for nobody else.",
    )
    question = Question("Held until", "2026-12-18, or 14d; Enter: 14 days", answered, USUAL_WAIT)
    page.desk.ask(question)


def _sent_words(done: SentOut) -> tuple[str, ...]:
    return (done.sentence,)


def ask_swatch_answer(page: WorkPage, ticket: Ticket, awaited: Awaited) -> None:
    """Ask what the customer said to a swatch, and who said so."""

    def said(text: str) -> None:
        if text.strip().casefold() not in ("yes", "y", "no", "n"):
            raise Refusal("The answer to a swatch is yes or no.")

        def named(name: str) -> None:
            answer = page.desk.jobs.ordering.answer_swatch
            page.change(
                f"Answering for swatch {awaited.tag}",
                lambda stamp: answer(awaited.tag, text, name, stamp),
                _answered_words,
            )

        page.desk.ask(Question("Who said so", f"a name; Enter: {ticket.customer}", named, ticket.customer))

    page.desk.tell((awaited.sentence, "bold"))
    page.desk.ask(Question(f"Swatch {awaited.tag}", "what the customer said: yes or no; Esc leaves it", said))


def _answered_words(done: SwatchAnswered) -> tuple[str, ...]:
    if done.reserved is None:
        return (done.sentence, *done.others)
    first, *others = reserved_words(done.reserved)
    return (f"{done.sentence} {first}", *others)


def ask_substitute(page: WorkPage, ticket: Ticket, proposal: Proposal) -> None:
    """Let a permitted substitute be taken, with the name of who of the customer's said yes to it."""
    substitute = page.desk.jobs.ordering.substitute

    def named(name: str) -> None:
        page.change(
            f"Taking {proposal.instead_title}",
            lambda stamp: substitute(ticket.number, proposal.item, proposal.instead, name, stamp),
            _taken_words,
        )

    page.desk.tell(
        (f"{proposal.instead_title} may stand in for {proposal.title} ({proposal.free} free). ", "bold"),
        "Ask the customer: it is taken only with a yes, and the name stands with it.",
    )
    page.desk.ask(Question("Who of theirs said yes", "the name of whoever said yes; Esc leaves it", named))


def _taken_words(done: SubstituteTaken) -> tuple[str, ...]:
    told = tuple(f"{SIGN} {words}" for words in done.ask_too)
    if done.reserved is None:
        return (f"{done.sentence} Ctrl and R reserves what it needs.", *told)
    first, *others = reserved_words(done.reserved)
    return (f"{done.sentence} {first}", *others, *told)
