"""What stands on a tag. Every text is printed as given; an empty one is left out. `code` becomes the barcode."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RollTag:
    """A roll, a reel or a remnant."""

    code: str
    title: str
    """What cloth or narrow goods it is."""
    item: str = ""
    colour: str = ""
    dye_lot: str = ""
    length: str = ""
    """As it is to be read, with its unit and whether it was measured: '23 450 mm, measured'."""
    width: str = ""
    place: str = ""
    received: str = ""
    mass: str = ""
    lifting_caution: str = ""
    quarantine: str = ""
    """Why nothing may be cut from it; empty where it may."""


@dataclass(frozen=True, slots=True)
class BinTag:
    """A bin of hardware or of blanks."""

    code: str
    title: str
    item: str = ""
    holds: str = ""
    """What kind of goods: 'hardware', 'blanks'."""
    unit: str = ""
    place: str = ""
    colour: str = ""
    note: str = ""
    expires: str = ""
    """The day after which it is not to be used."""


@dataclass(frozen=True, slots=True)
class LowTag:
    """The tag at a shelf that is scanned when something runs out: it carries the code of the bin."""

    code: str
    title: str
    when: str
    """When it is to be scanned: 'Scan this when 2 are left.'"""
    item: str = ""
    place: str = ""
    hazards: str = ""
    storage: str = ""
    rules: str = ""
    """Whose word on hazards and storage comes first."""


@dataclass(frozen=True, slots=True)
class PieceTag:
    """One piece of an ordered kit."""

    code: str
    piece: str
    """The piece's code in the kit book."""
    title: str
    order: str
    car: str = ""
    kit: str = ""
    hand: str = ""
    steps: tuple[int, ...] = ()
    """The steps of the fitting in which it comes up, first one first."""
    steps_total: int = 0
    """Steps of the whole fitting over all kits of the car."""
    holes_marked: str = ""
    """Holes marked on the back, as one text."""
    holes_solid: str = ""
    """Holes left solid, as one text."""
    change: str = ""
    """What differs on this car; printed in a heavy frame."""
    note: str = ""
    """The fitter's note."""


@dataclass(frozen=True, slots=True)
class KitTag:
    """A finished kit, or one box of it."""

    code: str
    title: str
    order: str = ""
    customer: str = ""
    car: str = ""
    contents: str = ""
    """Which box of how many, and how many pieces."""
    wanted: str = ""
    delivery: str = ""
    """'sent' or 'fitted here', as it is to be read."""
    change: str = ""
    mass: str = ""
    lifting_caution: str = ""
    owed: str = ""
    """What was not sent with it; printed in a heavy frame."""


@dataclass(frozen=True, slots=True)
class BundleTag:
    """The cut panels of one kit, tied."""

    code: str
    kit: str
    order: str
    customer: str = ""
    car: str = ""
    contents: str = ""
    """How many pieces its panels are for."""
    wanted: str = ""


@dataclass(frozen=True, slots=True)
class PlaceTag:
    """A rack, shelf or bin that a walk stops at."""

    code: str
    title: str
    walk: str = ""
    """Where it comes in the walking order."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PartTag:
    """A part of the customer's that came in with an order: a frame, a bright part. It is no stock."""

    code: str
    what: str
    order: str = ""
    customer: str = ""
    car: str = ""
    received: str = ""
    """When it came, and who took it in."""


@dataclass(frozen=True, slots=True)
class SwatchTag:
    """A swatch of a dye lot."""

    code: str
    title: str
    """What cloth or narrow goods it is of, in its colour."""
    item: str = ""
    dye_lot: str = ""
    roll: str = ""
    """Tag of the roll that it was cut from."""
    place: str = ""
    cut: str = ""
    """When it was cut, and who cut it."""


Tag = RollTag | BinTag | LowTag | PieceTag | KitTag | BundleTag | PlaceTag | PartTag | SwatchTag


def steps_in_words(steps: tuple[int, ...], steps_total: int) -> str:
    """The steps of a piece as its tag says them.

    >>> steps_in_words((3, 17), 41)
    'step 3 of 41; again at 17'
    >>> steps_in_words((3, 17, 20), 41)
    'step 3 of 41; again at 17 and 20'
    """
    if not steps:
        return ""
    first = f"step {steps[0]} of {steps_total}" if steps_total else f"step {steps[0]}"
    again = [str(step) for step in steps[1:]]
    if not again:
        return first
    listed = again[0] if len(again) == 1 else f"{', '.join(again[:-1])} and {again[-1]}"
    return f"{first}; again at {listed}"
