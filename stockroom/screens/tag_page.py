"""Anything that has a tag: what it is, where it lies, what it is promised to, what became of it."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult

from stockroom.jobs.papers import Paper, of_shown
from stockroom.jobs.show import Shown
from stockroom.screens.calls import Jobs
from stockroom.screens.page import Page, TextPane
from stockroom.screens.paragraphs import Line, labelled, sentence
from stockroom.screens.place import Place


def fact_words(shown: Shown) -> Iterator[Line]:
    """What the tag is on, and its facts."""
    yield sentence((shown.title, "bold"))
    yield from labelled((("Tag", shown.tag), ("Kind", shown.kind), ("Order", shown.order), *shown.facts))


def movement_words(shown: Shown) -> Iterator[Line]:
    """What is promised from it, and its latest movements."""
    yield sentence(("Promised", "bold"))
    for promise in shown.promises or ("nothing",):
        yield sentence(f"  {promise}", hang=4)
    yield sentence("")
    yield sentence(("Movements, latest first", "bold"))
    for movement in shown.movements or ("none",):
        yield sentence(f"  {movement}", hang=4)


class TagPage(Page):
    """One tag."""

    LISTS_STOCK_PAGES = True
    shown: Shown | None = None
    """What is shown."""

    def compose(self) -> ComposeResult:
        yield TextPane(id="tag-text", parts=2)

    def fill(self, shown: Shown) -> None:
        """Show what this tag names."""
        self.shown = shown
        self.panes[0].show(fact_words(shown), movement_words(shown))

    def clear(self) -> None:
        """Show no tag."""
        self.shown = None
        self.panes[0].show((), ())

    @property
    def answer(self) -> Shown | None:
        return self.shown

    @property
    def named(self) -> tuple[str, ...]:
        return (self.shown.tag,) if self.shown else ()

    def read(self, jobs: Jobs, place: Place) -> Shown:
        return jobs.show(place.first)

    @property
    def heading(self) -> str:
        return f"{self.shown.kind.capitalize()} {self.shown.tag}" if self.shown else "Tag"

    @property
    def panes(self) -> tuple[TextPane, ...]:
        return (self.query_one(TextPane),)

    def papers(self) -> tuple[Paper, ...]:
        """Its tag again."""
        return of_shown(self.shown) if self.shown else ()

    def open_highlighted(self) -> None:
        """Open the order it belongs to."""
        if self.shown is None:
            return
        if self.shown.order:
            self.post_message(self.Asked(self.shown.order))
        else:
            self.post_message(self.Said(f"{self.shown.tag} belongs to no order. Scan a tag, or press Esc to go back."))
