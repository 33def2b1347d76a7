"""Headings of the A4 papers: what paper it is, whose, and the barcode that opens it."""

from dataclasses import dataclass
from functools import partial

from labels.flow import LEFT_MM, RIGHT_MM, ROOM_MM, Block
from labels.fonts import Weight
from labels.paper import Paper
from labels.text import Paragraph, fitted

_BARCODE_MM = 62.0
_NAME_MM = 21.0


@dataclass(frozen=True, slots=True)
class Fact:
    """A named line of a heading, such as 'wanted: open'."""

    name: str
    text: str
    most_lines: int = 2
    stands_out: bool = False
    """Whether it is printed white on black."""


def _draw_fact(fact: Fact, paragraph: Paragraph, paper: Paper, top_mm: float) -> None:
    paper.paragraph(LEFT_MM, top_mm + 0.15, fitted(fact.name, 7.5, _NAME_MM - 2))
    if fact.stands_out:
        paper.badge(LEFT_MM + _NAME_MM, top_mm, paragraph.lines[0], paragraph.size_pt)
    else:
        paper.paragraph(LEFT_MM + _NAME_MM, top_mm, paragraph)


def heading(kind: str, number: str, code: str, facts: tuple[Fact, ...]) -> Block:
    """The first page's heading. `code` becomes a barcode at the right; without one the texts have the whole width."""
    room_mm = ROOM_MM - (_BARCODE_MM + 4 if code else 0)
    named = fitted(kind, 10, room_mm)
    title = fitted(number, 20, room_mm, 2, Weight.BOLD, floor_pt=12)
    parts = [
        (fact, fitted(fact.text, 9, room_mm - _NAME_MM - 2, 1 if fact.stands_out else fact.most_lines, Weight.BOLD, 7))
        for fact in facts
        if fact.text
    ]
    text_mm = named.height_mm + title.height_mm + 1.0 + sum(part.height_mm + 0.5 for _, part in parts)

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm
        y += paper.paragraph(LEFT_MM, y, named)
        y += paper.paragraph(LEFT_MM, y, title) + 1.0
        for fact, part in parts:
            _draw_fact(fact, part, paper, y)
            y += part.height_mm + 0.5
        if code:
            paper.barcode_with_text(RIGHT_MM - _BARCODE_MM, top_mm + 1, _BARCODE_MM, 18.0, code, 10)

    return Block(max(text_mm, 20.0 if code else 0.0) + 2.0, draw)


def later_heading(text: str, remark: str) -> Block:
    """The heading of the second page and those after it."""
    return Block(
        8.0,
        partial(
            _draw_later,
            fitted(text, 11, ROOM_MM * 0.62, 1, Weight.BOLD, 8),
            fitted(remark, 8.5, ROOM_MM * 0.36, floor_pt=7),
        ),
    )


def _draw_later(named: Paragraph, remark: Paragraph, paper: Paper, top_mm: float) -> None:
    paper.paragraph(LEFT_MM, top_mm, named)
    paper.paragraph_right(RIGHT_MM, top_mm + 1.0, remark)
    paper.rule(LEFT_MM, top_mm + 6.2, RIGHT_MM, 0.8)
