"""What stands on a claim. Texts are printed as given; lengths are ready to be read, with their unit."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ShortLength:
    """A roll that was shorter than it came in with."""

    received: str
    """The length that it came in with."""
    measured: str
    """The whole length as it was found."""
    missing: str
    """The difference."""
    found: tuple[str, ...] = ()
    """Each measuring: by whom, when, how much less."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """One flaw on the roll."""

    where: str
    """From and to, from the inner end of what is left of the roll."""
    what: str


@dataclass(frozen=True, slots=True)
class ClaimPaper:
    """A claim on a supplier for one roll."""

    shop: str
    supplier: str
    """Its name; empty where it is not written down: a line to write on is printed then."""
    roll_code: str
    """The roll's barcode."""
    item: str
    title: str
    printed: str
    """By whom and when."""
    purchase: str = ""
    """The reference of the purchase, where it is known."""
    delivery: str = ""
    """The number of the supplier's delivery note, where it is known."""
    label: str = ""
    """The mark that the roll came in with."""
    colour: str = ""
    dye_lot: str = ""
    width: str = ""
    received: str = ""
    remark: str = ""
    """What has to be known of the supplier or the roll besides."""
    short: ShortLength | None = None
    flaws: tuple[Flaw, ...] = ()
    flawed: str = ""
    """How much the flaws take together."""
