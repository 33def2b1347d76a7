"""The trimmer's page: which cloth can be used beside which, so that nobody sees a join of two shades."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.shortage import lot_name
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.match import Matched, RollsMatched
from stockroom.jobs.papers import Paper, tags_again
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.matching import (
    MatchRow,
    group_words,
    match_cell,
    match_haystack,
    number_cell,
    pair_words,
    patch_cell,
    proof_line,
    reading_words,
    row_words,
    verdict_said,
    verdict_words,
)
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

EMPTY = (
    "Scan a roll to see what goes beside it, and a second to compare the two.\n\n"
    "Or type an order's number, a colour, or a cloth in its colour;\n"
    "or scan a kit, a bundle, a piece or a car: what went out with it, and what matches that."
)
_ASKED_BY = frozenset("ROCPTK")
"""Kind letters of what is asked about here; the tag of anything else opens as everywhere."""
_WIDE = 120
_PATCH: Column[MatchRow] = Column("Shade", patch_cell, 5)


def _lot(row: MatchRow) -> Cell:
    return Cell(row.roll.lot or "none" if row.roll else "")


def _free(row: MatchRow) -> Cell:
    return Cell(row.roll.free if row.roll else "")


def _what(row: MatchRow) -> Cell:
    return Cell(f"{row.group.group}: {row.group.title}" if row.group.group else row.group.title)


COLUMNS: tuple[Column[MatchRow], ...] = (
    Column("Match", lambda row: match_cell(row, short=True), 12, shown_below=_WIDE),
    Column("Match", lambda row: match_cell(row, short=False), 24, shown_from=_WIDE),
    Column("Lot", _lot, 8),
    Column("Tag", lambda row: Cell(row.roll.tag if row.roll else "", "strong"), 7),
    Column("Place", lambda row: Cell(row.roll.place if row.roll else ""), 5),
    Column("Free", _free, 9),
    Column("Kind", lambda row: Cell("remnant" if row.roll and row.roll.remnant else ""), 7, shown_from=_WIDE),
    Column("ΔE00", number_cell, 12),
    Column("Reads", lambda row: Cell(reading_words(row.roll.shade) if row.roll else ""), 26, shown_from=_WIDE),
    Column("For", _what, 8, grow=1),
)


@dataclass(frozen=True, slots=True)
class MatchAnswer:
    """What the page shows."""

    matched: Matched | None
    """`None`: nothing has been asked yet."""
    pair: RollsMatched | None
    """Where two rolls were scanned."""

    @property
    def named(self) -> tuple[str, ...]:
        """What was asked about."""
        if self.pair is not None:
            return self.pair.tags
        return (self.matched.named,) if self.matched is not None else ()

    @property
    def roll(self) -> str:
        """The tag of the roll that others are held against; '' where it is none."""
        name = self.named[0] if self.named else ""
        return name if is_tag(name) and read_tag(name).kind == "R" else ""


NOTHING_ASKED = MatchAnswer(None, None)


class MatchPage(WorkPage):
    """What matches."""

    things = "roll"
    LISTS_STOCK_PAGES = True
    OF_STOCK = True
    KEYS = (
        Key("^L", "Seen", "page_key('^L')", "write down how two lots look side by side; it stands above a number"),
        Key("^N", "Ask anew", "page_key('^N')", "lay the roll down and ask about something else"),
    )
    SCANNING = (
        "Scan a roll, then another: how the two match. Scan a kit, a piece or a car,",
        "or type an order, a colour, a cloth in its colour: what it must match.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._shown: MatchAnswer | None = None
        self._asks_to_see = False

    @property
    def in_colour(self) -> bool:
        """Whether the terminal has 24 bits of colour, and nobody wants none."""
        return self.app.console.color_system == "truecolor" and not self.app.no_color

    def compose(self) -> ComposeResult:
        columns = (_PATCH, *COLUMNS) if self.in_colour else COLUMNS
        yield RowList(columns, key=lambda row: row.key, words=match_haystack, empty=EMPTY, id="match-rows")
        yield TextPane(id="match-text", parts=2)

    def reading(self, place: Place) -> str:
        return f"Matching {' and '.join(place.named)}" if place.named else "Matching"

    def read(self, jobs: Jobs, place: Place) -> MatchAnswer:
        if not place.named:
            return NOTHING_ASKED
        matched = jobs.matching.named(place.first)
        return MatchAnswer(matched, jobs.matching.rolls(*place.named[:2]) if place.named[1:] else None)

    def fill(self, answer: MatchAnswer) -> None:
        """Show the rolls group by group, the best match of each first."""
        if self._shown is not None and answer.named != self._shown.named:
            self.forget()
        self._shown = answer
        groups = answer.matched.groups if answer.matched else ()
        self.rows.fill([MatchRow(group, roll) for group in groups for roll in group.rolls or (None,)])
        self.show_text()
        if answer.pair is not None and self._asks_to_see:
            self._ask_what_was_seen_of_the_pair(answer.pair)
        self._asks_to_see = False

    def clear(self) -> None:
        """Show nothing, since what matches is still being looked up."""
        self.forget()
        self._shown = None
        self.rows.empty_out()
        self.show_text()

    @property
    def answer(self) -> MatchAnswer | None:
        return self._shown

    @property
    def named(self) -> tuple[str, ...]:
        return self._shown.named if self._shown else ()

    @property
    def heading(self) -> str:
        if self._shown is None or self._shown.matched is None:
            return "Match"
        if self._shown.pair is not None:
            return f"Match  ·  {self._shown.pair.tags[0]} beside {self._shown.pair.tags[1]}"
        rolls = sum(row.roll is not None for row in self._rows())
        return f"Match  ·  {self._shown.matched.asked}  ·  {counted(rolls, self.things)}"

    def _rows(self) -> list[MatchRow]:
        groups = self._shown.matched.groups if self._shown and self._shown.matched else ()
        return [MatchRow(group, roll) for group in groups for roll in group.rolls or (None,)]

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#match-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#match-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tags of the two rolls that were compared, or of the highlighted one; where it was read, its drift."""
        if self._shown is not None and self._shown.pair is not None:
            return tags_again(*self._shown.pair.tags)
        row: MatchRow | None = self.rows.row
        if row is None or row.roll is None:
            return ()
        drift = (Paper("drift", (row.roll.tag,)),) if row.roll.shade is not None else ()
        return (*tags_again(row.roll.tag), *drift)

    def show_text(self) -> None:
        """Show how the two rolls match, the highlighted row in full, what its group has to match, what was done."""
        row: MatchRow | None = self.rows.row
        answer, in_colour = self._shown or NOTHING_ASKED, self.in_colour
        pair = pair_words(answer.pair, in_colour=in_colour) if answer.pair is not None else ()
        besides = [sentence(answer.matched.sentence, hang=2)] if answer.matched and answer.matched.sentence else []
        mine = row_words(row, in_colour=in_colour) if row is not None else ()
        group = group_words(row.group, in_colour=in_colour) if row is not None else ()
        proof = [proof_line()] if in_colour and (row is not None or answer.pair is not None) else []
        self.query_one("#match-text", TextPane).show((*pair, *mine, *proof), (*self.told(), *group, *besides))

    @on(RowList.Highlighted)
    def _show_row(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a row, which shows it in full."""
        event.stop()

    # What is asked

    def take_scan(self, text: str) -> bool:
        """Ask about what was scanned or typed; a second roll is held against the first."""
        kind = read_tag(text).kind if is_tag(text) else ""
        if kind and kind not in _ASKED_BY:
            return False
        # What is shown is known when the scans before have had their turn.
        self.desk.do(f"Looking for {text}", lambda: None, lambda _: self._ask_about(text, kind))
        return True

    def _ask_about(self, text: str, kind: str) -> None:
        first = self._shown.roll if self._shown is not None else ""
        if kind == "R" and first and str(read_tag(text)) != first:
            self._look_up(text, Place(self._page_name, (first, str(read_tag(text)))))
        else:
            self._look_up(text, Place(self._page_name, (text,)))

    def _look_up(self, text: str, place: Place) -> None:
        """Show it, where there is such a thing; else what is shown stays."""

        def done(answer: MatchAnswer) -> None:
            self.desk.put_away(text)
            self._asks_to_see = answer.pair is not None and answer.pair.to_see
            if answer.named != self.named:
                self.clear()
            self.fill(answer)
            self.desk.go(Place(self._page_name, answer.named))

        self.desk.do(f"Matching {text}", lambda: self.read(self.desk.jobs, place), done)

    def open_highlighted(self) -> None:
        """Open the highlighted roll."""
        row: MatchRow | None = self.rows.row
        if row is not None and row.roll is not None:
            self.post_message(self.Asked(row.roll.tag))

    def press(self, key: str) -> None:
        """Do what a key does."""
        if key == "^N":
            self.desk.ask(
                Question(
                    "Match what",
                    "a roll, an order, a colour; a kit, a piece or a car",
                    lambda text: self._look_up(text, Place(self._page_name, (text,))),
                    takes_tags=True,
                )
            )
        elif self._shown is not None and self._shown.pair is not None:
            self._ask_what_was_seen_of_the_pair(self._shown.pair)
        else:
            self._ask_what_was_seen()

    def _ask_what_was_seen_of_the_pair(self, pair: RollsMatched) -> None:
        if pair.items[0] != pair.items[1]:
            self.desk.tell("These are two cloths: a verdict is kept on two lots of one cloth in one colour.")
        elif not all(pair.lots):
            self.desk.tell("One of them has no lot number, so a verdict on it could not be found again.")
        elif pair.lots[0] == pair.lots[1]:
            self.desk.tell(f"Both are of {lot_name(pair.lots[0])}: there is nothing to compare.")
        else:
            self._ask_verdict(pair.items[0], pair.lots)

    def _ask_what_was_seen(self) -> None:
        row: MatchRow | None = self.rows.row
        if row is None or row.roll is None:
            self.desk.tell("Highlight a roll; Ctrl and L writes down how its lot looks beside the others.")
        elif not row.group.lots:
            self.desk.tell("It is held against a master reading. Scan two rolls, and say how they look side by side.")
        elif row.roll.lot in row.group.lots:
            self.desk.tell(f"It is of {lot_name(row.roll.lot)} itself: there is nothing to compare.")
        elif not row.roll.lot or not all(row.group.lots):
            self.desk.tell("One of them has no lot number, so a verdict on it could not be found again.")
        else:
            self._ask_verdict(row.group.item, ((row.roll.to_see or row.group.lots)[0], row.roll.lot))

    def _ask_verdict(self, item: str, lots: tuple[str, str]) -> None:
        """What was seen, then in which light; whose eyes it were, the initials say."""
        verdict = self.desk.jobs.matching.verdict

        def seen(text: str) -> None:
            said = verdict_said(text)

            def in_light(light: str) -> None:
                self.change(
                    f"Writing down what was seen of {item}",
                    lambda stamp: verdict(item, lots, said, light, stamp),
                    verdict_words,
                )

            self.desk.ask(Question("In which light", "Enter: daylight; or say which", in_light, "daylight"))

        one, other = lots
        self.desk.ask(Question(f"{other} beside {one}", "match, near or no match, as you saw it; Esc leaves it", seen))
