"""The shop itself, as its own files tell of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockroom.domain.colour_difference import USUAL_FACTORS
from stockroom.domain.counting import USUAL_PERCENT
from stockroom.domain.four_point import USUAL_LEVEL


@dataclass(frozen=True, slots=True)
class About:
    """What a shop says of itself."""

    name: str
    time_zone: str
    """A zone of the IANA time zone database, such as 'Europe/London': days and weeks are counted in it."""
    currency: str
    """ISO 4217 code."""
    opening: date | None = None
    """The day the books were opened; `None` where the files leave it to the day of loading."""
    most_points: int = USUAL_LEVEL
    """A roll with more points per 100 yd² than this is suggested for quarantine, where rolls are inspected at all."""
    recount_length: int = USUAL_PERCENT
    """A counted length further off the books than so many per cent is counted again."""
    recount_count: int = USUAL_PERCENT
    """Likewise of what is counted in whole ones."""
    colour_factors: str = USUAL_FACTORS
    """kL:kC:kH by which colours are compared: '1:1:1', or '2:1:1' as textiles are."""
    order_cost_minor: int = 0
    """What one order line costs to place and to receive; 0: nobody said."""
    keeping_percent: int = 0
    """What keeping stock costs a year, in per cent of its worth; 0: nobody said."""
