"""Reserving from the screens, and approving a mix of lots: what is asked, and what is said of what was done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed
from stockroom.jobs.papers import Paper, of_orders
from stockroom.screens.desk import Question
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

if TYPE_CHECKING:
    from stockroom.jobs.reserve import Reserved
    from stockroom.jobs.ticket import Ticket, TicketMix

Several: TypeAlias = "tuple[tuple[Reserved, ...], tuple[str, ...]]"
"""What was done for each order, and what was refused of others."""


def reserved_words(done: Reserved) -> tuple[str, ...]:
    """What a reservation did, in sentences."""
    held = done.held_before + done.held_now
    if done.short and not done.held_now:
        first = f"Nothing more was held for order {done.number}: {held} of {done.needed} are held."
    else:
        first = f"Order {done.number}: {done.held_now} more held, {held} of {done.needed} in all."
    if done.waiting:
        first += f" {counted(done.waiting, 'more waits', 'more wait')} for an answer."
    return (" ".join((first, *done.margins)), *(f"{SIGN} Short: {words}" for words in done.short))


def reserved_papers(done: Reserved, _: object) -> tuple[Paper, ...]:
    """The pick list, where something more is held now."""
    return of_orders([done.number])[:1] if done.held_now else ()


def reserve(page: WorkPage, number: str) -> None:
    """Hold all that an order needs or nothing; where it is short, ask whether what there is will do."""
    ordering = page.desk.jobs.ordering

    def words(done: Reserved) -> tuple[str, ...]:
        if done.short and page.display:
            _ask_what_there_is(page, number)
        return reserved_words(done)

    page.change(
        f"Reserving for order {number}", lambda stamp: ordering.reserve_all(number, stamp), words, reserved_papers
    )


def _ask_what_there_is(page: WorkPage, number: str) -> None:
    def answered(text: str) -> None:
        if text != "hold":
            raise Refusal("Press Enter alone to hold what there is, or Esc to leave it.")
        page.change(
            f"Reserving for order {number}",
            lambda stamp: page.desk.jobs.ordering.reserve_what_there_is(number, stamp),
            reserved_words,
            reserved_papers,
        )

    page.desk.ask(Question("Hold what there is", "Enter holds it; Esc leaves it", answered, "hold"))


def reserve_each(page: WorkPage, numbers: Sequence[str]) -> None:
    """Hold for several orders, one after another, all that each needs or nothing."""
    ordering = page.desk.jobs.ordering

    def job(stamp: Stamp) -> Several:
        done, refused = [], []
        for number in numbers:
            try:
                done.append(ordering.reserve_all(number, stamp))
            except Refusal as refusal:
                refused.append(refusal.sentence)
        return tuple(done), tuple(refused)

    page.change(f"Reserving for {counted(len(numbers), 'order')}", job, _several_words, _several_papers)


def _several_words(several: Several) -> tuple[str, ...]:
    done, refused = several
    whole = [one.number for one in done if not one.short]
    short = [one.number for one in done if one.short]
    first = f"Reserved: order {listed(whole)}." if whole else "Nothing more was held."
    return (
        first,
        *((f"{SIGN} Short: order {listed(short)}; see there (Enter).",) if short else ()),
        *(f"{SIGN} {words}" for words in refused),
    )


def _several_papers(several: Several, _: object) -> tuple[Paper, ...]:
    return of_orders([one.number for one in several[0] if one.held_now])[:1]


def ask_mix(page: WorkPage, ticket: Ticket, mix: TicketMix) -> None:
    """Let somebody approve a mix of lots with a reason; their initials stand with it. Then it is reserved."""
    number, ordering = ticket.number, page.desk.jobs.ordering

    def answered(because: str) -> None:
        def job(stamp: Stamp) -> tuple[Reserved, str]:
            ordering.approve_mix(number, mix.item, because, stamp, mix.lots)
            return ordering.reserve_all(number, stamp), stamp.by

        def papers(done: tuple[Reserved, str], now: object) -> tuple[Paper, ...]:
            return reserved_papers(done[0], now)

        page.change(f"Approving a mix of {mix.title}", job, lambda done: _mix_words(mix, *done), papers)

    look = f"Look in daylight at {listed(mix.to_see)} first. " if mix.to_see else ""
    page.desk.tell(
        (f"{SIGN} {mix.title}: {listed(map(lot_name, mix.lots))} together. {look}", "bold"),
        "How every pair matches stands with what is short. Whoever approves the mix says why. Their initials stand "
        "with it: F8 first, where somebody else does.",
    )
    page.desk.ask(Question("Approve the mix, because", "why the difference will not be seen; Esc leaves it", answered))


def _mix_words(mix: TicketMix, reserved: Reserved, by: str) -> tuple[str, ...]:
    first, *others = reserved_words(reserved)
    return (f"A mix of lots of {mix.title} is approved ({by}). {first}", *others)
