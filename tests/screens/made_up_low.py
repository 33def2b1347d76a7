"""A buying list made by hand, and tags that are given anew; `done` is what was asked for, in order."""

from __future__ import annotations

from datetime import date

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import is_tag, make_tag
from stockroom.jobs.expiring import Expiring
from stockroom.jobs.low import LowItem, LowScanned
from stockroom.jobs.printed import cautions
from stockroom.jobs.retag import Retagged
from stockroom.screens.running_low import LowJobs

GLUE_BIN = make_tag("B", 90)
NEW_TAG = make_tag("R", 2001)
MINDED = cautions("Highly flammable.", "In the solvent cabinet.", "Not by air.")
THREAD = LowItem(
    "thread-black", "Sewing thread, black", "CD", date(2026, 11, 20), ("purchase P-77, due on 2026-12-01",)
)
GLUE = LowItem("adhesive", "Contact adhesive", "AB", date(2026, 11, 25), (), MINDED)
OLD_GLUE = Expiring(
    GLUE_BIN, "adhesive", "Contact adhesive", "Solvent cabinet", "", "4", date(2026, 11, 20), -5, MINDED
)
PRIMER = Expiring(make_tag("B", 91), "primer", "Primer", "Solvent cabinet", "", "2", date(2026, 12, 10), 15)


class MadeUpLow:
    """What the jobs of what is used up answer."""

    def __init__(
        self, to_buy: tuple[LowItem, ...] = (THREAD,), expiring: tuple[Expiring, ...] = (OLD_GLUE, PRIMER)
    ) -> None:
        self.to_buy = list(to_buy)
        self.with_day = expiring
        self.done: list[tuple[str, str, str]] = []

    @property
    def jobs(self) -> LowJobs:
        """These, as the screens ask for them."""
        return LowJobs(lambda: tuple(self.to_buy), lambda _days, _today: self.with_day, self._low, self._not_wanted)

    def _low(self, text: str, stamp: Stamp) -> LowScanned:
        if is_tag(text) and text != GLUE_BIN:
            raise Refusal(f"{text} is no roll or bin of this shop.")
        self.done.append(("low", text, stamp.by))
        if GLUE in self.to_buy:
            return LowScanned(GLUE.item, GLUE.title, False, f"{GLUE.title} is on the buying list already.")
        self.to_buy.append(GLUE)
        return LowScanned(GLUE.item, GLUE.title, True, f"{GLUE.title} is low: it is on the buying list.")

    def _not_wanted(self, item: str, stamp: Stamp) -> LowScanned:
        self.done.append(("not wanted", item, stamp.by))
        self.to_buy = [one for one in self.to_buy if one.item != item]
        return LowScanned(item, item, True, f"{item} is off the buying list: no more is wanted.")


def made_up_retag(tag: str, because: str, _stamp: Stamp) -> Retagged:
    """A new tag, whatever became of the old one."""
    return Retagged(tag, NEW_TAG, "roll", f"The roll {tag} is {NEW_TAG} now ({because}).")
