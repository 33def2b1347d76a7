"""An order that a supplier can read: whose it is, what is wanted, how much, at which price, and when."""

from labels.blocks import kept_together, rule_block, section_block, text_blocks
from labels.errors import PaperError
from labels.flow import LEFT_MM, RIGHT_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.paper import Paper
from labels.purchasing import OrderedLine, PurchaseOrderPaper
from labels.text import fitted

_NUMBER_MM = 9.0
_TITLE_MM = LEFT_MM + _NUMBER_MM
_QUANTITY_MM = RIGHT_MM - 66.0
"""Right edges of the columns of figures."""
_PRICE_MM = RIGHT_MM - 30.0
_TOTAL_MM = RIGHT_MM


def _column_titles() -> Block:
    right = ((_QUANTITY_MM, "quantity"), (_PRICE_MM, "price"), (_TOTAL_MM, "total"))

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(_TITLE_MM, top_mm, fitted("what", 7.5, 30))
        for right_mm, title in right:
            paper.paragraph_right(right_mm, top_mm, fitted(title, 7.5, 30))
        paper.rule(LEFT_MM, top_mm + 4.0, RIGHT_MM, 0.3)

    return Block(4.4, draw, with_next=True)


def _line_block(number: int, line: OrderedLine) -> Block:
    room_mm = _QUANTITY_MM - 28.0 - _TITLE_MM
    title = fitted(line.title, 10, room_mm, 3, Weight.BOLD, floor_pt=7)
    below = [fitted(f"our code {line.item}", 8, room_mm, 2, floor_pt=6)]
    below += [fitted(f"due {line.due}", 8.5, room_mm, 1, Weight.BOLD)] if line.due else []
    below += [fitted(line.note, 9, room_mm, 4, Weight.BOLD, floor_pt=7)] if line.note else []
    figures = (
        (_QUANTITY_MM, fitted(line.quantity, 10, 26, 1, Weight.BOLD, floor_pt=6.5)),
        (_PRICE_MM, fitted(line.price, 9, 34, 2, floor_pt=6.5)),
        (_TOTAL_MM, fitted(line.total, 9, 28, 2, floor_pt=6.5)),
    )

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 0.8
        paper.paragraph(LEFT_MM, y, fitted(f"{number}", 9, _NUMBER_MM - 1))
        for right_mm, figure in figures:
            paper.paragraph_right(right_mm, y, figure)
        for part in (title, *below):
            y += paper.paragraph(_TITLE_MM, y, part)

    text_mm = title.height_mm + sum(part.height_mm for part in below)
    return Block(max(text_mm, *(figure.height_mm for _, figure in figures)) + 1.6, draw)


def _total_block(total: str) -> Block:
    named = fitted("total", 10, 40)
    sum_of_it = fitted(total, 12, RIGHT_MM - LEFT_MM - 50, 2, Weight.BOLD, floor_pt=8)

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(_TITLE_MM, top_mm + 1.6, named)
        paper.paragraph_right(RIGHT_MM, top_mm + 1.2, sum_of_it)

    return Block(sum_of_it.height_mm + 3.0, draw)


def _frame(order: PurchaseOrderPaper) -> Frame:
    facts = (
        Fact("from", order.shop),
        Fact("to", order.supplier),
        Fact("ordered", order.ordered),
        Fact("due", order.due),
    )
    return Frame(
        title=f"Order {order.reference}",
        first=heading("Order", order.reference, "", facts),
        later=later_heading(f"Order {order.reference}", order.shop),
        foot=Block(0.0, lambda _paper, _top_mm: None),
    )


def purchase_order_pdf(order: PurchaseOrderPaper) -> bytes:
    """The order as PDF on A4. Raises PaperError for an order of nothing."""
    if not order.lines:
        raise PaperError(f"Order {order.reference!r} orders nothing.")
    count = len(order.lines)
    blocks = [section_block("We order", f"{count} {'line' if count == 1 else 'lines'}"), _column_titles()]
    for number, line in enumerate(order.lines, start=1):
        blocks += kept_together([_line_block(number, line), rule_block()], _column_titles())
    blocks.append(_total_block(order.total))
    blocks += text_blocks(order.carriage, 9.5)
    if order.requests:
        blocks.append(section_block("Please"))
        blocks += [block for text in order.requests for block in text_blocks(text, 9.5, before_mm=1.0)]
    return flow_pdf(_frame(order), blocks)
