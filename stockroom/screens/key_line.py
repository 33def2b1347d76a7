"""The foot of the screen: the keys that work here, in one line or two. Each can be clicked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.segment import Segment
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from stockroom.screens.wording import fitted


@dataclass(frozen=True, slots=True)
class Key:
    """One key and what it does on a page."""

    shown: str
    """The key as it is written on a keyboard: 'F5', 'Esc'."""
    name: str
    """What it does, in a word, for the key line; empty where only the help page lists it."""
    action: str
    """The action that a click on it calls; empty where a click makes no sense."""
    help: str
    """What it does, in a sentence without a full stop; empty where only the key line shows it."""


LINES = 2
"""Lines of the screen that the keys may take."""


class KeyLine(Widget):
    """The keys, in as many lines as they need; on a very narrow screen those that do not fit in two are left away."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"key-line--key", "key-line--name"}

    class Clicked(Message):
        """A key was clicked."""

        def __init__(self, key: Key) -> None:
            super().__init__()
            self.key = key

    def __init__(self) -> None:
        super().__init__(id="keys")
        self._keys: tuple[Key, ...] = ()

    def show(self, keys: Sequence[Key]) -> None:
        """Show these keys instead."""
        self._keys = tuple(key for key in keys if key.name)
        self._stretch()
        self.refresh()

    def places(self) -> list[tuple[int, int, Key]]:
        """Each key that fits, with the line and the column it starts in."""
        places, line, column = [], 0, 1
        for key in self._keys:
            width = len(key.shown) + 1 + len(key.name)
            if column > 1 and column + width > self.size.width:
                line, column = line + 1, 1
            if line < LINES and column + width <= self.size.width:
                places.append((line, column, key))
            column += width + 2
        return places

    def render_line(self, y: int) -> Strip:
        """One line of keys."""
        ground = self.rich_style
        key_style = self.get_component_rich_style("key-line--key")
        name_style = self.get_component_rich_style("key-line--name")
        segments, column = [], 0
        for line, start, key in self.places():
            if line != y:
                continue
            segments += [
                Segment(" " * (start - column), ground),
                Segment(key.shown, key_style),
                Segment(f" {key.name}", name_style),
            ]
            column = start + len(key.shown) + 1 + len(key.name)
        segments.append(Segment(fitted("", self.size.width - column), ground))
        return Strip(segments, self.size.width)

    def _stretch(self) -> None:
        self.styles.height = 1 + max((line for line, _, _ in self.places()), default=0)

    def on_resize(self) -> None:
        self._stretch()

    def on_click(self, event: events.Click) -> None:
        for line, start, key in self.places():
            if key.action and line == event.y and start <= event.x < start + len(key.shown) + 1 + len(key.name):
                event.stop()
                self.post_message(self.Clicked(key))
