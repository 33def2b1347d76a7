"""Goods in, as the goods in page asks it of the jobs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from stockroom.jobs.purchasing import Expected


@dataclass(frozen=True, slots=True)
class GoodsJobs:
    """The jobs of goods in."""

    expected: Callable[[date], tuple[Expected, ...]]
    """What is on order and has not come, as of a day."""
