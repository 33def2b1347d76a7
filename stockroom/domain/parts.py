"""What one piece is made of on one car: its panels, edgings, strips and hardware, each with its reasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from stockroom.domain.answers import Answers, Told, lowered
from stockroom.domain.changes import ChangedPiece, change_sentence, hardware_changes, refuse_unmatched_hardware
from stockroom.domain.kitbook import Ask, Edging, Hardware, Panel, Piece, Strip
from stockroom.domain.order import Change
from stockroom.domain.panels import Holes, edging_length, panel_shape
from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Need, PanelShape
from stockroom.domain.wording import listed, quoted, unknown

_ENDS = {
    "sewn in": "sewn in",
    "bench": "set at the bench",
    "loose": "loose in the packet",
    "on the car": "already on the car",
}
_HOW = {"bound": "bound with", "piped": "piped with"}
_LEFT = {"marked": "marked on the back", "solid": "left solid"}


@dataclass(slots=True)
class Part:
    """One requirement of a piece before it knows for which line and how many pieces."""

    part: str
    """As in `Key.part`."""
    need: Need
    item: str
    quantity: int
    """For one piece: panels, mm or count."""
    each_mm: int = 0
    reasons: list[str] = field(default_factory=list)
    shape: PanelShape | None = None
    changed: bool = False

    def add(self, more: Part) -> None:
        """Takes in more of the same item for the same thing."""
        self.quantity += more.quantity
        self.each_mm = max(self.each_mm, more.each_mm)
        self.reasons += [reason for reason in more.reasons if reason not in self.reasons]
        self.changed |= more.changed


@dataclass(frozen=True, slots=True)
class OnCar:
    """Hardware of one piece that is on the car already."""

    item: str
    count: int
    half: str


@dataclass(slots=True)
class Parts:
    """What one piece is made of."""

    by_part: dict[str, Part] = field(default_factory=dict)
    on_car: list[OnCar] = field(default_factory=list)
    holes_left: list[str] = field(default_factory=list)
    overruled: dict[str, None] = field(default_factory=dict)
    """Sentences of the overruled rules that bear on it."""
    piped_in: dict[str, None] = field(default_factory=dict)
    """Colours it is piped in."""

    def add(self, part: Part, *settled: Told) -> None:
        """Adds a part, or more of one that is there."""
        for answer in settled:
            if answer.overruled:
                part.changed = True
                self.overruled.update(dict.fromkeys(answer.overruled))
        there = self.by_part.get(part.part)
        if there is None:
            self.by_part[part.part] = part
        else:
            there.add(part)


def parts_of(answers: Answers, changed: ChangedPiece, book_piece: Piece, changes: Sequence[Change]) -> Parts:
    """What the changed piece is made of. What waits is noted in `answers`, and then the parts are not complete."""
    piece, parts = changed.piece, Parts()
    drawn = {panel.code: panel for panel in book_piece.panels}
    for panel in piece.panels:
        _add_panel(answers, parts, piece, panel, (changed.by_panel or {}).get(panel.code, ()), drawn.get(panel.code))
    for number, strip in enumerate(piece.strips, start=1):
        _add_strip(answers, parts, piece, strip, number)
    add_hardware(answers, parts, (lowered(piece.title), piece.code), piece.hardware, changes)
    return parts


def _add_panel(
    answers: Answers, parts: Parts, piece: Piece, panel: Panel, changes: tuple[str, ...], drawn: Panel | None
) -> None:
    present = answers.present(panel.present, piece.code)
    if present is None or not present[0]:
        return
    cloth, colour = answers.text(panel.cloth, piece.code), answers.colour(panel.role, piece.code)
    holes = _holes(answers, parts, piece, panel)
    if cloth and colour and holes is not None:
        item = answers.item(cloth[0], colour[0], piece.code)
        if item is not None:
            name = f"{answers.goods_title(cloth[0])} in {answers.colour_name(colour[0])}"
            reasons = [f"{piece.title}, panel {panel.code}: {name}."]
            reasons += [*present[1].because, *cloth[1].because, *colour[1].because, *holes[1]]
            reasons += [*_shape_reasons(panel), *changes]
            shape = panel_shape(panel, holes[0])
            part = Part(panel.code, "panel", item, panel.count, 0, reasons, shape, bool(changes))
            parts.add(part, present[1], cloth[1], colour[1], *holes[2])
    for edging in panel.edging:
        as_drawn = drawn is not None and drawn.shape is panel.shape and drawn.overlong_mm == panel.overlong_mm
        _add_edging(answers, parts, piece, panel, edging, () if as_drawn else changes)


def _holes(answers: Answers, parts: Parts, piece: Piece, panel: Panel) -> tuple[Holes, list[str], list[Told]] | None:
    holes, reasons, asked = [], [], []
    for hole in panel.holes:
        told = answers.text(hole.made, piece.code)
        if told is None:
            return None
        made, settled = told
        if made not in ("cut", "marked", "solid"):
            raise Refusal(f"The hole {quoted(hole.name)} cannot be {quoted(made)}: it is cut, marked or left solid.")
        holes.append((hole.name, hole.x_mm, hole.y_mm, hole.diameter_mm, made))
        if made in _LEFT:
            where = f" of panel {panel.code}" if len(piece.panels) > 1 else ""
            parts.holes_left.append(f"hole {quoted(hole.name)}{where}: {_LEFT[made]}")
        if isinstance(hole.made, Ask):
            said = _LEFT.get(made, "cut")
            reasons += [f"The hole {quoted(hole.name)} is {said}.", *settled.because]
            asked.append(settled)
    return tuple(holes), reasons, asked


def _shape_reasons(panel: Panel) -> list[str]:
    reasons = [
        f"Left {show_length(mm)} over-long at the {edge} for trimming on the car."
        for edge, mm in panel.overlong_mm.items()
        if mm
    ]
    if panel.mirrored:
        reasons.append("Cut as the mirror image of the drawn outline.")
    if panel.count > 1:
        reasons.append(f"{panel.count} a piece.")
    return reasons


def _add_edging(
    answers: Answers, parts: Parts, piece: Piece, panel: Panel, edging: Edging, changes: tuple[str, ...]
) -> None:
    found = _goods(answers, edging.goods, edging.role, piece.code)
    if found is None:
        return
    item, name, colour, settled = found
    if edging.how == "piped":
        parts.piped_in[colour] = None
    length = edging_length(panel, edging)
    each = f", {panel.count} panels" if panel.count > 1 else ""
    reasons = [
        f"{piece.title}, panel {panel.code}: {_HOW[edging.how]} {name} along {listed(edging.edges)}.",
        f"{length.working} = {length.length_mm} mm{each}.",
        *(reason for answer in settled for reason in answer.because),
        *changes,
    ]
    quantity = length.length_mm * panel.count
    part = Part(f"{edging.how}:{item}", "length", item, quantity, length.longest_mm, reasons, None, bool(changes))
    parts.add(part, *settled)


def _add_strip(answers: Answers, parts: Parts, piece: Piece, strip: Strip, number: int) -> None:
    found = _goods(answers, strip.goods, strip.role, piece.code)
    if found is None:
        return
    item, name, _, settled = found
    note = f" ({strip.note})" if strip.note else ""
    reasons = [
        f"{piece.title}: {strip.count} of {show_length(strip.length_mm)} of {name}{note}.",
        *(reason for answer in settled for reason in answer.because),
    ]
    total = strip.length_mm * strip.count
    parts.add(Part(f"strip:{item}:{number}", "length", item, total, strip.length_mm, reasons), *settled)


def _goods(answers: Answers, asked: str | Ask, role: str, holder: str) -> tuple[str, str, str, tuple[Told, ...]] | None:
    """Narrow goods in their colour: item, name, colour and how both were settled. No role: no colour."""
    goods = answers.text(asked, holder)
    colour = answers.colour(role, holder) if role else ("", Told(""))
    if goods is None or colour is None:
        return None
    item = answers.item(goods[0], colour[0], holder)
    if item is None:
        return None
    title = answers.goods_title(goods[0])
    name = f"{title} in {answers.colour_name(colour[0])}" if colour[0] else title
    return item, name, colour[0], (goods[1], colour[1])


def add_hardware(
    answers: Answers, parts: Parts, owner: tuple[str, str], lines: Sequence[Hardware], changes: Sequence[Change]
) -> None:
    """Adds the hardware of a piece or kit. `owner` is its title and code (what waits when an answer is missing)."""
    title, holder = owner
    items = []
    for line in lines:
        told = answers.text(line.item, holder)
        if told is None:
            continue
        items.append(told[0])
        _add_hardware_line(answers, parts, owner, line, told, hardware_changes(changes, told[0]))
    if len(items) == len(lines):
        own = answers.line.request.changes
        refuse_unmatched_hardware([change for change in changes if change in own], items, title)


def _add_hardware_line(
    answers: Answers,
    parts: Parts,
    owner: tuple[str, str],
    line: Hardware,
    told: tuple[str, Told],
    changes: Sequence[Change],
) -> None:
    title, holder = owner
    item, settled = told
    counted = answers.count(line.count, holder)
    if counted is None:
        return
    count, ends = counted[0], line.ends
    for change in changes:
        if change.what == "hardware":
            item = change.to
            if item not in answers.catalogue.items:
                raise Refusal(unknown("item", item, answers.catalogue.items))
        elif change.what == "count":
            count = max(0, change.mm)
        else:
            ends = "loose" if line.ends == "on the car" else line.ends
    if not count:
        return
    if ends == "on the car":
        parts.on_car.append(OnCar(item, count, line.half))
        return
    if answers.item(item, "", holder) is None:
        return
    half = f" ({line.half})" if line.half else ""
    note = f" {line.note}" if line.note else ""
    reasons = [
        f"{title[:1].upper()}{title[1:]}: {count} of {answers.item_title(item)}{half}, {_ENDS[ends]}.{note}",
        *settled.because,
        *counted[1].because,
        *map(change_sentence, changes),
    ]
    part = Part(f"hardware:{item}", "count", item, count, 0, reasons, None, bool(changes))
    parts.add(part, settled, counted[1])
