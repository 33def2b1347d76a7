"""Which lines a tag has, in the order in which they are given up when a label is small: the last ones first."""

from dataclasses import dataclass
from functools import singledispatch

from labels.boxed import CAUTION_PT, CHANGE_PT
from labels.fonts import Weight
from labels.tags import (
    BinTag,
    BundleTag,
    KitTag,
    LowTag,
    PartTag,
    PieceTag,
    PlaceTag,
    RollTag,
    SwatchTag,
    steps_in_words,
)


@dataclass(frozen=True, slots=True)
class TagLine:
    """One text of a tag; `size_pt` is for a label of 63 × 38 mm and grows and shrinks with the label."""

    text: str
    size_pt: float
    weight: Weight = Weight.REGULAR
    most_lines: int = 1
    frame_pt: float = 0.0
    """Line of the frame round it; 0 is no frame."""
    badge: str = ""
    """The word in white on black that a framed text begins with."""


@dataclass(frozen=True, slots=True)
class TagContent:
    """A tag ready to be laid out: what kind it is, its heading, its lines in order of importance."""

    kind: str
    heading: TagLine
    lines: tuple[TagLine, ...]


def _joined(*parts: str) -> str:
    return " · ".join([part for part in parts if part])


def _named(name: str, text: str) -> str:
    return f"{name} {text}" if text else ""


def _content(kind: str, heading: TagLine, *lines: TagLine) -> TagContent:
    return TagContent(kind, heading, tuple([line for line in lines if line.text]))


def _lifting(mass: str, caution: str) -> TagLine:
    return TagLine(
        _joined(mass, caution), 6.5, Weight.REGULAR, 3, CAUTION_PT if caution else 0.0, "LIFT" if caution else ""
    )


@singledispatch
def tag_content(tag: object) -> TagContent:
    """What `tag` says, by its kind."""
    raise TypeError(f"not a tag: {type(tag).__name__}")


@tag_content.register
def _(tag: RollTag) -> TagContent:
    return _content(
        "ROLL",
        TagLine(tag.title, 10, Weight.BOLD, 2),
        TagLine(tag.quarantine, 7, Weight.BOLD, 2, CHANGE_PT, "QUARANTINE"),
        TagLine(_joined(tag.colour, _named("dye lot", tag.dye_lot)), 8.5, Weight.BOLD, 2),
        TagLine(_joined(tag.length, tag.width), 7.5, most_lines=2),
        _lifting(tag.mass, tag.lifting_caution),
        TagLine(_joined(tag.item, tag.place, tag.received), 7, most_lines=2),
    )


@tag_content.register
def _(tag: BinTag) -> TagContent:
    return _content(
        "BIN",
        TagLine(tag.title, 11, Weight.BOLD, 3),
        TagLine(tag.item, 9, Weight.BOLD),
        TagLine(_joined(tag.place, tag.colour), 8, most_lines=2),
        TagLine(_named("not to be used after", tag.expires), 7.5, Weight.BOLD),
        TagLine(_joined(tag.holds, tag.unit), 7.5),
        TagLine(tag.note, 7, most_lines=3),
    )


@tag_content.register
def _(tag: LowTag) -> TagContent:
    return _content(
        "LOW STOCK",
        TagLine(tag.title, 10, Weight.BOLD, 2),
        TagLine(tag.when, 8.5, Weight.BOLD, 2),
        TagLine(tag.hazards, 6.5, Weight.BOLD, 2, CAUTION_PT, "MIND"),
        TagLine(_joined(tag.place, tag.item), 7, most_lines=2),
        TagLine(tag.storage, 6, most_lines=3),
        TagLine(tag.rules, 5.5, most_lines=2),
    )


@tag_content.register
def _(tag: PieceTag) -> TagContent:
    holes = _joined(_named("holes marked on the back:", tag.holes_marked), _named("left solid:", tag.holes_solid))
    if tag.holes_solid and not tag.holes_marked:
        holes = _named("holes left solid:", tag.holes_solid)
    return _content(
        "PIECE",
        TagLine(f"{tag.piece}  {tag.title}".strip(), 9, Weight.BOLD, 2),
        TagLine(tag.change, 7, Weight.BOLD, 3, CHANGE_PT, "CHANGED"),
        TagLine(_joined(tag.hand, steps_in_words(tag.steps, tag.steps_total)), 8, Weight.BOLD, 2),
        TagLine(_joined(_named("order", tag.order), tag.car, tag.kit), 7, most_lines=3),
        TagLine(holes, 6.5, most_lines=3),
        TagLine(tag.note, 6.5, most_lines=4),
    )


@tag_content.register
def _(tag: KitTag) -> TagContent:
    return _content(
        "KIT",
        TagLine(tag.title, 11, Weight.BOLD, 2),
        TagLine(tag.owed, 7, Weight.BOLD, 3, CHANGE_PT, "OWED"),
        TagLine(tag.change, 7, Weight.BOLD, 3, CHANGE_PT, "CHANGED"),
        TagLine(_joined(_named("order", tag.order), tag.customer), 9, Weight.BOLD, 2),
        TagLine(tag.car, 7.5, most_lines=2),
        TagLine(_joined(tag.contents, tag.delivery, _named("wanted", tag.wanted)), 7.5, most_lines=2),
        _lifting(tag.mass, tag.lifting_caution),
    )


@tag_content.register
def _(tag: BundleTag) -> TagContent:
    return _content(
        "BUNDLE",
        TagLine(tag.kit, 11, Weight.BOLD, 2),
        TagLine(_joined(_named("order", tag.order), tag.customer), 9, Weight.BOLD, 2),
        TagLine(tag.contents, 9, Weight.BOLD),
        TagLine(tag.car, 7.5, most_lines=2),
        TagLine(_named("wanted", tag.wanted), 7.5),
    )


@tag_content.register
def _(tag: PlaceTag) -> TagContent:
    return _content(
        "PLACE",
        TagLine(tag.title, 18, Weight.BOLD, 2),
        TagLine(_named("walk", tag.walk), 8),
        TagLine(tag.note, 7, most_lines=3),
    )


@tag_content.register
def _(tag: PartTag) -> TagContent:
    return _content(
        "CUSTOMER'S PART",
        TagLine(tag.what, 10, Weight.BOLD, 2),
        TagLine(_joined(_named("order", tag.order), tag.customer), 9, Weight.BOLD, 2),
        TagLine(tag.car, 8, most_lines=2),
        TagLine("Not stock: it goes back with the order.", 7, most_lines=2),
        TagLine(_named("came in", tag.received), 7),
    )


@tag_content.register
def _(tag: SwatchTag) -> TagContent:
    return _content(
        "SWATCH",
        TagLine(tag.title, 10, Weight.BOLD, 2),
        TagLine(_named("dye lot", tag.dye_lot), 9, Weight.BOLD, 2),
        TagLine(_joined(_named("of", tag.roll), tag.place), 7.5, most_lines=2),
        TagLine(tag.item, 7, most_lines=2),
        TagLine(_named("cut", tag.cut), 7),
    )
