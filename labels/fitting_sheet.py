"""The fitting sheet: step n of m with a box to tick, what is unbolted before and refitted after, cautions framed."""

from functools import partial

from labels.blocks import boxed_block, cautions_block, kept_together, rule_block, section_block, text_blocks
from labels.boxed import CAUTION_PT, CHANGE_PT
from labels.fitting import FittingPiece, FittingSheet, FittingStep
from labels.flow import LEFT_MM, RIGHT_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.paper import Paper
from labels.text import Paragraph, fitted

_TICK_MM = 7.0
_STEP_MM = LEFT_MM + 10.0
_TEXT_MM = _STEP_MM + 21.0
_CODE_ROOM_MM = 54.0
_CODE_MM = RIGHT_MM - _CODE_ROOM_MM
_CODE_HIGH_MM = 11.0
_PIECE_MM = 22.0


def _step_block(step: FittingStep, total: int) -> Block:
    """Box to tick, number, what is done, for which kit."""
    room_mm = RIGHT_MM - _TEXT_MM
    what = fitted(step.what, 11, room_mm, 12, Weight.BOLD, floor_pt=8)
    kit = fitted(step.kit, 8, room_mm, 2)
    number = fitted(f"step {step.number}", 11, _TEXT_MM - _STEP_MM - 2, 1, Weight.BOLD)
    of_total = fitted(f"of {total}", 9, _TEXT_MM - _STEP_MM - 2)

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 1.6
        paper.frame(LEFT_MM, y, _TICK_MM, _TICK_MM, 1.2)
        paper.paragraph(_STEP_MM, y, number)
        paper.paragraph(_STEP_MM, y + number.height_mm, of_total)
        y += paper.paragraph(_TEXT_MM, y, what)
        if step.kit:
            paper.paragraph(_TEXT_MM, y, kit)

    text_mm = what.height_mm + (kit.height_mm if step.kit else 0.0)
    return Block(max(text_mm, _TICK_MM, number.height_mm + of_total.height_mm) + 2.4, draw)


def _piece_block(piece: FittingPiece) -> Block:
    """One piece: its code, title, hand and holes, its tag at the right."""
    room_mm = (_CODE_MM if piece.code else RIGHT_MM) - _TEXT_MM - _PIECE_MM - 2
    code = fitted(piece.piece, 9, _PIECE_MM - 2, 2, Weight.BOLD)
    title = " · ".join(part for part in (piece.title, piece.hand) if part)
    texts = [fitted(title, 9, room_mm, 3, Weight.BOLD, floor_pt=7)]
    if piece.holes:
        texts.append(fitted(piece.holes, 8, room_mm, 4, floor_pt=6))

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 0.8
        paper.paragraph(_TEXT_MM, y, code)
        if piece.code:
            paper.barcode_with_text(_CODE_MM, y, _CODE_ROOM_MM, _CODE_HIGH_MM, piece.code, 8)
        for text in texts:
            y += paper.paragraph(_TEXT_MM + _PIECE_MM, y, text)

    texts_mm = sum(text.height_mm for text in texts)
    return Block(max(texts_mm, code.height_mm, _CODE_HIGH_MM if piece.code else 0.0) + 1.6, draw)


def _draw_named(named: Paragraph, text: Paragraph, paper: Paper, top_mm: float) -> None:
    paper.paragraph(_TEXT_MM, top_mm + 0.6, named)
    paper.paragraph(_TEXT_MM + _PIECE_MM, top_mm + 0.6, text)


def _named_block(name: str, text: str) -> Block:
    """'Unbolt' or 'Refit' with what."""
    named = fitted(name, 9, _PIECE_MM - 2, 1, Weight.BOLD)
    said = fitted(text, 9, RIGHT_MM - _TEXT_MM - _PIECE_MM, 10, floor_pt=7)
    return Block(max(named.height_mm, said.height_mm) + 1.0, partial(_draw_named, named, said))


def _step_blocks(step: FittingStep, total: int) -> list[Block]:
    blocks = [_step_block(step, total)]
    blocks += [boxed_block("CAUTION", caution, CAUTION_PT, _TEXT_MM) for caution in step.cautions if caution]
    blocks += [
        boxed_block("CHANGED", change, CHANGE_PT, _TEXT_MM, weight=Weight.BOLD) for change in step.changes if change
    ]
    blocks += [_named_block("Unbolt", text) for text in step.unbolt]
    blocks += [_piece_block(piece) for piece in step.pieces]
    blocks += text_blocks(step.note, 8.5, _TEXT_MM)
    blocks += [_named_block("Refit", text) for text in step.refit]
    return [*kept_together(blocks), rule_block()]


def _frame(sheet: FittingSheet) -> Frame:
    facts = (
        Fact("customer", sheet.customer),
        Fact("orders", sheet.orders),
        Fact("kits", sheet.kits, 4),
        Fact("delivery", sheet.delivery),
        Fact("printed", sheet.printed),
    )
    return Frame(
        title=f"Fitting sheet, {sheet.car}",
        first=heading("Fitting sheet", sheet.car, sheet.car_code, facts),
        later=later_heading(f"Fitting sheet, {sheet.car}", sheet.customer),
        foot=cautions_block(sheet.cautions),
    )


def fitting_sheet_pdf(sheet: FittingSheet) -> bytes:
    """The fitting sheet as PDF on A4. Raises PaperError for a code no barcode holds."""
    blocks = [boxed_block("WAITS", text, CHANGE_PT) for text in sheet.waiting if text]
    blocks.append(section_block("Steps", "tick each when it is done"))
    if not sheet.steps:
        blocks += text_blocks("There are no steps to fit on this car.", 10, before_mm=2)
    for step in sheet.steps:
        blocks += _step_blocks(step, sheet.steps_total)
    return flow_pdf(_frame(sheet), blocks)
