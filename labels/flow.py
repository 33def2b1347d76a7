"""Pages of A4 filled from top to foot with blocks that are kept whole, each page saying 'page n of m'."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from labels.paper import Paper
from labels.text import wrapped

WIDTH_MM = 210.0
HEIGHT_MM = 297.0
LEFT_MM = 12.0
RIGHT_MM = WIDTH_MM - 12.0
ROOM_MM = RIGHT_MM - LEFT_MM
TOP_MM = 11.0
FOOT_MM = HEIGHT_MM - 11.0
OFFICE_DPI = 300
"""A4 papers are drawn for office printers of 300 dpi and its multiples."""

Draw = Callable[[Paper, float], None]
"""Draws on the paper from the given top in mm down."""


@dataclass(frozen=True, slots=True)
class Block:
    """Something that is not torn between two pages."""

    height_mm: float
    draw: Draw
    with_next: bool = False
    """Whether it says nothing without the block after it (a heading, say)."""
    above: "Block | None" = None
    """What is repeated above it where it begins a later page (the titles of its columns, say)."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands on every page: a heading on the first, a shorter one on the others, a foot on all."""

    title: str
    first: Block
    later: Block
    foot: Block


def _groups(blocks: Sequence[Block], room_mm: float) -> list[list[Block]]:
    """Blocks that stay together; a chain that no page holds comes apart."""
    groups: list[list[Block]] = []
    chain: list[Block] = []
    for block in blocks:
        chain.append(block)
        if not block.with_next:
            groups.append(chain)
            chain = []
    if chain:
        groups.append(chain)
    return [
        part
        for group in groups
        for part in ([group] if sum(block.height_mm for block in group) <= room_mm else [[block] for block in group])
    ]


def _pages(blocks: Sequence[Block], first_room_mm: float, later_room_mm: float) -> list[list[Block]]:
    pages: list[list[Block]] = [[]]
    left_mm = first_room_mm
    repeated_mm = max((block.above.height_mm for block in blocks if block.above), default=0.0)
    for group in _groups(blocks, min(first_room_mm, later_room_mm) - repeated_mm):
        height_mm = sum(block.height_mm for block in group)
        if height_mm > left_mm and pages[-1]:
            above = group[0].above
            pages.append([above] if above else [])
            left_mm = later_room_mm - (above.height_mm if above else 0.0)
        pages[-1].extend(group)
        left_mm -= height_mm
    return pages


def flow_pdf(frame: Frame, blocks: Sequence[Block]) -> bytes:
    """The blocks on as many pages as they need."""
    bottom_mm = FOOT_MM - 4.0 - frame.foot.height_mm
    pages = _pages(blocks, bottom_mm - TOP_MM - frame.first.height_mm, bottom_mm - TOP_MM - frame.later.height_mm)
    paper = Paper(WIDTH_MM, HEIGHT_MM, frame.title, OFFICE_DPI)
    for number, page in enumerate(pages, start=1):
        if number > 1:
            paper.next_page()
        heading = frame.first if number == 1 else frame.later
        heading.draw(paper, TOP_MM)
        y = TOP_MM + heading.height_mm
        for block in page:
            block.draw(paper, y)
            y += block.height_mm
        frame.foot.draw(paper, bottom_mm)
        _draw_number(paper, frame.title, number, len(pages))
    return paper.finish()


def _draw_number(paper: Paper, title: str, number: int, total: int) -> None:
    paper.rule(LEFT_MM, FOOT_MM - 3.6, RIGHT_MM, 0.4)
    paper.paragraph(LEFT_MM, FOOT_MM - 3.0, wrapped(title, 7, ROOM_MM - 40))
    paper.paragraph_right(RIGHT_MM, FOOT_MM - 3.0, wrapped(f"page {number} of {total}", 7, 38))
