"""A page where work is done: it calls jobs that change something, shows what came of it, and keeps it to be read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from stockroom.domain.stamp import Stamp
from stockroom.screens.desk import Desk
from stockroom.screens.page import Page
from stockroom.screens.paragraphs import Line, sentence
from stockroom.screens.place import Place

TOLD_KEPT = 6
"""How many things that were done on a page stay to be read."""


class WorkPage(Page):
    """A page that does what scans and keys ask, and says what it did."""

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(id=id)
        self.desk = desk
        self._page_name = id
        self._told: list[str] = []

    def change(self, title: str, job: Callable[[Stamp], Any], words: Callable[[Any], tuple[str, ...]]) -> None:
        """Call a job that changes something, then show what there is now and say what was done, in `words`."""
        place = Place(self._page_name, self.named)

        def signed(stamp: Stamp) -> None:
            self.desk.do(title, lambda: (job(stamp), self.read(self.desk.jobs, place)), done)

        def done(answer: tuple[Any, Any]) -> None:
            result, now = answer
            said = words(result)
            if self.named == place.named:
                self.note(*said)
                self.fill(now)
            self.report(*said)

        self.desk.signed(signed)

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

    def show_text(self) -> None:
        """Show the highlighted row in full, and what there is to know beside."""
        raise NotImplementedError
