"""The goods in page: what is on order and has not come, and receiving it by a short run of questions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.four_point import read_fault
from stockroom.domain.new_shade import SHADE_WARNINGS
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.inspect import Inspected
from stockroom.jobs.papers import Paper, tags_again
from stockroom.jobs.purchasing import Expected
from stockroom.jobs.receivable import Receivable, ToReceive
from stockroom.jobs.receive import Received, SaidBack
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.goods_words import (
    choice_words,
    closed_words,
    delivery_words,
    inspected_papers,
    inspected_words,
    item_words,
    line_words,
    moved_papers,
    moved_words,
    quarantined_words,
    received_papers,
    received_words,
)
from stockroom.screens.holding import reserve_each
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.place import Place
from stockroom.screens.printing import start_of
from stockroom.screens.receiving import (
    Delivery,
    Step,
    amounts_words,
    answered,
    begun,
    chosen_detail,
    details_of,
    next_step,
    set_apart,
    step_of,
    without,
)
from stockroom.screens.roll_asking import ask_flaw, ask_length
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted, day, overdue
from stockroom.screens.work_page import WorkPage

EMPTY = (
    "Nothing is on order that has not come.\n\n"
    "What comes all the same is received without a purchase: Ctrl and N.\n"
    "What was bought is written down in a shell:  stockroom purchase"
)
NO_ITEMS = "There are no items that could come in.\n\nLoad a catalogue in a shell:  stockroom load FOLDER"
ITEMS = ("items",)
"""What the page names where it shows all items, to receive one of them without a purchase."""
_WIDE = 120
_NOT_BOOKED = "Nothing more was booked. What was said of the goods is kept: Ctrl and O goes on with it."


@dataclass(frozen=True, slots=True)
class GoodsShown:
    """What the page shows: what is expected, or the items."""

    expected: tuple[Expected, ...]
    items: tuple[Receivable, ...] | None
    """`None` where the page shows what is expected."""


def _due_short(line: Expected) -> Cell:
    return Cell(f"OVERDUE {line.late_days} d", "alarm") if line.late_days else Cell(day(line.due))


def _due_long(line: Expected) -> Cell:
    if line.late_days:
        return Cell(f"{day(line.due)}  {overdue(line.late_days)}", "alarm")
    return Cell(day(line.due))


COLUMNS: tuple[Column[Expected], ...] = (
    Column("Purchase", lambda line: Cell(line.reference, "strong"), 8),
    Column(" Due", _due_short, 13, shown_below=_WIDE),
    Column(" Due", _due_long, 28, shown_from=_WIDE),
    Column("To come", lambda line: Cell(line.shown), 9),
    Column("What", lambda line: Cell(line.title), 16, grow=3),
    Column("Item", lambda line: Cell(line.item), 20, grow=1, shown_from=_WIDE),
    Column("Supplier", lambda line: Cell(line.supplier), 12, grow=2),
)
ITEM_COLUMNS: tuple[Column[Receivable], ...] = (
    Column("Item", lambda item: Cell(item.code, "strong"), 22, grow=1),
    Column("What", lambda item: Cell(item.title), 24, grow=2),
    Column("Kind", lambda item: Cell(item.kind), 10),
)


def key_of(line: Expected) -> tuple[str, str]:
    """What tells lines apart."""
    return line.reference, line.item


def _words(line: Expected) -> str:
    return " ".join((line.reference, line.supplier, line.item, line.title, overdue(1) if line.late_days else ""))


class GoodsInPage(WorkPage):
    """What is expected, and what comes."""

    things = "line"
    OF_STOCK = True
    KEYS = (
        Key(
            "^N", "No purchase", "page_key('^N')", "receive without a purchase: find the item; again: what is expected"
        ),
        Key("^O", "More", "page_key('^O')", "say more of what came, or put it right; else look a roll over"),
        Key("^T", "Measure", "page_key('^T')", "write down the true length of what came, or of the scanned roll"),
        Key("^L", "Close", "page_key('^L')", "no more of the highlighted line will come"),
        Key("^F", "", "", "write down a flaw of that roll"),
        Key("^K", "", "", "set it apart: it is not to be used"),
        Key("^R", "", "", "hold what came for the orders that wait for it"),
    )
    SCANNING = ("Enter, a reference or an item receives. Scan a roll or bin to put it away.",)

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._seen: GoodsShown | None = None
        self._of_items = False
        self._choices: tuple[ToReceive, ...] = ()
        self._delivery: Delivery | None = None
        self._back: SaidBack | None = None
        self._asked = ""
        """Name of what was asked of the delivery last."""
        self._table = ""
        """Tag of the roll or bin that came, or was scanned, last."""
        self._waiting: tuple[str, ...] = ()
        self._met: dict[str, list[str]] = {}
        """Tag of a roll → the faults that were met on it and are not booked yet, as they were typed."""
        """Orders that what came may serve."""

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=key_of, words=_words, empty=EMPTY, id="goods-rows")
        items: RowList[Receivable] = RowList(
            ITEM_COLUMNS,
            key=lambda item: item.code,
            words=lambda item: f"{item.code} {item.title} {item.kind}",
            empty=NO_ITEMS,
            id="goods-items",
        )
        items.display = False
        yield items
        yield TextPane(id="goods-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        return "Reading the items" if place.named else "Reading what is expected"

    def read(self, jobs: Jobs, place: Place) -> GoodsShown:
        items = jobs.goods.receivable() if place.named else None
        return GoodsShown(jobs.goods.expected(jobs.today()), items)

    def fill(self, shown: GoodsShown) -> None:
        """Show these lines or items, in the order in which the job gave them."""
        self._seen = shown
        self._show_items(shown.items is not None)
        self.rows.fill(shown.expected if shown.items is None else shown.items)

    def clear(self) -> None:
        """Something else than what is shown now will be: that is always what is expected."""
        self._seen = None
        self._show_items(False)

    def _show_items(self, of_items: bool) -> None:
        self._of_items = of_items
        self.things = "item" if of_items else "line"
        self.query_one("#goods-items").display = of_items
        self.query_one("#goods-rows").display = not of_items

    @property
    def answer(self) -> GoodsShown | None:
        return self._seen

    @property
    def named(self) -> tuple[str, ...]:
        return ITEMS if self._of_items else ()

    @property
    def heading(self) -> str:
        if self._delivery is not None:
            return f"Goods in  ·  {self._delivery.what.goods.title}"
        if not self.rows.filled:
            return "Goods in"
        if self._of_items:
            return f"Goods in without a purchase  ·  {counted(self.rows.total, 'item')}"
        return f"Goods in  ·  {counted(self.rows.total, 'line')} expected"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#goods-items" if self._of_items else "#goods-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#goods-text", TextPane))

    def usual_papers(self) -> tuple[Paper, ...]:
        """The tag of what came or was scanned last, and a claim for it; the order of the highlighted purchase."""
        claim = (Paper("claim", (self._table,)),) if self._table.startswith("R") else ()
        row: Any = self.rows.row
        order = (Paper("purchase", (row.reference,)),) if isinstance(row, Expected) else ()
        return (*tags_again(self._table), *claim, *order)

    def show_text(self) -> None:
        """Show the delivery in hand, else the highlighted row in full; and what was done here."""
        row: Any = self.rows.row
        if self._choices:
            words = choice_words(self._choices)
        elif self._delivery is not None:
            words = delivery_words(self._delivery, self._back)
        elif row is None:
            words = iter(())
        else:
            words = item_words(row) if self._of_items else line_words(row)
        self.query_one("#goods-text", TextPane).show(words, self.told())

    @on(RowList.Highlighted)
    def _show_row(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a line, which shows it in full."""
        event.stop()

    def question_left(self) -> str:
        """Nothing is lost by it: what was booked is booked, and what was said of goods in hand is kept."""
        self._forget_what_was_only_begun()
        self._choose(())
        return super().question_left() if self._delivery is None else _NOT_BOOKED

    def _forget_what_was_only_begun(self) -> None:
        if self._delivery is not None and not (self._delivery.answered or self._delivery.said.amounts):
            self._delivery = None
            self.desk.head()

    # What came

    def open_highlighted(self) -> None:
        """Receive what is highlighted."""
        row: Any = self.rows.row
        if row is None:
            self.desk.tell("Nothing is highlighted. Type a purchase's reference or an item, or press Ctrl and N.")
        elif self._of_items:
            self._look_for(row.code)
        else:
            self._look_for(row.reference, row.item)

    def take_scan(self, text: str) -> bool:
        """A reference or an item is received; a roll or bin is put away, or, among the items, more of its like came."""
        if not is_tag(text):
            self._look_for(text)
            return True
        tag = read_tag(text)
        if tag.kind not in "RB":
            return False
        if self._of_items:
            self._look_for(text)
        else:
            self.desk.put_away(text)
            self._put_away(str(tag))
        return True

    def _look_for(self, text: str, item: str = "") -> None:
        """Find what was typed or highlighted, and receive it; what is no goods is opened as everywhere."""

        def found(all_of_it: tuple[ToReceive, ...]) -> None:
            choices = tuple(one for one in all_of_it if item in ("", one.goods.code))
            if not choices:
                self.post_message(self.Asked(text))
                return
            self.desk.put_away(text)
            self._begin_one_of(choices)

        self.desk.do(f"Looking for {text}", lambda: self.desk.jobs.goods.to_receive(text), found)

    def _begin_one_of(self, choices: tuple[ToReceive, ...]) -> None:
        if len(choices) == 1:
            self._begin(choices[0])
            return

        def chosen(text: str) -> None:
            if not (text.isascii() and text.isdecimal() and 1 <= int(text) <= len(choices)):
                self._choose(())
                self._look_for(text)
                return
            what = choices[int(text) - 1]
            self._choose(())
            if len({one.goods.code for one in choices}) > 1 and not what.reference:
                self._look_for(what.goods.code)
            else:
                self._begin(what)

        self._choose(choices)
        hint = f"1 to {len(choices)}, Enter takes 1; or type more of the name; Esc leaves it"
        self.desk.tell(f"{counted(len(choices), 'thing')} may be meant; they stand above.")
        self.desk.ask(Question("Which came", hint, chosen, "1"))

    def _choose(self, choices: tuple[ToReceive, ...]) -> None:
        self._choices = choices
        self.activate(1 if choices else 0)
        self.show_text()

    def _begin(self, what: ToReceive) -> None:
        """Ask of these goods what there is to ask; go on where the same are in hand already."""
        known = self._delivery
        same = known is not None and (known.what.goods, known.what.reference) == (what.goods, what.reference)
        self._delivery = known if same else begun(what)
        self._choices = ()
        if not self._of_items:
            self.rows.find(lambda line: key_of(line) == (what.reference, what.goods.code))
        self.activate(1)
        self._go_on()

    def _go_on(self) -> None:
        delivery = self._delivery
        if delivery is None:
            return
        self._back = None
        step = next_step(delivery)
        if step is None:
            self._read_back(delivery)
        else:
            self._ask(delivery, step)

    def _ask(self, delivery: Delivery, step: Step) -> None:
        """Ask one thing of the delivery. The length before is said back."""
        self._asked = step.name

        def said(text: str) -> None:
            self._delivery = answered(delivery, step.name, text)
            self._go_on()

        lengths = amounts_words(delivery) if step.name in ("amounts", "width") else ()
        self.desk.mention((f"{lengths[-1]}." if lengths else f"{delivery.what.goods.title}.", "bold"))
        self.desk.ask(Question(step.asks, step.hint, said, step.offered, takes_tags=step.takes_tags))
        self.show_text()
        self.desk.head()

    def _read_back(self, delivery: Delivery) -> None:
        """Say back what would be booked."""

        def checked(stamp: Stamp) -> SaidBack | Refusal:
            try:
                return self.desk.jobs.goods.check(delivery.said, stamp)
            except Refusal as refusal:
                return refusal

        def done(found: SaidBack | Refusal) -> None:
            if self._delivery is not delivery:
                return
            if isinstance(found, SaidBack):
                self._back = found
                self._confirm(delivery, found)
                return
            self.desk.refuse(" ".join((found.sentence, *found.faults)))
            self._delivery = without(delivery, self._asked)
            self._ask(self._delivery, step_of(self._delivery, self._asked))

        self.desk.signed(lambda stamp: self.desk.do("Reading it back", lambda: checked(stamp), done))

    def _confirm(self, delivery: Delivery, back: SaidBack) -> None:
        """Ask what the job asks, one thing after another; then whether it is to be booked."""
        self.show_text()
        question = next((one for one in back.questions if one.name not in delivery.confirmed), None)
        of_shade = question is not None and question.name in SHADE_WARNINGS

        def sure(text: str) -> None:
            if of_shade and text.strip().casefold() in ("q", "quarantine"):
                self._delivery = set_apart(delivery)
                self._go_on()
                return
            said, start_at = start_of(text) if question is None else (text, 0)
            if not start_at and not _is_yes(said):
                self._ask_detail()
            elif question is None:
                self._book(delivery, start_at)
            else:
                now = Delivery(delivery.what, delivery.said, delivery.answered, delivery.sure | {question.name})
                self._delivery = now
                self._confirm(now, back)

        if question is None:
            self.desk.mention((f"{back.lines[0]} Nothing is booked yet.", "bold"))
            hint = "Enter books it; at 5: tags from label 5; no puts right; Esc leaves"
            self.desk.ask(Question("Book it in", hint, sure, "yes"))
        else:
            self.desk.mention((f"{SIGN} {question.sentence}", "bold"))
            hint = "yes confirms it; no puts right what was typed; Esc leaves it"
            if of_shade:
                hint = "yes keeps it; q sets it apart; no puts it right; Esc leaves it"
            self.desk.ask(Question("Is it so", hint, sure))

    def _book(self, delivery: Delivery, start_at: int) -> None:
        receive = self.desk.jobs.goods.receive

        def words(done: Received) -> tuple[str, ...]:
            if self._delivery is delivery:
                self._delivery = self._back = None
            self._table = done.goods[0].tag if len(done.goods) == 1 else ""
            self._waiting = tuple(dict.fromkeys((*(one.order for one in done.waiting), *self._waiting)))
            self.activate(0)
            return received_words(done)

        self.change_and_print(
            f"Receiving {delivery.what.goods.title}",
            lambda stamp: receive(delivery.said, stamp, delivery.confirmed),
            words,
            received_papers,
            start_at,
        )

    def _ask_detail(self) -> None:
        """Let something be said beside the usual, or put right."""
        delivery = self._delivery
        if delivery is None:
            self._with_roll("Look over", self._ask_points)
            return
        details = details_of(delivery)

        def chosen(text: str) -> None:
            if text == _GO_ON:
                self._go_on()
                return
            name = chosen_detail(text, details)
            self._delivery = without(delivery, name)
            self._ask(self._delivery, step_of(self._delivery, name))

        self.desk.tell("  ".join(f"{turn} {words}" for turn, (_, words) in enumerate(details, 1)))
        hint = "its number or name; Enter goes on; Esc leaves it"
        self.desk.ask(Question("Say or put right", hint, chosen, _GO_ON))

    # What is done on this page

    def press(self, key: str) -> None:
        """Do what a key does."""
        if key == "^N":
            self._turn_over()
        elif key == "^O":
            self._ask_detail()
        elif key == "^T":
            self._with_roll("Measure", lambda tag: ask_length(self, tag))
        elif key == "^F":
            self._with_roll("Flaw of", lambda tag: ask_flaw(self, tag))
        elif key == "^K":
            self._with_roll("Set apart", self._ask_quarantine)
        elif key == "^L":
            self._ask_close()
        elif self._waiting:
            waiting, self._waiting = self._waiting, ()
            reserve_each(self, waiting)
        else:
            self.desk.tell("No order waits for what came here.")

    def _turn_over(self) -> None:
        """Show the items instead of what is expected, and filter them; or the other way about."""
        self.desk.leave_question()
        self._forget_what_was_only_begun()
        self.activate(0)
        if self._of_items:
            self.desk.go(Place(self._page_name))
            return
        self._show_items(True)
        self.desk.go(Place(self._page_name, ITEMS))
        self.desk.action_filter()
        self.desk.tell("Type words of its name; Enter ends that, and Enter again receives the highlighted item.")

    def _with_roll(self, what: str, then: Callable[[str], None]) -> None:
        """Do something with the roll that is in hand; where none is, have it scanned first."""
        if self._table:
            then(self._table)
            return

        def scanned(text: str) -> None:
            self._table = str(read_tag(text))
            then(self._table)

        self.desk.ask(
            Question(f"{what} which", "scan the tag of the roll or bin; Esc leaves it", scanned, takes_tags=True)
        )

    def _put_away(self, tag: str) -> None:
        """Ask where a scanned roll or bin goes."""
        self._table = tag

        def goes_to(text: str) -> None:
            if is_tag(text) and read_tag(text).kind in "RB":
                self._put_away(str(read_tag(text)))
                return
            move = self.desk.jobs.goods.move
            self.change(f"Moving {tag}", lambda stamp: move([tag], text, stamp), moved_words, moved_papers)

        hint = "scan the place; ^T measures it, ^F flaw, ^K sets it apart; Esc leaves it"
        self.desk.ask(Question(f"{tag} goes to", hint, goes_to, takes_tags=True))

    def _ask_quarantine(self, tag: str) -> None:
        def because(text: str) -> None:
            quarantine = self.desk.jobs.goods.quarantine
            self.change(
                f"Setting {tag} apart",
                lambda stamp: quarantine(tag, text, stamp),
                quarantined_words,
            )

        self.desk.ask(
            Question(f"{tag} is not to be used, because", "damp, wrong shade, a recall; Esc leaves it", because)
        )

    def _ask_points(self, tag: str) -> None:
        """Look a roll over by the four-point system, fault after fault. What was met stays until it is booked."""
        met = self._met.setdefault(tag, [])

        def booked(done: Inspected) -> tuple[str, ...]:
            self._met.pop(tag, None)
            return inspected_words(done)

        def fault(text: str) -> None:
            if text == _NOT_THE_LAST:
                del met[-1:]
            elif text != _NO_MORE_FAULTS:
                read_fault(text)
                met.append(text)
            if text != _NO_MORE_FAULTS:
                self._ask_points(tag)
                return
            inspect = self.desk.jobs.goods.inspect
            self.change(f"Looking {tag} over", lambda stamp: inspect(tag, tuple(met), stamp), booked, inspected_papers)

        self.desk.tell(f"Four-point inspection of {tag}, from the inner end. Met: {'; '.join(met) or 'nothing yet'}.")
        hint = "at:length:what, as 2.4 m:5 in:slub; - drops the last; Enter if that is all"
        self.desk.ask(Question("Fault", hint, fault, _NO_MORE_FAULTS))

    def _ask_close(self) -> None:
        line: Expected | None = None if self._of_items else self.rows.row
        if line is None:
            self.desk.tell("No line of a purchase is highlighted.")
            return

        def because(text: str) -> None:
            close = self.desk.jobs.goods.close
            self.change(
                f"Closing {line.reference}",
                lambda stamp: close(line.reference, text, stamp, line.item),
                closed_words,
            )

        self.desk.tell(f"Of {line.reference}, {line.shown} of {line.title} will not come any more.")
        self.desk.ask(Question("No more will come, because", "the mill has no more; Esc leaves it", because))


_GO_ON = "go on"
_NO_MORE_FAULTS = "no more"
_NOT_THE_LAST = "-"
"""The answer that takes the last fault off the list again."""


def _is_yes(text: str) -> bool:
    """Whether it was a yes. Raises `Refusal` for what is neither yes nor no."""
    typed = text.strip().casefold()
    if typed not in ("y", "yes", "n", "no"):
        raise Refusal("Type yes if it is so, or no to put it right; Esc leaves it.")
    return typed.startswith("y")
