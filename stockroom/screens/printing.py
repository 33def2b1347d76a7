"""Printing from wherever one is: what there is to print is offered by number, Enter alone prints the first of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.papers import ON_LABELS
from stockroom.screens.desk import Desk, Question
from stockroom.screens.page import Page

if TYPE_CHECKING:
    from stockroom.jobs.papers import Paper
    from stockroom.jobs.printing import Printed

_ALL = "all"


def start_of(text: str) -> tuple[str, int]:
    """What was typed without the label at which it is to begin, and that label; 0 where none was said.

    >>> start_of("2 at 5"), start_of("at 5"), start_of("1 3")
    (('2', 5), ('1', 5), ('1 3', 0))
    """
    which, at, label = text.casefold().partition("at")
    if at and re.fullmatch(r"\s*[1-9][0-9]?", label):
        return which.strip() or "1", int(label)
    return text, 0


def chosen(text: str, papers: Sequence[Paper]) -> tuple[Paper, ...]:
    """The papers that were typed by their numbers: '1', '1 3', '1,3', 'all'. Raises `Refusal` for anything else.

    >>> from stockroom.jobs.papers import Paper
    >>> [paper.kind for paper in chosen("2", (Paper("tags", ("L-1",)), Paper("fitting", ("L-1",))))]
    ['fitting']
    """
    if text.strip().casefold() == _ALL:
        return tuple(papers)
    words = re.split(r"[\s,]+", text.strip())
    if not all(re.fullmatch(r"[1-9][0-9]?", word) and int(word) <= len(papers) for word in words):
        most = f"1 to {len(papers)}, or 'all'" if len(papers) > 1 else "1"
        raise Refusal(f"'{text}' is none of the papers. Type {most}; Esc leaves it.")
    return tuple(dict.fromkeys(papers[int(word) - 1] for word in words))


class Printing:
    """Asks what is to be printed, has it printed, and says where it is."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def ask(self, page: Page) -> None:
        """Offer what there is to print on this page."""
        papers = page.papers()
        if not papers:
            self._desk.tell("There is nothing to print here.")
            return

        def answered(text: str) -> None:
            which, start_at = start_of(text)
            self._print(page, chosen(which, papers), start_at)

        offers = (f"{turn} {paper.title}" for turn, paper in enumerate(papers, 1))
        begun = self._desk.jobs.begun_sheets()
        used = f"{begun}; 'at 1' begins a new one" if begun else "on a used sheet: 'at 5' begins at its fifth label"
        used = f" ({used})" if papers[0].kind in ON_LABELS else ""
        self._desk.tell("Print  ", (",  ".join(offers), "bold"), used)
        more = f"; or type 1 to {len(papers)}, several, or 'all'" if len(papers) > 1 else ""
        self._desk.ask(Question("Print", f"Enter prints {papers[0].title}{more}", answered, "1"))

    def _print(self, page: Page, papers: tuple[Paper, ...], start_at: int) -> None:
        def signed(stamp: Stamp) -> None:
            self._desk.do("Printing", lambda: self._desk.jobs.printing(papers, stamp, start_at), done)

        def done(printed: Printed) -> None:
            page.was_printed(papers)
            if printed.trouble:
                self._desk.refuse(f"{printed.trouble}  {printed.sentence}")
            else:
                self._desk.mention(printed.sentence)

        self._desk.signed(signed)
