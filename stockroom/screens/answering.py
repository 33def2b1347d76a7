"""Giving the answer that a line of an order waits for, in the scan line."""

from __future__ import annotations

from stockroom.jobs.answer import Answered
from stockroom.jobs.ticket import Ticket, TicketWait
from stockroom.screens.desk import Question
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

_HINTS = {
    "option": "the answer",
    "fact": "what it is, as read off the car or its papers",
    "measurement": "what was measured, with its unit",
    "swatch": "scan the swatch that is sent; or yes, if the customer agreed",
}
"""Kind of what is waited for → what may be typed."""


def said_of(text: str, wait: TicketWait) -> str:
    """The answer that was typed: a choice may be given by its turn, in any capitals, or by its first letters.

    >>> wait = TicketWait(1, "option", "bag-length", "Long or short?", ("long", "short"), ())
    >>> said_of("2", wait), said_of("LO", wait), said_of("medium", wait)
    ('short', 'long', 'medium')
    """
    if text in wait.choices or not wait.choices:
        return text
    if text.isascii() and text.isdecimal() and 1 <= int(text) <= len(wait.choices):
        return wait.choices[int(text) - 1]
    begun = [choice for choice in wait.choices if choice.casefold().startswith(text.casefold())]
    return begun[0] if len(begun) == 1 else text


def ask_answer(page: WorkPage, ticket: Ticket, wait: TicketWait) -> None:
    """Ask what a line waits for."""

    def answered(text: str) -> None:
        said = said_of(text, wait)
        answer = page.desk.jobs.ordering.answer
        page.change(
            f"Answering for order {ticket.number}",
            lambda stamp: answer(ticket.number, wait.name, said, stamp, wait.line),
            lambda done: answered_words(done, wait, said),
            refused=lambda: page.desk.ask(question),
        )

    more = len(ticket.waits) - 1
    others = f" ({counted(more, 'other answer')} awaited: Ctrl and N again asks the next.)" if more else ""
    page.desk.tell((f"Line {wait.line}: {wait.question}", "bold"), others)
    choices = ", ".join(f"{turn} {choice}" for turn, choice in enumerate(wait.choices, 1))
    question = Question(wait.name, choices or _HINTS.get(wait.kind, "the answer"), answered)
    page.desk.ask(question)


def answered_words(done: Answered, wait: TicketWait, said: str) -> tuple[str, ...]:
    """What an answer let go on, in sentences."""
    left = len(done.still_waits)
    first = f"{wait.name} of line {wait.line}: {said}."
    first += (
        f" {counted(left, 'answer is', 'answers are')} still awaited." if left else " No answer is awaited any more."
    )
    if done.told:
        first = " ".join(done.told)
    if done.orders_touched:
        first += f" Order {', '.join(done.orders_touched)} of the same car goes on too."
    if done.reserved is None:
        return (f"{first} Ctrl and R reserves what it needs.",)
    held = f"{done.reserved.held_now} more held."
    return (f"{first} {held}", *(f"{SIGN} Short: {words}" for words in done.reserved.short))
