"""The pack page: the pieces of an order, each packed or not, and its parcels. A scan packs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag, read_tag
from stockroom.domain.wording import quoted
from stockroom.jobs.pack import PARCELS, TO_THE_CAR, PackingList, PackParcel, PackPiece, PieceMoved, Sent
from stockroom.jobs.papers import Paper, of_packing, tags_again
from stockroom.jobs.spoil import SpoiltPanel
from stockroom.screens.calls import Jobs
from stockroom.screens.customers_parts import ask_where_to, part_tag
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted
from stockroom.screens.work_page import WorkPage

EMPTY = "This order has no pieces yet.\nWhat it waits for, if anything, is said below."
_WIDE = 120


def state_words(piece: PackPiece) -> str:
    """How far a piece is."""
    return f"in {piece.parcel} ({piece.by})" if piece.state == "packed" else piece.state


def _state(piece: PackPiece) -> Cell:
    return Cell(state_words(piece), {"packed": "quiet", "ready": "strong"}.get(piece.state, "alarm"))


COLUMNS: tuple[Column[PackPiece], ...] = (
    Column("Packed", _state, 10),
    Column("Tag", lambda piece: Cell(piece.tag), 7),
    Column("Piece", lambda piece: Cell(piece.piece or "packet", "strong"), 6),
    Column("Title", lambda piece: Cell(piece.title), 14, grow=3),
    Column("Hand", lambda piece: Cell(piece.hand), 5),
    Column("By", lambda piece: Cell("scan" if piece.must_scan else "or tick"), 7),
    Column("Kit", lambda piece: Cell(piece.kit), 8, grow=1),
    Column("Bundle", lambda piece: Cell(piece.bundle), 7),
    Column("Line", lambda piece: Cell(str(piece.line)), 4, shown_from=_WIDE),
    Column("Car", lambda piece: Cell(piece.car), 10, grow=1, shown_from=_WIDE),
    Column("Lacks", lambda piece: Cell("; ".join(piece.lacks)), 20, grow=3, shown_from=_WIDE),
)


def _words(piece: PackPiece) -> str:
    return " ".join(
        (piece.tag, piece.piece, piece.title, piece.hand, piece.kit, piece.car, piece.bundle, state_words(piece))
    )


def piece_words(piece: PackPiece) -> Iterator[Line]:
    """One piece in full, with what it lacks."""
    how = "packed by its tag only" if piece.must_scan else "may be ticked"
    words = ", ".join(filter(None, (state_words(piece), how, piece.sewing)))
    yield sentence((f"{piece.title}, {piece.tag}", "bold"), f": {words}", hang=2)
    for lack in piece.lacks:
        yield sentence((f"{SIGN} Lacks ", "bold"), lack, hang=2)


def outcome_words(packing: PackingList, into: int) -> Iterator[Line]:
    """How far the order is, and where the next piece goes."""
    if packing.short_because:
        yield sentence((f"{SIGN} Sent incomplete: ", "bold"), packing.short_because, hang=2)
    elif packing.is_complete:
        yield sentence(("Complete.", "bold"))
    if packing.state == "open":
        yield sentence((f"Into parcel {into}", "bold"), "" if packing.parcels else "; the first piece begins it")


def list_words(packing: PackingList) -> Iterator[Line]:
    """The parcels, and what is owed."""
    for parcel in packing.parcels:
        yield sentence(
            f"Parcel {parcel.number}, {parcel.what}, {parcel.tag}, {parcel.state}: "
            f"{counted(len(parcel.pieces), 'piece')}",
            hang=2,
        )
    for words in packing.customers_parts:
        yield sentence((f"{SIGN} ", "bold"), words, hang=2)
    for words in packing.owed:
        yield sentence((f"{SIGN} Owed ", "bold"), words, hang=2)


def sent_words(sent: Sent) -> tuple[str, ...]:
    """What went out, in sentences."""
    done = "issued to the car" if sent.fitted_here else "sent"
    tags = ", ".join(parcel.tag for parcel in sent.parcels)
    first = f"Order {sent.order} is {done}: {counted(len(sent.parcels), 'parcel')}, {tags}."
    return (first, *(f"{SIGN} Owed: {words}" for words in sent.owed))


def sent_papers(sent: Sent, _: PackingList) -> tuple[Paper, ...]:
    """What is printed of an order that went out: a kit tag for each parcel, and the packing list."""
    named = (sent.order,)
    return (*((Paper("kit-tags", named),) if sent.parcels else ()), Paper("packing-list", named))


def moved_papers(moved: PieceMoved, packing: PackingList) -> tuple[Paper, ...]:
    """The kit tags, once the order is complete."""
    return () if moved.left else tuple(paper for paper in of_packing(packing) if paper.kind == "kit-tags")


def spoilt_words(spoilt: SpoiltPanel) -> tuple[str, ...]:
    """What becomes of a spoilt panel, in sentences."""
    return (spoilt.sentence, *(f"{SIGN} Now short: {words}" for words in spoilt.short))


def moved_words(moved: PieceMoved) -> tuple[str, ...]:
    """What packing or unpacking a piece did."""
    left = f"{counted(moved.left, 'piece')} left to pack." if moved.left else "Every piece is packed."
    return (f"{moved.sentence} {left}",)


def parcel_words(parcel: PackParcel) -> tuple[str, ...]:
    """What a new parcel is."""
    return (f"Parcel {parcel.number} ({parcel.what}, {parcel.tag}) is begun: what is scanned now goes into it.",)


class PackPage(WorkPage):
    """The packing list of one order."""

    things = "piece"
    KEYS = (
        Key("Space", "Tick", "page_key('Space')", "pack the highlighted piece, where it need not be scanned"),
        Key("^R", "Out", "page_key('^R')", "take the highlighted piece out of its parcel"),
        Key("^N", "New parcel", "page_key('^N')", "begin another parcel, or go on with an earlier one"),
        Key("^F", "Spoilt", "page_key('^F')", "a panel of the highlighted piece is spoilt: it is cut again"),
        Key("^L", "Send", "page_key('^L')", "the order is complete and goes out"),
        Key("^K", "Incomplete", "page_key('^K')", "it goes out incomplete: say why"),
    )
    SCANNING = ("Scan a piece: it is packed. Scan a bundle: its order's list opens.",)

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self.packing: PackingList | None = None
        self._into = 1

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda piece: piece.tag, words=_words, empty=EMPTY, id="pack-rows")
        yield TextPane(id="pack-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        return f"Reading the packing list of order {place.first}"

    def read(self, jobs: Jobs, place: Place) -> PackingList:
        return jobs.packing.packing_list(place.first)

    def fill(self, packing: PackingList) -> None:
        """Show this packing list; where a bundle was scanned for it, with the bundle's first piece highlighted."""
        if self.named != (packing.order,):
            self.clear()
            self._into = max((one.number for one in packing.parcels), default=1)
        self.packing = packing
        self.rows.fill(packing.pieces)
        if packing.bundle:
            self.rows.find(lambda piece: piece.bundle == packing.bundle)

    def clear(self) -> None:
        """Show no order."""
        self.packing = None
        self._into = 1
        self.forget()
        self.activate(0)
        self.rows.empty_out()

    @property
    def answer(self) -> PackingList | None:
        return self.packing

    @property
    def named(self) -> tuple[str, ...]:
        return (self.packing.order,) if self.packing else ()

    def orders(self) -> tuple[str, ...]:
        return self.named

    def usual_papers(self) -> tuple[Paper, ...]:
        piece: PackPiece | None = self.rows.row
        again = tags_again(piece.tag) if piece is not None else ()
        return (*of_packing(self.packing), *again) if self.packing else ()

    @property
    def heading(self) -> str:
        if self.packing is None:
            return "Pack"
        left = sum(piece.state != "packed" for piece in self.packing.pieces)
        state = f"{counted(left, 'piece')} left" if self.packing.state == "open" else self.packing.state
        return f"Pack {self.packing.order}  ·  {state}  ·  {self.packing.customer}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#pack-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#pack-text", TextPane))

    def open_highlighted(self) -> None:
        """Open the highlighted piece."""
        if self.rows.row is not None:
            self.post_message(self.Asked(self.rows.row.tag))

    def show_text(self) -> None:
        """Show the highlighted piece in full, the parcels and what is owed."""
        piece: PackPiece | None = self.rows.row
        packing = self.packing
        notes = (*outcome_words(packing, self._into), *self.told(), *list_words(packing)) if packing else ()
        self.query_one("#pack-text", TextPane).show(() if piece is None else piece_words(piece), notes)

    @on(RowList.Highlighted)
    def _show_piece(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a piece, which shows it in full."""
        event.stop()

    # What is done on it

    def take_scan(self, text: str) -> bool:
        """A piece is packed; a customer's part is asked where it goes; anything else is opened as everywhere."""
        if self.packing is not None and part_tag(text):
            self.desk.put_away(text)
            ask_where_to(self, part_tag(text))
            return True
        if self.packing is None or not is_tag(text) or read_tag(text).kind != "P":
            return False
        tag, order = str(read_tag(text)), self.packing.order
        packing = self.desk.jobs.packing

        def packed(moved: PieceMoved) -> tuple[str, ...]:
            self.desk.put_away(text)
            self.rows.find(lambda piece: piece.tag == tag)
            return moved_words(moved)

        self.change(f"Packing {tag}", lambda stamp: packing.pack(order, tag, stamp, self._into), packed, moved_papers)
        return True

    def press(self, key: str) -> None:
        """Do what a key does."""
        if self.packing is None:
            return
        order, piece = self.packing.order, self.rows.row
        ask = {"^N": self._ask_parcel, "^L": self._ask_send, "^K": self._ask_incomplete}.get(key)
        if ask is not None:
            ask(self.packing)
        elif piece is None:
            self.desk.tell("No piece is highlighted.")
        elif key == "^F":
            self._ask_spoilt(piece)
        elif key == "^R":
            packing = self.desk.jobs.packing
            self.change(f"Unpacking {piece.tag}", lambda stamp: packing.unpack(order, piece.tag, stamp), moved_words)
        else:
            packing = self.desk.jobs.packing
            self.change(
                f"Packing {piece.tag}",
                lambda stamp: packing.tick(order, piece.tag, stamp, self._into),
                moved_words,
                moved_papers,
            )

    def _ask_parcel(self, packing: PackingList) -> None:
        kinds = (TO_THE_CAR,) if packing.fitted_here else PARCELS
        numbers = {str(parcel.number): parcel.number for parcel in packing.parcels}

        def answered(text: str) -> None:
            if text in numbers:
                self._into = numbers[text]
                self.show_text()
                self.desk.tell(f"What is scanned now goes into parcel {self._into}.")
                return
            new_parcel = self.desk.jobs.packing.new_parcel
            self.change("Beginning a parcel", lambda stamp: new_parcel(packing.order, text, stamp), begun)

        def begun(parcel: PackParcel) -> tuple[str, ...]:
            self._into = parcel.number
            return parcel_words(parcel)

        hint = f"{' or '.join(kinds)} for a new one (Enter takes {kinds[0]}); or a parcel's number"
        self.desk.ask(Question("Parcel", hint, answered, kinds[0]))

    def _ask_send(self, packing: PackingList) -> None:
        def answered(text: str) -> None:
            if text != "send":
                raise Refusal("Press Enter alone to send the order, or Esc to leave it.")
            close = self.desk.jobs.packing.close
            self.change(
                f"Sending order {packing.order}", lambda stamp: close(packing.order, stamp), sent_words, sent_papers
            )

        hint = "Enter issues it to the car; Esc leaves it" if packing.fitted_here else "Enter sends it; Esc leaves it"
        self.desk.ask(Question(f"Order {packing.order} is complete", hint, answered, "send"))

    def _ask_incomplete(self, packing: PackingList) -> None:
        def answered(because: str) -> None:
            close = self.desk.jobs.packing.close_incomplete
            self.change(
                f"Sending order {packing.order}",
                lambda stamp: close(packing.order, because, stamp),
                sent_words,
                sent_papers,
            )

        self.desk.tell(
            (f"{SIGN} {counted(len(packing.owed), 'thing')} of order {packing.order} would be owed.", "bold")
        )
        self.desk.ask(Question("Send incomplete, because", "why it does not wait; Esc leaves it", answered))

    def _ask_spoilt(self, piece: PackPiece) -> None:
        """Ask how a panel was spoilt, and first which, where the piece is sewn from several."""
        offers = tuple(f"{turn} {panel}" for turn, panel in enumerate(piece.panels, 1))

        def which(text: str) -> None:
            turns = {str(turn): panel for turn, panel in enumerate(piece.panels, 1)}
            panel = turns.get(text, text)
            if panel not in piece.panels:
                raise Refusal(f"{piece.title} has no panel {quoted(text)}. Type 1 to {len(turns)}, or its name.")
            self._ask_how_spoilt(piece, panel)

        if len(piece.panels) > 1:
            self.desk.tell((f"{piece.title} ({piece.tag}) is sewn from  {',  '.join(offers)}.", "bold"))
            self.desk.ask(Question("Which is spoilt", f"1 to {len(offers)}, or its name; Esc leaves it", which))
        else:
            self._ask_how_spoilt(piece, "")

    def _ask_how_spoilt(self, piece: PackPiece, panel: str) -> None:
        def how(because: str) -> None:
            spoil = self.desk.jobs.packing.spoil
            self.change(
                f"Writing down a spoilt panel of {piece.tag}",
                lambda stamp: spoil(piece.tag, panel, because, stamp),
                spoilt_words,
            )

        what = f"{piece.tag} {panel}".strip()
        self.desk.ask(Question(f"{what} was spoilt by", "how it was spoilt, so that the next one is not", how))
