"""Eye verdicts: somebody looks at two dye lots side by side, and it need not be asked again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from stockroom.domain.matching import EyeVerdict, Verdict
from stockroom.domain.refusal import Refusal
from stockroom.domain.shortage import lot_name
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import listed, quoted, unknown
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.read_order import said_in_a_line
from stockroom.jobs.way_back import Undoing, WayBack
from stockroom.store import arrivals, eye_verdicts, ledger
from stockroom.store.database import Shop, Tx


@dataclass(frozen=True, slots=True)
class VerdictKept:
    """What was written down."""

    item: str
    lots: tuple[str, str]
    verdict: Verdict
    eyes: str
    light: str
    sentence: str


def give_verdict(
    shop: Shop, item: str, lots: tuple[str, str], verdict: str, light: str, stamp: Stamp, eyes: str = ""
) -> VerdictKept:
    """Two lots of an item were seen side by side: 'match', 'near' or 'no-match'. An earlier verdict on them yields.

    `eyes`: whose, where it is not whoever writes it down. Raises Refusal for a lot that the shop never had of this
    item, and where it is not said in which light.
    """
    said_in_a_line(light=light, eyes=eyes)
    known = next((one for one in get_args(Verdict) if one == verdict.strip().casefold()), None)
    if known is None:
        raise Refusal(f"{quoted(verdict)} is no verdict: say {listed(get_args(Verdict), 'or')}.")
    if not light.strip():
        raise Refusal("Say in which light they were seen, such as --light daylight.")
    seen = EyeVerdict(known, eyes or stamp.by, light.strip(), stamp.at.date())
    with shop.write() as tx:
        items = catalogue_of(shop, tx).items
        if item not in items or not items[item].cloth:
            raise Refusal(unknown("cloth in a colour", item, [code for code, one in items.items() if one.cloth]))
        one, other = (_lot(tx, item, lot) for lot in lots)
        if one == other:
            raise Refusal(f"{quoted(one)} is one lot. A verdict is on two.")
        names = f"{lot_name(one)} and {lot_name(other)}"
        job = ledger.begin_job(tx, f"verdict on {names} of {item}: {known}", stamp)
        number = eye_verdicts.keep_verdict(tx, item, (one, other), seen, stamp)
        ledger.keep_way_back(tx, job, "verdict", {"id": number, "of": f"{names} of {items[item].title}"})
    sentence = f"{items[item].title}, {names}: {known}, as {seen.eyes} saw them, light: {seen.light}."
    return VerdictKept(item, (one, other), known, seen.eyes, seen.light, sentence)


def _lot(tx: Tx, item: str, typed: str) -> str:
    known = sorted(lot for lot in arrivals.lots_of(tx, item) if lot)
    alike = [lot for lot in known if lot.casefold() == typed.strip().casefold()]
    if typed.strip() not in alike and len(alike) != 1:
        raise Refusal(unknown(f"lot of {item}", typed, known))
    return typed.strip() if typed.strip() in alike else alike[0]


def _take_back(shop: Shop, tx: Tx, undoing: Undoing) -> tuple[str, ...]:  # noqa: ARG001 - the signature of a way
    eye_verdicts.drop_verdict(tx, undoing.data["id"])
    return (f"The verdict on {undoing.data['of']} is gone.",)


WAYS_BACK = {"verdict": WayBack(_take_back)}
