"""The buying page: the lines of the week's run by supplier, each accepted, bought otherwise, or put off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain import questions
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.buying import BuyingLine, BuyingList
from stockroom.jobs.decide import LinesDecided
from stockroom.jobs.papers import Paper
from stockroom.screens.buying import (
    decided_cell,
    decided_said,
    line_haystack,
    line_words,
    state_cell,
    supplier_words,
    working_words,
)
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.work_page import WorkPage

_EMPTY = "Nothing is to be bought.\n\nCtrl and R makes the week's run anew, on the stock as it is now."
_WIDE = 120
Sure = frozenset[str]

COLUMNS: tuple[Column[BuyingLine], ...] = (
    Column("State", state_cell, 8),
    Column("Supplier", lambda one: Cell(one.supplier_name or "nobody sells it"), 12, grow=1),
    Column("What", lambda one: Cell(one.proposed.title), 16, grow=2),
    Column("Item", lambda one: Cell(one.proposed.item), 20, shown_from=_WIDE),
    Column("Proposed", lambda one: Cell(one.proposed.shown(one.proposed.quantity), "strong"), 9),
    Column("Cost", lambda one: Cell(one.proposed.cost if one.supplier else ""), 11, shown_from=_WIDE),
    Column("By", lambda one: Cell(f"{one.proposed.latest_day or ''}"), 10, shown_from=_WIDE),
    Column("Decided, or why", decided_cell, 16, grow=2),
)


class BuyingPage(WorkPage):
    """What is to be bought."""

    things = "line"
    OF_STOCK = True
    KEYS = (
        Key("^T", "Buy", "page_key('^T')", "buy the highlighted line as it is proposed"),
        Key("^L", "All of it", "page_key('^L')", "buy all of this supplier's lines that are not decided"),
        Key("^O", "Other", "page_key('^O')", "buy another quantity of it; asks how much, and why"),
        Key("^N", "Put off", "page_key('^N')", "put the line off; asks why, and until when"),
        Key("^R", "Run anew", "page_key('^R')", "make the week's run anew, on the stock as it is now"),
    )
    SCANNING = (
        "Lines of the weekly run, the most pressing supplier first; Enter: why.",
        "A supplier's lines are one purchase; ^P prints its order, ^Y takes it back.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._shown: BuyingList | None = None
        self._explained = ""
        """The item whose whole working is shown."""

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda one: one.proposed.item, words=line_haystack, empty=_EMPTY, id="buying-rows")
        yield TextPane(id="buying-text", parts=2)

    def reading(self, place: Place) -> str:
        del place
        return "Reading what is to be bought"

    def read(self, jobs: Jobs, place: Place) -> BuyingList:
        del place
        return jobs.buying.buying_list(None, jobs.today())

    def fill(self, answer: BuyingList) -> None:
        """Show the lines, by supplier."""
        self._shown = answer
        self.rows.say_when_empty(_empty_words(answer))
        self.rows.fill(answer.lines)
        self.show_text()

    @property
    def answer(self) -> BuyingList | None:
        return self._shown

    @property
    def heading(self) -> str:
        if self._shown is None:
            return "Buying"
        if self._shown.run is None:
            return f"Buying  ·  {self._shown.week}, no run yet"
        return f"Buying  ·  {self._shown.week}  ·  {len(self._shown.open_lines):,} to decide"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#buying-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#buying-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The order of the purchase that the highlighted line became, then those of the other lines."""
        row: BuyingLine | None = self.rows.row
        lines = [row, *(self._shown.lines if self._shown else ())]
        references = dict.fromkeys(
            one.decided.reference for one in lines if one is not None and one.decided and one.decided.is_bought
        )
        return tuple(Paper("purchase", (reference,)) for reference in references)

    def show_text(self) -> None:
        """Show the highlighted line, its whole working where it was asked for, its supplier, and what was done."""
        row: BuyingLine | None = self.rows.row
        if row is None:
            self.query_one("#buying-text", TextPane).show((), (*self._of_the_run(), *self.told()))
            return
        mine = [*line_words(row), *(working_words(row) if row.proposed.item == self._explained else ())]
        carriage = self._shown.carriage.get(row.supplier, "") if self._shown else ""
        beside = [sentence(supplier_words(self._lines_of(row), carriage), hang=2)] if row.supplier else []
        self.query_one("#buying-text", TextPane).show(mine, (*self.told(), *self._of_the_run(), *beside))

    def _of_the_run(self) -> list[Any]:
        """Who made the run, whether it may be out of date, and what is made here besides."""
        shown = self._shown
        if shown is None or shown.made_at is None:
            return []
        told = [sentence(f"Run {shown.run} was made by {shown.made_by} on {shown.made_at:%Y-%m-%d}.", hang=2)]
        if shown.done_since:
            jobs = "a job was" if shown.done_since == 1 else f"{shown.done_since:,} jobs were"
            words = f": {jobs} done since. Ctrl and R makes it anew."
            told.append(sentence((f"{SIGN} It may be out of date", "bold"), words, hang=2))
        if shown.to_make:
            told.append(sentence(f"To make here besides: {shown.to_make:,}; the report lists it.", hang=2))
        return told

    def _lines_of(self, row: BuyingLine) -> list[BuyingLine]:
        lines = self._shown.lines if self._shown else ()
        return [one for one in lines if one.supplier == row.supplier]

    @on(RowList.Highlighted)
    def _show_row(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a row, which shows it."""
        event.stop()

    def open_highlighted(self) -> None:
        """Show the whole working of the highlighted line, for the arrow keys to move; a second time, the rows again."""
        row: BuyingLine | None = self.rows.row
        if row is None:
            return
        explained = "" if row.proposed.item == self._explained else row.proposed.item
        self._explained = explained
        self.show_text()
        self.activate(1 if explained else 0)

    # What is done on it

    def press(self, key: str) -> None:
        """Do what a key does."""
        if key == "^R":
            made_anew, today = self.desk.jobs.buying.made_anew, self.desk.jobs.today()
            self.change("Making the week's run anew", lambda stamp: made_anew(None, today, stamp), _anew_said)
            return
        row: BuyingLine | None = self.rows.row
        if row is None or self._shown is None or self._shown.run is None:
            self.desk.tell("There is no line here. Ctrl and R makes the week's run.")
        elif row.decided is not None and row.decided.is_bought and key != "^L":
            words = row.decided.words
            self.desk.tell(f"{row.proposed.title}: {words}. Ctrl and Y takes it back.")
        elif key == "^T":
            self._accept([row])
        elif key == "^L":
            self._accept([one for one in self._lines_of(row) if one.is_open])
        elif key == "^O":
            self._ask_quantity(row)
        else:
            self._ask_why_put_off(row)

    def _accept(self, lines: Sequence[BuyingLine]) -> None:
        if not lines:
            self.desk.tell("Every line of this supplier is decided already.")
            return
        jobs, run = self.desk.jobs.buying, self._run
        items = [one.proposed.item for one in lines]
        what = lines[0].proposed.title if len(lines) == 1 else f"{len(lines)} lines"
        self._when_sure(
            dict.fromkeys(items, ""),
            lambda sure: self._decide(f"Buying {what}", lambda by: jobs.accept(run, items, by, sure)),
        )

    def _ask_quantity(self, row: BuyingLine) -> None:
        line, jobs, run = row.proposed, self.desk.jobs.buying, self._run

        def much(quantity: str) -> None:
            def why(because: str) -> None:
                self._when_sure(
                    {line.item: quantity},
                    lambda sure: self._decide(
                        f"Buying {quantity} of {line.title}",
                        lambda by: jobs.change(run, line.item, quantity, because, by, sure),
                    ),
                )

            self.desk.ask(Question("Why", f"why {quantity} and not {line.shown(line.quantity)}; Esc leaves it", why))

        hint = "a length with its unit, such as 25 m" if line.by_length else "how many"
        self.desk.ask(Question("How much", f"{hint}; proposed: {line.shown(line.quantity)}", much))

    def _ask_why_put_off(self, row: BuyingLine) -> None:
        line, jobs, run = row.proposed, self.desk.jobs.buying, self._run

        def why(because: str) -> None:
            def until(text: str) -> None:
                day = "" if text == _NEXT_RUN else text
                self._decide(f"Putting {line.title} off", lambda by: jobs.put_off(run, [line.item], because, by, day))

            self.desk.ask(Question("Until when", "Enter: the next run; or a day, such as 2026-12-18", until, _NEXT_RUN))

        self.desk.ask(Question("Why put off", "what it waits for; Esc leaves it", why))

    def _when_sure(self, quantities: dict[str, str], then: Callable[[Sure], None]) -> None:
        """Ask what is to be confirmed, one after the other; then go on with the names of all of it."""
        jobs, run = self.desk.jobs.buying, self._run

        def signed(stamp: Stamp) -> None:
            self.desk.do(
                "Looking at the terms",
                lambda: jobs.asked(run, quantities, stamp),
                lambda found: self._confirm(found, frozenset(), then),
            )

        self.desk.signed(signed)

    def _confirm(self, found: Sequence[questions.Question], sure: Sure, then: Callable[[Sure], None]) -> None:
        if not found:
            then(sure)
            return
        first, *rest = found

        def answered(text: str) -> None:
            if text.strip().casefold() not in ("y", "yes"):
                raise Refusal("Type yes if it is so; Esc leaves it, and nothing is bought.")
            self._confirm(rest, sure | {first.name}, then)

        self.desk.mention((f"{SIGN} {first.sentence}", "bold"))
        self.desk.ask(Question("Is it so", "yes; Esc leaves it, and nothing is bought", answered))

    def _decide(self, title: str, job: Callable[[Stamp], LinesDecided]) -> None:
        self.change(title, job, decided_said, _orders_of)

    @property
    def _run(self) -> int:
        assert self._shown is not None
        assert self._shown.run is not None
        return self._shown.run


_NEXT_RUN = "next run"


def _orders_of(done: LinesDecided, _now: Any) -> tuple[Paper, ...]:
    return tuple(Paper("purchase", (one.reference,)) for one in done.orders)


def _anew_said(found: BuyingList) -> tuple[str, ...]:
    left = len(found.open_lines)
    lines = "Nothing is to be decided" if not left else f"{left} {'line' if left == 1 else 'lines'} to decide"
    return (f"The run of {found.week} is made: run {found.run}. {lines}.",)


def _empty_words(found: BuyingList) -> str:
    if found.run is None:
        return f"No run of {found.week} was made yet.\n\nCtrl and R makes it; it may take a few seconds."
    return f"Nothing is to be bought in {found.week}.\n\nCtrl and R makes its run anew, on the stock as it is now."
