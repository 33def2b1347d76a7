"""What is expected, made by hand, with jobs of goods in as simple as can be."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Never

from stockroom.domain.arrival import Arrival
from stockroom.domain.questions import Question
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.purchasing import Expected
from stockroom.jobs.receivable import Receivable, ToReceive
from stockroom.jobs.receive import GoodsIn, Received, SaidBack, Waiting
from stockroom.screens.receiving import GoodsJobs

NEW_ROLL = make_tag("R", 763)
EXPECTED = (
    Expected("P-0611", "Westing Coated Cloths", "hood-cloth/fawn", "Coated hood cloth, fawn", 25_000, 0, 25_000,
             date(2026, 11, 20), 5, "25.00 m"),
    Expected("P-0613", "Tern Fasteners", "turn-button-plate", "Turn-button fastener, plate", 100, 75, 25,
             date(2026, 11, 27), 0, "25"),
)  # fmt: skip
ITEMS = (
    Receivable("hood-cloth/fawn", "Coated hood cloth, fawn", "cloth", True, "1.52 m"),
    Receivable("turn-button-plate", "Turn-button fastener, plate", "hardware", False, ""),
)
OVER = Question("over", "27.00 m is 2.00 m more than is still due of purchase P-0611 (25.00 m). Is all of it kept?")


class MadeUpGoods:
    """What the jobs of goods in answer."""

    def __init__(self, expected: tuple[Expected, ...] = EXPECTED) -> None:
        self.expected = expected

    @property
    def jobs(self) -> GoodsJobs:
        """The jobs, as the screens are given them."""
        return GoodsJobs(
            expected=lambda _today: self.expected,
            receivable=lambda: ITEMS,
            to_receive=self.to_receive,
            check=self.check,
            receive=self.receive,
            close=_not_made_up,
            inspect=_not_made_up,
            quarantine=_not_made_up,
            move=_not_made_up,
        )

    def to_receive(self, text: str) -> tuple[ToReceive, ...]:
        bought = tuple(
            ToReceive(item, line.reference, line.supplier, line.shown, "R1")
            for line in EXPECTED
            for item in ITEMS
            if text in (line.reference, item.code) and line.item == item.code
        )
        return bought + tuple(ToReceive(item, "", "", "", "R1") for item in ITEMS if text in item.code)

    def check(self, said: Arrival, stamp: Stamp) -> SaidBack:
        del stamp
        lines = (
            f"Coated hood cloth, fawn, lot {said.lot}, into R1: 27 m, booked as 27.00 m.",
            "Usable width 1.52 m.",
            "The length is the supplier's word until it is measured.",
        )
        heavy = "32.1 kg. Heavy: two people or a roll stand. Your own rules and a competent assessment decide."
        return SaidBack(said.item, "Coated hood cloth, fawn", lines, (heavy,), (OVER,))

    def receive(self, said: Arrival, stamp: Stamp, sure: Collection[str]) -> Received:
        del stamp
        assert "over" in sure
        goods = (GoodsIn(NEW_ROLL, 27_000, "27.00 m", 27_000, True),)
        words = "Purchase P-0611 of Westing Coated Cloths: with it 2.00 m more has come than the 25.00 m bought."
        waiting = (Waiting("L-1042", "Ann Carpenter", None, "1.20 m of hood cloth is short"),)
        title = "Coated hood cloth, fawn"
        return Received(said.item, title, said.lot, "R1", said.purchase, goods, (words,), (), waiting)


def _not_made_up(*_: object) -> Never:
    raise Refusal("These jobs are tried on a real shop.")
