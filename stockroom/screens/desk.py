"""What a page asks of the screen around it: to run a job, to ask the person something, to tell them something."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from stockroom.domain.stamp import Stamp
from stockroom.screens.place import Place

if TYPE_CHECKING:
    from stockroom.screens.calls import Jobs

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Question:
    """Something that the scan line asks; the next text that is entered answers it."""

    asks: str
    """What is asked, in a word or three: it stands where 'Scan' stood."""
    hint: str
    """What may be typed; it stands in the empty line."""
    answered: Callable[[str], None]
    """Called with the answer on the screen's thread. It may raise `Refusal`: then the question stays."""
    offered: str = ""
    """What Enter alone answers; with '' there is no such answer."""
    takes_tags: bool = False
    """Whether a tag is an answer. Otherwise a scan does what it does everywhere."""
    stays: bool = False
    """Whether it is still asked after such a scan."""


class Desk(Protocol):
    """The screen, as its pages know it."""

    @property
    def jobs(self) -> Jobs:
        """The jobs there are."""

    def now(self) -> datetime:
        """An aware moment: now."""

    def do(
        self,
        title: str,
        job: Callable[[], Answer],
        done: Callable[[Answer], None],
        refused: Callable[[], None] = lambda: None,
    ) -> None:
        """Call a job off the screen's thread, after those asked for before; then `done` with its answer.

        A refusal is shown, and `refused` is called instead.
        """

    def send(
        self,
        title: str,
        job: Callable[[], Answer],
        done: Callable[[Answer], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """The same, without taking away what is told above the scan line; a fault of the job goes to `failed`."""

    def moment(self) -> Any:
        """How far the shop has come. Asked off the screen's thread, before anything is read."""

    def saw(self, moment: Any, before: Any = None) -> None:
        """What the page shows now was read at this moment: it need not be read again until more is done.

        `before`: only what one job changed since that moment was read; that will do where nobody did anything else.
        """

    def failed(self, fault: Exception) -> None:
        """Show why something was not done, and ring."""

    def signed(self, then: Callable[[Stamp], None]) -> None:
        """Call `then` with the initials of whoever is at the screen, and now; ask for them first if nobody has."""

    def ask(self, question: Question) -> None:
        """Ask something in the scan line."""

    def action_filter(self) -> None:
        """Type into the filter, where the page has a list."""

    @property
    def question(self) -> Question | None:
        """What is asked now, if anything."""

    def leave_question(self) -> None:
        """Ask no more."""

    def put_away(self, text: str) -> None:
        """Clear the scan line if it still shows this text, which is done with."""

    def tell(self, *parts: str | tuple[str, str]) -> None:
        """Show a sentence above the scan line."""

    def mention(self, *parts: str | tuple[str, str]) -> None:
        """The same; but a refusal that nobody can have read yet stays before it."""

    def head(self) -> None:
        """Write the top line again: the page's heading says something else now."""

    def refuse(self, words: str) -> None:
        """Show why something was not done, and ring."""

    def go(self, place: Place) -> None:
        """Turn to another place and read it."""

    def go_instead(self, place: Place) -> None:
        """The same where what is shown is no more: Esc does not lead back to it."""
