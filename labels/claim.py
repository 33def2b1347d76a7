"""The claim on a supplier: which roll of which dye lot, the length it came in with and the length found, its flaws."""

from functools import partial

from labels.blocks import boxed_block, kept_together, rule_block, section_block, text_blocks
from labels.boxed import CHANGE_PT
from labels.claiming import ClaimPaper, Flaw, ShortLength
from labels.errors import PaperError
from labels.flow import LEFT_MM, RIGHT_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.paper import Paper
from labels.text import Paragraph, fitted

_TEXT_MM = LEFT_MM + 62.0
_LINE_MM = 9.0


def _draw_row(name: Paragraph, text: Paragraph, paper: Paper, top_mm: float) -> None:
    paper.paragraph(LEFT_MM, top_mm + 1.0, name)
    paper.paragraph(_TEXT_MM, top_mm + 1.0, text)


def _row_block(name: str, text: str, most_lines: int = 4) -> Block:
    """A name at the left, what is said of it at the right."""
    named = fitted(name, 10, _TEXT_MM - LEFT_MM - 2, 2, floor_pt=7)
    said = fitted(text, 10, RIGHT_MM - _TEXT_MM, most_lines, Weight.BOLD, floor_pt=7)
    return Block(max(named.height_mm, said.height_mm) + 1.6, partial(_draw_row, named, said))


def _written_block(name: str) -> Block:
    """A line to write on."""
    named = fitted(name, 10, _TEXT_MM - LEFT_MM - 2)

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(LEFT_MM, top_mm + _LINE_MM - named.height_mm, named)
        paper.rule(_TEXT_MM, top_mm + _LINE_MM, RIGHT_MM, 0.5)

    return Block(_LINE_MM + 1.0, draw)


def _short_blocks(short: ShortLength) -> list[Block]:
    blocks = [
        section_block("Length", "whole roll, cuts already made counted in"),
        _row_block("length it came in with", short.received),
        _row_block("length found", short.measured),
    ]
    blocks += [boxed_block("SHORT", short.missing, CHANGE_PT, size_pt=11, weight=Weight.BOLD)]
    return [*blocks, *[block for text in short.found for block in text_blocks(text, 8.5)]]


def _flaw_blocks(flaws: tuple[Flaw, ...], flawed: str) -> list[Block]:
    blocks = [section_block("Flaws", "from the inner end of what is left of the roll")]
    for flaw in flaws:
        blocks += kept_together([_row_block(flaw.where, flaw.what, 6), rule_block()])
    if flawed:
        blocks.append(boxed_block("FLAWED", flawed, CHANGE_PT, size_pt=11, weight=Weight.BOLD))
    return blocks


def _frame(claim: ClaimPaper) -> Frame:
    facts = (
        Fact("from", claim.shop),
        Fact("supplier", claim.supplier or "not written down"),
        Fact("purchase", claim.purchase or "not written down"),
        Fact("written", claim.printed),
    )
    return Frame(
        title=f"Claim, roll {claim.roll_code}",
        first=heading("Claim", f"Roll {claim.roll_code}", claim.roll_code, facts),
        later=later_heading(f"Claim, roll {claim.roll_code}", claim.supplier),
        foot=Block(0.0, lambda _paper, _top_mm: None),
    )


def claim_pdf(claim: ClaimPaper) -> bytes:
    """The claim as PDF on A4. Raises PaperError: a claim for nothing, a code no barcode holds."""
    if claim.short is None and not claim.flaws:
        raise PaperError(f"A claim for roll {claim.roll_code!r} says neither a short length nor a flaw.")
    blocks = [section_block("Goods")]
    named = (
        ("goods", claim.title),
        ("item", claim.item),
        ("colour", claim.colour),
        ("dye lot", claim.dye_lot),
        ("usable width", claim.width),
        ("roll came marked", claim.label),
        ("received", claim.received),
        ("delivery note", claim.delivery),
    )
    blocks += [_row_block(name, text) for name, text in named if text]
    blocks += text_blocks(claim.remark, 8.5, before_mm=1.0)
    if claim.short is not None:
        blocks += _short_blocks(claim.short)
    if claim.flaws:
        blocks += _flaw_blocks(claim.flaws, claim.flawed)
    blocks.append(section_block("To be filled in"))
    blanks = [] if claim.supplier else ["supplier"]
    blanks += [] if claim.purchase else ["purchase"]
    blanks += ["what we ask for", "signed"]
    blocks += [_written_block(name) for name in blanks]
    return flow_pdf(_frame(claim), blocks)
