"""What a shop stocks, from whom, and where it lies: the shapes of a catalogue and of opening stock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from stockroom.domain.item_kinds import BY_LENGTH as BY_LENGTH
from stockroom.domain.item_kinds import ItemKind as ItemKind
from stockroom.domain.quantities import show_length

Plan = Literal["limits", "forecast"]
"""How the weekly run reckons an item: orders in hand with a least and a most, or its forecast use as well."""
TargetOf = Literal["cycle", "shelf"]
"""What a target promises: that stock lasts until the next delivery, or which share of demand the shelf meets."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A CIE L*a*b* reading with the conditions it was taken under."""

    lightness: float
    a: float
    b: float
    illuminant: str = "D65"
    observer: str = "10"
    """Observer in degrees: '2' or '10'."""


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour of the shop, with its master reading."""

    code: str
    name: str
    master: Reading | None


@dataclass(frozen=True, slots=True)
class Cloth:
    """A roll material, or narrow goods, without its colour."""

    code: str
    title: str
    kind: ItemKind
    """'cloth' or 'narrow'."""
    fibre: str
    """Fibre or coating."""
    grain: str
    """Embossed or woven pattern."""
    width_mm: int
    """Nominal width: usable width of a roll as bought, or width of the tape."""
    mass_g_m2: int
    """Mass per area, g/m²; 0 where it is not known."""
    nap: bool
    """It has a nap (or a grain with a way): pieces may not be turned."""
    shortest_useful_mm: int
    """A rest shorter than this is scrap."""
    colour_tolerance: float
    """Largest ΔE00 that still matches within this cloth."""
    hazards: str = ""
    substitutes: tuple[str, ...] = ()
    """Codes of cloths that may stand in, with the customer's yes."""
    discontinued: bool = False
    margin_mm: int = 0
    """So much of its lot stays held for an order, beside what is planned, until it is packed."""


@dataclass(frozen=True, slots=True)
class Item:
    """Anything stocked. A cloth or narrow item is a cloth in a colour, with the code CLOTH/COLOUR."""

    code: str
    title: str
    kind: ItemKind
    cloth: str = ""
    colour: str = ""
    mass_g: int = 0
    """Mass of one (counted), or 0 where the cloth's mass per area tells."""
    group: str = ""
    """Item group, for targets and reports."""
    least: int | None = None
    """Keep at least so much (mm or count), the shop's word."""
    most: int | None = None
    """Buy up to so much (mm or count)."""
    hazards: str = ""
    storage: str = ""
    made_here: bool = False
    """Made in the shop from its own bill of materials."""
    posting: str = ""
    """What is to be minded when it is posted."""
    substitutes: tuple[str, ...] = ()
    """Codes of items that may stand in, with the customer's yes; those of its cloth hold besides."""
    discontinued: bool = False
    """This colour of its cloth is no more made."""
    planned_by: Plan | Literal[""] = ""
    """How the weekly run reckons it; '' as its group."""
    make_days: int = 0
    """Days that making it here takes."""
    batch: int = 1
    """It is made here in whole batches of so many."""

    def shown(self, quantity: int) -> str:
        """A quantity of it, for people: metres or a count."""
        return show_length(quantity) if self.kind in BY_LENGTH else str(quantity)


@dataclass(frozen=True, slots=True)
class ItemGroup:
    """How the weekly run reckons the items of one group, where an item does not say otherwise."""

    code: str
    planned_by: Plan = "limits"
    target_of: TargetOf = "cycle"
    target_permille: int = 950
    """1 to 999: the chance, or the share, that is promised."""


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From this quantity on, each unit costs so much."""

    from_quantity: int
    price_minor: int
    """Minor units for one (counted) or for one metre (by length)."""


@dataclass(frozen=True, slots=True)
class Supplier:
    """Who sells it."""

    code: str
    name: str
    lead_days: int
    currency: str
    carriage_paid_minor: int = 0
    """Order value from which carriage is paid by the supplier; 0 where it is not offered."""


@dataclass(frozen=True, slots=True)
class Terms:
    """What one supplier asks for one item. Quantities in mm or count."""

    supplier: str
    item: str
    lead_days: int | None
    """Where it differs from the supplier's own."""
    least_quantity: int
    multiple: int
    breaks: tuple[PriceBreak, ...]
    preferred: bool = True
    roll_mm: int | None = None
    """It comes in whole rolls or reels of this length; `None`: in any length that the multiple allows."""


@dataclass(frozen=True, slots=True)
class Place:
    """A rack, shelf or bin, in walking order."""

    code: str
    title: str
    walk: int
    tag: str = ""
    """The tag it has already, where a file brings one along; empty: it gets the next."""


@dataclass(frozen=True, slots=True)
class Stage:
    """A station of the sewing room that the shop names itself, in their turn: binding, sewing, an outworker."""

    code: str
    title: str
    turn: int


@dataclass(frozen=True, slots=True)
class Flaw:
    """A flaw on a roll, measured from the inner end."""

    from_mm: int
    to_mm: int
    what: str


@dataclass(frozen=True, slots=True)
class OpeningRoll:
    """A roll, reel or remnant that was there when the books were opened."""

    label: str
    """The shop's own mark for it, unique; lets the file be loaded twice without doubling.

    Empty only where there is a tag, which does the same."""
    item: str
    lot: str
    length_mm: int
    width_mm: int
    place: str
    measured: bool
    """False: the supplier's claim."""
    remnant: bool
    value_minor: int
    flaws: tuple[Flaw, ...] = ()
    reading: Reading | None = None
    quarantined: str = ""
    """Reason, or empty."""
    received: date | None = None
    expires: date | None = None
    """The day after which it is not to be used."""
    tag: str = ""
    """The tag that is on it already; empty: it gets the next."""
    parent: str = ""
    """Tag of the roll that it was cut from."""


@dataclass(frozen=True, slots=True)
class OpeningBin:
    """A counted item in a place."""

    item: str
    lot: str
    place: str
    count: int
    value_minor: int
    quarantined: str = ""
    """Reason, or empty."""
    expires: date | None = None
    """The day after which it is not to be used."""
    tag: str = ""
    """The tag that is on it already; empty: it gets the next."""


@dataclass(frozen=True, slots=True)
class OpeningPurchase:
    """Something on order when the books were opened."""

    reference: str
    supplier: str
    item: str
    quantity: int
    received: int
    ordered: date
    due: date
    price_minor: int
    closed: str = ""
    """Why no more of it will come; empty while it is open or all has come."""


PastKind = Literal["received", "cut", "issued", "made", "scrapped", "returned"]


@dataclass(frozen=True, slots=True)
class PastMovement:
    """One line of the history before the books were opened. Quantity in mm or count, always positive."""

    day: date
    item: str
    kind: PastKind
    quantity: int
    lot: str = ""
    note: str = ""
