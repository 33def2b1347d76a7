"""The packing list: a section a parcel with its kit tag's barcode, a row a piece, what is owed in heavy frames."""

from labels.blocks import boxed_block, kept_together, rule_block, section_block, text_blocks
from labels.boxed import CAUTION_PT, CHANGE_PT
from labels.flow import LEFT_MM, RIGHT_MM, ROOM_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.packing import PackedParcel, PackedPiece, PackingListPaper
from labels.paper import Paper
from labels.text import fitted

_TICK_MM = 4.5
_TAG_MM = LEFT_MM + 8.0
_PIECE_MM = _TAG_MM + 27.0
_TITLE_MM = _PIECE_MM + 22.0
_HAND_MM = RIGHT_MM - 22.0
_BARCODE_MM = 62.0
_CODE_HIGH_MM = 14.0
_MOST_CARS = 4
"""More are listed beneath the heading, which is never torn between pages."""


def _parcel_block(parcel: PackedParcel) -> Block:
    """The heading of a parcel: which one, how many pieces, its kit tag as barcode."""
    room_mm = ROOM_MM - _BARCODE_MM - 4
    title = fitted(parcel.title, 13, room_mm, 2, Weight.BOLD, floor_pt=8)
    count = len(parcel.pieces)
    pieces = fitted(f"{count} {'piece' if count == 1 else 'pieces'}", 9, room_mm)

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 4.0
        paper.barcode_with_text(RIGHT_MM - _BARCODE_MM, y, _BARCODE_MM, _CODE_HIGH_MM, parcel.code, 9)
        y += paper.paragraph(LEFT_MM, y, title)
        paper.paragraph(LEFT_MM, y, pieces)
        paper.rule(LEFT_MM, top_mm + height_mm - 0.8, RIGHT_MM, 1.0)

    height_mm = 4.0 + max(title.height_mm + pieces.height_mm, _CODE_HIGH_MM) + 1.8
    return Block(height_mm, draw, with_next=True)


def _column_titles() -> Block:
    titles = ((_TAG_MM, "tag"), (_PIECE_MM, "piece"), (_TITLE_MM, "what"), (_HAND_MM, "hand"))

    def draw(paper: Paper, top_mm: float) -> None:
        for x_mm, title in titles:
            paper.paragraph(x_mm, top_mm, fitted(title, 7.5, 20))
        paper.rule(LEFT_MM, top_mm + 4.0, RIGHT_MM, 0.3)

    return Block(4.4, draw, with_next=True)


def _piece_block(piece: PackedPiece) -> Block:
    """A row: box to tick, tag, code, title, hand."""
    tag = fitted(piece.tag, 9, _PIECE_MM - _TAG_MM - 2, 2, floor_pt=7)
    code = fitted(piece.piece, 9, _TITLE_MM - _PIECE_MM - 2, 2, Weight.BOLD, floor_pt=7)
    hand = fitted(piece.hand, 9, RIGHT_MM - _HAND_MM, 2, Weight.BOLD, floor_pt=7)
    room_mm = _HAND_MM - _TITLE_MM - 2
    titles = [fitted(piece.title, 9.5, room_mm, 3, Weight.BOLD, floor_pt=7)]
    if piece.for_what:
        titles.append(fitted(piece.for_what, 7.5, room_mm, 2, floor_pt=6))

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 1.0
        paper.frame(LEFT_MM, y, _TICK_MM, _TICK_MM, 0.9)
        for x_mm, text in ((_TAG_MM, tag), (_PIECE_MM, code), (_HAND_MM, hand)):
            paper.paragraph(x_mm, y, text)
        for title in titles:
            y += paper.paragraph(_TITLE_MM, y, title)

    titles_mm = sum(title.height_mm for title in titles)
    return Block(max(titles_mm, tag.height_mm, code.height_mm, hand.height_mm, _TICK_MM) + 1.6, draw)


def _parcel_blocks(parcel: PackedParcel) -> list[Block]:
    blocks = [_parcel_block(parcel)]
    blocks += [boxed_block("POST", text, CAUTION_PT) for text in parcel.posting if text]
    if not parcel.pieces:
        return blocks + text_blocks("Nothing is in it.", 9.5, before_mm=1.5)
    blocks.append(_column_titles())
    for piece in parcel.pieces:
        blocks += [*kept_together([_piece_block(piece), rule_block()], _column_titles())]
    return blocks


def _missing_blocks(paper: PackingListPaper) -> list[Block]:
    """What the customer is owed, or what still has to be packed: first of all, so that nobody overlooks it."""
    blocks: list[Block] = []
    for title, word, remark, missing in (
        ("Owed", "OWED", "not in these parcels", paper.owed),
        ("Not packed yet", "MISSING", "this order has not gone out", paper.not_packed),
    ):
        if not missing:
            continue
        blocks.append(section_block(title, remark))
        if word == "OWED":
            blocks += text_blocks(paper.sent_incomplete, 9.5, weight=Weight.BOLD, before_mm=1.0)
        blocks += [boxed_block(word, text, CHANGE_PT, weight=Weight.BOLD) for text in missing if text]
    return blocks


def _car_facts(cars: tuple[str, ...]) -> list[Fact]:
    if len(cars) > _MOST_CARS:
        return [Fact("cars", f"{len(cars)} cars, listed beneath")]
    return [Fact("car", car) for car in cars]


def _frame(paper: PackingListPaper) -> Frame:
    facts = (
        Fact("customer", paper.customer),
        *_car_facts(paper.cars),
        Fact("kits", paper.kits, 4),
        Fact("delivery", paper.delivery),
        Fact("printed", paper.printed),
    )
    return Frame(
        title=f"Packing list, order {paper.order}",
        first=heading("Packing list", f"Order {paper.order}", paper.order_code, facts),
        later=later_heading(f"Packing list, order {paper.order}", paper.customer),
        foot=Block(0.0, lambda _paper, _top_mm: None),
    )


def packing_list_pdf(paper: PackingListPaper) -> bytes:
    """The packing list as PDF on A4. Raises PaperError for a code no barcode holds."""
    blocks: list[Block] = []
    if len(paper.cars) > _MOST_CARS:
        blocks.append(section_block("Cars"))
        blocks += [block for car in paper.cars for block in text_blocks(car, 8.5)]
    blocks += _missing_blocks(paper)
    if paper.substituted:
        blocks.append(section_block("Substituted", "agreed with the customer"))
        blocks += [block for text in paper.substituted for block in text_blocks(text, 9.5, before_mm=1.0)]
    for parcel in paper.parcels:
        blocks += _parcel_blocks(parcel)
    if not paper.parcels:
        blocks += text_blocks("Nothing of this order is packed.", 10, before_mm=3)
    return flow_pdf(_frame(paper), blocks)
