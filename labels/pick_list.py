"""The pick list: one line a pick in the order of the walk, what stands out standing out, 'page n of m' on each page."""

from labels.blocks import boxed_block, cautions_block, kept_together, rule_block, section_block, text_blocks
from labels.boxed import CAUTION_PT, CHANGE_PT
from labels.errors import PaperError
from labels.flow import LEFT_MM, RIGHT_MM, Block, Frame, flow_pdf
from labels.fonts import Weight
from labels.heading import Fact, heading, later_heading
from labels.lay_picture import cut_blocks, grouped
from labels.paper import Paper
from labels.picking import OpenLine, PickLine, PickList
from labels.text import Paragraph, fitted

_TICK_MM = 7.0
_PLACE_MM = LEFT_MM + 10.0
_TITLE_MM = _PLACE_MM + 28.0
_CODE_MM = RIGHT_MM - 80.0
_QUANTITY_MM = RIGHT_MM - 28.0
_TITLE_ROOM_MM = _CODE_MM - _TITLE_MM - 2.0
_SWATCH_MM = 9.0
_CODE_HIGH_MM = 12.5
_MOST_CARS = 4
"""More are listed beneath the heading, which is never torn between pages."""


def _titles(line: PickLine) -> tuple[Paragraph, ...]:
    """The column of names: title, item, roll and dye lot, what it is for."""
    lot = " · ".join(
        part
        for part in (f"roll {line.roll}" if line.roll else "", f"dye lot {line.dye_lot}" if line.dye_lot else "")
        if part
    )
    named = [
        fitted(line.title, 10, _TITLE_ROOM_MM, 3, Weight.BOLD, floor_pt=7),
        fitted(lot, 8.5, _TITLE_ROOM_MM, 2, Weight.BOLD, floor_pt=7),
        fitted(line.item, 7.5, _TITLE_ROOM_MM, 2, floor_pt=6),
        fitted(f"for {line.for_what}" if line.for_what else "", 7.5, _TITLE_ROOM_MM, 3, floor_pt=6),
    ]
    return tuple(paragraph for paragraph in named if paragraph.lines != ("",))


def _draw_colour(line: PickLine, colour: Paragraph, paper: Paper, top_mm: float) -> None:
    at_mm = _TITLE_MM
    if line.swatch is not None:
        red, green, blue = line.swatch
        paper.fill(at_mm, top_mm + 0.5, _SWATCH_MM, 4.6, (red / 255, green / 255, blue / 255))
        paper.frame(at_mm, top_mm + 0.5, _SWATCH_MM, 4.6, 0.6)
        at_mm += _SWATCH_MM + 1.5
    paper.paragraph(at_mm, top_mm + max(0.7, (5.6 - colour.height_mm) / 2), colour)


def _pick_block(line: PickLine) -> Block:
    """The row itself: box to tick, place, names, barcode, quantity."""
    place = fitted(line.place, 11, _TITLE_MM - _PLACE_MM - 2, 3, Weight.BOLD, floor_pt=7)
    quantity = fitted(line.quantity, 12, RIGHT_MM - _QUANTITY_MM, 3, Weight.BOLD, floor_pt=7)
    titles = _titles(line)
    colour_room_mm = _TITLE_ROOM_MM - (_SWATCH_MM + 1.5 if line.swatch else 0)
    colour = (
        fitted(line.colour, 9.5, colour_room_mm, 2, Weight.BOLD, floor_pt=7) if line.colour or line.swatch else None
    )
    colour_mm = max(5.8, colour.height_mm + 1.0) if colour else 0.0
    names_mm = sum(paragraph.height_mm for paragraph in titles) + colour_mm

    def draw(paper: Paper, top_mm: float) -> None:
        y = top_mm + 1.4
        paper.frame(LEFT_MM, y, _TICK_MM, _TICK_MM, 1.2)
        paper.paragraph(_PLACE_MM, y, place)
        paper.paragraph_right(RIGHT_MM, y, quantity)
        paper.barcode_with_text(_CODE_MM, y + 0.3, _QUANTITY_MM - _CODE_MM, _CODE_HIGH_MM, line.tag, 8.5)
        y += paper.paragraph(_TITLE_MM, y, titles[0])
        if colour:
            _draw_colour(line, colour, paper, y)
            y += colour_mm
        for paragraph in titles[1:]:
            y += paper.paragraph(_TITLE_MM, y, paragraph)

    tallest_mm = max(names_mm, _CODE_HIGH_MM + 0.3, place.height_mm, quantity.height_mm, _TICK_MM)
    return Block(tallest_mm + 2.2, draw)


def _line_blocks(line: PickLine) -> list[Block]:
    """A pick with what belongs to it: changes, mass, the cut, the working."""
    if not line.title:
        raise PaperError(f"The pick of {line.tag!r} has no title: give the item a name.")
    row = [_pick_block(line)]
    row += [
        boxed_block("CHANGED", change, CHANGE_PT, _PLACE_MM, weight=Weight.BOLD) for change in line.changes if change
    ]
    if line.lifting_caution:
        mass = f"{_mass(line.mass_g)}: " if line.mass_g is not None else ""
        row.append(boxed_block("LIFT", mass + line.lifting_caution, CAUTION_PT, _PLACE_MM, 8))
    elif line.mass_g is not None:
        row += text_blocks(f"mass {_mass(line.mass_g)}", 8, _TITLE_MM)
    if line.cut:
        row += cut_blocks(line.cut, _PLACE_MM)
    return [*kept_together([*row, *text_blocks(line.reason, 7.5, _PLACE_MM)], _column_titles()), rule_block()]


def _mass(mass_g: int) -> str:
    """Mass in kilograms, rounded up so that nobody lifts more than is said.

    >>> _mass(34120)
    '34.2 kg'
    """
    tenths = -(-mass_g // 100)
    return f"{grouped(tenths // 10)}.{tenths % 10} kg"


def _open_block(line: OpenLine) -> Block:
    title = fitted(line.title, 9, 86, 3, Weight.BOLD, floor_pt=7)
    quantity = fitted(line.quantity, 9, 30, 2, Weight.BOLD, floor_pt=7)
    for_what = fitted(f"for {line.for_what}" if line.for_what else "", 7.5, 58, 3, floor_pt=6)

    def draw(paper: Paper, top_mm: float) -> None:
        paper.paragraph(LEFT_MM, top_mm + 1, title)
        paper.paragraph(LEFT_MM + 90, top_mm + 1.3, for_what)
        paper.paragraph_right(RIGHT_MM, top_mm + 1, quantity)

    return Block(max(title.height_mm, quantity.height_mm, for_what.height_mm + 0.3) + 1.2, draw)


def _open_section(title: str, remark: str, lines: tuple[OpenLine, ...]) -> list[Block]:
    if not lines:
        return []
    blocks = [section_block(title, remark)]
    for line in lines:
        blocks += [*kept_together([_open_block(line), *text_blocks(line.reason, 8.5, LEFT_MM + 3)]), rule_block()]
    return blocks


def _column_titles() -> Block:
    titles = ((LEFT_MM, "done"), (_PLACE_MM, "place"), (_TITLE_MM, "what"), (_CODE_MM + 5, "tag"))

    def draw(paper: Paper, top_mm: float) -> None:
        for x_mm, title in titles:
            paper.paragraph(x_mm, top_mm, fitted(title, 7.5, 30))
        paper.paragraph_right(RIGHT_MM, top_mm, fitted("how much", 7.5, 28))
        paper.rule(LEFT_MM, top_mm + 4.0, RIGHT_MM, 0.3)

    return Block(4.4, draw, with_next=True)


def _car_facts(cars: tuple[str, ...]) -> list[Fact]:
    if len(cars) > _MOST_CARS:
        return [Fact("cars", f"{len(cars)} cars, listed beneath")]
    return [Fact("car", car) for car in cars]


def _car_blocks(cars: tuple[str, ...]) -> list[Block]:
    if len(cars) <= _MOST_CARS:
        return []
    return [section_block("Cars"), *[block for car in cars for block in text_blocks(car, 8.5)]]


def _frame(picks: PickList) -> Frame:
    facts = (
        Fact("customer", picks.customer),
        *_car_facts(picks.cars),
        Fact("wanted", picks.wanted, stands_out=picks.overdue),
        Fact("delivery", picks.delivery),
        Fact("printed", picks.printed),
    )
    return Frame(
        title=f"Pick list, order {picks.order}",
        first=heading("Pick list", f"Order {picks.order}", picks.order_code, facts),
        later=later_heading(f"Pick list, order {picks.order}", picks.customer),
        foot=cautions_block(picks.cautions),
    )


def pick_list_pdf(picks: PickList) -> bytes:
    """The pick list as PDF on A4. Raises PaperError: a code no barcode holds, a cut whose panels lie outside it."""
    blocks = _car_blocks(picks.cars)
    blocks += [boxed_block("CHANGED", change, CHANGE_PT, weight=Weight.BOLD) for change in picks.changes if change]
    count = len(picks.lines)
    blocks.append(section_block("To pick", f"{count} {'line' if count == 1 else 'lines'}, in walking order"))
    if picks.lines:
        blocks.append(_column_titles())
        for line in picks.lines:
            blocks += _line_blocks(line)
    else:
        blocks += text_blocks("There is nothing to pick for this order now.", 10, before_mm=2)
    blocks += _open_section("Waits for an answer", "nothing is held or cut for these", picks.waiting)
    blocks += _open_section("Short", "required and not free", picks.short)
    return flow_pdf(_frame(picks), blocks)
