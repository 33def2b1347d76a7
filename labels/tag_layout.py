"""Where the lines of a tag stand on its label.

From the top: the heading with the tag's kind in a black box, the lines, and at the foot the barcode with its code for
reading. Lines shrink together as far as the floor; then the least important give up their second and third lines.
"""

from dataclasses import dataclass, replace

from labels.boxed import Boxed, boxed
from labels.errors import PaperError
from labels.paper import Paper, badge_width_mm
from labels.sheet import Sheet
from labels.tag_lines import TagContent, TagLine
from labels.text import FLOOR_PT, LEADING, PT_A_MM, Paragraph, wrapped

_GAP_MM = 0.15
"""Between a line and the next."""
_BADGE_PT = 6.0
_STEP = 0.93


@dataclass(frozen=True, slots=True)
class LabelSize:
    """A label's box and what is derived from it once a sheet: margins, barcode and letter sizes."""

    width_mm: float
    height_mm: float
    pad_mm: float
    bars_mm: float
    code_pt: float
    scale: float

    @property
    def room_mm(self) -> float:
        """Width for text."""
        return self.width_mm - 2 * self.pad_mm

    @property
    def foot_mm(self) -> float:
        """Height of the barcode with its code beneath."""
        return self.bars_mm + self.code_pt * LEADING / PT_A_MM


def label_size(sheet: Sheet) -> LabelSize:
    """The sizes for the labels of `sheet`."""
    width_mm, height_mm = sheet.label_width_mm, sheet.label_height_mm
    scale = min(max(min(width_mm / 63, height_mm / 38), 0.7), 1.9)
    return LabelSize(
        width_mm,
        height_mm,
        pad_mm=min(2.5, height_mm * 0.05),
        bars_mm=min(max(height_mm * 0.18, 5.0), 18.0),
        code_pt=8.0 * scale,
        scale=scale,
    )


def _place(line: TagLine, scale: float, room_mm: float) -> Paragraph | Boxed:
    size_pt = max(line.size_pt * scale, FLOOR_PT)
    if line.frame_pt:
        return boxed(line.badge, line.text, size_pt, room_mm, line.most_lines, line.frame_pt, line.weight)
    return wrapped(line.text, size_pt, room_mm, line.most_lines, line.weight)


def _stack(content: TagContent, scale: float, size: LabelSize) -> list[Paragraph | Boxed]:
    kind_mm = badge_width_mm(content.kind, _BADGE_PT * size.scale) + 1.5
    return [
        _place(content.heading, scale, size.room_mm - kind_mm),
        *[_place(line, scale, size.room_mm) for line in content.lines],
    ]


def _with_fewer_lines(content: TagContent) -> TagContent | None:
    """The same with one line of text less in the least important text that has several; None where none has."""
    lines = list(content.lines)
    for at in range(len(lines) - 1, -1, -1):
        if lines[at].most_lines > 1:
            lines[at] = replace(lines[at], most_lines=lines[at].most_lines - 1)
            return replace(content, lines=tuple(lines))
    if content.heading.most_lines > 1:
        return replace(content, heading=replace(content.heading, most_lines=content.heading.most_lines - 1))
    return None


def _fits(stack: list[Paragraph | Boxed], room_mm: float) -> bool:
    return sum([part.height_mm + _GAP_MM for part in stack]) <= room_mm


def _cut_short(part: Paragraph | Boxed) -> bool:
    return part.paragraph.cut_short if isinstance(part, Boxed) else part.cut_short


def _arranged(content: TagContent, size: LabelSize) -> list[Paragraph | Boxed]:
    """The lines at the largest size at which all words fit, else at the floor with the fewest words lost."""
    room_mm = size.height_mm - 2 * size.pad_mm - size.foot_mm - 0.9
    largest = max([content.heading.size_pt, *[line.size_pt for line in content.lines]])
    scale = size.scale
    while True:
        stack = _stack(content, scale, size)
        if _fits(stack, room_mm) and not any(_cut_short(part) for part in stack):
            return stack
        if largest * scale <= FLOOR_PT:
            break
        scale *= _STEP
    fewer: TagContent | None = content
    while fewer is not None:
        stack = _stack(fewer, scale, size)
        if _fits(stack, room_mm):
            return stack
        fewer = _with_fewer_lines(fewer)
    raise PaperError(
        f"A {content.kind.lower()} tag with {len(content.lines)} lines does not fit a label of "
        f"{size.width_mm:g} × {size.height_mm:g} mm: choose a larger label."
    )


def draw_tag(paper: Paper, left_mm: float, top_mm: float, code: str, content: TagContent, size: LabelSize) -> None:
    """Draws one tag in its label's box. Raises PaperError where code or lines do not fit."""
    left, right = left_mm + size.pad_mm, left_mm + size.width_mm - size.pad_mm
    y = top_mm + size.pad_mm
    kind_pt = _BADGE_PT * size.scale
    paper.badge(right - badge_width_mm(content.kind, kind_pt), y, content.kind, kind_pt)
    for part in _arranged(content, size):
        if isinstance(part, Boxed):
            part.draw(paper, left, y)
        else:
            paper.paragraph(left, y, part)
        y += part.height_mm + _GAP_MM
    foot_mm = top_mm + size.height_mm - size.pad_mm - size.foot_mm
    paper.barcode_with_text(left_mm + 0.5, foot_mm, size.width_mm - 1.0, size.foot_mm, code, size.code_pt)
