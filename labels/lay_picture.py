"""A planned cut drawn to scale: the stretch of cloth, the panels on it, each with its number in the list beneath."""

from functools import partial
from itertools import pairwise

from labels.blocks import text_blocks
from labels.errors import PaperError
from labels.flow import RIGHT_MM, Block
from labels.fonts import Weight, width_pt
from labels.paper import Paper, Shade
from labels.picking import CutPanel, PickCut
from labels.text import FLOOR_PT, PT_A_MM, Paragraph, fitted, shown

_MOST_HIGH_MM = 52.0
_NUMBER_PT = 8.0
_LEAST_NUMBER_PT = 3.5
"""Under the floor of a text: a number on a sliver of a panel would otherwise run over its neighbours."""
_PANEL: Shade = (0.9, 0.9, 0.9)
_CLOTH: Shade = (1.0, 1.0, 1.0)


def grouped(number: int) -> str:
    """A whole number with its thousands apart.

    >>> grouped(12450)
    '12 450'
    """
    return f"{number:,}".replace(",", " ")


def cut_in_words(cut: PickCut) -> str:
    """Where the cut lies on the roll."""
    return (
        f"Cut from {grouped(cut.from_mm)} to {grouped(cut.to_mm)} mm from the inner end: "
        f"{grouped(cut.to_mm - cut.from_mm)} mm of cloth {grouped(cut.width_mm)} mm wide."
    )


def _check(cut: PickCut) -> None:
    if cut.to_mm <= cut.from_mm or cut.width_mm <= 0:
        raise PaperError(
            f"A cut from {cut.from_mm} to {cut.to_mm} mm on cloth {cut.width_mm} mm wide has no area: "
            "correct its positions."
        )
    for panel in cut.panels:
        if len(panel.polygon) < 3:
            raise PaperError(
                f"The outline of panel {panel.label!r} has fewer than three points, so it cannot be drawn."
            )
        if not all(0 <= x <= cut.to_mm - cut.from_mm and 0 <= y <= cut.width_mm for x, y in panel.polygon):
            raise PaperError(f"Panel {panel.label!r} lies outside its cut: the lay must be made again.")


def inner_span(polygon: tuple[tuple[float, float], ...]) -> tuple[float, float, float]:
    """A level line well inside a polygon: its y, and the x where its longest part inside begins and ends.

    Several heights are tried and the longest inside part near the middle wins, so that a label stands in the panel
    even where the panel's middle is cut away.
    """
    low, high = min(y for _, y in polygon), max(y for _, y in polygon)
    best = (0.0, (low + high) / 2, 0.0, 0.0)
    for part in (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75):
        y = low + (high - low) * part + 1e-7
        crossings = sorted(
            x1 + (y - y1) * (x2 - x1) / (y2 - y1)
            for (x1, y1), (x2, y2) in pairwise((*polygon, polygon[0]))
            if (y1 <= y) != (y2 <= y)
        )
        for start, end in zip(crossings[::2], crossings[1::2], strict=False):
            length = (end - start) * (1 - abs(part - 0.5))
            if length > best[0]:
                best = (length, y, start, end)
    return best[1], best[2], best[3]


def _draw_label(paper: Paper, number: int, panel: CutPanel, points: tuple[tuple[float, float], ...]) -> None:
    """The number, and the panel's own label behind it where the panel is long enough for both."""
    y, start, end = inner_span(points)
    high_pt = (max(y for _, y in points) - min(y for _, y in points)) * PT_A_MM
    room_pt = max((end - start - 1.0) * PT_A_MM, 1.0)
    size_pt = min(_NUMBER_PT, max(high_pt * 0.6, FLOOR_PT))
    text = f"{number}  {shown(panel.label)}"
    if high_pt < FLOOR_PT or width_pt(text, size_pt, Weight.BOLD) > room_pt:
        text = str(number)
        widest_pt = size_pt * room_pt / width_pt(text, size_pt, Weight.BOLD)
        size_pt = max(min(size_pt, widest_pt, high_pt), _LEAST_NUMBER_PT)
    paper.centred((start + end) / 2, y + size_pt * 0.36 / PT_A_MM, text, size_pt, Weight.BOLD)


def _draw_picture(cut: PickCut, where: Paragraph, x_mm: float, scale: float, paper: Paper, top_mm: float) -> None:
    top_mm += paper.paragraph(x_mm, top_mm + 0.6, where) + 1.4
    long_mm, wide_mm = (cut.to_mm - cut.from_mm) * scale, cut.width_mm * scale
    cloth = ((x_mm, top_mm), (x_mm + long_mm, top_mm), (x_mm + long_mm, top_mm + wide_mm), (x_mm, top_mm + wide_mm))
    paper.polygon(cloth, 0.8, _CLOTH)
    placed = [tuple((x_mm + x * scale, top_mm + y * scale) for x, y in panel.polygon) for panel in cut.panels]
    for panel, points in zip(cut.panels, placed, strict=True):
        paper.polygon(points, 1.6 if panel.change else 0.5, _CLOTH if panel.change else _PANEL)
    for number, (panel, points) in enumerate(zip(cut.panels, placed, strict=True), start=1):
        _draw_label(paper, number, panel, points)
    below_mm = top_mm + wide_mm + 0.5
    first = fitted(f"{grouped(cut.from_mm)} mm", 7, 40)
    paper.paragraph(x_mm, below_mm, first)
    last = fitted(f"{grouped(cut.to_mm)} mm", 7, 40)
    last_mm = width_pt(last.lines[0], last.size_pt) / PT_A_MM
    paper.paragraph(min(max(x_mm + long_mm - last_mm, x_mm + 18), RIGHT_MM - last_mm), below_mm, last)


def cut_blocks(cut: PickCut, x_mm: float) -> list[Block]:
    """Where the cut lies, its picture from `x_mm` to at most the right margin, and its panels. Raises PaperError."""
    _check(cut)
    scale = min((RIGHT_MM - x_mm) / (cut.to_mm - cut.from_mm), _MOST_HIGH_MM / cut.width_mm)
    high_mm = cut.width_mm * scale
    where = fitted(cut_in_words(cut), 8.5, RIGHT_MM - x_mm, 2, Weight.BOLD)
    picture = Block(high_mm + where.height_mm + 6.4, partial(_draw_picture, cut, where, x_mm, scale), with_next=True)
    listed = " · ".join(
        f"{number} = {' '.join(part for part in (panel.label, panel.title) if part)}"
        + (f" CHANGED: {panel.change}" if panel.change else "")
        for number, panel in enumerate(cut.panels, start=1)
    )
    return [picture, *text_blocks(listed, 7.5, x_mm)]
