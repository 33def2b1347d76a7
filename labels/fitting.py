"""What stands on a fitting sheet: the steps over all kits of one car, in the order in which they are done."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FittingPiece:
    """A piece that comes up in a step."""

    piece: str
    """The piece's code in the kit book."""
    title: str
    code: str = ""
    """Its tag, printed as a barcode; empty where it has none yet."""
    hand: str = ""
    holes: str = ""
    """Which holes are marked on the back and which are left solid."""


@dataclass(frozen=True, slots=True)
class FittingStep:
    """One step."""

    number: int
    """Its number on the piece tags; `FittingSheet.steps_total` is the 'of m'."""
    what: str
    kit: str = ""
    pieces: tuple[FittingPiece, ...] = ()
    unbolt: tuple[str, ...] = ()
    """What is taken off the car before."""
    refit: tuple[str, ...] = ()
    """What goes back on after."""
    cautions: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    """What differs on this car."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class FittingSheet:
    """All steps of one car."""

    car: str
    steps_total: int
    steps: tuple[FittingStep, ...]
    car_code: str = ""
    """The car's barcode, where it has one."""
    orders: str = ""
    customer: str = ""
    kits: str = ""
    delivery: str = ""
    printed: str = ""
    waiting: tuple[str, ...] = ()
    """What is not known yet, so that steps may be missing."""
    cautions: tuple[str, ...] = ()
    """Printed at the foot of every page."""
