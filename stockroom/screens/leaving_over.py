"""Left over, on the screens: an order is cancelled, what lies about of it is put away, and finished things are used."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.domain.wording import listed
from stockroom.jobs.papers import Paper, tags_again
from stockroom.screens.desk import Question
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

if TYPE_CHECKING:
    from stockroom.jobs.change import Cancelled
    from stockroom.jobs.keep import Kept
    from stockroom.jobs.left_over import LyingAbout, ToPutAway
    from stockroom.jobs.offer import Offer
    from stockroom.jobs.pick import Picked
    from stockroom.jobs.scrap import Scrapped
    from stockroom.jobs.ticket import Ticket, TicketStock
    from stockroom.jobs.use import Used

CANCEL = "cancel"
"""The answer that cancels an order."""
SCRAP = "scrap"
"""Begins an answer that scraps a piece: what follows says why."""
NAMED = 3
"""How many things are named before the rest is only counted."""


@dataclass(frozen=True, slots=True)
class LeftOverJobs:
    """The jobs of what no order takes."""

    would_lie_about: Callable[[str], LyingAbout]
    """Of an order by its number."""
    cancel: Callable[[str, Stamp], Cancelled]
    keep: Callable[[str, str, Stamp, int, int], Kept]
    """The piece of a tag, the kit of a bundle's, or the kit of an order's line that is this one of it, in a place."""
    scrap: Callable[[str, str, Stamp], Scrapped]
    """The piece of a tag, and why."""
    put_back: Callable[[str, str, Stamp], Picked]
    """For an order, what was taken from the holding of a tag."""
    use: Callable[[str, str, Stamp], Used]
    """The finished thing of a tag, for an order."""
    unuse: Callable[[str, Stamp], Used]


def _some(names: Sequence[str]) -> str:
    shown = [*names[:NAMED], *([f"{len(names) - NAMED} more"] if len(names) > NAMED else [])]
    return listed(shown)


# --- cancelling ----------------------------------------------------------------------------------------------------


def ask_cancel(page: WorkPage, number: str) -> None:
    """Say what would lie about of an order if it were cancelled, and cancel it where that is confirmed in a word."""
    jobs = page.desk.jobs.left_over

    def ask(would: LyingAbout) -> None:
        def answered(text: str) -> None:
            if text.casefold() != CANCEL:
                raise Refusal(f"Type {CANCEL} and Enter to cancel order {number}, or Esc to leave it as it is.")
            page.change(f"Cancelling order {number}", lambda stamp: jobs.cancel(number, stamp), _cancelled_words)

        given_up = f"{SIGN} Order {number} would be given up: what is held for it is free. "
        page.desk.tell((given_up, "bold"), _would(would))
        page.desk.ask(Question(f"Cancel {number}", f"type {CANCEL} and Enter; Esc leaves it as it is", answered))

    page.desk.do(f"Looking what lies about of order {number}", lambda: jobs.would_lie_about(number), ask)


def _would(would: LyingAbout) -> str:
    if not would.sentences:
        return "Nothing was picked or cut for it, so nothing would lie about."
    told = []
    if would.pieces:
        names = _some([f"{title} ({tag})" for tag, title in would.pieces])
        told.append(f"To be kept or scrapped then: {names}.")
    if would.picked:
        told.append(f"To be put back then: {_some([words for _, words in would.picked])}.")
    return " ".join(told)


def _cancelled_words(done: Cancelled) -> tuple[str, ...]:
    lies = f"{counted(len(done.left_over), 'thing')} to put away: Ctrl and L, or scan each." if done.left_over else ""
    first = f"Order {done.number} is cancelled. {lies}".strip()
    return (first, *(f"{SIGN} {words}" for words in (*done.unpacked, *done.customers_parts)))


# --- putting away --------------------------------------------------------------------------------------------------


def scanned_to_put_away(text: str, some: Sequence[ToPutAway]) -> ToPutAway | None:
    """What of this was scanned, if any."""
    tag = str(read_tag(text)) if is_tag(text) else ""
    return next((one for one in some if one.tag == tag), None)


def ask_put_away(page: WorkPage, order: str, one: ToPutAway) -> None:
    """Ask where a thing that no order takes is kept, or whether it is put back, and do it."""
    if one.how == "keep":
        ask_keep(page, one.tag, one.what, one.line, one.nth)
        return

    def answered(text: str) -> None:
        if text != one.tag:
            raise Refusal(f"Press Enter alone, or scan {one.tag}, when it lies there again; Esc leaves it.")
        put_back = page.desk.jobs.left_over.put_back
        page.change(f"Putting back into {one.tag}", lambda stamp: put_back(order, one.tag, stamp), _put_back_words)

    page.desk.tell((f"Put back: {one.what}.", "bold"))
    page.desk.ask(
        Question(f"Put back {one.tag}", "Enter, or its tag, says that it lies there; Esc leaves it", answered, one.tag)
    )


def ask_keep(page: WorkPage, tag: str, what: str, line: int = 0, nth: int = 0) -> None:
    """Ask where a piece or a bundle is kept as stock; a piece may be scrapped with a reason instead.

    `line` and `nth` say which kit of an order is meant, where `tag` is its number.
    """

    def answered(text: str) -> None:
        jobs = page.desk.jobs.left_over
        word, _, because = text.partition(" ")
        if word.casefold() == SCRAP:
            page.change(f"Scrapping {tag}", lambda stamp: jobs.scrap(tag, because, stamp), _scrapped_words)
        else:
            keep = partial(jobs.keep, tag, text)
            page.change(f"Keeping {tag}", lambda stamp: keep(stamp, line or 1, nth or 1), _kept_words, _kept_papers)

    page.desk.tell(
        (f"{what} ({tag}): kept as stock, it gets a tag of its own and is offered to the next order it fits.", "bold")
    )
    if line:
        page.desk.ask(Question("Keep the whole kit in", "scan or type the place", answered, takes_tags=True))
        return
    hint = f"scan or type the place; or type {SCRAP} and why it is no use"
    page.desk.ask(Question(f"Keep {tag} in", hint, answered, takes_tags=True))


def _kept_words(done: Kept) -> tuple[str, ...]:
    left = f" {counted(len(done.still), 'more', 'more')} to put away." if done.still else ""
    lacks = (f"{SIGN} It lacks {listed(done.lacks)}.",) if done.lacks else ()
    return (f"{done.title} is stock now, as {done.tag} in {done.place}.{left}", *lacks)


def _kept_papers(done: Kept, _: object) -> tuple[Paper, ...]:
    return tags_again(done.tag)


def _scrapped_words(done: Scrapped) -> tuple[str, ...]:
    return (done.sentence,)


def _put_back_words(done: Picked) -> tuple[str, ...]:
    return (done.sentence,)


# --- using ---------------------------------------------------------------------------------------------------------


def ask_use(page: WorkPage, order: str, offer: Offer) -> None:
    """Ask whether a finished thing that fits an order is used for it, and do it."""

    def answered(text: str) -> None:
        if text != offer.tag:
            raise Refusal(f"Press Enter alone to use {offer.tag}, or Esc to leave it on its shelf.")
        use = page.desk.jobs.left_over.use
        page.change(f"Using {offer.tag}", lambda stamp: use(offer.tag, order, stamp), _used_words)

    page.desk.tell((offer.words, "bold"))
    page.desk.ask(Question(f"Use {offer.tag}", "Enter uses it for this order; Esc leaves it", answered, offer.tag))


def ask_let_go(page: WorkPage, one: TicketStock) -> None:
    """Ask whether a finished thing that the order was to have is free again, and do it."""

    def answered(text: str) -> None:
        if text != one.tag:
            raise Refusal(f"Press Enter alone to let {one.tag} go, or Esc to have the order keep it.")
        unuse = page.desk.jobs.left_over.unuse
        page.change(f"Letting {one.tag} go", lambda stamp: unuse(one.tag, stamp), _used_words)

    page.desk.tell((one.sentence, "bold"))
    hint = "Enter: it is free, and the order makes its own; Esc leaves it"
    page.desk.ask(Question(f"Let {one.tag} go", hint, answered, one.tag))


def _used_words(done: Used) -> tuple[str, ...]:
    short = done.reserved.short if done.reserved is not None else ()
    return (" ".join((done.sentence, *done.binds)), *(f"{SIGN} Short: {words}" for words in short))


# --- the ticket's key and its scans ---------------------------------------------------------------------------------


def ask_of_ticket(page: WorkPage, ticket: Ticket, turn: int) -> None:
    """What the key asks: the first thing to put away, to use or to let go; the next one, every time it is pressed."""
    asks: list[Callable[[], None]] = [
        *(lambda one=one: ask_put_away(page, ticket.number, one) for one in ticket.to_put_away),
        *(lambda one=one: ask_use(page, ticket.number, one) for one in ticket.offers),
        *(lambda one=one: ask_let_go(page, one) for one in ticket.from_stock if not one.is_fetched),
    ]
    if asks:
        asks[turn % len(asks)]()
    else:
        page.desk.tell("Nothing of the finished stock fits this order, and nothing of it is left over.")


def take_scan(page: WorkPage, ticket: Ticket, text: str) -> bool:
    """Ask what is done with a scanned thing that is left over, offered or to be had; `False` where it is none."""
    one = scanned_to_put_away(text, ticket.to_put_away)
    tag = str(read_tag(text)) if is_tag(text) else ""
    offer = next((offer for offer in ticket.offers if offer.tag == tag), None)
    used = next((used for used in ticket.from_stock if used.tag == tag and not used.is_fetched), None)
    if one is not None:
        page.desk.put_away(text)
        ask_put_away(page, ticket.number, one)
    elif offer is not None:
        page.desk.put_away(text)
        ask_use(page, ticket.number, offer)
    elif used is not None:
        page.desk.put_away(text)
        ask_let_go(page, used)
    return bool(one or offer or used)
