"""The undo page: what was done last, by whom and when, and whether it can be taken back. Enter takes one back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from textual import on
from textual.app import ComposeResult

from stockroom.jobs.undo import DoneJob, ListedJob, Undone
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import SIGN, Line, sentence
from stockroom.screens.place import Place
from stockroom.screens.row_list import Cell, Column, RowList
from stockroom.screens.wording import counted, day
from stockroom.screens.work_page import WorkPage

EMPTY = (
    "Nothing was done in this shop yet.\n\nWhatever is done at a screen or in a shell stands here, and can be undone."
)
MOST_LISTED = 500
_LOOKED_AT_ONCE = 4
"""Jobs that are looked at in one go: a scan that comes meanwhile has its turn behind them."""
_YES = ("y", "yes")
_WIDE = 120


def _when(job: ListedJob) -> str:
    return f"{day(job.at.date()).strip()} {job.at:%H:%M}"


def _words(job: ListedJob) -> str:
    return f"{job.number} {job.what} {job.by} {_when(job)}"


def undone_words(undone: Undone) -> tuple[str, ...]:
    """What taking a job back did, in sentences; what must be thrown away stands out."""
    first = " ".join((f"Undone: {undone.what} ({undone.by}).", *undone.sentences))
    return (first, *((f"{SIGN} Throw away: {', '.join(undone.throw_away)}.",) if undone.throw_away else ()))


class UndoPage(WorkPage):
    """What was done last."""

    things = "job"
    LISTS_STOCK_PAGES = True
    OF_STOCK = True
    prints = False
    KEYS = (Key("^T", "Take back", "page_key('^T')", "undo the highlighted job; so does Enter. It asks first"),)
    SCANNING = (
        "Scan a tag or type an order's number at any time; Enter opens it.",
        "Enter alone undoes the highlighted job, when you have said yes.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._jobs: tuple[ListedJob, ...] | None = None
        self._looked_at: dict[int, DoneJob] = {}
        self._stale: set[int] = set()
        """Numbers of those that were looked at before something else was done."""
        self._is_looking = False

    def compose(self) -> ComposeResult:
        columns: tuple[Column[ListedJob], ...] = (
            Column("Job", lambda job: Cell(f"{job.number:>6}"), 6),
            Column("When", lambda job: Cell(f"{job.at:%d %b %H:%M}"), 12, shown_below=_WIDE),
            Column("When", lambda job: Cell(f"{day(job.at.date())} {job.at:%H:%M}"), 17, shown_from=_WIDE),
            Column("By", lambda job: Cell(job.by), 8),
            Column("What", lambda job: Cell(job.what), 20, grow=1),
            Column("Undo", self._standing, 13),
        )
        yield RowList(columns, key=lambda job: job.number, words=_words, empty=EMPTY, id="undo-rows")
        yield TextPane(id="undo-text", parts=2)

    # What it shows

    def reading(self, place: Place) -> str:
        del place
        return "Reading what was done"

    def read(self, jobs: Jobs, place: Place) -> tuple[ListedJob, ...]:
        del place
        return jobs.undoing.latest_jobs(MOST_LISTED)

    def fill(self, jobs: tuple[ListedJob, ...]) -> None:
        """Show these jobs. What was known of the others may be true no more: it is looked at again."""
        self._jobs = jobs
        self._looked_at = {job.number: known for job in jobs if (known := self._looked_at.get(job.number))}
        self._stale = set(self._looked_at)
        self.rows.fill(jobs)

    @property
    def answer(self) -> tuple[ListedJob, ...] | None:
        return self._jobs

    @property
    def heading(self) -> str:
        if not self.rows.filled:
            return "Undo"
        latest = "the latest " if self.rows.total >= MOST_LISTED else ""
        return f"Undo  ·  {latest}{counted(self.rows.total, self.things)}"

    @property
    def rows(self) -> RowList[Any]:
        return self.query_one("#undo-rows", RowList)

    @property
    def panes(self) -> tuple[RowList[Any] | TextPane, ...]:
        return (self.rows, self.query_one("#undo-text", TextPane))

    def _standing(self, job: ListedJob) -> Cell:
        if job.undone_by:
            return Cell(f"undone ({job.undone_by})", "quiet")
        if job.undoes is not None:
            return Cell("an undo", "quiet")
        known = self._looked_at.get(job.number)
        if known is None:
            return Cell("…", "quiet")
        return Cell("can be", "strong") if known.can_be_undone else Cell("cannot be", "quiet")

    def show_text(self) -> None:
        """Show the highlighted job in full, and what was undone here."""
        job: ListedJob | None = self.rows.row
        self.query_one("#undo-text", TextPane).show(() if job is None else self._job_words(job), self.told())

    def _job_words(self, job: ListedJob) -> Iterator[Line]:
        yield sentence((f"Job {job.number}  {job.what}", "bold"), hang=2)
        yield sentence(f"done by {job.by}, {_when(job)}", hang=2)
        known = self._looked_at.get(job.number)
        if job.undone_by and job.undone_at:
            when = f"{day(job.undone_at.date()).strip()} {job.undone_at:%H:%M}"
            yield sentence(f"Undone by {job.undone_by}, {when}.", hang=2)
        elif job.undoes is not None:
            yield sentence(f"It took back job {job.undoes}. To have that again, do it again.", hang=2)
        elif known is None:
            yield sentence("Whether it can be undone is being looked at.", hang=2)
        elif known.can_be_undone:
            yield sentence(("Enter undoes it", "bold"), ", when you have said yes.", hang=2)
            if known.printed:
                yield sentence(f"Printed for it, and void then: {', '.join(known.printed)}.", hang=2)
        else:
            yield sentence((f"{SIGN} It cannot be undone.  ", "bold"), known.why_not, hang=2)

    @on(RowList.Highlighted)
    def _show_job(self) -> None:
        self.show_text()
        self._look_at_more()

    @on(RowList.Chosen)
    def _keep(self, event: RowList.Chosen) -> None:
        """A click highlights a job, which shows it in full."""
        event.stop()

    # Whether they can be undone: of those in view only, the highlighted one first, off the screen's thread

    def on_resize(self) -> None:
        """Only once it is laid out is it known which rows are in view, and more may be than were."""
        self.call_after_refresh(self._look_at_more)

    def _look_at_more(self) -> None:
        wanted = [] if self._is_looking else self._to_look_at()
        if not wanted:
            return
        self._is_looking = True
        look_at = self.desk.jobs.undoing.look_at
        self.desk.send(
            "Looking what can be undone",
            lambda: look_at(wanted),
            lambda found: self._saw(wanted, found),
            self._saw_none,
        )

    def _to_look_at(self) -> list[int]:
        """Numbers of those in view of which nothing is known now; the highlighted one first."""
        highlighted: ListedJob | None = self.rows.row
        first = (highlighted,) if highlighted is not None else ()
        unknown = (
            job.number
            for job in (*first, *self.rows.in_view)
            if not job.undone_by
            and job.undoes is None
            and (job.number not in self._looked_at or job.number in self._stale)
        )
        return list(dict.fromkeys(unknown))[:_LOOKED_AT_ONCE]

    def _saw(self, wanted: list[int], found: tuple[DoneJob, ...]) -> None:
        self._is_looking = False
        self._stale -= set(wanted)
        self._looked_at |= {one.number: one for one in found}
        self.rows.refresh()
        if self.rows.row is not None and self.rows.row.number in wanted:
            self.show_text()
        self._look_at_more()

    def _saw_none(self, fault: Exception) -> None:
        self._is_looking = False
        self.desk.failed(fault)

    # Taking one back

    def open_highlighted(self) -> None:
        """Ask whether the highlighted job is to be undone."""
        job: ListedJob | None = self.rows.row
        if job is None:
            self.desk.tell("No job is highlighted.")
            return
        look_at = self.desk.jobs.undoing.look_at
        self.desk.do(f"Looking at job {job.number}", lambda: look_at([job.number]), self._ask)

    def press(self, key: str) -> None:
        """The one key that there is does what Enter does."""
        del key
        self.open_highlighted()

    def _ask(self, found: tuple[DoneJob, ...]) -> None:
        if not self.display:
            return  # somebody has gone elsewhere meanwhile, where Enter means something else
        for job in found:
            if job.why_not:
                self.desk.refuse(f"Job {job.number}, {job.what}, cannot be undone. {job.why_not}")
                return
            void = f"  Then void: {', '.join(job.printed)}." if job.printed else ""
            self.desk.tell((f"Job {job.number}: {job.what} ({job.by}, {_when(job)}).{void}", "bold"))
            self.desk.ask(
                Question(
                    f"Undo job {job.number}", "Enter or y undoes it; Esc leaves it", self._answered(job.number), _YES[0]
                )
            )

    def _answered(self, number: int) -> Any:
        def answered(text: str) -> None:
            if text.casefold() not in _YES:
                self.desk.tell(f"Job {number} stands as it was.")
                return
            undo = self.desk.jobs.undoing.undo
            self.change(f"Undoing job {number}", lambda stamp: undo(number, stamp), undone_words)

        return answered
