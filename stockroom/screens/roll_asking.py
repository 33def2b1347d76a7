"""What is asked of a roll wherever one has it in hand: its true length, and a flaw met on it."""

from __future__ import annotations

from stockroom.domain.quantities import need_mm, show_length, stock_mm
from stockroom.jobs.papers import Paper
from stockroom.jobs.replan import RollPutRight
from stockroom.screens.desk import Question
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

LENGTH_HINT = "1.20 m, 47 in, 1200 (mm)"


def roll_words(put_right: RollPutRight) -> tuple[str, ...]:
    """What became of the promises on a roll, in sentences."""
    first = f"{put_right.tag} holds {show_length(put_right.left_mm)} now."
    if put_right.claimable_mm:
        first += f" It is {show_length(put_right.claimable_mm)} shorter than it came."
    if put_right.moved:
        first += f" {counted(put_right.moved, 'planned cut')} moved along it."
    if put_right.planned_elsewhere:
        first += f" Planned on another roll now: order {', '.join(put_right.planned_elsewhere)}."
    return (first, *(f"{SIGN} Now short: {words}" for words in put_right.short))


def roll_papers(put_right: RollPutRight, _: object) -> tuple[Paper, ...]:
    """A claim on the supplier, where a roll is shorter than it came."""
    return (Paper("claim", (put_right.tag,)),) if put_right.claimable_mm else ()


def ask_length(page: WorkPage, tag: str) -> None:
    """Write down the true length of a roll, as it was measured."""

    def answered(text: str) -> None:
        mm = stock_mm(text)
        measure = page.desk.jobs.picking.measure
        page.change(f"Measuring {tag}", lambda stamp: measure(tag, mm, stamp), roll_words, roll_papers)

    page.desk.ask(Question(f"True length of {tag}", LENGTH_HINT, answered))


def ask_flaw(page: WorkPage, tag: str) -> None:
    """Write down a flaw: where it begins, where it ends, what it is."""

    def begins(first: str) -> None:
        from_mm = stock_mm(first)

        def ends(last: str) -> None:
            to_mm = need_mm(last)

            def what(words: str) -> None:
                mark = page.desk.jobs.picking.mark_flaw

                def told(done: RollPutRight) -> tuple[str, ...]:
                    where = f"from {show_length(from_mm)} to {show_length(to_mm)}"
                    first, *short = roll_words(done)
                    return (f"The flaw on {tag}, {where}, is written down: {words}. {first}", *short)

                page.change(
                    f"Writing down a flaw on {tag}",
                    lambda stamp: mark(tag, from_mm, to_mm, words, stamp),
                    told,
                    lambda done, _: (Paper("claim", (done.tag,)),),
                )

            page.desk.ask(Question("What is it", "a slub, a stain, a fold", what))

        page.desk.ask(Question("and ends at", LENGTH_HINT, ends))

    page.desk.tell(f"A flaw on {tag}: measure from the roll's inner end.")
    page.desk.ask(Question("The flaw begins at", LENGTH_HINT, begins))
