"""The one screen: a top line, the page, what there is to say, the scan line and the keys.

The pages change, the scan line stays: what is being typed is never lost, whatever opens above it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import ClassVar, TypeVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.screen import Screen
from textual.widgets import ContentSwitcher, Static

from stockroom.domain.refusal import Refusal
from stockroom.jobs.rail import RailEntry
from stockroom.jobs.show import Shown
from stockroom.screens.calls import Jobs, OpenedTicket, named_by
from stockroom.screens.errands import Errand, Errands
from stockroom.screens.help_page import HelpPage
from stockroom.screens.key_line import KeyLine
from stockroom.screens.keys import keys_of
from stockroom.screens.page import Page
from stockroom.screens.paragraphs import SIGN, Paragraphs, sentence
from stockroom.screens.rail_page import RailPage
from stockroom.screens.row_list import RowList
from stockroom.screens.tag_page import TagPage
from stockroom.screens.ticket_page import TicketPage
from stockroom.screens.typed import FilterLine, ScanLine
from stockroom.screens.wording import counted, long_day, plain

AnyPage = TypeVar("AnyPage", bound=Page)
Answer = TypeVar("Answer")

REFUSAL_STAYS_SECONDS = 2.0
"""How long a refusal stays at least, so that it can be read even when scans rush on behind it."""
STEPS_KEPT = 50
"""How many pages Esc can go back."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where somebody is: a page, and what it shows."""

    page: str
    named: str = ""
    """The order's number or the tag; empty for the rail."""


ON_RAIL = Place("rail")


class Frame(Screen[None]):
    """The screen around the pages."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help"),
        Binding("f2", "rail"),
        Binding("f3", "filter"),
        Binding("f5", "refresh"),
        Binding("f9", "light"),
        Binding("escape", "back"),
        Binding("up", "move(-1)"),
        Binding("down", "move(1)"),
        Binding("pageup", "turn(-1)"),
        Binding("pagedown", "turn(1)"),
        Binding("ctrl+home", "end(-1)", priority=True),
        Binding("ctrl+end", "end(1)", priority=True),
        Binding("tab", "next_pane(1)"),
        Binding("shift+tab", "next_pane(-1)"),
    ]

    def __init__(self, jobs: Jobs) -> None:
        super().__init__()
        self._jobs = jobs
        self._place = ON_RAIL
        self._trail: list[Place] = []
        self._filters: dict[str, str] = {}
        self._refused_at = float("-inf")
        self._working = False
        self._ready = False
        self.errands = Errands(self._still_at_work)

    def compose(self) -> ComposeResult:
        with Horizontal(id="top"):
            yield Static(id="heading", markup=False)
            yield Static(id="today", markup=False)
        with Horizontal(id="filter-row"):
            yield Static("Filter ▸", id="filter-label", markup=False)
            yield FilterLine()
            yield Static(id="filter-count", markup=False)
        with ContentSwitcher(initial="rail", id="pages"):
            yield RailPage(id="rail")
            yield HelpPage(id="help")
        yield Static(id="message", markup=False)
        with Horizontal(id="scan-row"):
            yield Static("Scan ▸", id="scan-label", markup=False)
            yield ScanLine()
        yield KeyLine()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let no key act before there is a page to act on: somebody may type while the program starts."""
        del action, parameters
        return self._ready

    def on_mount(self) -> None:
        self._ready = True
        self._scan.focus()
        self._turn_to(ON_RAIL)
        self.action_refresh()
        self.run_worker(self._work(), name="errands")

    async def _work(self) -> None:
        """Fill the rail, and only then put up the pages that nothing but a later errand can open: it paints sooner."""
        await self.errands.do_next()
        pages = self.query_one("#pages", ContentSwitcher)
        for page in (TicketPage(id="ticket"), TagPage(id="tag")):
            await pages.add_content(page)
        while True:
            await self.errands.do_next()

    def on_unmount(self) -> None:
        self.errands.close()

    # The parts

    def _page(self, kind: type[AnyPage]) -> AnyPage:
        return self.query_one(kind)

    @property
    def _shown(self) -> Page:
        return self.query_one(f"#{self._place.page}", Page)

    @property
    def _scan(self) -> ScanLine:
        return self.query_one(ScanLine)

    @property
    def _filter(self) -> FilterLine:
        return self.query_one(FilterLine)

    # Where one is

    def _turn_to(self, place: Place) -> None:
        """Show another page. The filter line follows it."""
        self._place = place
        self.query_one("#pages", ContentSwitcher).current = place.page
        words = self._filters.get(place.page, "")
        with self._filter.prevent(FilterLine.Changed):
            self._filter.value = words
        if self._shown.rows is not None:
            self._shown.rows.filter(words)
        self._show_filter(bool(words))
        if self.focused is not self._scan:
            self._scan.focus()
        self.query_one(KeyLine).show(keys_of(self._shown))
        self._write_top()

    def _go(self, place: Place) -> None:
        """Turn to a place, remembering this one for Esc."""
        if place != self._place:
            if self._place.page != "help":
                self._trail = [*self._trail, self._place][-STEPS_KEPT:]
            if place.page == "ticket":
                self._filters.pop("ticket", None)
            self._turn_to(place)

    def _show_filter(self, shown: bool) -> None:
        self.query_one("#filter-row").display = shown

    def _write_top(self) -> None:
        heading = f" {plain(self._jobs.shop_name)}  ·  {plain(self._shown.heading)}"
        self.query_one("#heading", Static).update(Content(heading))
        self.query_one("#today", Static).update(Content(f"{long_day(self._jobs.today())} "))

    # Saying something

    def _say(self, *parts: str | tuple[str, str]) -> None:
        self.query_one("#message", Static).update(Paragraphs([sentence(*parts, hang=2)]))

    def _hush(self) -> None:
        """Take away what was said before, unless it is a refusal that nobody can have read yet."""
        if monotonic() - self._refused_at >= REFUSAL_STAYS_SECONDS:
            self._say("")

    def _still_at_work(self, title: str, seconds: int) -> None:
        self._working = True
        self._say(f"{title} …" + (f" {seconds} s so far" if seconds else ""))

    def _failed(self, fault: Exception) -> None:
        """Show why something was not done, and ring."""
        if isinstance(fault, Refusal):
            words = " ".join((fault.sentence, *fault.faults))
        else:
            # The last stop for a fault of our own: the person gets a sentence, and the screen stays up.
            words = f"That could not be read ({type(fault).__name__}: {fault}). Nothing has changed. F5 tries again."
        self._working = False
        self._refused_at = monotonic()
        self._say((f"{SIGN} {words}", "bold $text-error"))
        self.app.bell()

    # Jobs

    def _send(self, title: str, job: Callable[[], Answer], done: Callable[[Answer], None]) -> None:
        def finished(answer: Answer) -> None:
            if self._working:
                self._working = False
                self._say("")
            done(answer)

        self._hush()
        self.errands.send(Errand(title, job, finished, self._failed))

    def _open(self, text: str) -> None:
        """Open what a scanned or typed text names."""

        def opened(answer: OpenedTicket | Shown) -> None:
            self._scan.put_away(text)
            self._show(answer)

        self._send(f"Looking for {text}", lambda: named_by(self._jobs, text), opened)

    def _show(self, answer: OpenedTicket | Shown) -> None:
        if isinstance(answer, Shown):
            self._page(TagPage).fill(answer)
            self._go(Place("tag", answer.tag))
        else:
            self._go(Place("ticket", answer.ticket.number))
            self._page(TicketPage).fill(answer.ticket, answer.piece, answer.hand)
        self._write_top()

    def _read(self, place: Place) -> None:
        """Read what a place shows, and show it if that is still where one is."""
        jobs = self._jobs
        if place.page == "rail":
            self._send("Reading the rail", lambda: jobs.rail(jobs.today()), self._fill_rail)
        elif place.page == "ticket":
            self._send(
                f"Reading order {place.named}",
                lambda: jobs.ticket(place.named, jobs.today()),
                lambda ticket: self._fill_if_here(place, lambda: self._page(TicketPage).fill(ticket)),
            )
        elif place.page == "tag":
            self._send(
                f"Reading {place.named}",
                lambda: jobs.show(place.named),
                lambda shown: self._fill_if_here(place, lambda: self._page(TagPage).fill(shown)),
            )

    def _fill_rail(self, entries: tuple[RailEntry, ...]) -> None:
        self._page(RailPage).fill(entries)
        self._write_top()

    def _fill_if_here(self, place: Place, fill: Callable[[], None]) -> None:
        # Something else may have been opened meanwhile: an answer that comes late is dropped.
        if place == self._place:
            fill()
            self._write_top()

    def _return_to(self, place: Place) -> None:
        """Go back to a place. A page that may show something else by now is left blank until it is read."""
        if place.page == "ticket" and self._page(TicketPage).shows != place.named:
            self._page(TicketPage).clear()
        elif place.page == "tag" and self._page(TagPage).shows != place.named:
            self._page(TagPage).clear()
        self._turn_to(place)
        self._read(place)

    # Keys

    def action_help(self) -> None:
        """Show the keys of this page, or go back from them."""
        if self._place.page == "help":
            self.action_back()
            return
        page = self._shown
        self._page(HelpPage).fill(self._place.page, keys_of(page))
        self._go(Place("help"))

    def action_refresh(self) -> None:
        """Read what the page shows again."""
        self._read(self._place)

    def action_rail(self) -> None:
        """Go to the rail and read it again."""
        self._go(ON_RAIL)
        self.action_refresh()

    def action_back(self) -> None:
        """Leave the filter, clear what is typed, take the filter away, or go back: the first that there is to do."""
        rows = self._shown.rows
        if self._scan.value and self.focused is self._scan:
            self._scan.clear()
            self._say("")
        elif self._filters.get(self._place.page) or self.focused is self._filter:
            self._filter.value = ""
            self._narrow("")
            self._show_filter(False)
            self._scan.focus()
        elif self._trail:
            self._return_to(self._trail.pop())
        elif rows is not None:
            rows.end(-1)

    def action_filter(self) -> None:
        """Type into the filter, where the page has a list."""
        if self._shown.rows is not None:
            self._show_filter(True)
            self._filter.focus()

    def action_light(self) -> None:
        """Change between the light and the dark theme."""
        self.app.theme = "night" if self.app.theme == "bench" else "bench"

    def action_move(self, rows: int) -> None:
        """Move the highlight, or scroll."""
        self._before_moving()
        if self._shown.pane is not None:
            self._shown.pane.move(rows)

    def action_turn(self, pages: int) -> None:
        """Move by what fits."""
        self._before_moving()
        if self._shown.pane is not None:
            self._shown.pane.turn(pages)

    def action_end(self, which: int) -> None:
        """Move to the first or the last."""
        self._before_moving()
        if self._shown.pane is not None:
            self._shown.pane.end(which)

    def action_next_pane(self, step: int) -> None:
        """Let the arrow keys move another part of the page."""
        self._shown.next_pane(step)

    def action_quit(self) -> None:
        """Leave."""
        self.app.exit()

    def _before_moving(self) -> None:
        # A refused text that still stands in the line must not be what the next Enter opens.
        if self._scan.spent:
            self._scan.clear()

    def on_key(self, event: events.Key) -> None:
        """Whatever is typed belongs to the scan line, even if a click has taken the focus off it."""
        if event.is_printable and event.character and self.focused is None:
            event.stop()
            self._scan.focus()
            self._scan.insert_text_at_cursor(event.character)

    # What the parts say

    @on(ScanLine.Scanned)
    def _scanned(self, event: ScanLine.Scanned) -> None:
        if event.text:
            self._open(event.text)
        else:
            self._shown.open_highlighted()

    @on(ScanLine.Command)
    def _commanded(self, event: ScanLine.Command) -> None:
        self._scan.clear()
        if event.character == "/":
            self.action_filter()
        else:
            self.action_help()

    @on(FilterLine.Changed, "#filter")
    def _filter_typed(self, event: FilterLine.Changed) -> None:
        self._narrow(event.value)

    def _narrow(self, words: str) -> None:
        self._filters[self._place.page] = words
        rows = self._shown.rows
        if rows is not None:
            rows.filter(words)

    @on(FilterLine.Left)
    def _filter_left(self, event: FilterLine.Left) -> None:
        self._show_filter(bool(self._filter.value))
        if event.scanned:
            self._open(event.scanned)

    @on(Page.Asked)
    def _asked(self, event: Page.Asked) -> None:
        self._open(event.text)

    @on(Page.Said)
    def _said(self, event: Page.Said) -> None:
        self._say(event.words)

    @on(RowList.Sifted)
    def _sifted(self, event: RowList.Sifted) -> None:
        self.query_one("#filter-count", Static).update(
            Content(f"{event.row_list.seen:,} of {counted(event.row_list.total, self._shown.things)}")
        )

    @on(KeyLine.Clicked)
    async def _key_clicked(self, event: KeyLine.Clicked) -> None:
        await self.run_action(event.key.action)
