"""What stands on a pick list. Texts are printed as given, in the order given; lengths in mm, mass in grams, whole."""

from dataclasses import dataclass

Point = tuple[int, int]
"""mm: along the cloth from the start of the cut, and across it from its edge."""


@dataclass(frozen=True, slots=True)
class CutPanel:
    """One panel of a planned cut."""

    label: str
    """Short: what is chalked on the back of the panel."""
    polygon: tuple[Point, ...]
    """Its outline where it lies on the cut; at least three points."""
    title: str = ""
    change: str = ""
    """What differs on this car; the panel is then drawn heavy."""


@dataclass(frozen=True, slots=True)
class PickCut:
    """One contiguous stretch of one roll. Positions in mm from the roll's inner end."""

    from_mm: int
    to_mm: int
    width_mm: int
    """The usable width of the cloth."""
    panels: tuple[CutPanel, ...]


@dataclass(frozen=True, slots=True)
class PickLine:
    """One walk to one place."""

    place: str
    tag: str
    """The barcode: the tag of the roll, reel or bin."""
    title: str
    quantity: str
    """Length or count with its unit."""
    item: str = ""
    colour: str = ""
    swatch: tuple[int, int, int] | None = None
    """The colour as sRGB, each 0 to 255."""
    roll: str = ""
    dye_lot: str = ""
    reason: str = ""
    """The working: why this roll, why this length."""
    changes: tuple[str, ...] = ()
    """What differs on this car."""
    mass_g: int | None = None
    lifting_caution: str | None = None
    cut: PickCut | None = None
    for_what: str = ""
    """Which piece or kit it goes into, where that is not plain."""


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line which cannot be picked: it waits for an answer, or it is short."""

    title: str
    reason: str
    """The named answer it waits for, or why it is short."""
    quantity: str = ""
    for_what: str = ""


@dataclass(frozen=True, slots=True)
class PickList:
    """All that is fetched for one order."""

    order: str
    order_code: str
    """The order's barcode."""
    customer: str
    wanted: str
    """'open', a date, or 'overdue since' a date."""
    delivery: str
    """'sent' or 'fitted here', as it is to be read."""
    printed: str
    """By whom and when."""
    lines: tuple[PickLine, ...]
    cars: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    """What differs on this order as a whole."""
    waiting: tuple[OpenLine, ...] = ()
    short: tuple[OpenLine, ...] = ()
    cautions: tuple[str, ...] = ()
    """Blades, lifting: printed at the foot of every page."""
    overdue: bool = False
    """Whether `wanted` is past; it is then printed white on black."""
