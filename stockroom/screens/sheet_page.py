"""The sheet of a count that goes on: things are scanned and figures typed, blind; then it is closed, or left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.figures import read_figure
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.domain.wording import listed
from stockroom.jobs.count import Closing, CountClosed, Entered, Sheet, ToCount
from stockroom.jobs.papers import Paper, tags_again
from stockroom.screens.calls import Jobs
from stockroom.screens.count_page import find_and_count
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.shelf_page import LENGTH_HINT
from stockroom.screens.shelving import moved_papers, moved_words, replanned_words
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

EMPTY = "By the books nothing lies here.\n\nScan what lies here all the same, and type how much it is."
_WIDE = 120
_STOCK = frozenset("RBK")
"""Kind letters of what may be entered on any sheet."""
_NAMED = 6
"""So many things are named in a sentence."""


def _state(line: ToCount) -> Cell:
    return Cell(
        "COUNT AGAIN" if line.state == "count again" else line.state, "quiet" if line.state == "counted" else "strong"
    )


def _what(line: ToCount) -> Cell:
    return Cell(": ".join(filter(None, (line.colour, line.title.removesuffix(f", {line.colour}")))))


COLUMNS: tuple[Column[ToCount], ...] = (
    Column("Place", lambda line: Cell(line.place or "none"), 6),
    Column("Tag", lambda line: Cell(line.tag, "strong"), 7),
    Column("What", _what, 14, grow=3),
    Column("Lot", lambda line: Cell(line.lot), 6),
    Column("How", lambda line: Cell("measure" if line.by_length else "count"), 8, shown_from=_WIDE),
    Column("State", _state, 11),
    Column("Figure", lambda line: Cell(line.figure), 8),
    Column("Books", lambda line: Cell(line.expected, "alarm" if line.expected != line.figure else ""), 8),
    Column("By", lambda line: Cell(line.by), 4, shown_from=_WIDE),
)


def _words(line: ToCount) -> str:
    return " ".join((line.tag, line.kind, line.title, line.colour, line.lot, line.place, line.state, line.by))


def line_words(line: ToCount) -> Iterator[Line]:
    """One thing on the sheet in full. What the books hold of it is not told before it is counted."""
    lot = f", lot {line.lot}" if line.lot else ""
    yield sentence((f"{line.tag}  {line.title}{lot}", "bold"), f", {line.kind}", hang=2)
    how = "measure it" if line.by_length else "count it"
    if line.state == "counted":
        books = "as the books say" if line.figure == line.expected else f"the books said {line.expected}"
        yield sentence(f"Counted: {line.figure}, {books} ({line.by}).", hang=2)
    elif line.state == "count again":
        yield sentence((f"{SIGN} Count it again", "bold"), f": the first figure ({line.by}) was too far off.", hang=2)
    else:
        yield sentence(f"To be counted: {how}. Scan it or press Enter, then type the figure.", hang=2)


def closed_words(done: CountClosed) -> Iterator[Line]:
    """What a count came to, in full."""
    for one in done.differences:
        yield sentence((f"{SIGN} ", "bold"), one.sentence, hang=2)
    for thing in done.elsewhere:
        yield sentence((f"{SIGN} ", "bold"), thing.sentence, hang=2)
    if done.left:
        yield sentence(f"Left uncounted: {', '.join(done.left)}", hang=2)
    for words in replanned_words(done.promises):
        if words:
            yield sentence(words, hang=2)


def _closed_short(done: CountClosed) -> tuple[str, ...]:
    left = f", {len(done.left)} left uncounted" if done.left else ""
    first = (
        f"Sheet {done.sheet} is closed: {len(done.agreed)} as the books say, {len(done.differences)} put right{left}."
    )
    fine, *attention = replanned_words(done.promises)
    elsewhere = (f"{SIGN} {thing.sentence}" for thing in done.elsewhere)
    return (" ".join(filter(None, (first, fine))), *attention, *elsewhere)


def _names(lines: Sequence[ToCount]) -> str:
    named = [f"{one.tag} {one.title}" for one in lines[:_NAMED]]
    return listed([*named, f"{len(lines) - _NAMED} more"] if len(lines) > _NAMED else named)


def closing_words(found: Closing) -> tuple[str, ...]:
    """What a sheet would come to: what agrees, what differs and what nobody counted."""
    differ = listed(f"{one.tag} ({one.figure}; books {one.expected})" for one in found.differing[:_NAMED])
    more = f" and {len(found.differing) - _NAMED} more" if len(found.differing) > _NAMED else ""
    which = f": {differ}{more}" if differ else ""
    words = f"{len(found.agreed)} as the books say; {counted(len(found.differing), 'differs', 'differ')}{which}."
    return (words, *([f"{SIGN} Not counted: {_names(found.not_counted)}."] if found.not_counted else []))


def missing_of(text: str) -> tuple[str, ...] | None:
    """The tags that were named as missing; () where nothing is, `None` where all that nobody counted is.

    Raises `Refusal` for anything else.

    >>> missing_of("left"), missing_of("missing"), missing_of("Missing R25P, b3o")
    ((), None, ('R25P', 'b3o'))
    """
    first, *tags = text.replace(",", " ").split()
    word = first.casefold()
    if word not in {"left", "missing"} or (word == "left" and tags) or not all(is_tag(tag) for tag in tags):
        raise Refusal(
            "Enter alone leaves them as the books say. Or type missing, if they are gone; or missing and the tags that "
            "are, such as: missing R25P B3O. Esc goes on counting."
        )
    return () if word == "left" else (tuple(tags) or None)


class SheetPage(WorkPage):
    """One sheet."""

    things = "thing"
    OF_STOCK = True
    KEYS = (
        Key("^L", "Close", "page_key('^L')", "close the sheet: see what differs, then the books are put right"),
        Key("^K", "Leave the count", "page_key('^K')", "drop the sheet: nothing is booked"),
    )
    SCANNING = (
        "Scan a thing, type how much of it is there, Enter; too far off, it is asked once more.",
        "What lies here and is not on the sheet is scanned and entered just the same.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._sheet: Sheet | None = None
        self._came_to: CountClosed | None = None
        self._just = ""
        """What was counted last: the highlight goes on from there."""

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda line: line.tag, words=_words, empty=EMPTY, id="sheet-rows")
        yield TextPane(id="sheet-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        return f"Reading sheet {place.first}"

    def read(self, jobs: Jobs, place: Place) -> Sheet:
        return jobs.counting.sheet(int(place.first))

    def fill(self, sheet: Sheet) -> None:
        """Show this sheet. The highlight goes on from what was just counted to what is left."""
        self._sheet = sheet
        self.rows.fill(sheet.lines)
        if self._just:
            tags = [one.tag for one in sheet.lines]
            after = tags.index(self._just) if self._just in tags else 0
            left = [one.tag for one in (*sheet.lines[after:], *sheet.lines[:after]) if one.state != "counted"]
            following = next(iter(left), self._just)
            self.rows.find(lambda line: line.tag == following)
            self._just = ""

    def read_part(self, result: object, jobs: Jobs, stamp: Stamp) -> Sheet | None:
        """A figure changes its own line, and no other."""
        del jobs
        sheet = self._sheet
        if not isinstance(result, Entered) or sheet is None or not any(one.tag == result.tag for one in sheet.lines):
            return None
        if not result.changed_anything:
            return sheet
        figure = result.figure if result.state == "counted" else ""
        said, books = result.state, result.expected
        lines = (
            replace(one, state=said, figure=figure, expected=books, by=stamp.by) if one.tag == result.tag else one
            for one in sheet.lines
        )
        return replace(sheet, lines=tuple(lines))

    def clear(self) -> None:
        """Show no sheet."""
        self._sheet = self._came_to = None
        self._just = ""
        self.forget()
        self.activate(0)
        self.rows.empty_out()

    @property
    def answer(self) -> Sheet | None:
        return self._sheet

    @property
    def named(self) -> tuple[str, ...]:
        return (str(self._sheet.number),) if self._sheet else ()

    @property
    def heading(self) -> str:
        if self._sheet is None:
            return "Count"
        end = f"{self._sheet.left} left" if self._sheet.state == "open" else self._sheet.state
        return f"Count {self._sheet.what}  ·  sheet {self._sheet.number}, {end}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#sheet-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#sheet-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tag of the highlighted thing."""
        line: ToCount | None = self.rows.row
        return tags_again(line.tag) if line is not None else ()

    def show_text(self) -> None:
        """Show the highlighted thing in full, what was done, and what the count came to."""
        line: ToCount | None = self.rows.row
        came_to = closed_words(self._came_to) if self._came_to else ()
        shown = () if line is None else line_words(line)
        self.query_one("#sheet-text", TextPane).show(shown, (*came_to, *self.told()))

    @on(RowList.Highlighted)
    def _show_line(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a thing, which shows it in full."""
        event.stop()

    # Counting

    def take_scan(self, text: str) -> bool:
        """A thing asks for its figure, a place for a count of its own; anything else is opened as everywhere."""
        if self._sheet is None or not is_tag(text):
            return False
        tag = str(read_tag(text))
        if read_tag(text).kind == "L":
            find_and_count(self, text)
        elif read_tag(text).kind in _STOCK or self._line(tag) is not None:
            self.desk.put_away(text)
            self._ask_figure(tag)
        else:
            return False
        return True

    def open_highlighted(self) -> None:
        """Ask for the figure of the highlighted thing."""
        if self.rows.row is not None:
            self._ask_figure(self.rows.row.tag)

    def _line(self, tag: str) -> ToCount | None:
        lines = self._sheet.lines if self._sheet else ()
        return next((one for one in lines if one.tag == tag), None)

    def _ask_figure(self, tag: str, before: str = "") -> None:
        sheet, line = self._sheet, self._line(tag)
        if sheet is None or sheet.state != "open":
            self.desk.tell("This count is over. Esc goes back to what is to be counted.")
            return
        enter = self.desk.jobs.counting.enter

        def answered(figure: str) -> None:
            if line is not None:
                read_figure(figure, by_length=line.by_length, name=tag)
            self.change(f"Counting {tag}", lambda stamp: enter(sheet.number, tag, figure, stamp), self._entered)

        self.rows.find(lambda row: row.tag == tag)
        if line is None:
            self.desk.tell((f"{tag} is not on this sheet by the books. It is entered as it is found.", "bold"))
            hint = f"how many, or its length, {LENGTH_HINT}"
        else:
            lot = f", lot {line.lot}" if line.lot else ""
            stands = f" Counted already: {line.figure} ({line.by})." if line.figure else ""
            if not before:
                self.desk.tell((f"{tag}: {line.title}{lot}, in {line.place or 'no known place'}.{stands}", "bold"))
            hint = f"its length, {LENGTH_HINT}" if line.by_length else "how many there are"
        self.desk.ask(Question(before or f"{tag} holds", hint, answered))

    def _entered(self, done: Entered) -> tuple[str, ...]:
        if done.state == "count again":
            self._ask_figure(done.tag, f"{done.tag} once more")
            return (f"{SIGN} {done.sentence}",)
        self._just = done.tag
        if done.elsewhere:
            self._ask_bring(done)
        return (f"{done.sentence} {done.left} left.",)

    def _ask_bring(self, done: Entered) -> None:
        move = self.desk.jobs.racks.move

        def answered(text: str) -> None:
            if text != "bring":
                raise Refusal(
                    f"Press Enter alone if it is to stay in {done.place}. Esc leaves it, by the books, there."
                )
            self.change(
                f"Moving {done.tag}", lambda stamp: move([done.tag], done.place, stamp), moved_words, moved_papers
            )

        hint = f"Enter: it lies in {done.place} from now on; Esc: in {done.elsewhere}"
        self.desk.ask(Question(f"Bring {done.tag} here", hint, answered, "bring"))

    # Ending

    def press(self, key: str) -> None:
        """Do what a key does."""
        if self._sheet is None or self._sheet.state != "open":
            self.desk.tell("This count is over. Esc goes back to what is to be counted.")
        elif key == "^K":
            self._ask_leave(self._sheet)
        else:
            number, closing = self._sheet.number, self.desk.jobs.counting.closing
            self.desk.do(f"Reading sheet {number}", lambda: closing(number), self._ask_close)

    def _ask_close(self, found: Closing) -> None:
        if found.again:
            self.desk.refuse(f"Count again first: {_names(found.again)}.")
            self._ask_figure(found.again[0].tag, f"{found.again[0].tag} once more")
            return
        self.desk.tell(("  ".join(closing_words(found)), "bold"))

        def books(text: str) -> None:
            if text != "close":
                raise Refusal("Press Enter alone to close the sheet, or Esc to go on counting.")
            self._close(found, ())

        def says(text: str) -> None:
            missing = missing_of(text)
            self._close(found, tuple(one.tag for one in found.not_counted) if missing is None else missing)

        if found.not_counted:
            hint = "Enter leaves them; or missing; or missing + tags"
            self.desk.ask(Question(f"{len(found.not_counted)} not counted", hint, says, "left"))
        else:
            self.desk.ask(Question("Close the sheet", "Enter books it; Esc goes on counting", books, "close"))

    def _close(self, found: Closing, missing: tuple[str, ...]) -> None:
        close = self.desk.jobs.counting.close

        def words(done: CountClosed) -> tuple[str, ...]:
            self._came_to = done
            return _closed_short(done)

        number = found.sheet.number
        self.change(f"Closing sheet {number}", lambda stamp: close(number, stamp, missing, None), words)

    def _ask_leave(self, sheet: Sheet) -> None:
        leave = self.desk.jobs.counting.leave

        def answered(text: str) -> None:
            if text.casefold() != "leave":
                raise Refusal("Type leave to drop the sheet, figures and all. Esc goes on counting.")
            self.change(
                f"Leaving sheet {sheet.number}",
                lambda stamp: leave(sheet.number, stamp),
                lambda _: (f"Sheet {sheet.number} is left. Nothing was booked.",),
            )

        self.desk.ask(Question(f"Leave sheet {sheet.number}", "type leave: nothing is booked; Esc goes on", answered))
