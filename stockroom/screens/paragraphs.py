"""Lines of text for the panes: nothing in them is markup, and what wraps hangs under its own beginning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from textual.content import Content
from textual.css.styles import RulesMap
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions, Visual

from stockroom.screens.wording import plain

SIGN = "!"
"""Stands before what needs attention, so that colour is not its only sign."""
_LEAST = 20
"""Cells that a hanging line must have left; with fewer, nothing hangs."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line, as long as it likes to be."""

    content: Content
    hang: int = 0
    """How far its later lines stand in, in cells, where it must be wrapped."""


def sentence(*parts: str | tuple[str, str], hang: int = 0) -> Line:
    """A line. Each part is text, or text with its style."""
    pieces = (plain(part) if isinstance(part, str) else (plain(part[0]), part[1]) for part in parts)
    return Line(Content.assemble(*pieces), hang)


def labelled(pairs: Iterable[tuple[str, str]]) -> list[Line]:
    """Labels and values, the values under each other. A label without a value is left out."""
    kept = [(plain(label), value) for label, value in pairs if value]
    room = max((len(label) for label, _ in kept), default=0) + 2
    return [sentence((label.ljust(room), "$quiet-ink"), value, hang=room) for label, value in kept]


class Paragraphs(Visual):
    """Lines under each other."""

    def __init__(self, lines: Iterable[Line]) -> None:
        self.lines = tuple(lines)
        self._folded = (-1, Content())

    def folded(self, width: int) -> Content:
        """The lines as they stand in `width` cells, none of them wider."""
        if self._folded[0] != width:
            self._folded = (width, Content("\n").join(part for line in self.lines for part in _fold(line, width)))
        return self._folded[1]

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        """The width in which nothing wraps."""
        del rules, container_width
        return max((line.content.cell_length for line in self.lines), default=0)

    def get_height(self, rules: RulesMap, width: int) -> int:
        """How many lines of the screen they take."""
        return self.folded(width).get_height(rules, width)

    def render_strips(self, width: int, height: int | None, style: Style, options: RenderOptions) -> list[Strip]:
        """The lines of the screen."""
        return self.folded(width).render_strips(width, height, style, options)


def _fold(line: Line, width: int) -> list[Content]:
    hang = line.hang if width - line.hang >= _LEAST else 0
    first, *rest = line.content[hang:].wrap(max(1, width - hang)) or [Content()]
    return [line.content[:hang] + first, *(part.pad_left(hang) for part in rest)]
