"""A page where work is done: it calls jobs that change something, shows what came of it, and keeps it to be read."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from stockroom.domain.stamp import Stamp
from stockroom.jobs.papers import Paper, together
from stockroom.screens.desk import Desk
from stockroom.screens.page import Page
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place

if TYPE_CHECKING:
    from stockroom.jobs.printing import Printed
    from stockroom.screens.calls import Jobs

TOLD_KEPT = 6
"""How many things that were done on a page stay to be read."""


def offer_words(papers: Sequence[Paper]) -> str:
    """That the print key prints these.

    >>> offer_words([Paper("tag", ("R1042L",))])
    'Ctrl and P prints tag R1042L.'
    """
    return f"Ctrl and P prints {', '.join(paper.title for paper in papers)}."


class WorkPage(Page):
    """A page that does what scans and keys ask, and says what it did."""

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(id=id)
        self.desk = desk
        self._page_name = id
        self._told: list[str] = []
        self._fresh: tuple[Paper, ...] = ()

    def change(
        self,
        title: str,
        job: Callable[[Stamp], Any],
        words: Callable[[Any], tuple[str, ...]],
        prints: Callable[[Any, Any], tuple[Paper, ...]] = lambda _result, _now: (),
        refused: Callable[[], None] = lambda: None,
    ) -> None:
        """Call a job that changes something, then show what there is now and say what was done, in `words`.

        `prints` gives the papers that belong to what was done, from its result and from what there is now: the print
        key offers them first. `refused` is called when the job was refused and that is said: to ask once more.
        """

        def offered(result: Any, fresh: tuple[Paper, ...], _stamp: Stamp) -> tuple[str, ...]:
            said = words(result)
            return (f"{said[0]} {offer_words(fresh)}", *said[1:]) if fresh else said

        self._change(title, job, prints, offered, refused)

    def change_and_print(
        self,
        title: str,
        job: Callable[[Stamp], Any],
        words: Callable[[Any], tuple[str, ...]],
        prints: Callable[[Any, Any], tuple[Paper, ...]],
        start_at: int = 0,
    ) -> None:
        """The same; but what belongs to what was done is printed at once. It is offered first, to be printed again.

        `start_at`: the first free label of a used sheet, from 1; 0 where nobody said.
        """

        def printed(result: Any, fresh: tuple[Paper, ...], stamp: Stamp) -> tuple[str, ...]:
            said = words(result)
            if fresh:
                self._print(fresh, stamp, said, start_at)
            return said

        self._change(title, job, prints, printed, lambda: None)

    def _change(
        self,
        title: str,
        job: Callable[[Stamp], Any],
        prints: Callable[[Any, Any], tuple[Paper, ...]],
        tells: Callable[[Any, tuple[Paper, ...], Stamp], tuple[str, ...]],
        refused: Callable[[], None],
    ) -> None:
        place = Place(self._page_name, self.named)

        def signed(stamp: Stamp) -> None:
            def done(answer: tuple[Any, Sequence[Hashable], Any]) -> None:
                result, moments, now = answer
                fresh = prints(result, now)
                said = tells(result, fresh, stamp)
                if self.named == place.named:
                    self._fresh = together((*fresh, *self._fresh))
                    self.note(*said)
                    self.fill(now)
                    if self.display:
                        self.desk.saw(*moments)
                self.report(*said)

            def work() -> tuple[Any, Sequence[Hashable], Any]:
                jobs, before = self.desk.jobs, self.desk.moment()
                result = job(stamp)
                after = self.desk.moment()
                part = self.read_part(result, jobs, stamp)
                if part is not None:
                    return result, (after, before), part
                return result, (after,), self.read(jobs, place)

            def failed() -> None:
                # Nobody is asked again where other things have been opened since.
                if self.display and self.named == place.named:
                    refused()

            self.desk.do(title, work, done, failed)

        self.desk.signed(signed)

    def read_part(self, result: Any, jobs: Jobs, stamp: Stamp) -> Any:
        """What there is to show when a job has given this result, if that is known from reading a part of it again.

        `None`: all of it is read. What others have done beside that part is found by the next look around.
        """
        del result, jobs, stamp
        return None

    def _print(self, papers: tuple[Paper, ...], stamp: Stamp, said: tuple[str, ...], start_at: int) -> None:
        """Print what belongs to what was done, which is `said` already: it stands whatever becomes of the paper."""

        def done(printed: Printed) -> None:
            if printed.trouble:
                self.desk.refuse(printed.trouble)
            self.report(f"{said[0]} {printed.sentence} Ctrl and P prints it again.", *said[1:])

        def failed(fault: Exception) -> None:
            self.desk.failed(fault)
            self.report(f"{said[0]} {offer_words(papers)}", *said[1:])

        self.desk.send("Printing", lambda: self.desk.jobs.printing(papers, stamp, start_at), done, failed)

    def papers(self) -> tuple[Paper, ...]:
        """What belongs to what was done here just now, then what there always is."""
        return (*self._fresh, *(paper for paper in self.usual_papers() if paper not in self._fresh))

    def usual_papers(self) -> tuple[Paper, ...]:
        """What can be printed here whatever was done before."""
        return ()

    def was_printed(self, papers: Sequence[Paper]) -> None:
        self._fresh = tuple(paper for paper in self._fresh if paper not in papers)

    def report(self, *words: str) -> None:
        """Tell what was done; the first of the words says it, those that follow need attention."""
        self.desk.mention(("  ".join(words), "bold" if len(words) > 1 else ""))
        self.desk.head()

    def note(self, *words: str) -> None:
        """Keep what was done, to be read again beside the rows. It shows with the next filling of the page."""
        self._told = [*words, *self._told][:TOLD_KEPT]

    def told(self) -> Iterator[Line]:
        """What was done here, latest first."""
        for words in self._told:
            yield sentence(words, hang=2)

    def forget(self) -> None:
        """Another order is shown: what was done for the one before is told no more."""
        self._told.clear()
        self._fresh = ()

    def show_text(self) -> None:
        """Show the highlighted row in full, and what there is to know beside."""
        raise NotImplementedError
