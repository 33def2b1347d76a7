"""The bench page: every bundle in the sewing room, where it is, who has it and since when. A scan moves one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.bundle import BenchBundle, BundleMoved, Tied
from stockroom.jobs.papers import Paper, of_bundle, tags_again
from stockroom.jobs.sew import Sewn
from stockroom.screens.bundling import Stages, whither
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.leaving_over import ask_keep
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted, day, wanted
from stockroom.screens.work_page import WorkPage

EMPTY = "No bundles in the sewing room.\n\nWhen panels are cut, tie them: Ctrl and T, then the order's number."
_WIDE = 120
Bench = tuple[tuple[BenchBundle, ...], Stages]


def _where(bundle: BenchBundle) -> Cell:
    return Cell(bundle.where, "strong" if bundle.stage else "")


def _since_short(bundle: BenchBundle) -> Cell:
    return Cell(f"{bundle.days} d")


def _since_long(bundle: BenchBundle) -> Cell:
    return Cell(f"{day(bundle.since.date())} {bundle.since:%H:%M}, {counted(bundle.days, 'day')}")


def _wanted(bundle: BenchBundle) -> Cell:
    if bundle.overdue_days:
        return Cell(f"OVERDUE {bundle.overdue_days} d", "alarm")
    return Cell(day(bundle.wanted) if bundle.wanted else " open")


COLUMNS: tuple[Column[BenchBundle], ...] = (
    Column("Bundle", lambda bundle: Cell(bundle.tag), 7),
    Column("Order", lambda bundle: Cell(bundle.order, "strong"), 7),
    Column("Customer", lambda bundle: Cell(bundle.customer), 14, grow=1, shown_from=_WIDE),
    Column("Kit", lambda bundle: Cell(bundle.kit), 12, grow=3),
    Column("Where", _where, 14, grow=2),
    Column("Since", _since_short, 5, shown_below=_WIDE),
    Column("Since", _since_long, 26, shown_from=_WIDE),
    Column("By", lambda bundle: Cell(bundle.by), 4),
    Column(" Wanted", _wanted, 13),
)


def _words(bundle: BenchBundle) -> str:
    return " ".join(
        (bundle.tag, bundle.order, bundle.customer, bundle.kit, bundle.where, bundle.stage, bundle.holder, bundle.by)
    )


def bundle_words(bundle: BenchBundle) -> Iterator[Line]:
    """One bundle in full, since its row may have been cut short."""
    yield sentence((f"{bundle.tag}  {bundle.kit}", "bold"), f", {counted(bundle.pieces, 'piece')}", hang=2)
    due = wanted(bundle.wanted, bundle.overdue_days)
    yield sentence(f"order {bundle.order}, {bundle.customer}, {due}", hang=2)
    to_sew = [f"{one.title} ({one.tag}) of {one.panels} panels" for one in bundle.assemblies if not one.by]
    if to_sew:
        yield sentence(("To sew  ", "bold"), ";  ".join(to_sew), hang=8)
    sewn = [f"{one.title} ({one.tag}), {one.by}" for one in bundle.assemblies if one.by]
    if sewn:
        yield sentence(("Sewn, one piece each  ", "bold"), ";  ".join(sewn), hang=8)
    since = f"{day(bundle.since.date()).strip()} {bundle.since:%H:%M}"
    yield sentence((bundle.where, "bold"), f" since {since} ({counted(bundle.days, 'day')}), scanned by {bundle.by}")


def bench_words(stages: Stages) -> Iterator[Line]:
    """The stages that there are."""
    listed = ",  ".join(f"{turn} {title}" for turn, (_, title) in enumerate(stages, 1))
    yield sentence(("Stages  ", "bold"), listed or "none; load a table of stages first", hang=8)


def tied_words(tied: Tied) -> tuple[str, ...]:
    """What tying did, in sentences."""
    return (tied.sentence, *(f"{SIGN} Not tied: {words}" for words in tied.not_cut))


class BenchPage(WorkPage):
    """The bundles."""

    things = "bundle"
    KEYS = (
        Key("^O", "Out or in", "page_key('^O')", "say where the highlighted bundle goes; so does Enter"),
        Key("^N", "Back in", "page_key('^N')", "the highlighted bundle is back at the bench"),
        Key("^F", "Sewn", "page_key('^F')", "the panels of its pieces are sewn together"),
        Key("^T", "Tie", "page_key('^T')", "tie the cut panels of an order"),
    )
    SCANNING = (
        "Scan a bundle, then type its stage (name or number); Enter alone: back in.",
        "Left over: its place in stock. Scan a piece of several panels: it is sewn.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._bench: Bench | None = None

    def compose(self) -> ComposeResult:
        yield RowList(COLUMNS, key=lambda bundle: bundle.tag, words=_words, empty=EMPTY, id="bench-rows")
        yield TextPane(id="bench-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        del place
        return "Reading the bench"

    def read(self, jobs: Jobs, place: Place) -> Bench:
        del place
        return jobs.bench.bench(jobs.now()), jobs.bench.stages()

    def fill(self, bench: Bench) -> None:
        """Show these bundles, in the order in which the job gave them."""
        self._bench = bench
        self.rows.fill(bench[0])

    @property
    def answer(self) -> Bench | None:
        return self._bench

    def orders(self) -> tuple[str, ...]:
        bundle: BenchBundle | None = self.rows.row
        return (bundle.order,) if bundle is not None else ()

    def usual_papers(self) -> tuple[Paper, ...]:
        bundle: BenchBundle | None = self.rows.row
        return of_bundle(bundle) if bundle is not None else ()

    @property
    def heading(self) -> str:
        return f"Bench  ·  {counted(self.rows.total, self.things)}" if self.rows.filled else "Bench"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#bench-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#bench-text", TextPane))

    @property
    def _known(self) -> tuple[BenchBundle, ...]:
        return self._bench[0] if self._bench else ()

    @property
    def _stages(self) -> Stages:
        return self._bench[1] if self._bench else ()

    def show_text(self) -> None:
        """Show the highlighted bundle in full, and the stages."""
        bundle: BenchBundle | None = self.rows.row
        notes = (*self.told(), *bench_words(self._stages)) if self._bench else ()
        self.query_one("#bench-text", TextPane).show(() if bundle is None else bundle_words(bundle), notes)

    @on(RowList.Highlighted)
    def _show_bundle(self) -> None:
        self.show_text()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a bundle, which shows it in full."""
        event.stop()

    # What is done on it

    def take_scan(self, text: str) -> bool:
        """A bundle's tag asks where it goes, a piece of several panels is sewn; anything else is opened."""
        if not is_tag(text):
            return False
        tag = str(read_tag(text))
        sewn_of = next((one for one in self._known if tag in {piece.tag for piece in one.assemblies}), None)
        if sewn_of is not None:
            self.desk.put_away(text)
            self.rows.find(lambda bundle: bundle.tag == sewn_of.tag)
            self._sew(sewn_of, tag)
            return True
        if read_tag(text).kind != "T":
            return False
        self.desk.put_away(text)
        self.rows.find(lambda bundle: bundle.tag == tag)
        self._ask_where(tag)
        return True

    def open_highlighted(self) -> None:
        """Ask where the highlighted bundle goes."""
        if self.rows.row is not None:
            self._ask_where(self.rows.row.tag)

    def press(self, key: str) -> None:
        """Do what a key does."""
        if key == "^T":
            self._ask_order()
        elif self.rows.row is None:
            self.desk.tell("No bundle is highlighted.")
        elif key == "^F":
            self._ask_sewn(self.rows.row)
        elif key == "^N":
            self._move_back(self.rows.row.tag)
        else:
            self._ask_where(self.rows.row.tag)

    def _ask_where(self, tag: str) -> None:
        bundle = next((one for one in self._known if one.tag == tag), None)
        is_out = bundle is not None and bundle.stage

        def answered(text: str) -> None:
            if text == _BACK:
                self._move_back(tag)
            else:
                stage, holder = whither(text, self._stages)
                out = self.desk.jobs.bench.out
                self.change(f"Moving {tag}", lambda stamp: out(tag, stage, holder, stamp), _moved_words)

        if bundle is not None and bundle.is_left_over and not bundle.stage:
            ask_keep(self, tag, f"Order {bundle.order} is cancelled. {bundle.kit}, the whole kit")
            return
        if bundle is not None:
            self.desk.tell((f"{tag}, order {bundle.order}: {bundle.kit}, {bundle.where}.", "bold"))
        hint = "the stage's name or number, then perhaps a comma and who has it"
        if is_out:
            hint = "Enter takes it back in; or another stage, a comma, who has it"
        self.desk.ask(Question(f"{tag} goes to", hint, answered, _BACK if is_out else ""))

    def _ask_sewn(self, bundle: BenchBundle) -> None:
        """Ask which pieces of a bundle are sewn; where there is one only, it is that."""
        to_sew = [one for one in bundle.assemblies if not one.by]
        if len(to_sew) < 2:
            self._sew(bundle, to_sew[0].tag if to_sew else bundle.tag)
            return

        def answered(text: str) -> None:
            turns = {str(turn): one.tag for turn, one in enumerate(to_sew, 1)} | {_ALL: bundle.tag}
            if text.strip().casefold() not in turns:
                raise Refusal(f"Type 1 to {len(to_sew)}, or scan the piece's tag; Enter says that all are sewn.")
            self._sew(bundle, turns[text.strip().casefold()])

        offers = ",  ".join(f"{turn} {one.title} ({one.tag})" for turn, one in enumerate(to_sew, 1))
        self.desk.tell((f"To sew in {bundle.tag}:  {offers}.", "bold"))
        self.desk.ask(Question("Sewn is", f"Enter: all of them; or 1 to {len(to_sew)}; or scan it", answered, _ALL))

    def _sew(self, bundle: BenchBundle, tag: str) -> None:
        """Book that a piece, or all of a bundle, is sewn; where the bundle is out, ask first whether it was there."""

        def book(at: str) -> None:
            sew = self.desk.jobs.bench.sew
            self.change(f"Sewing {tag}", lambda stamp: sew(tag, stamp, at), _sewn_words, _sewn_papers)

        def answered(text: str) -> None:
            if text != bundle.stage:
                raise Refusal(f"{bundle.tag} is {bundle.where}. Enter alone says: sewn there. Esc leaves it.")
            book(text)

        if not bundle.stage or all(one.by for one in bundle.assemblies if tag in {one.tag, bundle.tag}):
            book("")
            return
        self.desk.tell((f"{bundle.tag} is {bundle.where}.", "bold"))
        hint = "Enter: yes, sewn there; Esc leaves it; scan the bundle: back in"
        self.desk.ask(Question(f"Is {tag} sewn", hint, answered, bundle.stage))

    def _ask_order(self) -> None:
        offered = next(iter(self.orders()), "")

        def answered(number: str) -> None:
            tie = self.desk.jobs.bench.tie
            self.change(f"Tying order {number}", lambda stamp: tie(number, stamp), tied_words, _tied_papers)

        hint = f"Enter takes {offered}; or an order's number" if offered else "an order's number"
        self.desk.ask(Question("Tie which order", hint, answered, offered))

    def _move_back(self, tag: str) -> None:
        self.change(f"Moving {tag}", lambda stamp: self.desk.jobs.bench.back(tag, stamp), _moved_words)


_BACK = "back in"
"""The answer that takes a bundle back to the bench."""


_ALL = "all"
"""The answer that says that all of a bundle is sewn."""


def _sewn_words(sewn: Sewn) -> tuple[str, ...]:
    return (sewn.sentence,)


def _sewn_papers(sewn: Sewn, _: Bench) -> tuple[Paper, ...]:
    return tags_again(*(tag for tag, _ in sewn.pieces))


def _tied_papers(tied: Tied, _: Bench) -> tuple[Paper, ...]:
    return (Paper("bundle-tags", (tied.order,)),)


def _moved_words(moved: BundleMoved) -> tuple[str, ...]:
    return (moved.sentence,)
