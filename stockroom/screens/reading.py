"""Reading what a page shows, and reading it again when anybody has changed the shop, here or at another screen."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from datetime import date
from typing import Any, Protocol

from stockroom.screens.calls import Jobs
from stockroom.screens.page import Page
from stockroom.screens.place import RAIL, Place

LOOK_SECONDS = 1.0
"""How often it is looked whether anybody has done something."""
Moment = tuple[Hashable, date]
"""How far the shop has come, and the day."""
Read = tuple[Moment, Any]
"""What was read, and how far the shop had come just before."""


def is_next(before: Hashable, after: Hashable) -> bool:
    """Whether the shop has come from the one to the other by a single job, and by nothing else that is written down.

    >>> is_next((7, 3, 1, 0), (8, 3, 1, 0)), is_next((7, 3, 1, 0), (9, 3, 1, 0)), is_next((7, 3, 1, 0), (8, 4, 1, 0))
    (True, False, False)
    """
    if not isinstance(before, tuple) or not isinstance(after, tuple) or not before:
        return False
    return after == (before[0] + 1, *before[1:])


class Room(Protocol):
    """The screen, as its reader knows it."""

    @property
    def jobs(self) -> Jobs:
        """The jobs there are. Asked for off the screen's thread: the shop may have to be opened for them."""

    @property
    def place(self) -> Place:
        """Where one is."""

    def page_at(self, place: Place) -> Page:
        """The page that shows a place."""

    def send(
        self,
        title: str,
        job: Callable[[], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Call a job off the screen's thread, without taking away what is told above the scan line."""

    def glance(
        self,
        title: str,
        job: Callable[[], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """The same, for what nobody has asked for: nothing that is pressed waits for it."""

    def failed(self, fault: Exception) -> None:
        """Show why something was not done, and ring."""

    def tell(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence above the scan line."""

    def head(self) -> None:
        """Write the top line again."""


class Reader:
    """Reads pages, and keeps how far the shop had come when the page that is shown was read."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._seen: Moment | None = None
        self._blind = False

    def moment(self) -> Moment:
        """How far the shop has come. Asked before anything is read, so that no change falls between the two."""
        return self._room.jobs.latest(), self._room.jobs.today()

    def saw(self, moment: Moment) -> None:
        """What is shown now was read at this moment."""
        self._seen = moment

    def saw_one_job(self, before: Moment, after: Moment) -> None:
        """What one job changed between these moments is shown; the rest is old if more was done since it was read."""
        if before == self._seen and before[1] == after[1] and is_next(before[0], after[0]):
            self._seen = after

    def read(self, place: Place) -> None:
        """Read what a place shows, and show it if that is still where one is."""
        self._read(place, self._room.send, self._room.failed)

    def look(self) -> None:
        """Look whether anybody has done anything since the page that is shown was read; read it again if so."""
        if self._seen is not None and self._room.page_at(self._room.place).reads:
            self._room.glance("Looking for changes", self.moment, self._looked, self._saw_nothing)

    def _looked(self, moment: Moment) -> None:
        if self._blind:
            self._blind = False
            self._room.tell("")
        if moment != self._seen:
            self._read(self._room.place, self._room.glance, self._saw_nothing)

    def _saw_nothing(self, fault: Exception) -> None:
        """Say once that what is shown may be old; it is tried again with the next look."""
        if not self._blind:
            self._blind = True
            self._room.failed(fault)

    def _read(self, place: Place, send: Callable[..., None], failed: Callable[[Exception], None]) -> None:
        page = self._room.page_at(place)

        def job() -> Read:
            return self.moment(), page.read(self._room.jobs, place)

        def done(read: Read) -> None:
            self._fill(page, place, read)

        if page.reads:
            send(page.reading(place), job, done, failed)

    def _fill(self, page: Page, place: Place, read: Read) -> None:
        # Something else may have been opened meanwhile: an answer that comes late is dropped. The rail is only one.
        if place not in {self._room.place, RAIL}:
            return
        moment, answer = read
        if place == self._room.place:
            self._seen = moment
        if answer != page.answer:
            page.fill(answer)
        self._room.head()
