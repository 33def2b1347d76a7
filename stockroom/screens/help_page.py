"""The keys of the page that one came from, and how scanning works. It fits a screen of 80 by 24."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.app import ComposeResult

from stockroom.screens.key_line import Key
from stockroom.screens.page import Page, TextPane
from stockroom.screens.paragraphs import Line, sentence

SCANNING = (
    "Scan a tag or type an order's number at any time; Enter opens it.",
    "A piece or an order opens its ticket, anything else its own page.",
)


def help_words(name: str, keys: Sequence[Key]) -> Iterator[Line]:
    """The keys of the page called `name`."""
    for line in SCANNING:
        yield sentence(line)
    yield sentence("")
    yield sentence((f"Keys on this page ({name})", "bold"))
    room = max(len(key.shown) for key in keys)
    for key in keys:
        yield sentence("  ", (key.shown.ljust(room), "bold"), f"  {key.help}", hang=room + 4)


class HelpPage(Page):
    """The keys."""

    name_of_page = ""

    def compose(self) -> ComposeResult:
        yield TextPane(id="help-text")

    def fill(self, name: str, keys: Sequence[Key]) -> None:
        """Show the keys of the page called `name`."""
        self.name_of_page = name
        self.panes[0].show(help_words(name, keys))

    @property
    def heading(self) -> str:
        return "Help"

    @property
    def panes(self) -> tuple[TextPane, ...]:
        return (self.query_one(TextPane),)
