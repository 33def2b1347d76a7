"""The scan line asks: a question stands before it until it is answered or left."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from stockroom.screens.desk import Question
from stockroom.screens.typed import ScanLine
from stockroom.screens.wording import plain

READY = "Scan ▸"
"""Stands before the scan line while nothing is asked."""


class Asking:
    """What is asked now, if anything, and on which page it was asked."""

    def __init__(self) -> None:
        self.question: Question | None = None
        self._page = ""

    def ask(self, question: Question, page: str, label: Static, line: ScanLine) -> None:
        """Ask something on a page, in place of what was asked before."""
        self.question, self._page = question, page
        label.update(Content(f"{plain(question.asks)} ▸"))
        line.show_question(question.hint)

    def leave(self, label: Static, line: ScanLine) -> None:
        """Ask no more."""
        self.question = None
        label.update(Content(READY))
        line.end_question()

    def belongs_elsewhere(self, page: str) -> bool:
        """Whether something is asked that makes no sense on this page. Help is read beside any question."""
        return self.question is not None and page not in {self._page, "help"}
