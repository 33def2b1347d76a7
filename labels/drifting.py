"""What stands on a page of colour drift. Texts are printed as given; figures are CIE L*a*b* and CIEDE2000."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

Answer = Literal["matches", "by eye", "no match"]


@dataclass(frozen=True, slots=True)
class DriftLot:
    """One dye lot against the master. Differences are lot less master."""

    dye_lot: str
    came: date
    lightness: float
    a: float
    b: float
    by_lightness: float
    by_a: float
    by_b: float
    difference: float
    """CIEDE2000 from the master, 0 or more."""
    readings: int
    spread: float
    """How far the farthest of its readings is from their middle, as CIEDE2000."""
    answer: Answer


@dataclass(frozen=True, slots=True)
class DriftPaper:
    """How the lots of one cloth in one colour went from its master."""

    shop: str
    title: str
    item: str
    supplier: str
    """Who sells it; empty where nobody is written down, or several do."""
    master: str
    """The master reading with its light and observer, and whose it is."""
    matches_to: float
    """CIEDE2000 up to which the cloth matches."""
    eye_to: float
    """CIEDE2000 up to which the eye decides; more than `matches_to`."""
    how: str
    """How differences are reckoned."""
    printed: str
    """By whom and when."""
    lots: tuple[DriftLot, ...]
    """The first that came first."""
    said: str = ""
    """Where the lots went, in words."""
    apart: tuple[str, ...] = ()
    """Rolls that do not match what is on the racks: a sentence each."""
    left_out: tuple[str, ...] = ()
    """What was read and is not compared: a sentence each."""
