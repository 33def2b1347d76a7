"""Buying by a weekly run as the screens ask it of the jobs, and how a line is put into words."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.domain.questions import Question
from stockroom.domain.stamp import Stamp
from stockroom.jobs.buying import BuyingLine, BuyingList
from stockroom.jobs.decide import LinesDecided
from stockroom.jobs.reorder_runs import working_lines
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.row_list import Cell


@dataclass(frozen=True, slots=True)
class BuyingJobs:
    """The jobs of buying."""

    buying_list: Callable[[str | None, date], BuyingList]
    """Of a week, or of the one that a day is in, by its latest run."""
    made_anew: Callable[[str | None, date, Stamp], BuyingList]
    """The same, by a run on the stock as it is now."""
    accept: Callable[[int, Sequence[str], Stamp, Collection[str]], LinesDecided]
    """Lines of a run by their items, and the names of what was confirmed."""
    change: Callable[[int, str, str, str, Stamp, Collection[str]], LinesDecided]
    """A line of a run, another quantity, why, and the names of what was confirmed."""
    asked: Callable[[int, dict[str, str], Stamp], tuple[Question, ...]]
    """What would be asked; item → another quantity, or '' as it is proposed."""
    put_off: Callable[[int, Sequence[str], str, Stamp, str], LinesDecided]
    """Lines of a run, why, and until when; '' until the next run."""


def state_cell(one: BuyingLine) -> Cell:
    """Where a line stands: what somebody decided, or how much it presses."""
    if one.decided is not None:
        return Cell("bought" if one.decided.is_bought else "put off", "quiet")
    if not one.supplier:
        return Cell("NO TERMS", "alarm")
    urgency = one.proposed.urgency
    return Cell("to buy") if urgency == "normal" else Cell(urgency.upper(), "alarm" if urgency == "late" else "strong")


def decided_cell(one: BuyingLine) -> Cell:
    """What it became, or why it is proposed."""
    if one.decided is None:
        return Cell(one.proposed.why)
    if one.decided.is_bought:
        return Cell(f"{one.decided.shown} in {one.decided.reference}")
    return Cell(f"until {one.decided.until}: {one.decided.because}")


def line_haystack(one: BuyingLine) -> str:
    """What the filter looks through."""
    line = one.proposed
    state = state_cell(one).text
    return " ".join((one.supplier, one.supplier_name, line.item, line.title, state, decided_cell(one).text, line.why))


def line_words(one: BuyingLine) -> Iterator[Line]:
    """A line in short: what is decided or proposed, and why."""
    line = one.proposed
    yield sentence((f"{line.title}", "bold"), f"  ({line.item})", hang=2)
    if one.decided is not None:
        words = one.decided.words
        yield sentence((f"{words[:1].upper()}{words[1:]}.", "bold"), hang=2)
    cost = f", {line.cost}" if one.supplier else ""
    by = f"; order by {line.latest_day}" if line.latest_day else ""
    sign = f"{SIGN} {line.urgency}: " if line.urgency != "normal" and one.is_open else ""
    yield sentence(f"{sign}proposed {line.shown(line.quantity)}{cost}{by}", hang=2)
    yield sentence("; ".join(part for part in (line.why, line.basis) if part), hang=2)


def working_words(one: BuyingLine) -> Iterator[Line]:
    """The whole working of a line, with its weeks."""
    for words in working_lines(one.proposed)[1:]:
        yield sentence(words, hang=4)


def supplier_words(lines: Sequence[BuyingLine], carriage: str) -> str:
    """How far the lines of a supplier are decided, and what the run says of its carriage."""
    left = sum(one.is_open for one in lines)
    said = f"{len(lines)} {'line' if len(lines) == 1 else 'lines'} of {lines[0].supplier_name}, {left} to decide."
    return f"{said} {carriage}".strip()


def decided_said(done: LinesDecided) -> tuple[str, ...]:
    """What deciding did, and how it is taken back."""
    if not done.changed_anything:
        return done.sentences or ("Every line is decided already.",)
    first, *rest = done.sentences
    return (f"{first} ^Y takes it back.", *rest)
