"""What stands on a reorder report. Quantities and costs are texts with unit or currency, as they are to be read."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReorderLine:
    """One item to be bought, or one that is bought and late."""

    item: str
    title: str
    held: str
    reserved: str
    on_order: str
    need: str
    """What orders and the reorder point ask for."""
    quantity: str
    """The proposed quantity."""
    cost: str = ""
    reason: str = ""
    mark: str = ""
    """A word such as 'late' or 'urgent'; printed white on black."""
    weekly_use: tuple[int, ...] = ()
    """Use a week in the item's own unit, the oldest first; drawn as small bars."""
    projected: tuple[int, ...] = ()
    """What will be left at the end of each week to come, with what is proposed; drawn as a line."""
    as_it_is: tuple[int, ...] = ()
    """The same with nothing bought or made; drawn dashed."""


@dataclass(frozen=True, slots=True)
class SupplierProposals:
    """What is proposed to be bought from one supplier; late and urgent lines come first, as given."""

    supplier: str
    lines: tuple[ReorderLine, ...]
    terms: str = ""
    """Lead time, least order, carriage."""
    total: str = ""


@dataclass(frozen=True, slots=True)
class ReorderReport:
    """One week's proposals."""

    shop: str
    week: str
    suppliers: tuple[SupplierProposals, ...]
    printed: str = ""
    total: str = ""
    """Over all suppliers."""
    remarks: tuple[str, ...] = ()
    """What holds for the whole report."""
    nothing: str = "Nothing is to be ordered this week."
    """The sentence of a report without lines."""
    later: tuple[str, ...] = ()
    """What is wanted later than is bought for now: sentences."""
    idle: tuple[str, ...] = ()
    """What lies idle: sentences."""
