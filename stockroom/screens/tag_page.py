"""Anything that has a tag: what it is, where it lies, what it is promised to, what became of it."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult

from stockroom.jobs.papers import Paper, of_shown, tags_again
from stockroom.jobs.retag import Retagged
from stockroom.jobs.show import Shown
from stockroom.screens.calls import Jobs
from stockroom.screens.desk import Question
from stockroom.screens.key_line import Key
from stockroom.screens.page import TextPane
from stockroom.screens.paragraphs import Line, labelled, sentence
from stockroom.screens.place import Place
from stockroom.screens.running_low import low_words
from stockroom.screens.work_page import WorkPage, offer_words

_SHOWN = 100
"""So many facts are shown: a full place holds thousands of things, and a page lists those."""


def fact_words(shown: Shown) -> Iterator[Line]:
    """What the tag is on, and its facts."""
    yield sentence((shown.title, "bold"))
    facts = shown.facts[:_SHOWN]
    yield from labelled((("Tag", shown.tag), ("Kind", shown.kind), ("Order", shown.order), *facts))
    if left := len(shown.facts) - len(facts):
        yield sentence(f"and {left:,} more. The racks (F10) list all that lies in a place, and filter it.")


def movement_words(shown: Shown) -> Iterator[Line]:
    """What is promised from it, and its latest movements."""
    yield sentence(("Promised", "bold"))
    for promise in shown.promises or ("nothing",):
        yield sentence(f"  {promise}", hang=4)
    yield sentence("")
    yield sentence(("Movements, latest first", "bold"))
    for movement in shown.movements or ("none",):
        yield sentence(f"  {movement}", hang=4)


class TagPage(WorkPage):
    """One tag."""

    KEYS = (Key("^N", "New tag", "page_key('^N')", "its tag is lost, torn or unreadable: it gets a new one"),)
    LISTS_STOCK_PAGES = True
    shown: Shown | None = None
    """What is shown."""

    def compose(self) -> ComposeResult:
        yield TextPane(id="tag-text", parts=2)

    def fill(self, shown: Shown) -> None:
        """Show what this tag names."""
        if self.shown is not None and shown.tag != self.shown.tag:
            self.forget()
        self.shown = shown
        self.panes[0].show(fact_words(shown), movement_words(shown))

    def clear(self) -> None:
        """Show no tag."""
        self.forget()
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

    def to_match(self) -> tuple[str, ...]:
        """A roll, or whatever of an order or a car has this tag."""
        return self.named if self.shown and self.shown.tag[:1] in "ROCPTK" else ()

    def usual_papers(self) -> tuple[Paper, ...]:
        """Its tag again."""
        return of_shown(self.shown) if self.shown else ()

    def was_scanned(self) -> None:
        """The tag at the shelf of a consumable says that it runs out."""
        if self.shown is not None and self.shown.is_shelf_tag:
            tag = self.shown.tag
            low = self.desk.jobs.running_low.low
            self.change(f"Putting {self.shown.title} on the buying list", lambda stamp: low(tag, stamp), low_words)

    def press(self, key: str) -> None:
        """Ask what became of the tag, and give a new one."""
        del key
        if self.shown is None:
            return
        tag, retag = self.shown.tag, self.desk.jobs.retag

        def answered(because: str) -> None:
            self.desk.signed(
                lambda stamp: self.desk.do(f"Giving {tag} a new tag", lambda: retag(tag, because, stamp), done)
            )

        def done(given: Retagged) -> None:
            papers = tags_again(given.new)
            if self.display and self.named == (tag,):
                self.desk.go_instead(Place("tag", (given.new,)))
                self._fresh = papers
            self.report(f"{given.sentence} {offer_words(papers)}")

        self.desk.tell((f"{tag} is void when it has a new tag. What became of it?", "bold"))
        self.desk.ask(Question(f"New tag for {tag}", "lost, torn, unreadable; Esc leaves it", answered))

    def open_highlighted(self) -> None:
        """Open the order it belongs to."""
        if self.shown is None:
            return
        if self.shown.order:
            self.post_message(self.Asked(self.shown.order))
        else:
            self.post_message(self.Said(f"Nothing opens from {self.shown.tag}. Scan a tag, or press Esc to go back."))
