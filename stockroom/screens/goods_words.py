"""What the goods in page says: what is expected, what is being received, what was booked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stockroom.domain.wording import listed
from stockroom.jobs.inspect import Inspected
from stockroom.jobs.move import MovedTo
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.purchasing import Closed, Expected
from stockroom.jobs.quarantine import Quarantined
from stockroom.jobs.receivable import Receivable, ToReceive
from stockroom.jobs.receive import Received, SaidBack
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.receiving import Delivery, amounts_words, details_of
from stockroom.screens.wording import day, overdue


def line_words(line: Expected) -> Iterator[Line]:
    """One line of a purchase in full, since its row may have been cut short."""
    yield sentence((f"{line.reference}  {line.title}", "bold"), f" ({line.item})", hang=2)
    late = f", {overdue(line.late_days)}" if line.late_days else ""
    yield sentence(f"{line.shown} still to come from {line.supplier}, due {day(line.due).strip()}{late}", hang=2)
    yield sentence(("Enter receives it.", "$quiet-ink"))


def item_words(item: Receivable) -> Iterator[Line]:
    """One item in full."""
    yield sentence((item.title, "bold"), f" ({item.code})", hang=2)
    yield sentence(("Enter receives it, with a purchase or without one.", "$quiet-ink"))


def what_words(what: ToReceive) -> str:
    """What is received, in a line."""
    if not what.reference:
        return f"{what.goods.title}, without a purchase"
    due = f", {what.due} still due" if what.due else ", of which nothing is due any more"
    return f"{what.goods.title}, purchase {what.reference} of {what.supplier}{due}"


def choice_words(choices: Sequence[ToReceive]) -> Iterator[Line]:
    """What may be meant, by number."""
    yield sentence(("Which of these came?", "bold"))
    # Of several items it is asked with which purchase once one of them is chosen.
    words = what_words if len({what.goods.code for what in choices}) == 1 else _bought_words
    for turn, what in enumerate(choices, 1):
        yield sentence((f"{turn:2d}  ", "bold"), words(what), hang=4)


def _bought_words(what: ToReceive) -> str:
    return what_words(what) if what.reference else f"{what.goods.title} ({what.goods.code})"


def delivery_words(delivery: Delivery, back: SaidBack | None) -> Iterator[Line]:
    """What was said of a delivery so far; once it is read back, what would be booked."""
    yield sentence((what_words(delivery.what), "bold"), hang=2)
    if back is not None:
        for caution in back.cautions:
            yield sentence((f"{SIGN} {caution}", "bold"), hang=2)
        for line in back.lines:
            yield sentence(line, hang=2)
        return
    for amount in amounts_words(delivery):
        yield sentence(amount, hang=2)
    known = {"amounts"} if delivery.said.purchase != delivery.what.reference else {"amounts", "purchase"}
    filled = (words for name, words in details_of(delivery) if name not in known and words.endswith(")"))
    yield sentence(", ".join(filled), hang=2)


def received_words(done: Received) -> tuple[str, ...]:
    """What was booked, and who waits for it."""
    into = ", ".join(f"{one.tag} {one.amount}{'' if one.is_new else ' more'}" for one in done.goods)
    lot = f", lot {done.lot}" if done.lot else ""
    purchase = next((f" {words}" for words in done.lines if words.startswith("Purchase ")), "")
    first = f"Received {into}: {done.title}{lot}, in {done.place}.{purchase}"
    if not done.waiting:
        return (first, *done.hints)
    orders = listed(f"{one.order} ({one.customer})" for one in done.waiting)
    waits = "waits" if len(done.waiting) == 1 else "wait"
    return (first, f"{SIGN} Order {orders} {waits} for such goods. Ctrl and R holds it.", *done.hints)


def received_papers(done: Received, _: object) -> tuple[Paper, ...]:
    """The tags that are new."""
    return tags_again(*done.new_tags)


def closed_words(done: Closed) -> tuple[str, ...]:
    """What will not come any more."""
    return (" ".join((f"Purchase {done.reference} is closed.", *done.lines)),)


def inspected_words(done: Inspected) -> tuple[str, ...]:
    """What looking a roll over came to."""
    first = f"{done.tag}: {done.working}"
    if not done.is_over:
        return (first, *(f"{SIGN} Now short: {words}" for words in done.promises.short))
    apart = "" if done.is_quarantined else " Ctrl and K sets it apart."
    over = f"{SIGN} More than the {done.most_points} that this shop takes as good.{apart}"
    return (first, over, *(f"{SIGN} Now short: {words}" for words in done.promises.short))


def inspected_papers(done: Inspected, _: object) -> tuple[Paper, ...]:
    """A claim, where it has more points than are good."""
    return (Paper("claim", (done.tag,)),) if done.is_over else ()


def quarantined_words(done: Quarantined) -> tuple[str, ...]:
    """What was set apart, and who is short of it now."""
    return (done.sentence, *(f"{SIGN} Now short: {words}" for words in done.promises.short))


def moved_words(done: MovedTo) -> tuple[str, ...]:
    """Where it lies now."""
    return (" ".join(one.sentence for one in done.things),)


def moved_papers(done: MovedTo, _: object) -> tuple[Paper, ...]:
    """Tags that are new by it."""
    return tags_again(*(one.tag_now for one in done.things if one.is_new))
