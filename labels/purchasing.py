"""What stands on an order to a supplier. Texts are printed as given; quantities and money are ready to be read."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OrderedLine:
    """One thing that is ordered."""

    title: str
    item: str
    """Our code of it."""
    quantity: str
    price: str
    """Of one, or of one metre, with its unit; what to say where none is known."""
    total: str
    due: str
    """Where it is due on another day than the rest; empty otherwise."""
    note: str = ""
    """What we ask for, such as one dye lot."""


@dataclass(frozen=True, slots=True)
class PurchaseOrderPaper:
    """An order to one supplier."""

    shop: str
    supplier: str
    reference: str
    ordered: str
    """By whom and when."""
    due: str
    lines: tuple[OrderedLine, ...]
    total: str
    carriage: str = ""
    """What is agreed on carriage, a sentence."""
    requests: tuple[str, ...] = ()
    """What we ask for of the whole delivery: sentences."""
