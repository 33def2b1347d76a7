"""The two lines that are typed into: the scan line, always ready, and the filter."""

from __future__ import annotations

import re

from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input
from textual.widgets.input import Selection

from stockroom.domain.tags import is_tag
from stockroom.screens.wording import plain

LONGEST = 200
PLACEHOLDER = "scan a tag, or type an order's number"
_COMMANDS = {"/", "?", " "}
_MAY_BE_A_TAG = re.compile(r"[A-Za-z][1-9][0-9]*[0-9A-Za-z]$", re.ASCII)


def tag_at_end(text: str) -> str:
    """The tag that `text` ends with, or ''. A scanner does not look which line is being typed into.

    >>> tag_at_end("fawnR1042L"), tag_at_end("fawn")
    ('R1042L', '')
    """
    match = _MAY_BE_A_TAG.search(text)
    return match[0] if match and is_tag(match[0]) else ""


class _TypedLine(Input):
    """A line as wide as its place, whatever is typed: the screen is not laid out anew with every key."""

    virtual_size = Reactive(Size(0, 0), layout=False)


class ScanLine(_TypedLine):
    """Takes a scan or typing at any time. Enter hands the text over at once and leaves it selected.

    So the next scan replaces it, however fast it comes, and a refused one stays readable until then.
    """

    class Scanned(Message):
        """A text was entered."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Command(Message):
        """A key that is a command only where nothing is typed and nothing is asked: '/', '?' or the space bar."""

        def __init__(self, character: str) -> None:
            super().__init__()
            self.character = character

    class Pressed(Message):
        """A key of the screen, behind what was entered before it: as a binding it would overtake that, or lag."""

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    def __init__(self, screens_keys: frozenset[str]) -> None:
        """`screens_keys`: the keys that are `Pressed` and not typed."""
        super().__init__(
            placeholder=PLACEHOLDER,
            id="scan",
            compact=True,
            select_on_focus=False,
            max_length=LONGEST,
        )
        self.cursor_blink = False
        self._screens_keys = screens_keys
        self.asking = False
        """Whether what is typed answers a question: then every character is part of the answer."""

    def show_question(self, hint: str) -> None:
        """Show in the empty line what may be typed. What is being typed stays; what was entered before does not."""
        self.asking = True
        self.placeholder = hint
        if self.spent:
            self.clear()

    def end_question(self) -> None:
        """Be ready for a scan again."""
        self.asking = False
        self.placeholder = PLACEHOLDER

    @property
    def spent(self) -> bool:
        """Whether the text has been entered already and waits only to be replaced."""
        return bool(self.value) and self.selection == Selection(0, len(self.value))

    def enter(self) -> None:
        """Hand the text over."""
        text = self.value.strip()
        self.select_all()
        self.post_message(self.Scanned(text))

    def put_away(self, text: str) -> None:
        """Clear the line if it still shows `text`, entered and done with."""
        if self.spent and self.value.strip() == text:
            self.clear()

    def on_key(self, event: events.Key) -> None:
        """Take Enter, and the commands where nothing is being typed; the toolkit's own line takes every other key.

        Enter must act here and now: as a binding it would go up to the application first, and characters that come
        right behind it would be in the line before it is handed over.
        """
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self.enter()
        elif event.key in self._screens_keys:
            event.stop()
            event.prevent_default()
            self.post_message(self.Pressed(event.key))
        elif event.character in _COMMANDS and not self.asking and (not self.value or self.spent):
            event.stop()
            event.prevent_default()
            self.post_message(self.Command(event.character))

    def _on_paste(self, event: events.Paste) -> None:
        """A paste may hold several codes, one a line, and anything a terminal would obey."""
        event.stop()
        event.prevent_default()
        *entered, rest = re.split(r"[\r\n]+", event.text[: 100 * LONGEST])
        for line in entered:
            if line.strip():
                self.post_message(self.Scanned(plain(line.strip())[:LONGEST]))
        if rest:
            self.replace(plain(rest)[:LONGEST], *self.selection)


class FilterLine(_TypedLine):
    """Narrows the list on the page with every key."""

    class Left(Message):
        """Typing is done: the filter stays, the scan line is ready again. `scanned` is a tag that came in between."""

        def __init__(self, scanned: str) -> None:
            super().__init__()
            self.scanned = scanned

    def __init__(self) -> None:
        super().__init__(
            placeholder="words to look for",
            id="filter",
            compact=True,
            select_on_focus=False,
            max_length=LONGEST,
        )
        self.cursor_blink = False

    def on_key(self, event: events.Key) -> None:
        """Take Enter here and now, as the scan line does."""
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self.enter()

    def enter(self) -> None:
        """Leave the filter; a tag scanned into it is taken out of it again and opened."""
        scanned = tag_at_end(self.value)
        if scanned:
            self.value = self.value.removesuffix(scanned)
        # The scan line takes the keys from here on, before this message has gone round.
        self.screen.set_focus(self.screen.query_one(ScanLine))
        self.post_message(self.Left(scanned))

    def _on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        self.replace(" ".join(plain(line) for line in event.text[:LONGEST].splitlines()), *self.selection)
