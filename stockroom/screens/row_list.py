"""A list of rows that draws only the rows which are seen, so that five thousand cost no more than twenty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Generic, TypeVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive, reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from stockroom.screens.wording import fitted, plain

Row = TypeVar("Row")

GAP = 1
MARK = "▸ "
"""Stands before the highlighted row, so that colour is not its only sign."""


@dataclass(frozen=True, slots=True)
class Cell:
    """What one row shows in one column."""

    text: str
    tone: str = ""
    """'', 'alarm', 'quiet' or 'strong': how it is drawn. The text must say the same without it."""
    ground: str = ""
    """'#rrggbb': what colour lies behind it, where that is what is shown; '' where it is as everywhere."""


@dataclass(frozen=True, slots=True)
class Column(Generic[Row]):
    """One column of a list."""

    title: str
    cell: Callable[[Row], Cell]
    width: int
    """Least width, in cells of the terminal."""
    grow: int = 0
    """Its share of the width that is left over."""
    shown_from: int = 0
    """Width of the list from which the column is shown."""
    shown_below: int = 10_000
    """Width of the list from which it is shown no longer (another takes its place)."""


def spread(columns: Sequence[Column[Row]], width: int) -> tuple[tuple[Column[Row], int], ...]:
    """The columns that a list `width` cells wide shows, each with its width, gaps left out.

    Where even the least widths do not fit, the columns that can grow give way, down to 4 cells each.
    """
    seen = [column for column in columns if column.shown_from <= width < column.shown_below]
    spare = width - len(MARK) - sum(column.width for column in seen) - GAP * max(0, len(seen) - 1)
    shares = sum(column.grow for column in seen)
    widths: list[int] = []
    for column in seen:
        extra = 0
        if shares:
            # What is handed out is taken off, so that the last share ends at the edge.
            extra = max(spare * column.grow // shares, 4 - column.width if column.grow else 0)
            spare, shares = spare - extra, shares - column.grow
        widths.append(column.width + extra)
    return tuple(zip(seen, widths, strict=True))


def _ink_on(ground: str) -> str:
    """Black or white: what is read better on a colour.

    >>> _ink_on("#ffe080"), _ink_on("#203060")
    ('#000000', '#ffffff')
    """
    red, green, blue = (int(ground[at : at + 2], 16) for at in (1, 3, 5))
    return "#000000" if 3 * red + 6 * green + blue > 1280 else "#ffffff"


class RowList(ScrollView, Generic[Row], can_focus=False):
    """Rows under column titles, one of them highlighted, filtered by words.

    It takes no keyboard focus: its owner calls `move`, `turn` and `end`, since every key belongs to the scan line.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "row-list--titles",
        "row-list--row",
        "row-list--highlight",
        "row-list--alarm",
        "row-list--quiet",
        "row-list--strong",
        "row-list--empty",
    }
    # More rows or fewer need no new layout: it is seen to below that the scroll bar follows.
    virtual_size = Reactive(Size(0, 0), layout=False)
    highlight: reactive[int] = reactive(0, repaint=False)
    """Position of the highlighted row among those that the filter lets through."""

    class Highlighted(Message):
        """Another row is highlighted, or none (`row` is `None`)."""

        def __init__(self, row_list: RowList[Any], row: Any) -> None:
            super().__init__()
            self.row_list, self.row = row_list, row

        @property
        def control(self) -> RowList[Any]:
            return self.row_list

    class Sifted(Message):
        """The list was filled or filtered: other rows are seen, or more, or fewer."""

        def __init__(self, row_list: RowList[Any]) -> None:
            super().__init__()
            self.row_list = row_list

        @property
        def control(self) -> RowList[Any]:
            return self.row_list

    class Chosen(Message):
        """A row was clicked."""

        def __init__(self, row_list: RowList[Any], row: Any) -> None:
            super().__init__()
            self.row_list, self.row = row_list, row

        @property
        def control(self) -> RowList[Any]:
            return self.row_list

    def __init__(
        self,
        columns: Sequence[Column[Row]],
        key: Callable[[Row], object],
        words: Callable[[Row], str],
        empty: str,
        id: str | None = None,
    ) -> None:
        """`key` tells rows apart when they are filled in again; `words` is what the filter looks through."""
        super().__init__(id=id)
        self._columns, self._key, self._words, self._empty = tuple(columns), key, words, empty
        self._rows: tuple[Row, ...] = ()
        self._haystacks: tuple[str, ...] | None = None
        """What the filter looks through, folded; put together when somebody filters, and not with every reading."""
        self._seen: Sequence[int] = range(0)
        self._filter = ""
        self.filled = False
        """Whether it has been told what it holds; until then it cannot say that it is empty."""

    # What it holds

    def fill(self, rows: Sequence[Row]) -> None:
        """Show these rows instead. The filter stays, and so does the highlight where its row is still there."""
        held = self.row
        self._rows = tuple(rows)
        self._haystacks = None
        self.filled = True
        self._sift(None if held is None else self._key(held))

    def begin(self, rows: Sequence[Row]) -> None:
        """Show the first of the rows that are still to come."""
        self.fill(rows)
        self.filled = False

    def empty_out(self) -> None:
        """Show nothing, and do not say that there is nothing: the rows are still to come."""
        self.begin(())

    def get_ready(self) -> None:
        """Put together what the filter looks through: somebody is about to type the first letter."""
        if self._haystacks is None:
            self._haystacks = tuple(self._words(row).casefold() for row in self._rows)

    def say_when_empty(self, words: str) -> None:
        """What is said from now on where there is no row."""
        self._empty = words

    def filter(self, text: str) -> None:
        """Show only rows in whose words every word of `text` occurs, great and small letters alike."""
        if text != self._filter:
            held = self.row
            self._filter = text
            self._sift(None if held is None else self._key(held))

    def find(self, wanted: Callable[[Row], bool]) -> bool:
        """Highlight the first row for which `wanted` holds; whether there is one."""
        for place, index in enumerate(self._seen):
            if wanted(self._rows[index]):
                self.highlight = place
                return True
        return False

    @property
    def row(self) -> Row | None:
        """The highlighted row."""
        return self._rows[self._seen[self.highlight]] if 0 <= self.highlight < len(self._seen) else None

    @property
    def in_view(self) -> tuple[Row, ...]:
        """The rows that there is room for just now."""
        top = round(self.scroll_y)
        return tuple(self._rows[index] for index in self._seen[top : top + max(1, self.size.height - 1)])

    @property
    def seen(self) -> int:
        """How many rows the filter lets through."""
        return len(self._seen)

    @property
    def total(self) -> int:
        """How many rows there are."""
        return len(self._rows)

    def _sift(self, held: object) -> None:
        self._seen = self._let_through()
        self.virtual_size = Size(self._room, len(self._seen) + 1)
        self.set_reactive(RowList.highlight, 0 if held is None else self._place_of(held))
        self._bring_into_view()
        self.refresh()
        self.post_message(self.Sifted(self))
        self.post_message(self.Highlighted(self, self.row))

    def _let_through(self) -> Sequence[int]:
        """Positions of the rows in whose words every word of the filter occurs."""
        seen: Sequence[int] = range(len(self._rows))
        if needles := self._filter.casefold().split():
            self.get_ready()
            haystacks = self._haystacks or ()
            for needle in needles:
                seen = [index for index in seen if needle in haystacks[index]]
        return seen

    def watch_virtual_size(self, size: Size) -> None:
        if self.container_size:
            self._scroll_update(size)

    def _place_of(self, key: object) -> int:
        """Where the row of a key is among those that are seen; 0 if it is not."""
        same, rows = self._key, self._rows
        return next((place for place, index in enumerate(self._seen) if same(rows[index]) == key), 0)

    # Moving about

    def move(self, rows: int) -> None:
        """Move the highlight down by `rows` (up, where negative)."""
        self.highlight = self.highlight + rows

    def turn(self, pages: int) -> None:
        """Move the highlight by what fits the screen."""
        self.move(pages * max(1, self.size.height - 2))

    def end(self, which: int) -> None:
        """Move the highlight to the first row (`which` is -1) or the last (1)."""
        self.move(which * len(self._seen))

    def validate_highlight(self, place: int) -> int:
        return max(0, min(place, len(self._seen) - 1))

    def watch_highlight(self, old: int, new: int) -> None:
        if old != new:
            self._bring_into_view()
            self.refresh()
            self.post_message(self.Highlighted(self, self.row))

    def _bring_into_view(self) -> None:
        window = max(1, self.size.height - 1)
        top = round(self.scroll_y)
        target = min(max(top, self.highlight - window + 1), self.highlight)
        if target != top:
            self.scroll_to(y=target, animate=False, force=True, immediate=True)

    def on_resize(self) -> None:
        self.virtual_size = Size(self._room, len(self._seen) + 1)
        self._bring_into_view()

    def on_click(self, event: events.Click) -> None:
        place = round(self.scroll_y) + event.y - 1
        if event.y >= 1 and place < len(self._seen):
            event.stop()
            self.highlight = place
            self.post_message(self.Chosen(self, self._rows[self._seen[place]]))

    # Drawing

    @property
    def _room(self) -> int:
        return self.scrollable_content_region.width

    def render_line(self, y: int) -> Strip:
        """One line of the screen: the titles, then the rows in view."""
        width = self._room
        if y == 0:
            return self._titles(width)
        place = round(self.scroll_y) + y - 1
        if place < len(self._seen):
            return self._line(self._rows[self._seen[place]], width, highlighted=place == self.highlight)
        return self._blank(y, width)

    def _titles(self, width: int) -> Strip:
        style = self.get_component_rich_style("row-list--titles")
        words = (fitted(column.title, room) for column, room in spread(self._columns, width))
        return Strip([Segment(fitted(" " * len(MARK) + (" " * GAP).join(words), width), style)], width)

    def _line(self, row: Row, width: int, *, highlighted: bool) -> Strip:
        ground = self.get_component_rich_style("row-list--highlight" if highlighted else "row-list--row")
        segments = [Segment(MARK if highlighted else " " * len(MARK), ground)]
        for number, (column, room) in enumerate(spread(self._columns, width)):
            if number:
                segments.append(Segment(" " * GAP, ground))
            cell = column.cell(row)
            style = self._toned(cell.tone, ground, highlighted)
            if cell.ground:
                style += Style.parse(f"{_ink_on(cell.ground)} on {cell.ground}")
            segments.append(Segment(fitted(plain(cell.text), room), style))
        return Strip(segments).adjust_cell_length(width, ground)

    def _toned(self, tone: str, ground: Style, highlighted: bool) -> Style:
        if not tone:
            return ground
        style = self.get_component_rich_style(f"row-list--{tone}", partial=True)
        # On the highlight's ground a tone's own colour may not be readable: only its weight is taken over.
        return ground + (Style(bold=style.bold, italic=style.italic) if highlighted else style)

    def _blank(self, y: int, width: int) -> Strip:
        style = self.get_component_rich_style("row-list--empty")
        lines = self._sentence().split("\n")
        number = y - 2
        words = lines[number] if self.filled and not self._seen and 0 <= number < len(lines) else ""
        return Strip([Segment(fitted(" " * len(MARK) + plain(words), width), style)], width)

    def _sentence(self) -> str:
        if self._rows:
            return f"Nothing here matches '{self._filter}'.\nEsc takes the filter away."
        return self._empty
