"""Made-up things that are left over, offered and used, for what the ticket looks like."""

from __future__ import annotations

from stockroom.domain.tags import Tag
from stockroom.jobs.left_over import LyingAbout, ToPutAway
from stockroom.jobs.offer import Offer
from stockroom.jobs.ticket import TicketStock

SIDE, FLOOR, STUDS, KIT = (str(Tag(kind, serial)) for kind, serial in (("P", 58), ("P", 57), ("B", 12), ("K", 31)))
OFFER = Offer(
    SIDE,
    "Boot side, left",
    "M3",
    "line 1, Boot side, left",
    (FLOOR,),
    ("A12",),
    ("4 of Stud",),
    (),
    "L-1030",
    f"{SIDE} in M3, Boot side, left (made for L-1030, lot A12), fits line 1, Boot side, left. It lacks 4 of Stud.",
    "",
)
FROM_STOCK = TicketStock(KIT, "Tool bag", False, f"Tool bag of the stock ({KIT}), to be fetched from M3, is {FLOOR}.")
LYING = LyingAbout(
    "L-1042",
    ((FLOOR, "Boot floor"), (SIDE, "Boot side, left")),
    ((STUDS, f"5 of Stud from {STUDS}, which lies in M1"),),
)
TO_PUT_AWAY = (
    *(ToPutAway(tag, title, "keep") for tag, title in LYING.pieces),
    *(ToPutAway(tag, words, "put back") for tag, words in LYING.picked),
)
