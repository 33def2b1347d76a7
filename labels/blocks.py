"""Blocks that several papers share: section headings, texts across the page, framed texts, the foot's cautions."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from labels.boxed import CAUTION_PT, Boxed, boxed
from labels.flow import LEFT_MM, RIGHT_MM, ROOM_MM, Block
from labels.fonts import Weight
from labels.paper import Paper
from labels.text import Paragraph, fitted, wrapped

_LINES_A_BLOCK = 24
_MOST_LINES = 400


def _draw_paragraph(paragraph: Paragraph, x_mm: float, before_mm: float, paper: Paper, top_mm: float) -> None:
    paper.paragraph(x_mm, top_mm + before_mm, paragraph)


def _draw_boxed(box: Boxed, x_mm: float, before_mm: float, paper: Paper, top_mm: float) -> None:
    box.draw(paper, x_mm, top_mm + before_mm)


def text_blocks(
    text: str, size_pt: float, x_mm: float = LEFT_MM, weight: Weight = Weight.REGULAR, before_mm: float = 0.6
) -> list[Block]:
    """All of a text from `x_mm` to the right margin; a long one in several blocks, so that it runs on over the page."""
    if not text:
        return []
    whole = wrapped(text, size_pt, RIGHT_MM - x_mm, _MOST_LINES, weight)
    blocks: list[Block] = []
    for start in range(0, len(whole.lines), _LINES_A_BLOCK):
        part = Paragraph(whole.lines[start : start + _LINES_A_BLOCK], size_pt, weight, whole.cut_short)
        gap_mm = before_mm if start == 0 else 0.0
        blocks.append(Block(part.height_mm + gap_mm, partial(_draw_paragraph, part, x_mm, gap_mm)))
    return blocks


def boxed_block(
    word: str, text: str, line_pt: float, x_mm: float = LEFT_MM, size_pt: float = 8.5, weight: Weight = Weight.REGULAR
) -> Block:
    """A framed text from `x_mm` to the right margin."""
    box = boxed(word, text, size_pt, RIGHT_MM - x_mm, 40, line_pt, weight)
    return Block(box.height_mm + 1.4, partial(_draw_boxed, box, x_mm, 0.9))


def section_block(title: str, remark: str = "") -> Block:
    """The heading of a section, over a rule; stays with what follows."""
    named = fitted(title, 11, ROOM_MM * 0.6, 1, Weight.BOLD)
    remark_text = fitted(remark, 8, ROOM_MM * 0.38)

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(LEFT_MM, top_mm + 4.0, named)
        paper.paragraph_right(RIGHT_MM, top_mm + 5.0, remark_text)
        paper.rule(LEFT_MM, top_mm + 9.6, RIGHT_MM, 1.0)

    return Block(10.4, draw, with_next=True)


def rule_block() -> Block:
    """A thin line that ends a row."""

    def draw(paper: Paper, top_mm: float) -> None:
        paper.rule(LEFT_MM, top_mm + 1.2, RIGHT_MM, 0.3)

    return Block(2.0, draw)


def kept_together(blocks: Sequence[Block], above: Block | None = None) -> list[Block]:
    """The blocks, each staying with the next, the last free; `above` is repeated where they begin a later page."""
    kept = [replace(block, with_next=True) for block in blocks[:-1]] + list(blocks[-1:])
    return [replace(kept[0], above=above), *kept[1:]]


def cautions_block(cautions: Sequence[str]) -> Block:
    """The cautions in one frame, for the foot of every page."""
    if not cautions:
        return Block(0.0, lambda _paper, _top_mm: None)
    size_pt, most_lines = 7.5, 16
    box = boxed("CAUTION", "\n".join(cautions), size_pt, ROOM_MM, most_lines, CAUTION_PT)
    while box.paragraph.cut_short and size_pt > 5.0:
        size_pt, most_lines = size_pt - 0.5, most_lines + 2
        box = boxed("CAUTION", "\n".join(cautions), size_pt, ROOM_MM, most_lines, CAUTION_PT)
    return Block(box.height_mm + 2.0, partial(_draw_boxed, box, LEFT_MM, 0.6))
