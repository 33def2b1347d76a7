"""What every page of the screen has: a heading, panes that the arrow keys move, perhaps a list that can be filtered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from stockroom.screens.key_line import Key
from stockroom.screens.paragraphs import Line, Paragraphs
from stockroom.screens.place import Place
from stockroom.screens.row_list import RowList

if TYPE_CHECKING:
    from stockroom.jobs.papers import Paper
    from stockroom.screens.calls import Jobs


class TextPane(VerticalScroll, can_focus=False):
    """Text that can be longer than its place, in one part or more; the parts stand side by side where there is room."""

    def __init__(self, id: str, parts: int = 1) -> None:
        super().__init__(*(Static(markup=False) for _ in range(parts)), id=id)

    def show(self, *parts: Iterable[Line]) -> None:
        """Show these lines instead, from the top: one run of lines for each part."""
        for static, lines in zip(self.query_children(Static), parts, strict=True):
            text, width = Paragraphs(lines), static.size.width
            # Only a text of another height has the screen laid out anew: every key of the filter changes the text.
            static.update(text, layout=not width or text.get_height({}, width) != static.size.height)
        self.scroll_to(y=0, animate=False, force=True, immediate=True)

    def move(self, rows: int) -> None:
        """Scroll down by `rows` (up, where negative)."""
        self.scroll_relative(y=rows, animate=False, force=True, immediate=True)

    def turn(self, pages: int) -> None:
        """Scroll by what fits the pane."""
        self.move(pages * max(1, self.size.height - 1))

    def end(self, which: int) -> None:
        """Scroll to the top (`which` is -1) or the bottom (1)."""
        self.scroll_to(y=0 if which < 0 else self.max_scroll_y, animate=False, force=True, immediate=True)


class Page(Vertical):
    """One page of the screen. It is kept and filled again, never built anew."""

    KEYS: ClassVar[tuple[Key, ...]] = ()
    """The keys that this page has beside those of every page."""
    LISTS_STOCK_PAGES: ClassVar[bool] = False
    """Whether its keys name the pages of the stock. Those work everywhere; an order's pages have no room for them."""
    OF_STOCK: ClassVar[bool] = False
    """Whether it is such a page itself: it names them too, and the keys of an order's pages only in help."""
    SCANNING: ClassVar[tuple[str, ...]] = (
        "Scan a tag or type an order's number at any time; Enter opens it.",
        "A piece or an order opens its ticket, anything else its own page.",
    )
    """What a scan does here: lines for the help page."""

    class Asked(Message):
        """The page asks to open what a tag or an order's number names."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Said(Message):
        """The page has something to tell the person."""

        def __init__(self, words: str) -> None:
            super().__init__()
            self.words = words

    class Renamed(Message):
        """The page's heading says something else now."""

    reads = True
    """Whether what it shows is read by a job."""
    prints = True
    """Whether there may be something to print on it."""
    things = ""
    """What the rows of its list are, one of them: 'order'."""
    _active = 0

    @property
    def heading(self) -> str:
        """What the page shows, for the top line."""
        return ""

    @property
    def panes(self) -> Sequence[RowList[Any] | TextPane]:
        """What the arrow keys can move, in the order in which Tab reaches it."""
        return ()

    @property
    def rows(self) -> RowList[Any] | None:
        """The list that the filter narrows."""
        return None

    @property
    def answer(self) -> Any:
        """What was filled in last; `None` where nothing was."""
        return None

    @property
    def named(self) -> tuple[str, ...]:
        """What of all that it can show it shows: an order's number, a tag."""
        return ()

    def reading(self, place: Place) -> str:
        """What is being done while it is read: 'Reading the rail'."""
        return f"Reading {', '.join(place.named)}"

    def read(self, jobs: Jobs, place: Place) -> Any:
        """Read what there is to show at a place. Called off the screen's thread: it touches nothing on the screen."""
        raise NotImplementedError

    def fill(self, answer: Any) -> None:
        """Show what was read."""
        raise NotImplementedError

    def clear(self) -> None:
        """Show nothing, since what there is to show is still being read."""

    def take_scan(self, text: str) -> bool:
        """Act on a text that was scanned or typed here; `False` if it is to be opened as everywhere else."""
        del text
        return False

    def was_scanned(self) -> None:
        """What is shown was opened by a scan, or typed, and not by a list: a scan alone may say something."""

    def press(self, key: str) -> None:
        """Do what one of the page's own keys does, as it is written in `KEYS`."""

    def question_left(self) -> str:
        """Esc left what was asked here: what is told then."""
        return "Left as it was."

    def asked_no_more(self) -> None:
        """What the scan line asked was answered or left."""

    def orders(self) -> tuple[str, ...]:
        """The orders that the pick page or the pack page is to open for, when it is asked for from here."""
        return ()

    def to_match(self) -> tuple[str, ...]:
        """What the trimmer's page is to answer about, when it is asked for from here: an order, a roll's tag."""
        return self.orders()[:1]

    def papers(self) -> tuple[Paper, ...]:
        """What can be printed from here, the likeliest first."""
        return ()

    def was_printed(self, papers: Sequence[Paper]) -> None:
        """Some of these papers have been printed."""

    def open_highlighted(self) -> None:
        """Open what is highlighted. Called for Enter where nothing is typed."""

    @property
    def pane(self) -> RowList[Any] | TextPane | None:
        """The pane that the arrow keys move now."""
        return self.panes[self._active % len(self.panes)] if self.panes else None

    def next_pane(self, step: int) -> None:
        """Let the arrow keys move the next pane (or the one before, where `step` is -1)."""
        if self.panes:
            self.activate((self._active + step) % len(self.panes))

    def activate(self, number: int) -> None:
        """Let the arrow keys move this pane."""
        self._active = number
        for place, pane in enumerate(self.panes):
            marked: Widget = pane
            marked.set_class(place == number and len(self.panes) > 1, "-active")
