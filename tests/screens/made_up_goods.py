"""What is expected, made by hand, with jobs of goods in as simple as can be."""

from __future__ import annotations

from datetime import date

from stockroom.jobs.purchasing import Expected
from stockroom.screens.receiving import GoodsJobs

EXPECTED = (
    Expected("P-0611", "Westing Cloth", "hood-cloth/fawn", "Hood cloth, fawn", 25_000, 0, 25_000,
             date(2026, 11, 20), 5, "25.00 m"),
    Expected("P-0613", "Tern Hardware", "turn-button-plate", "Turn-button plate", 100, 75, 25,
             date(2026, 11, 27), 0, "25"),
)  # fmt: skip


class MadeUpGoods:
    """What the jobs of goods in answer."""

    def __init__(self, expected: tuple[Expected, ...] = EXPECTED) -> None:
        self.expected = expected

    @property
    def jobs(self) -> GoodsJobs:
        """The jobs, as the screens are given them."""
        return GoodsJobs(expected=lambda _today: self.expected)
