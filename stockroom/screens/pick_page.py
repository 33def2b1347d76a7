"""The pick page: what some orders need, place after place. A scan picks, or lays a roll on the table to be cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.catalogue import BY_LENGTH
from stockroom.domain.quantities import need_mm, show_length, stock_mm
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.cut import CutMade
from stockroom.jobs.other_stock import AnotherLot
from stockroom.jobs.papers import Paper, of_orders, tags_again
from stockroom.jobs.pick import Picked, Walk, WalkStop
from stockroom.jobs.shorter import DoesNotGo, Shorter
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.fetching import Fetched, cut_or_ask, fetch, fetch_for, fetch_mixed, first_accepted, there
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.roll_asking import LENGTH_HINT, ask_flaw, ask_length
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

EMPTY = "There is nothing left to fetch.\nWhat waits for an answer and what is short, if anything, is said below."
DONE_SHOWN = 12
"""How many of the things that were fetched are listed, the latest first."""
_WIDE = 120
_FETCHED = frozenset("RB")
"""Kind letters of the tags that a scan fetches from."""


def _what(stop: WalkStop) -> str:
    return ", ".join(filter(None, (stop.title.removesuffix(f", {stop.colour}"), stop.colour)))


def _what_short(stop: WalkStop) -> str:
    """The colour first: it must not be what is cut off where there is little room."""
    return ": ".join(filter(None, (stop.colour, stop.title.removesuffix(f", {stop.colour}"))))


def _changed(stop: WalkStop) -> Cell:
    return Cell("CHANGED" if stop.changed else "", "strong")


def _how_short(stop: WalkStop) -> Cell:
    return Cell(stop.how, "strong" if stop.how == "cut" else "")


COLUMNS: tuple[Column[WalkStop], ...] = (
    Column("Place", lambda stop: Cell(stop.place, "strong"), 7, grow=1),
    Column("Tag", lambda stop: Cell(stop.tag), 7),
    Column("Do", _how_short, 4),
    Column("Amount", lambda stop: Cell(stop.amount), 7),
    Column("What", lambda stop: Cell(_what_short(stop)), 16, grow=3, shown_below=_WIDE),
    Column("What", lambda stop: Cell(_what(stop)), 16, grow=3, shown_from=_WIDE),
    Column("Lot", lambda stop: Cell(stop.lot), 5),
    Column("For", lambda stop: Cell(", ".join(stop.for_what)), 7, grow=1),
    Column("Order", lambda stop: Cell(stop.order), 6),
    Column("Car", _changed, 7),
)


def key_of(stop: WalkStop) -> tuple[object, ...]:
    """What tells stops apart."""
    return (stop.order, stop.tag, stop.how, stop.from_mm)


def _words(stop: WalkStop) -> str:
    changed = "changed" if stop.changed else ""
    return " ".join(
        (stop.order, stop.place, stop.tag, stop.how, stop.item, _what(stop), stop.lot, changed, *stop.for_what)
    )


def stop_words(stop: WalkStop) -> Iterator[Line]:
    """One stop in full, since its row may have been cut short."""
    lot = f", lot {stop.lot}" if stop.lot else ""
    yield sentence((f"{stop.how.capitalize()} {stop.amount}", "bold"), f" of {_what(stop)}{lot}", hang=2)
    yield sentence(f"from {stop.tag} at {stop.place}, for {', '.join(stop.for_what)} of order {stop.order}", hang=2)
    if stop.how == "cut":
        yield sentence(
            f"planned from {show_length(stop.from_mm)} to {show_length(stop.to_mm)} of the roll's inner end", hang=2
        )
    if stop.changed:
        yield sentence((f"{SIGN} CHANGED for this car: see the ticket.", "bold"))


def walk_words(walk: Walk) -> Iterator[Line]:
    """What waits, what is short and what was fetched."""
    for words in walk.waiting:
        yield sentence((f"{SIGN} ", "bold"), words, hang=2)
    for words in walk.short:
        yield sentence((f"{SIGN} Short ", "bold"), words, hang=2)
    for words in walk.done[: -DONE_SHOWN - 1 : -1]:
        yield sentence((f"Fetched: {words}", "$quiet-ink"), hang=2)
    if len(walk.done) > DONE_SHOWN:
        yield sentence((f"and {len(walk.done) - DONE_SHOWN:,} more, fetched before", "$quiet-ink"))


def cut_words(made: CutMade) -> tuple[str, ...]:
    """What cutting did, in sentences."""
    first = f"{show_length(made.cut_mm)} cut from {made.tag} for order {made.order}."
    return (" ".join((first, *made.sentences)), *(f"{SIGN} Now short: {words}" for words in made.short))


_GOT_OUT = {"all": Shorter.ALL_OUT, "part": Shorter.WHAT_GOES}


class PickPage(WorkPage):
    """The walk of one order or several."""

    things = "stop"
    KEYS = (
        Key("^O", "Only", "page_key('^O')", "only so much is there: say how much; the order is short of the rest"),
        Key("^R", "Put back", "page_key('^R')", "put back what was picked"),
        Key("^F", "Flaw", "page_key('^F')", "write down a flaw met on the highlighted roll"),
        Key("^T", "Measure", "page_key('^T')", "write down the true length of the highlighted roll"),
        Key("^K", "Keep side piece", "page_key('^K')", "keep a part-width piece left beside the cut"),
    )
    SCANNING = ("Scan a reel or bin: it is picked. Scan a roll: type what you cut, Enter takes the plan.",)

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self.walk: Walk | None = None
        self._table: str = ""
        self._last: Picked | None = None
        """What was picked last, to be put back."""
        self._scanned: Picked | None = None
        """What the last scan picked, if it did."""

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=key_of, words=_words, empty=EMPTY, id="pick-stops")
        yield TextPane(id="pick-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        del place
        return "Reading the walk"

    def read(self, jobs: Jobs, place: Place) -> Walk:
        return jobs.picking.walk(place.named)

    def fill(self, walk: Walk) -> None:
        """Show this walk. The highlight stays on its stop; where that is done, it goes to the next that is left."""
        before = [key_of(stop) for stop in self.walk.stops] if self.walk else []
        held = None if self.rows.row is None else key_of(self.rows.row)
        self.walk = walk
        self.rows.fill(walk.stops)
        if held in before:
            left = {key_of(stop) for stop in walk.stops}
            following = next((key for key in before[before.index(held) :] if key in left), None)
            self.rows.find(lambda stop: key_of(stop) == following)

    def clear(self) -> None:
        """Show no walk."""
        self.walk = None
        self.forget()
        self._table = ""
        self._last = None
        self._scanned = None
        self.activate(0)
        self.rows.empty_out()

    @property
    def answer(self) -> Walk | None:
        return self.walk

    @property
    def named(self) -> tuple[str, ...]:
        return self.walk.orders if self.walk else ()

    def orders(self) -> tuple[str, ...]:
        return self.named

    def usual_papers(self) -> tuple[Paper, ...]:
        return of_orders(self.named)

    @property
    def heading(self) -> str:
        if self.walk is None:
            return "Pick"
        return f"Pick {', '.join(self.walk.orders)}  ·  {counted(len(self.walk.stops), 'stop')} left"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#pick-stops", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#pick-text", TextPane))

    def open_highlighted(self) -> None:
        """Open the roll, reel or bin of the highlighted stop."""
        if self.rows.row is not None:
            self.post_message(self.Asked(self.rows.row.tag))

    def show_text(self) -> None:
        """Show the highlighted stop in full, and what waits and is short."""
        stop: WalkStop | None = self.rows.row
        notes = (*self.told(), *walk_words(self.walk)) if self.walk else ()
        self.query_one("#pick-text", TextPane).show(() if stop is None else stop_words(stop), notes)

    @on(RowList.Highlighted)
    def _show_stop(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a stop, which shows it in full."""
        event.stop()

    # Scanning

    def take_scan(self, text: str) -> bool:
        """A reel, a bin, a roll or a finished thing of the walk is fetched; anything else is opened as everywhere."""
        if self.walk is None or not is_tag(text):
            return False
        tag = str(read_tag(text))
        if read_tag(text).kind not in _FETCHED and all(stop.tag != tag for stop in self.walk.stops):
            return False

        picking = self.desk.jobs.picking
        # The walk and the scan before are looked up when its turn has come: the scan before may have changed them.
        self._fetch(tag, lambda stamp: fetch(picking, self._here, tag, stamp, self._scanned), text)
        return True

    @property
    def _here(self) -> Walk:
        return self.walk or Walk((), (), (), (), ())

    def _fetch(self, tag: str, job: Callable[[Stamp], Fetched], text: str = "") -> None:
        """Fetch what a tag is on, and go on from there. `text`: what stands in the scan line for it."""

        def done(found: Fetched) -> None:
            self.desk.put_away(text)
            self._scanned = found.picked
            if found.another_lot is not None:
                self._ask_mix(found.another_lot)
            elif found.again is not None:
                self._ask_again(found.again)
            elif found.picked is not None:
                self._show_fetched(found, found.picked)

        self.desk.signed(lambda stamp: self.desk.do(f"Fetching {tag}", lambda: job(stamp), done))

    def _show_fetched(self, found: Fetched, picked: Picked) -> None:
        """Say what a scan picked, or lay the roll on the table."""
        words = self._picked_words(picked)
        if picked.changed_anything or not picked.to_cut:
            self.note(*words)
        self.fill(found.walk)
        if found.to_cut is not None:
            self._lay_on_the_table(found.to_cut, picked)
            return
        self._last = picked
        other = next((stop for stop in found.walk.stops if stop.tag == picked.tag), None)
        self.report(*words, *([f"{SIGN} {other.amount} of it for order {other.order} too."] if other else []))

    def _ask_mix(self, refused: AnotherLot) -> None:
        """What was scanned is of another dye lot: somebody may approve the mix."""

        def answered(because: str) -> None:
            picking = self.desk.jobs.picking
            self._fetch(refused.tag, lambda stamp: fetch_mixed(picking, self._here, refused, because, stamp))

        self.desk.refuse(refused.sentence)
        hint = "why the difference will not be seen; Esc leaves it"
        self.desk.ask(Question("Mix approved, because", hint, answered))

    def _ask_again(self, stop: WalkStop) -> None:
        """The same tag at once again, and the next order wants some of it too: a scanner may have read it twice."""

        def answered(text: str) -> None:
            if str(read_tag(text)) != stop.tag:
                if not self.take_scan(text):
                    self.post_message(self.Asked(text))
                return
            picking = self.desk.jobs.picking
            self._fetch(stop.tag, lambda stamp: fetch_for(picking, self._here, stop.order, stop.tag, stamp))

        self.rows.find(lambda row: key_of(row) == key_of(stop))
        self.desk.mention(
            (
                f"{SIGN} {stop.tag} was just scanned, and is done. Order {stop.order} wants {stop.amount} of it too.",
                "bold",
            )
        )
        hint = "Enter, or the scan once more, takes it; Esc leaves it"
        self.desk.ask(Question(f"{stop.amount} for {stop.order}", hint, answered, stop.tag, takes_tags=True))

    def _lay_on_the_table(self, stop: WalkStop, picked: Picked) -> None:
        """Offer the planned length of a roll that was scanned."""
        self._table = stop.tag
        length_mm = stop.to_mm - stop.from_mm
        length = show_length(length_mm)
        self.rows.find(lambda row: key_of(row) == key_of(stop))
        words = f"Cut {length} from {stop.tag} for order {stop.order}: {', '.join(stop.for_what)}."
        # Where the cut was planned on another roll until now, that is said.
        self.desk.mention((f"{SIGN} {picked.sentence}" if picked.changed_anything else words, "bold"))

        def cut_it(text: str) -> None:
            self._cut(stop, length_mm if text == length else need_mm(text), Shorter.ASKED)

        hint = f"Enter takes {length}; or type what you cut ({LENGTH_HINT})"
        self.desk.ask(Question("Cut", hint, cut_it, length))

    def _cut(self, stop: WalkStop, mm: int, said: Shorter) -> None:
        """Book a cut; where its panels do not go on the length, ask what was got out of it."""

        def answered(text: str) -> None:
            if text.casefold() not in _GOT_OUT:
                raise Refusal("Type all if every panel was got out of it, or part if only those that go on it were.")
            self._cut(stop, mm, _GOT_OUT[text.casefold()])

        def words(made: CutMade | DoesNotGo) -> tuple[str, ...]:
            if isinstance(made, CutMade):
                return cut_words(made)
            hint = "type all, or part (the rest is planned again); Esc leaves it"
            self.desk.ask(Question("What was got out", hint, answered))
            return (f"{SIGN} {made.sentence}", "Nothing is booked yet.")

        self.change(
            f"Cutting {stop.tag}",
            lambda stamp: cut_or_ask(self.desk.jobs.picking, stop, stamp, mm, said),
            words,
            lambda made, _: tags_again(made.offcut) if isinstance(made, CutMade) else (),
        )

    # What is done on this page

    def press(self, key: str) -> None:
        """Do what a key does."""
        if self.walk is None:
            return
        stop: WalkStop | None = self.rows.row
        if key == "^R":
            self._ask_put_back()
        elif stop is None:
            self.desk.tell("No stop is highlighted.")
        elif key == "^O":
            self._ask_only(stop)
        elif key == "^K":
            self._ask_side_piece(self._table or stop.tag)
        else:
            {"^F": ask_flaw, "^T": ask_length}[key](self, self._table or stop.tag)

    def _ask_only(self, stop: WalkStop) -> None:
        if stop.how == "cut":
            self.desk.tell(f"{stop.tag} is to be cut: write down its true length instead (Ctrl and T).")
            return

        def answered(text: str) -> None:
            count = there(text, stop)
            self.change(
                f"Picking {stop.tag}",
                lambda stamp: self.desk.jobs.picking.pick_short(stop.order, stop.tag, count, stamp),
                self._picked_words,
            )

        self.desk.tell(f"Order {stop.order} is to get {stop.amount} of {_what(stop)} from {stop.tag}.")
        unit = f" ({LENGTH_HINT})" if stop.kind in BY_LENGTH else ""
        hint = f"less than {stop.amount}{unit}; 0 for nothing"
        self.desk.ask(Question(f"Only so much in {stop.tag}", hint, answered))

    def _ask_put_back(self) -> None:
        offered = self._last.tag if self._last else ""

        def answered(text: str) -> None:
            tag = str(read_tag(text))
            put_back = self.desk.jobs.picking.put_back
            mine = [self._last.order] if self._last and self._last.tag == tag else []
            orders = tuple(dict.fromkeys((*mine, *self.named)))
            self.change(
                f"Putting back {tag}",
                lambda stamp: first_accepted(orders, lambda number: put_back(number, tag, stamp)),
                self._picked_words,
            )

        hint = f"Enter takes {offered}, or scan another" if offered else "scan the reel or bin that it goes back to"
        self.desk.ask(Question("Put back into", hint, answered, offered, takes_tags=True))

    def _picked_words(self, picked: Picked) -> tuple[str, ...]:
        return (f"Order {picked.order}: {picked.sentence}",)

    def _ask_side_piece(self, tag: str) -> None:
        def long(first: str) -> None:
            length_mm = stock_mm(first)

            def wide(second: str) -> None:
                width_mm = stock_mm(second)

                def lies(place: str) -> None:
                    keep = self.desk.jobs.picking.keep_side_piece
                    self.change(
                        f"Keeping a side piece of {tag}",
                        lambda stamp: keep(tag, length_mm, width_mm, place, stamp),
                        lambda made: (f"The side piece of {tag} is remnant {made} now.",),
                        lambda made, _: tags_again(made),
                    )

                self.desk.ask(Question("It lies at", "the place where you put it", lies))

            self.desk.ask(Question("How wide is it", LENGTH_HINT, wide))

        self.desk.ask(Question(f"Side piece of {tag}: how long", LENGTH_HINT, long))
