"""Who is at the screen: initials are given once, and stand on all that is done until somebody else gives theirs."""

from __future__ import annotations

from collections.abc import Callable

from stockroom.domain.stamp import Stamp, given_at
from stockroom.screens.desk import Desk, Question

_HINT = "your initials, 1 to 8 letters; they stand on all you do"


class Signing:
    """The initials, and what waits for them."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._waiting: list[Callable[[Stamp], None]] = []
        self.by = ""
        """Initials of whoever is at the screen; '' until they are given."""

    def signed(self, then: Callable[[Stamp], None]) -> None:
        """Call `then` with the initials and now; ask first where there are none. What waits is done in its order."""
        if self.by:
            then(Stamp(self.by, self._desk.now()))
            return
        self._waiting.append(then)
        self._ask("")

    def ask_again(self) -> None:
        """Ask for the initials of somebody else."""
        self._ask(self.by)

    def asks(self, question: Question) -> bool:
        """Whether it is a question for the initials."""
        return question.answered == self._given

    def forget(self) -> bool:
        """Drop what waits for initials that nobody gave; whether anything did."""
        waited = bool(self._waiting)
        self._waiting.clear()
        return waited

    def _ask(self, offered: str) -> None:
        hint = f"Enter keeps {offered}; or type other initials" if offered else _HINT
        self._desk.ask(Question("Initials", hint, self._given, offered, stays=True))

    def _given(self, text: str) -> None:
        """Raises `Refusal` for what cannot be initials."""
        self.by = given_at(text, self._desk.now()).by
        waiting, self._waiting = self._waiting, []
        # What waited may ask something itself: this question is done with first.
        self._desk.leave_question()
        for then in waiting:
            self.signed(then)
