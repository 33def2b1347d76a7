"""The one screen: a top line, the page, what there is to say, the scan line and the keys.

The pages change, the scan line stays: what is being typed is never lost, whatever opens above it, and whatever others
do to the shop meanwhile.
"""

from __future__ import annotations

import gc
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.screen import Screen
from textual.widgets import ContentSwitcher, Static
from textual.worker import Worker

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag
from stockroom.screens.asking import Asking
from stockroom.screens.calls import Jobs, OpenedTicket, Opening, named_by
from stockroom.screens.desk import Question
from stockroom.screens.errands import Errand, Errands
from stockroom.screens.filter_row import FilterRow
from stockroom.screens.help_page import HelpPage
from stockroom.screens.key_line import KeyLine
from stockroom.screens.keys import keys_of
from stockroom.screens.message_line import MessageLine
from stockroom.screens.page import Page, TextPane
from stockroom.screens.place import HELP, RAIL, Place
from stockroom.screens.printing import Printing
from stockroom.screens.rail_page import RailPage
from stockroom.screens.reading import LOOK_SECONDS, Moment, Reader
from stockroom.screens.row_list import RowList
from stockroom.screens.signing import Signing
from stockroom.screens.stock_pages import STOCK_PAGES, page_called
from stockroom.screens.typed import FilterLine, ScanLine
from stockroom.screens.wording import long_day, plain

if TYPE_CHECKING:
    from stockroom.jobs.pack import PackingList
    from stockroom.jobs.show import Shown

AnyPage = TypeVar("AnyPage", bound=Page)
Answer = TypeVar("Answer")

PAGE_KEYS = "fklnort"
"""The letters that, with Ctrl, a page may have as keys of its own. Terminals and their multiplexers keep the others."""
KEYS = {
    "f1": "help",
    "f2": "rail",
    "f3": "filter",
    "f4": "pick",
    "f5": "refresh",
    "f6": "open_page('bench')",
    "f7": "pack",
    "f8": "initials",
    "f9": "light",
    "escape": "back",
    "up": "move(-1)",
    "down": "move(1)",
    "pageup": "turn(-1)",
    "pagedown": "turn(1)",
    "tab": "next_pane(1)",
    "shift+tab": "next_pane(-1)",
}
"""The keys of every page, and the action of each."""
STEPS_KEPT = 50
"""How many pages Esc can go back."""


def _nothing_to_show(answer: object) -> None:
    """What was looked up ahead is not shown; where it cannot be, whoever needs it is told why.

    The screens stand, and what is there by now stays, or is let go of by itself: the collecting of garbage need not
    look through the rail, the pages and the catalogue in the middle of a key.
    """
    del answer
    gc.freeze()


class Frame(Screen[None]):
    """The screen around the pages."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key, action) for key, action in KEYS.items()),
        Binding("ctrl+p", "print", priority=True),
        Binding("ctrl+home", "end(-1)", priority=True),
        Binding("ctrl+end", "end(1)", priority=True),
        *(Binding(one.pressed, f"open_page('{one.page}')", priority=True) for one in STOCK_PAGES if one.pressed),
        *(Binding(f"ctrl+{letter}", f"page_key('^{letter.upper()}')", priority=True) for letter in PAGE_KEYS),
    ]

    def __init__(self, opening: Opening) -> None:
        super().__init__()
        self._opening = opening
        self._jobs: Jobs | None = None
        self._place = RAIL
        self._trail: list[Place] = []
        self._ready = False
        self._asking = Asking()
        self._signing = Signing(self)
        self._printing = Printing(self)
        self._reader = Reader(self)
        self._message = MessageLine()
        self.errands = Errands(self._message.still_at_work)

    def compose(self) -> ComposeResult:
        with Horizontal(id="top"):
            yield Static(id="heading", markup=False)
            yield Static(id="today", markup=False)
        yield FilterRow()
        with ContentSwitcher(initial="rail", id="pages"):
            yield RailPage(self, id="rail")
            yield HelpPage(id="help")
        yield self._message
        with Horizontal(id="scan-row"):
            yield Static("Scan ▸", id="scan-label", markup=False)
            yield ScanLine(frozenset(KEYS))
        yield KeyLine()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let no key act before there is a page to act on: somebody may type while the program starts."""
        if action == "page_key" and not self.errands.awaited:
            return any(key.shown == parameters[0] for key in self._shown.KEYS)
        return self._ready

    def on_mount(self) -> None:
        self._ready = True
        self._scan.focus()
        self._turn_to(RAIL)
        if self._opening.first:
            self._page(RailPage).begin(self._opening.first)
        self.action_refresh()
        # What opens the shop would take turns with what draws the first picture: it begins when that is drawn.
        self.call_after_refresh(self._begin_work)

    def _begin_work(self) -> None:
        if self.errands.closed:
            return
        self._worker: Worker[None] = self.run_worker(self._work, name="errands")
        self.set_interval(LOOK_SECONDS, self._look_around)

    async def _work(self) -> None:
        """Fill the rail, and only then put up the pages that nothing but a later errand can open: it paints sooner."""
        await self.errands.do_next()
        from stockroom.screens.later_pages import later_pages

        pages = self.query_one("#pages", ContentSwitcher)
        for page in later_pages(self):
            await pages.add_content(page)
        self.errands.begin()
        # What the first scan would have to wait for is looked up now, if nothing else is to be done.
        if self._jobs is not None and self.errands.idle:
            look_up = Errand("Opening the catalogue", self._jobs.look_up, _nothing_to_show, _nothing_to_show, False)
            self.errands.send(look_up)
        while True:
            await self.errands.do_next()

    def on_unmount(self) -> None:
        self.errands.close()

    def _look_around(self) -> None:
        if self.errands.idle:
            self._reader.look()

    # The parts

    @property
    def jobs(self) -> Jobs:
        """The jobs there are. Whoever asks first, off the screen's thread, opens the shop."""
        if self._jobs is None:
            self._jobs = self._opening.open()
        return self._jobs

    def now(self) -> datetime:
        """An aware moment: now."""
        return self._opening.now()

    @property
    def place(self) -> Place:
        """Where one is."""
        return self._place

    def page_at(self, place: Place) -> Page:
        """The page that shows a place."""
        return self.query_one(f"#{place.page}", Page)

    def _page(self, kind: type[AnyPage]) -> AnyPage:
        return self.query_one(kind)

    @property
    def _shown(self) -> Page:
        return self.page_at(self._place)

    @property
    def _scan(self) -> ScanLine:
        return self.query_one(ScanLine)

    @property
    def _filter(self) -> FilterRow:
        return self.query_one(FilterRow)

    # Where one is

    def _turn_to(self, place: Place) -> None:
        """Show another page. The filter line follows it; what the page asked that is left is asked no more."""
        if self._asking.belongs_elsewhere(place.page):
            self.leave_question()
        self._place = place
        self.query_one("#pages", ContentSwitcher).current = place.page
        self._filter.follow(self._shown)
        if self.focused is not self._scan:
            self._scan.focus()
        self.query_one(KeyLine).show(keys_of(self._shown))
        self.head()

    def _go(self, place: Place) -> None:
        """Turn to a place, remembering this one for Esc."""
        if place != self._place:
            if self._place != HELP:
                self._trail = [*self._trail, self._place][-STEPS_KEPT:]
            if place.page in {"ticket", self._place.page}:
                self._filter.forget(place.page)
            self._turn_to(place)

    def head(self) -> None:
        """Write the top line again."""
        heading = f" {plain(self._opening.shop_name)}  ·  {plain(self._shown.heading)}"
        self.query_one("#heading", Static).update(Content(heading), layout=False)
        by = f"{plain(self._signing.by)}  ·  " if self._signing.by else ""
        self._show_today(Content(f"{by}{long_day(self._opening.today())} "))

    def _show_today(self, words: Content) -> None:
        """Say who is at the screen and what day it is. It is as wide as that, so that the top line is laid out anew."""
        today = self.query_one("#today", Static)
        if today.content != words:
            today.update(words)

    # Saying something

    def tell(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence above the scan line."""
        self._message.tell(*parts)

    def mention(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence above the scan line; behind a refusal that nobody can have read yet, if there is one."""
        self._message.mention(*parts)

    def moment(self) -> Moment:
        """How far the shop has come. Asked off the screen's thread, before anything is read."""
        return self._reader.moment()

    def saw(self, moment: Moment, before: Moment | None = None) -> None:
        """What the page shows now was read at this moment: it need not be read again until more is done.

        `before`: only what one job changed since that moment was read; that will do where nobody did anything else.
        """
        if before is None:
            self._reader.saw(moment)
        else:
            self._reader.saw_one_job(before, moment)

    def failed(self, fault: Exception) -> None:
        """Show why something was not done, and ring."""
        if isinstance(fault, Refusal):
            words = " ".join((fault.sentence, *fault.faults))
        else:
            # The last stop for a fault of our own: the person gets a sentence, and the screen stays up.
            words = f"That could not be read ({type(fault).__name__}: {fault}). Nothing has changed. F5 tries again."
        self.refuse(words)

    def refuse(self, words: str) -> None:
        """Show why something was not done, and ring."""
        self._message.refuse(words)

    # Jobs

    def do(
        self,
        title: str,
        job: Callable[[], Answer],
        done: Callable[[Answer], None],
        refused: Callable[[], None] = lambda: None,
    ) -> None:
        """Call a job off the screen's thread, after those asked for before; then `done` with its answer."""

        def finished(answer: Answer) -> None:
            # What was told before goes only now, together with what comes: the screen is laid out once.
            self._message.hush()
            done(answer)

        def failed(fault: Exception) -> None:
            self.failed(fault)
            refused()

        self.send(title, job, finished, failed)

    def send(
        self,
        title: str,
        job: Callable[[], Answer],
        done: Callable[[Answer], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Call a job off the screen's thread, without taking away what is told above the scan line."""
        self.errands.send(Errand(title, job, self._shown_by(done), self._unless_gone(failed)))

    def glance(
        self,
        title: str,
        job: Callable[[], Answer],
        done: Callable[[Answer], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """The same, for what nobody has asked for: nothing that is pressed waits for it."""
        self.errands.send(Errand(title, job, self._shown_by(done), self._unless_gone(failed), awaited=False))

    def _shown_by(self, done: Callable[[Answer], None]) -> Callable[[Answer], None]:
        def finished(answer: Answer) -> None:
            self._message.work_is_done()
            done(answer)

        return self._unless_gone(finished)

    def _unless_gone(self, act: Callable[[Answer], None]) -> Callable[[Answer], None]:
        """Nothing is shown any more while the screen is taken down: its pages go before it hears of that itself."""

        def acted(answer: Answer) -> None:
            if self.query(f"#{self._place.page}"):
                act(answer)

        return acted

    def _open(self, text: str, opened_it: Callable[[], None] = lambda: None) -> None:
        """Open what a scanned or typed text names; then call `opened_it`."""

        def opened(answer: tuple[Moment, OpenedTicket | Shown | PackingList]) -> None:
            self._reader.saw(answer[0])
            self._scan.put_away(text)
            self._show(answer[1])
            opened_it()

        self.do(f"Looking for {text}", lambda: (self._reader.moment(), named_by(self.jobs, text)), opened)

    def _show(self, answer: OpenedTicket | Shown | PackingList) -> None:
        from stockroom.jobs.show import Shown
        from stockroom.screens.ticket_page import TicketPage

        if isinstance(answer, OpenedTicket):
            self._go(Place("ticket", (answer.ticket.number,)))
            self._page(TicketPage).fill(answer.ticket)
            self._page(TicketPage).point_at(answer.piece, answer.hand, answer.tag)
        elif isinstance(answer, Shown):
            tag = Place("tag", (answer.tag,))
            self.page_at(tag).fill(answer)
            self._go(tag)
        else:
            pack = Place("pack", (answer.order,))
            self._go(pack)
            self.page_at(pack).fill(answer)
        self.head()

    def go(self, place: Place) -> None:
        """Turn to another place and read it."""
        page = self.page_at(place)
        if page.named != place.named:
            page.clear()
            self._filter.forget(place.page)
        self._go(place)
        self.action_refresh()

    def go_instead(self, place: Place) -> None:
        """Turn to another place since what is shown is no more: Esc does not lead back to it."""
        gone = self._place
        self.go(place)
        self._trail = [one for one in self._trail if one != gone]

    # Asking

    def signed(self, then: Callable[[Stamp], None]) -> None:
        """Call `then` with the initials of whoever is at the screen, and now; ask for them first if nobody has."""
        self._signing.signed(then)

    def ask(self, question: Question) -> None:
        """Ask something in the scan line. What waited for initials, and was left for this, is not done later."""
        if not self._signing.asks(question) and self._signing.forget():
            self.tell("Nothing was done before this, since no initials were given.")
        self._asking.ask(question, self._place.page, self.query_one("#scan-label", Static), self._scan)

    @property
    def question(self) -> Question | None:
        """What is asked now, if anything."""
        return self._asking.question

    def leave_question(self) -> None:
        """Ask no more."""
        if self._asking.question is not None:
            self._asking.leave(self.query_one("#scan-label", Static), self._scan)
            self._shown.asked_no_more()
            if self._signing.forget():
                self.tell("Nothing was done, since no initials were given.")

    def put_away(self, text: str) -> None:
        """Clear the scan line if it still shows this text, which is done with."""
        self._scan.put_away(text)

    def _answer(self, question: Question, text: str) -> None:
        """Hand an answer over. The question is done with, unless the answer is refused or another is asked."""
        words = text or question.offered
        if not words:
            self.tell(f"{question.asks}: {question.hint}. Esc leaves it.")
            return
        try:
            question.answered(words)
        except Refusal as refusal:
            self.failed(refusal)
            return
        self._scan.put_away(text)
        if self._asking.question is question:
            self.leave_question()
        self.head()

    def _return_to(self, place: Place) -> None:
        """Go back to a place. A page that may show something else by now is left blank until it is read."""
        page = self.page_at(place)
        if page.named != place.named:
            page.clear()
        self._turn_to(place)
        self._message.hush()
        self._reader.read(place)

    # Keys

    def action_help(self) -> None:
        """Show the keys of this page, or go back from them."""
        if self._place == HELP:
            self.action_back()
            return
        page = self._shown
        self._page(HelpPage).show_keys(self._place.page, page.SCANNING, keys_of(page))
        self._go(HELP)

    def action_refresh(self) -> None:
        """Read what the page shows again."""
        self._message.hush()
        self._reader.read(self._place)

    def action_rail(self) -> None:
        """Go to the rail and read it again."""
        self.errands.in_turn(lambda: self.go(RAIL))

    def action_pick(self) -> None:
        """Go to the walk of the orders that are marked or shown here, or else to the walk that was shown last."""
        self.errands.in_turn(self._pick)

    def _pick(self) -> None:
        if orders := self._shown.orders() or self.page_at(Place("pick")).named:
            self.go(Place("pick", orders))
        else:
            self.tell(
                "No order is shown here. Highlight or mark one on the rail (F2), then F4 leads you to its things."
            )

    def action_open_page(self, page: str) -> None:
        """Go to a page that shows the same for whatever order: the bundles, goods in."""
        self.errands.in_turn(lambda: self.go(Place(page, self._about() if page == "match" else ())))

    def _about(self) -> tuple[str, ...]:
        """What the trimmer's page is asked about: what is shown here, or else what it was asked last."""
        return self._shown.to_match() or self.page_at(Place("match")).named

    def action_pack(self) -> None:
        """Go to the packing list of the order that is shown here, or else to the one that was shown last."""
        self.errands.in_turn(self._pack)

    def _pack(self) -> None:
        if orders := self._shown.orders() or self.page_at(Place("pack")).named:
            self.go(Place("pack", orders[:1]))
        else:
            self.tell("No order is shown here. Highlight one on the rail (F2), or scan a bundle, then F7 packs it.")

    def action_initials(self) -> None:
        """Ask who is at the screen."""
        self._signing.ask_again()

    def action_print(self) -> None:
        """Ask what is to be printed of what there is to print on this page."""
        self.errands.in_turn(lambda: self._printing.ask(self._shown) if self._shown.prints else None)

    def action_page_key(self, key: str) -> None:
        """Do what one of the page's own keys does."""
        self.errands.in_turn(lambda: self._press(key))

    def _press(self, key: str) -> None:
        if any(one.shown == key for one in self._shown.KEYS):
            self._shown.press(key)

    def action_back(self) -> None:
        """Clear what is typed, leave a question or the filter, or go back: the first that there is to do."""
        rows = self._shown.rows
        if self._scan.value and self.focused is self._scan:
            self._scan.clear()
            self.tell("")
        elif self._asking.question is not None and self._place != HELP:
            self.tell(self._shown.question_left())
            self.leave_question()
        elif self._filter.in_use:
            self._filter.take_away()
            self._scan.focus()
        elif self._trail:
            self._return_to(self._trail.pop())
        elif rows is not None:
            rows.end(-1)

    def action_filter(self) -> None:
        """Type into the filter, where the page has a list."""
        self._filter.begin()

    def action_light(self) -> None:
        """Change between the light and the dark theme."""
        self.app.theme = "night" if self.app.theme == "bench" else "bench"

    def action_move(self, rows: int) -> None:
        """Move the highlight, or scroll."""
        self._moving(lambda pane: pane.move(rows))

    def action_turn(self, pages: int) -> None:
        """Move by what fits."""
        self._moving(lambda pane: pane.turn(pages))

    def action_end(self, which: int) -> None:
        """Move to the first or the last."""
        self._moving(lambda pane: pane.end(which))

    def action_next_pane(self, step: int) -> None:
        """Let the arrow keys move another part of the page."""
        self._shown.next_pane(step)

    def _moving(self, move: Callable[[RowList[Any] | TextPane], None]) -> None:
        def moved() -> None:
            # A refused text that still stands in the line must not be what the next Enter opens.
            if self._scan.spent:
                self._scan.clear()
            if self._shown.pane is not None:
                move(self._shown.pane)

        self.errands.in_turn(moved)

    def on_key(self, event: events.Key) -> None:
        """Whatever is typed belongs to the scan line, even if a click has taken the focus off it."""
        if event.is_printable and event.character and self.focused is None:
            event.stop()
            self._scan.focus()
            self._scan.insert_text_at_cursor(event.character)

    # What the parts say

    @on(ScanLine.Scanned)
    def _scanned(self, event: ScanLine.Scanned) -> None:
        self.errands.in_turn(lambda: self._take(event.text))

    def _take(self, text: str) -> None:
        """What is scanned answers a question, is acted on by the page, or is opened; nothing opens the highlight."""
        question = self._asking.question
        if question is not None and (question.takes_tags or not is_tag(text)):
            self._answer(question, text)
            return
        if question is not None and not question.stays:
            self.leave_question()
        if not text:
            self._shown.open_highlighted()
        elif called := page_called(text):
            self._scan.put_away(text)
            self._open_called(*called)
        elif not self._shown.take_scan(text):
            self._open(text, lambda: self._shown.was_scanned())

    def _open_called(self, place: Place, words: str) -> None:
        """Go to a page that was typed by its name; what stood behind the name is typed there."""
        if not words:
            self.action_open_page(place.page)
            return
        self.go(place)
        self.errands.in_turn(lambda: self._take(words))

    @on(ScanLine.Pressed)
    async def _pressed(self, event: ScanLine.Pressed) -> None:
        await self.run_action(KEYS[event.key])

    @on(ScanLine.Command)
    def _commanded(self, event: ScanLine.Command) -> None:
        self._scan.clear()
        if event.character == "/":
            self.action_filter()
        elif event.character == " ":
            self.action_page_key("Space")
        else:
            self.action_help()

    @on(FilterLine.Left)
    def _filter_left(self, event: FilterLine.Left) -> None:
        if event.scanned:
            self.errands.in_turn(lambda: self._take(event.scanned))

    @on(Page.Renamed)
    def _renamed(self) -> None:
        self.head()

    @on(Page.Asked)
    def _asked(self, event: Page.Asked) -> None:
        self._open(event.text)

    @on(Page.Said)
    def _said(self, event: Page.Said) -> None:
        self.tell(event.words)

    @on(RowList.Sifted)
    def _sifted(self, event: RowList.Sifted) -> None:
        if event.row_list is self._shown.rows:
            self._filter.count()

    @on(KeyLine.Clicked)
    async def _key_clicked(self, event: KeyLine.Clicked) -> None:
        await self.run_action(event.key.action)
