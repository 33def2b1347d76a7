"""The reorder report: by supplier, a line an item, its position, a picture of use and stock, the reason in words."""

from labels.blocks import kept_together, rule_block, section_block, text_blocks
from labels.flow import LEFT_MM, RIGHT_MM, Block, Draw, Frame, flow_pdf
from labels.fonts import Weight, width_pt
from labels.heading import Fact, heading, later_heading
from labels.paper import Paper
from labels.reordering import ReorderLine, ReorderReport, SupplierProposals
from labels.text import PT_A_MM, Paragraph, fitted
from labels.use_picture import HIGH_MM, WIDE_MM, draw_stock, draw_use

_TITLE_ROOM_MM = 44.0
_COLUMN_MM = 15.5
_HELD_MM = LEFT_MM + _TITLE_ROOM_MM + _COLUMN_MM
"""Right edge of the first column of figures; the others follow."""
_USE_MM = _HELD_MM + 3 * _COLUMN_MM + 2.0
_QUANTITY_MM = RIGHT_MM - 19.0
_PICTURED = "Pictures: what was used each week; then the stock to come, a line with what is proposed, dashed without."


def _figure(text: str, size_pt: float, room_mm: float, weight: Weight = Weight.REGULAR) -> Paragraph:
    """A quantity on one line where it can be, on two where it must."""
    one = fitted(text, size_pt, room_mm, 1, weight, floor_pt=6.5)
    return fitted(text, size_pt, room_mm, 2, weight, floor_pt=6) if one.cut_short else one


def _figures(line: ReorderLine) -> list[tuple[float, Paragraph]]:
    """Right edge and text of each figure of a row."""
    room_mm = _COLUMN_MM - 1.5
    texts = (line.held, line.reserved, line.on_order, line.need)
    figures = [(_HELD_MM + number * _COLUMN_MM, _figure(text, 8.5, room_mm)) for number, text in enumerate(texts)]
    quantity_room_mm = _QUANTITY_MM - _USE_MM - WIDE_MM - 1.5
    figures.append((_QUANTITY_MM, _figure(line.quantity, 9.5, quantity_room_mm, Weight.BOLD)))
    figures.append((RIGHT_MM, _figure(line.cost, 8.5, RIGHT_MM - _QUANTITY_MM - 1.5)))
    return figures


def _row_block(line: ReorderLine) -> Block:
    title = fitted(line.title, 9, _TITLE_ROOM_MM - 2, 3, Weight.BOLD, floor_pt=7)
    item = fitted(line.item, 7.5, _TITLE_ROOM_MM - 2, 2, floor_pt=6)
    mark = fitted(line.mark.upper(), 8, _TITLE_ROOM_MM - 4, 1, Weight.BOLD)
    mark_mm = mark.height_mm + 0.4 if line.mark else 0.0
    figures = _figures(line)
    pictured = bool(line.weekly_use or line.projected)

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 0.8
        for right_mm, figure in figures:
            paper.paragraph_right(right_mm, y, figure)
        if pictured:
            draw_use(line.weekly_use, paper, _USE_MM, y + 0.3)
            draw_stock(line.projected, line.as_it_is, paper, _USE_MM, y + 0.3)
        if line.mark:
            paper.badge(LEFT_MM, y, mark.lines[0], mark.size_pt)
            y += mark_mm
        y += paper.paragraph(LEFT_MM, y, title)
        paper.paragraph(LEFT_MM, y, item)

    use_mm = HIGH_MM + 0.6 if pictured else 0.0
    tallest_mm = max(mark_mm + title.height_mm + item.height_mm, use_mm, *(figure.height_mm for _, figure in figures))
    return Block(tallest_mm + 1.2, draw)


def _column_titles() -> Block:
    names = ("held", "reserved", "on order", "need")

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(LEFT_MM, top_mm, fitted("item", 7.5, 30))
        for number, name in enumerate(names):
            paper.paragraph_right(_HELD_MM + number * _COLUMN_MM, top_mm, fitted(name, 7.5, _COLUMN_MM))
        paper.paragraph(_USE_MM, top_mm, fitted("use a week, then stock", 7.5, WIDE_MM))
        paper.paragraph_right(_QUANTITY_MM, top_mm, fitted("to order", 7.5, 20))
        paper.paragraph_right(RIGHT_MM, top_mm, fitted("cost", 7.5, 18))
        paper.rule(LEFT_MM, top_mm + 4.0, RIGHT_MM, 0.3)

    return Block(4.4, draw, with_next=True)


def _total_draw(name: str, total: str) -> Draw:
    named = fitted(name, 10, 110, 1, Weight.BOLD)
    amount = fitted(total, 10, 60, 1, Weight.BOLD)
    amount_mm = width_pt(amount.lines[0], amount.size_pt, amount.weight) / PT_A_MM

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph_right(RIGHT_MM - amount_mm - 5, top_mm + 0.8, named)
        paper.paragraph_right(RIGHT_MM, top_mm + 0.8, amount)

    return draw


def _supplier_blocks(proposals: SupplierProposals) -> list[Block]:
    count = len(proposals.lines)
    blocks = [section_block(proposals.supplier, f"{count} {'line' if count == 1 else 'lines'}")]
    blocks += [Block(block.height_mm + 0.8, block.draw, with_next=True) for block in text_blocks(proposals.terms, 8)]
    blocks.append(_column_titles())
    for line in proposals.lines:
        row = [_row_block(line), *text_blocks(line.reason, 8, LEFT_MM, before_mm=0.4)]
        blocks += [*kept_together(row, _column_titles()), rule_block()]
    if proposals.total:
        last = blocks.pop()
        blocks += [
            Block(last.height_mm, last.draw, with_next=True),
            Block(6.5, _total_draw(f"Total, {proposals.supplier}", proposals.total)),
        ]
    return blocks


def reorder_report_pdf(report: ReorderReport) -> bytes:
    """The reorder report as PDF on A4; without lines it says `report.nothing`."""
    frame = Frame(
        title=f"Reorder report, {report.week}",
        first=heading(
            f"Reorder report, {report.shop}",
            report.week,
            "",
            (Fact("printed", report.printed), Fact("total", report.total)),
        ),
        later=later_heading(f"Reorder report, {report.week}", report.shop),
        foot=Block(0.0, lambda _paper, _top_mm: None),
    )
    blocks = [block for remark in report.remarks for block in text_blocks(remark, 8.5)]
    with_lines = [proposals for proposals in report.suppliers if proposals.lines]
    if not with_lines:
        blocks += text_blocks(report.nothing, 12, weight=Weight.BOLD, before_mm=6)
    for proposals in with_lines:
        blocks += _supplier_blocks(proposals)
    if any(line.projected for proposals in with_lines for line in proposals.lines):
        blocks += text_blocks(_PICTURED, 7.5, before_mm=1)
    if report.later:
        blocks.append(section_block("Wanted later", "shown, not bought yet"))
        blocks += [block for line in report.later for block in text_blocks(line, 8)]
    if report.idle:
        blocks.append(section_block("Lies idle", "use it up, sell it, or let it run out"))
        blocks += [block for line in report.idle for block in text_blocks(line, 8)]
    return flow_pdf(frame, blocks)
