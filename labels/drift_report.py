"""Colour drift on paper, to be sent to a supplier: two charts over the days, and the table of the lots."""

from functools import partial

from labels.blocks import kept_together, section_block, text_blocks
from labels.drift_chart import far_block, way_block
from labels.drifting import Answer, DriftLot, DriftPaper
from labels.errors import PaperError
from labels.flow import LEFT_MM, RIGHT_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.paper import Paper
from labels.text import Paragraph, fitted

_NUMBER_MM = 8.0
_LOT_MM = 30.0
_CAME_MM = LEFT_MM + _NUMBER_MM + _LOT_MM
_FIRST_MM = _CAME_MM + 31.0
"""Right edge of the first column of figures; the others follow."""
_COLUMN_MM = 12.4
_FIGURES = ("L*", "a*", "b*", "ΔL*", "Δa*", "Δb*", "ΔE00", "readings", "spread")
_ANSWER_MM = _FIRST_MM + (len(_FIGURES) - 1) * _COLUMN_MM + 2.0
_WORDS: dict[Answer, str] = {"matches": "matches", "by eye": "by eye", "no match": "NO MATCH"}


def _draw_row(
    parts: tuple[tuple[float, Paragraph], ...],
    figures: tuple[tuple[float, Paragraph], ...],
    paper: Paper,
    top_mm: float,
) -> None:
    for left_mm, part in parts:
        paper.paragraph(left_mm, top_mm + 0.5, part)
    for right_mm, part in figures:
        paper.paragraph_right(right_mm, top_mm + 0.5, part)
    paper.rule(LEFT_MM, top_mm + _ROW_MM - 0.2, RIGHT_MM, 0.2)


_ROW_MM = 5.0


def _row_block(number: int, lot: DriftLot) -> Block:
    figures = (
        f"{lot.lightness:.1f}",
        f"{lot.a:.1f}",
        f"{lot.b:.1f}",
        f"{lot.by_lightness:+.2f}",
        f"{lot.by_a:+.2f}",
        f"{lot.by_b:+.2f}",
        f"{lot.difference:.2f}",
        str(lot.readings),
        f"{lot.spread:.2f}" if lot.readings > 1 else "",
    )
    weight = Weight.BOLD if lot.answer == "no match" else Weight.REGULAR
    parts = (
        (LEFT_MM, fitted(str(number), 8.5, _NUMBER_MM - 1, 1, Weight.BOLD, 6)),
        (LEFT_MM + _NUMBER_MM, fitted(lot.dye_lot or "no lot", 8.5, _LOT_MM - 1, 1, Weight.BOLD, 6)),
        (_CAME_MM, fitted(lot.came.isoformat(), 8.5, 19, 1, floor_pt=6)),
        (_ANSWER_MM, fitted(_WORDS[lot.answer], 8.5, RIGHT_MM - _ANSWER_MM, 1, weight, 6)),
    )
    right = tuple(
        (_FIRST_MM + turn * _COLUMN_MM, fitted(text, 8.5, _COLUMN_MM - 0.8, 1, floor_pt=6))
        for turn, text in enumerate(figures)
    )
    return Block(_ROW_MM, partial(_draw_row, parts, right))


def _column_titles() -> Block:
    parts = tuple(
        (left_mm, fitted(name, 7.5, 20))
        for left_mm, name in (
            (LEFT_MM, "no."),
            (LEFT_MM + _NUMBER_MM, "dye lot"),
            (_CAME_MM, "came in"),
            (_ANSWER_MM, "so it"),
        )
    )
    right = tuple((_FIRST_MM + turn * _COLUMN_MM, fitted(name, 7.5, _COLUMN_MM)) for turn, name in enumerate(_FIGURES))
    return Block(_ROW_MM, partial(_draw_row, parts, right), with_next=True)


def _frame(drift: DriftPaper) -> Frame:
    facts = (
        Fact("from", drift.shop),
        Fact("supplier", drift.supplier),
        Fact("item", drift.item),
        Fact("master", drift.master),
        Fact("printed", drift.printed),
    )
    return Frame(
        title=f"Colour drift, {drift.title}",
        first=heading("Colour drift", drift.title, "", facts),
        later=later_heading(f"Colour drift, {drift.title}", drift.shop),
        foot=Block(0.0, lambda _paper, _top_mm: None),
    )


def drift_pdf(drift: DriftPaper) -> bytes:
    """The page of drift as PDF on A4. Raises PaperError: no lot was read."""
    if not drift.lots:
        raise PaperError(f"Of {drift.title!r} no lot can be held against the master.")
    blocks = [*text_blocks(drift.said, 10, weight=Weight.BOLD, before_mm=1.0)]
    blocks += [
        Block(3.0, lambda _paper, _top_mm: None, with_next=True),
        far_block(drift),
        way_block(drift),
        section_block("Lots", drift.how),
        _column_titles(),
    ]
    for number, lot in enumerate(drift.lots, start=1):
        blocks += kept_together([_row_block(number, lot)], _column_titles())
    for title, sentences in (("Rolls that do not match what is here", drift.apart), ("Not compared", drift.left_out)):
        if sentences:
            blocks.append(section_block(title))
            blocks += [block for sentence in sentences for block in text_blocks(sentence, 8.5)]
    return flow_pdf(_frame(drift), blocks)
