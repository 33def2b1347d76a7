"""What stands on a packing list. Texts are printed as given, in the order given; `code` becomes a barcode."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PackedPiece:
    """One piece in a parcel."""

    tag: str
    """Its tag, in letters: it is read here, not scanned."""
    title: str
    piece: str = ""
    """The piece's code in the kit book; empty for a packet of hardware."""
    hand: str = ""
    for_what: str = ""
    """Which kit and car it is for."""


@dataclass(frozen=True, slots=True)
class PackedParcel:
    """One parcel and what is in it."""

    code: str
    """The barcode: the kit tag of the parcel."""
    title: str
    """Which of how many, and what kind: 'Parcel 1 of 2, box'."""
    pieces: tuple[PackedPiece, ...]
    posting: tuple[str, ...] = ()
    """What is to be minded when it is posted."""


@dataclass(frozen=True, slots=True)
class PackingListPaper:
    """What goes out with one order, parcel by parcel, and what does not."""

    order: str
    order_code: str
    """The order's barcode."""
    customer: str
    delivery: str
    """'sent' or 'fitted here', as it is to be read."""
    printed: str
    """By whom and when."""
    parcels: tuple[PackedParcel, ...]
    cars: tuple[str, ...] = ()
    kits: str = ""
    sent_incomplete: str = ""
    """Who sent it incomplete and why, as a sentence."""
    owed: tuple[str, ...] = ()
    """What the customer is still to get, of an order that was sent."""
    not_packed: tuple[str, ...] = ()
    """What is not packed yet, of an order that is still here."""
    substituted: tuple[str, ...] = ()
    """What was taken instead of what, and who of the customer's said yes."""
