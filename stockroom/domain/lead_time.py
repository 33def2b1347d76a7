"""How long a supplier takes, and how far that spreads: from past receipts, else the supplier's word.

>>> LeadTime.told(14, past_days=[12, 15, 21])
LeadTime(days=16.0, spread_days=4.58257569495584, receipts=3, impossible=0)
>>> LeadTime.told(14, past_days=[12])
LeadTime(days=14.0, spread_days=0.0, receipts=0, impossible=0)
>>> [round(LeadTime(14, 4, receipts).next_spread_days, 1) for receipts in (3, 6, 12)]
[8.0, 5.6, 4.6]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from stockroom.domain.offer import LONGEST_LEAD_DAYS

FEWEST_RECEIPTS = 3
"""Fewer past receipts than this say less than the supplier does."""
LAST_RECEIPTS = 12
"""Older receipts than the last so many say nothing of today."""


@dataclass(frozen=True, slots=True)
class LeadTime:
    """Days from ordering to receiving."""

    days: float
    """Average."""
    spread_days: float
    """Standard deviation; 0 where only the supplier's word is known."""
    receipts: int
    """Past receipts that it was worked out from; 0: it is the supplier's word."""
    impossible: int = 0
    """Receipts left out because they came before they were ordered, or ten years after."""

    @classmethod
    def told(cls, word_days: int, past_days: Sequence[int] = ()) -> LeadTime:
        """From the days that past receipts took (oldest first), or from the supplier's word where they are too few."""
        possible = [days for days in past_days if 0 <= days <= LONGEST_LEAD_DAYS]
        left_out = len(past_days) - len(possible)
        last = possible[-LAST_RECEIPTS:]
        if len(last) < FEWEST_RECEIPTS:
            return cls(float(word_days), 0.0, 0, left_out)
        return cls(fmean(last), stdev(last), len(last), left_out)

    @property
    def next_spread_days(self) -> float:
        """How far the next receipt may stray from the average: further than the past ones did, since so few tell.

        The average of n receipts is itself uncertain (1 + 1/n), and their spread too (Student's t with n − 1 degrees of
        freedom has a variance of (n − 1) / (n − 3), taken as 3 at most). No further than the lead time is long.
        """
        if not self.receipts:
            return self.spread_days
        few = min(3.0, (self.receipts - 1) / max(self.receipts - 3, 1e-9))
        return min(self.spread_days * math.sqrt((1.0 + 1.0 / self.receipts) * few), self.days)

    def words(self) -> str:
        """A sentence for people."""
        left_out = f" {self.impossible} left out: received before it was ordered." if self.impossible else ""
        if not self.receipts:
            return f"Lead time {self.days:.0f} days, the supplier's word; its spread is not known.{left_out}"
        seen = f"{self.days:.1f} days, give or take {self.spread_days:.1f}, from the last {self.receipts} receipts"
        likely = f"so few may mislead, and the next is taken to stray by {self.next_spread_days:.1f}"
        return f"Lead time {seen}; {likely}.{left_out}"
