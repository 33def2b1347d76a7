"""The filter of a page's list: what is typed, kept for each page, and how many rows it lets through."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from stockroom.screens.page import Page
from stockroom.screens.typed import FilterLine
from stockroom.screens.wording import counted


class FilterRow(Horizontal):
    """Shown where somebody filters, or has filtered, the list of the page."""

    def __init__(self) -> None:
        super().__init__(id="filter-row")
        self._words: dict[str, str] = {}
        self._page: Page | None = None

    def compose(self) -> ComposeResult:
        yield Static("Filter ▸", id="filter-label", markup=False)
        yield FilterLine()
        yield Static(id="filter-count", markup=False)

    @property
    def line(self) -> FilterLine:
        """Where it is typed."""
        return self.query_one(FilterLine)

    @property
    def in_use(self) -> bool:
        """Whether the page that is shown is filtered, or somebody is typing a filter."""
        return bool(self._words.get(self._page_name)) or self.line.has_focus

    @property
    def _page_name(self) -> str:
        return (self._page.id or "") if self._page else ""

    def follow(self, page: Page) -> None:
        """Another page is shown: its list is filtered as it was when it was left."""
        self._page = page
        words = self._words.get(self._page_name, "")
        with self.line.prevent(FilterLine.Changed):
            self.line.value = words
        if page.rows is not None:
            page.rows.filter(words)
        self._show(bool(words))

    def forget(self, page: str) -> None:
        """Filter a page no longer: it will show something else."""
        self._words.pop(page, None)

    def begin(self) -> None:
        """Take what is typed from now on, where the page has a list."""
        if self._page is not None and self._page.rows is not None:
            self._show(True)
            self.line.focus()
            self._page.rows.get_ready()

    def take_away(self) -> None:
        """Filter no longer."""
        self.line.value = ""
        self._narrow("")
        self._show(False)

    def count(self) -> None:
        """Say how many rows the filter lets through, where it is shown and all rows are there."""
        rows = self._page.rows if self._page else None
        if self._page is not None and rows is not None and self.display:
            words = f"{rows.seen:,} of {counted(rows.total, self._page.things)}" if rows.filled else ""
            self.query_one("#filter-count", Static).update(Content(words), layout=False)

    def _show(self, shown: bool) -> None:
        self.display = shown
        self.count()

    def _narrow(self, words: str) -> None:
        self._words[self._page_name] = words
        if self._page is not None and self._page.rows is not None:
            self._page.rows.filter(words)

    @on(FilterLine.Changed, "#filter")
    def _typed(self, event: FilterLine.Changed) -> None:
        event.stop()
        self._narrow(event.value)

    @on(FilterLine.Left)
    def _left(self) -> None:
        self._show(bool(self.line.value))
