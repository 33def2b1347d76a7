"""The keys of the page that one came from, and how scanning works. It fits a screen of 80 by 24."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.app import ComposeResult

from stockroom.screens.key_line import Key
from stockroom.screens.page import Page, TextPane
from stockroom.screens.paragraphs import Line, sentence

_ROOM = len("Enter")
"""Cells for a key, or two short ones."""


def help_words(scanning: Sequence[str], keys: Sequence[Key]) -> Iterator[Line]:
    """The keys of a page, and how scanning works on it."""
    for line in scanning:
        yield sentence(line)
    for key in (key for key in keys if key.help):
        yield sentence("  ", (key.shown.ljust(_ROOM), "bold"), f"  {key.help}", hang=_ROOM + 4)


class HelpPage(Page):
    """The keys."""

    reads = False
    prints = False
    name_of_page = ""

    def compose(self) -> ComposeResult:
        yield TextPane(id="help-text")

    def show_keys(self, name: str, scanning: Sequence[str], keys: Sequence[Key]) -> None:
        """Show the keys of the page called `name`."""
        self.name_of_page = name
        self.panes[0].show(help_words(scanning, keys))

    @property
    def heading(self) -> str:
        return f"Help  ·  Keys on this page: {self.name_of_page}"

    @property
    def panes(self) -> tuple[TextPane, ...]:
        return (self.query_one(TextPane),)
