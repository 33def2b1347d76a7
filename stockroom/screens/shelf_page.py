"""A page of things on shelves: what is scanned is taken in hand, and a place that is scanned then gets all of it.

What the racks page and the page of one place have in common: the hand, and the keys that put things right.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from stockroom.domain.figures import read_figure
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, read_tag
from stockroom.jobs.papers import tags_again
from stockroom.jobs.quarantine import Quarantined
from stockroom.jobs.racks import InHand
from stockroom.screens.desk import Desk, Question
from stockroom.screens.key_line import Key
from stockroom.screens.paragraphs import SIGN
from stockroom.screens.place import Place
from stockroom.screens.shelving import (
    Contents,
    code_of,
    moved_papers,
    moved_words,
    released_words,
    resolved,
    stretch_of,
    with_promises,
)
from stockroom.screens.work_page import WorkPage

LENGTH_HINT = "such as 12.4 m, 13 yd 4 in"
_STOCK = frozenset("RBG")
"""Kind letters of what is always taken in hand."""
_PERHAPS_STOCK = frozenset("KP")
"""Kind letters of what is taken in hand where it is kept in stock; otherwise it opens as everywhere."""


class ShelfPage(WorkPage):
    """A page that moves things, and puts right what the books say of them."""

    OF_STOCK = True
    KEYS: ClassVar[tuple[Key, ...]] = (
        Key("^T", "Figure", "page_key('^T')", "write down how much there really is of a thing, and why"),
        Key("^O", "Some", "page_key('^O')", "move only so many out of a bin"),
        Key("^N", "Quarantine", "page_key('^N')", "set a thing apart, or some of it: it may not be used"),
        Key("^R", "Release", "page_key('^R')", "take a thing out of quarantine"),
        Key("^K", "Scrap", "page_key('^K')", "throw a thing away, or some of it, and say why"),
    )
    SCANNING: ClassVar[tuple[str, ...]] = (
        "Scan things, then the place that they go to; Esc lays them down again.",
        "Scan a place, or type its code or an item's name, to see what there is.",
    )

    def __init__(self, desk: Desk, id: str) -> None:
        super().__init__(desk, id)
        self._hand: dict[str, InHand] = {}
        self._asked: Question | None = None

    @property
    def hand(self) -> tuple[InHand, ...]:
        """What is in hand. It is laid down when something else is asked, or nothing any more."""
        if self._asked is None or self.desk.question is not self._asked:
            return ()
        return tuple(self._hand.values())

    def asked_no_more(self) -> None:
        """What was in hand is laid down: it is shown no more."""
        if self._hand:
            self._hand = {}
            self.show_text()

    def highlighted_tag(self) -> str:
        """The tag of the highlighted thing, or ''."""
        return ""

    # Scanning

    def take_scan(self, text: str) -> bool:
        """A thing is taken in hand; a place gets what is in hand, or is shown; what else is typed is looked for."""
        kind = read_tag(text).kind if is_tag(text) else ""
        if kind in _STOCK | _PERHAPS_STOCK:
            self._pick_up(text, kind)
        elif kind in {"", "L"}:
            # Whether anything is in hand is known when the scans before have had their turn.
            self.desk.do(f"Looking for {text}", lambda: None, lambda _: self._put_or_show(text))
        else:
            return False
        return True

    def _pick_up(self, text: str, kind: str) -> None:
        def job() -> InHand | None:
            try:
                return self.desk.jobs.racks.in_hand(text)
            except Refusal:
                if kind in _PERHAPS_STOCK:
                    return None
                raise

        def done(thing: InHand | None) -> None:
            self.desk.put_away(text)
            if thing is None:
                self.post_message(self.Asked(text))
                return
            self._hand = {one.tag: one for one in self.hand if one.tag != thing.tag} | {thing.tag: thing}
            self._ask_where()
            where = f"in {thing.place}" if thing.place else "in no place that is known"
            apart = (f"{SIGN} In quarantine: {thing.quarantined}.",) if thing.quarantined else ()
            self.desk.mention(
                " ".join((f"{thing.tag}: {thing.amount} {thing.title}, {where}.", *thing.cautions, *apart))
            )
            self.show_text()

        self.desk.do(f"Looking at {text}", job, done)

    def _ask_where(self) -> None:
        def answered(text: str) -> None:
            self._ask_where()  # it is asked until the things are moved
            if not self.take_scan(text):
                self.post_message(self.Asked(text))

        asks = f"{next(iter(self._hand))} goes to" if len(self._hand) == 1 else f"{len(self._hand)} in hand go to"
        hint = "scan the place, or more things; Esc lays them down"
        self._asked = Question(asks, hint, answered, takes_tags=True)
        self.desk.ask(self._asked)

    def _put_or_show(self, text: str) -> None:
        if tags := tuple(one.tag for one in self.hand):
            self._put(tags, text)
        else:
            self._show(text)

    def _put(self, tags: tuple[str, ...], place: str) -> None:
        move = self.desk.jobs.racks.move

        def laid_down() -> None:
            left = {one.tag: one for one in self.hand if one.tag not in tags}
            if self.hand and not left:
                self.desk.leave_question()
            self._hand = left
            self.desk.put_away(place)

        def words(done: object) -> tuple[str, ...]:
            laid_down()
            return moved_words(done)  # type: ignore[arg-type]

        self.change(f"Moving to {place}", lambda stamp: move(tags, place, stamp), words, moved_papers)

    def _show(self, text: str) -> None:
        def done(found: Contents | None) -> None:
            if found is None:
                self.post_message(self.Asked(text))
                return
            self.desk.put_away(text)
            self.desk.go(Place("contents", (code_of(found, text),)))

        self.desk.do(f"Looking for {text}", lambda: resolved(self.desk.jobs, text), done)

    # Keys

    def press(self, key: str) -> None:
        """Do what a key does, with the thing taken in hand last, the highlighted one, or one that is scanned then."""
        asks, act = {
            "^T": ("True figure of which", self._ask_figure),
            "^O": ("Move some of which", self._ask_some),
            "^N": ("Quarantine which", self._ask_apart),
            "^R": ("Release which", self._ask_release),
            "^K": ("Scrap which", self._ask_scrap),
        }[key]
        tag = self.hand[-1].tag if self.hand else self.highlighted_tag()
        if tag:
            self._with(tag, act)
        else:
            self.desk.ask(Question(asks, "scan it", lambda text: self._with(text, act), takes_tags=True))

    def _with(self, tag: str, act: Callable[[InHand], None]) -> None:
        def done(thing: InHand) -> None:
            if not thing.amount:
                self.desk.refuse(f"{thing.tag} is a customer's part, no stock. It is only moved, or given back.")
                return
            self._hand = {}
            where = f"in {thing.place}" if thing.place else "in no place that is known"
            apart = f" In quarantine: {thing.quarantined}." if thing.quarantined else ""
            self.desk.tell((f"{thing.tag}: {thing.title}, {thing.amount} {where}.{apart}", "bold"))
            act(thing)

        self.desk.do(f"Looking at {tag}", lambda: self.desk.jobs.racks.in_hand(tag), done)

    def _ask_because(self, hint: str, then: Callable[[str], None]) -> None:
        self.desk.tell("")  # a figure that was refused before is said no more
        self.desk.ask(Question("Because", hint, then))

    def _ask_figure(self, thing: InHand) -> None:
        adjust = self.desk.jobs.racks.adjust

        def figure(text: str) -> None:
            read_figure(text, by_length=thing.by_length, name=thing.tag)  # refused before the reason is asked
            self._ask_because(
                "lost, found behind the rack, miscounted when it came",
                lambda because: self.change(
                    f"Adjusting {thing.tag}",
                    lambda stamp: adjust(thing.tag, text, because, stamp),
                    lambda done: with_promises(done.sentence, done.promises),
                ),
            )

        hint = f"its length, {LENGTH_HINT}" if thing.by_length else "how many there are"
        self.desk.ask(Question(f"True figure of {thing.tag}", hint, figure))

    def _ask_some(self, thing: InHand) -> None:
        if not thing.is_bin:
            self.desk.refuse(f"{thing.tag} is moved whole: scan it, then the place.")
            return
        move_part = self.desk.jobs.racks.move_part

        def amount(text: str) -> None:
            read_figure(text, by_length=thing.by_length, name=thing.tag)

            def place(code: str) -> None:
                self.change(
                    f"Moving some of {thing.tag}",
                    lambda stamp: move_part(thing.tag, text, code, stamp),
                    lambda done: (done.sentence,),
                    lambda done, _: tags_again(done.tag_now) if done.is_new else (),
                )

            self.desk.ask(Question(f"{text} of {thing.tag} go to", "scan the place", place, takes_tags=True))

        self.desk.ask(Question(f"How many of {thing.tag}", f"less than {thing.amount}", amount))

    def _ask_apart(self, thing: InHand) -> None:
        if thing.quarantined:
            self.desk.refuse(f"{thing.tag} is in quarantine already: {thing.quarantined}.")
            return
        racks = self.desk.jobs.racks

        def some(text: str) -> None:
            stretch = stretch_of(text) if thing.by_length else None
            amount = "" if text == thing.amount else text
            for one in stretch or (amount,):
                if one:
                    read_figure(one, by_length=thing.by_length, name=thing.tag)

            def because(words: str) -> None:
                def job(stamp: Stamp) -> Quarantined:
                    if stretch:
                        return racks.quarantine_stretch(thing.tag, *stretch, words, stamp)
                    return racks.quarantine(thing.tag, words, stamp, amount)

                self.change(
                    f"Setting {thing.tag} apart",
                    job,
                    lambda done: with_promises(done.sentence, done.promises),
                    lambda done, _: tags_again(*done.new_tags),
                )

            self._ask_because("wrong shade, damp, a recall, a complaint", because)

        part = "2 m (outer end); 0.2 m to 0.6 m (from inside)" if thing.by_length else "or how many"
        self.desk.ask(Question(f"How much of {thing.tag}", f"Enter: all {thing.amount}; {part}", some, thing.amount))

    def _ask_release(self, thing: InHand) -> None:
        if not thing.quarantined:
            self.desk.refuse(f"{thing.tag} is not in quarantine, so it is not released.")
            return
        release = self.desk.jobs.racks.release
        self._ask_because(
            "looked at in daylight, dried out, the supplier's word",
            lambda because: self.change(
                f"Releasing {thing.tag}", lambda stamp: release(thing.tag, because, stamp), released_words
            ),
        )

    def _ask_scrap(self, thing: InHand) -> None:
        scrap = self.desk.jobs.racks.scrap

        def some(text: str) -> None:
            amount = "" if text == thing.amount else text
            if amount:
                read_figure(amount, by_length=thing.by_length, name=thing.tag)
            self._ask_because(
                "mildew, torn, rusted, past its day",
                lambda because: self.change(
                    f"Scrapping {thing.tag}",
                    lambda stamp: scrap(thing.tag, because, stamp, amount),
                    lambda done: with_promises(done.sentence, done.promises),
                ),
            )

        part = "or 2 m off its outer end" if thing.by_length else "or how many"
        self.desk.ask(Question(f"Scrap of {thing.tag}", f"Enter: all {thing.amount}; {part}", some, thing.amount))
