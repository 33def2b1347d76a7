"""Hand-made answers of the jobs, for screens that need no shop."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Never

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag, read_tag
from stockroom.jobs.papers import Paper
from stockroom.jobs.printing import Printed
from stockroom.jobs.rail import RailEntry
from stockroom.jobs.show import Shown
from stockroom.jobs.ticket import Ticket, TicketHold, TicketLine, TicketNeed, TicketWait
from stockroom.screens.bundling import BenchJobs, PackJobs
from stockroom.screens.buying import BuyingJobs
from stockroom.screens.calls import Jobs
from stockroom.screens.counting import CountJobs
from stockroom.screens.fetching import PickJobs
from stockroom.screens.leaving_over import LeftOverJobs
from stockroom.screens.matching import MatchJobs
from stockroom.screens.ordering import OrderJobs
from stockroom.screens.receiving import GoodsJobs
from stockroom.screens.running_low import LowJobs
from stockroom.screens.shelving import RackJobs
from stockroom.screens.undoing import UndoJobs
from tests.screens.made_up_bench import MadeUpBench, MadeUpPacking
from tests.screens.made_up_goods import MadeUpGoods
from tests.screens.made_up_low import GLUE_BIN, MINDED, NEW_TAG, MadeUpLow, made_up_retag
from tests.screens.made_up_printing import MadeUpPrinting
from tests.screens.made_up_undo import MadeUpUndo
from tests.screens.made_up_walk import MadeUpWalk

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
ROLL = make_tag("R", 1042)
BIN = make_tag("B", 77)
PIECE = make_tag("P", 310)
ORDER = make_tag("O", 1)

RAIL = (
    RailEntry(
        "L-1042",
        ORDER,
        "Ann Carpenter",
        TODAY - timedelta(days=11),
        11,
        False,
        ("1 × Full boot set",),
        ("RP 2417, Series 1, Ashgate, trim red",),
        40,
        31,
        0,
        ("boot carpet, red: 1.20 m", "turn-button fastener: 4"),
    ),
    RailEntry(
        "L-1043",
        make_tag("O", 2),
        "Bert Wheeler",
        TODAY + timedelta(days=9),
        0,
        True,
        ("2 × Hood", "1 × Tonneau cover"),
        ("RP 5120, Series 2, Fenmoor, trim green",),
        22,
        22,
        0,
        (),
    ),
    RailEntry(
        "L-1044",
        make_tag("O", 3),
        "Clara Fletcher-Longbottom of Upper Ravensworth",
        TODAY + timedelta(days=16),
        0,
        False,
        ("1 × Touring set",),
        ("chassis not known",),
        61,
        40,
        2,
        (),
    ),
    RailEntry(
        "L-1045", make_tag("O", 4), "[red]Dan[/red] <b>Cooper</b>", None, 0, False, ("1 × Tool bag",), (), 9, 0, 0, ()
    ),
    RailEntry(
        "L-1046",
        make_tag("O", 5),
        "Edith Żółć\x1b[2J",
        None,
        0,
        False,
        ("1 × Hood",),
        (),
        12,
        5,
        1,
        ("hood cloth, fawn: 3.10 m",),
    ),
)

HELD = TicketHold(
    ROLL,
    "Rack 3, upper",
    "D17",
    "from 2.10 m to 3.40 m",
    ("A remnant that is long enough is used before a long roll.",),
)
FASTENERS = TicketHold(BIN, "Bin 12", "F2", "8", ())


def need(piece: str, held: str = "held", hold: TicketHold | None = HELD, **changes: object) -> TicketNeed:
    """One requirement; `changes` are fields of it."""
    fields: dict[str, object] = {
        "line": 1,
        "kit": "Touring set / Full boot set",
        "piece": piece,
        "part": "top",
        "hand": "",
        "item": "boot-carpet/red",
        "title": "Ribbed boot carpet",
        "colour": "red",
        "amount": "1 panel",
        "held": held,
        "holds": (hold,) if hold else (),
        "reasons": ("The boot carpet is in the trim colour, because chassis RP 2417 is before the change at RP 3000.",),
        "changed": False,
    }
    return TicketNeed(**{**fields, **changes})  # type: ignore[arg-type]


TICKET = Ticket(
    "L-1042",
    ORDER,
    "Ann Carpenter",
    "taken",
    TODAY - timedelta(days=11),
    11,
    False,
    "Telephone before sending.",
    "Ravensworth Plover, version 3",
    "AB",
    datetime(2026, 11, 2, 9, 30, tzinfo=UTC),
    (
        TicketLine(
            1,
            "full-boot-set",
            "Full boot set",
            1,
            "RP 2417",
            "RP 2417, Series 1, Ashgate, trim red, body green, hood black",
            ("BF top: the filler hole is left solid (AB: the tank was moved)",),
            (),
            ("red trim usually goes with a black hood",),
        ),
        TicketLine(
            2,
            "tool-bag",
            "Tool bag",
            1,
            "RP 2417",
            "RP 2417, Series 1, Ashgate, trim red, body green, hood black",
            (),
            (),
            (),
        ),
    ),
    (
        need("BF", changed=True),
        need("BSL", hand="left"),
        need("BSL", hand="right"),
        need("BRB", "short", None, part="face", reasons=("The rear board is covered in the boot carpet.",)),
        need(
            "BF",
            hold=FASTENERS,
            part="fasteners",
            item="turn-button",
            title="Turn-button fastener",
            colour="",
            amount="8",
            reasons=("8 a floor, and none is already on the car.",),
        ),
        need(
            "TB",
            "not held yet",
            None,
            line=2,
            kit="Tool bag",
            part="shell",
            title="Leathercloth",
            colour="black",
            reasons=("Tool bags are black whatever the trim.",),
        ),
    ),
    (
        TicketWait(
            2,
            "option",
            "bag-length",
            "Is the handles bag the long one or the short one?",
            ("long", "short"),
            ("HB shell", "HB zip"),
        ),
    ),
    (
        "BRB face needs 0.52 m of ribbed boot carpet, red, in dye lot D17 like the rest of this car's boot; "
        "0.31 m of that lot is free.",
    ),
    ("CD 3 Nov 2026: wanted date moved from 7 Nov to 14 Nov 2026",),
)

SHOWN_ROLL = Shown(
    ROLL,
    "roll",
    "Ribbed boot carpet, red",
    (
        ("Place", "Rack 3, upper"),
        ("Dye lot", "D17"),
        ("Held", "5.40 m, measured"),
        ("Free", "4.10 m"),
        ("Width", "1.40 m"),
    ),
    ("from 2.10 m to 3.40 m for L-1042, Ann Carpenter",),
    ("20 Nov 2026  cut 0.80 m, 5.40 m left (AB)", "2 Nov 2026  received 6.20 m (CD)"),
)
SHOWN_GLUE = Shown(
    GLUE_BIN, "bin", "Contact adhesive", (("Place", "Solvent cabinet"), ("Held", "4"), *MINDED), is_shelf_tag=True
)
SHOWN_ORDER = Shown(ORDER, "order", "Order L-1042", (("Customer", "Ann Carpenter"),), order="L-1042")
SHOWN_PIECE = Shown(PIECE, "piece", "Boot side, left", (("Piece", "BSL"), ("Hand", "left")), order="L-1042")


def ticket_for(text: str, today: date) -> Ticket:
    """The ticket of L-1042, refused for every other number."""
    del today
    if text in {TICKET.number, TICKET.tag}:
        return TICKET
    raise Refusal(f"There is no order '{text}'. F2 shows the orders in hand.")


def shown_for(text: str) -> Shown:
    """The order, the roll and the piece that there are."""
    if text == TICKET.number:
        return SHOWN_ORDER
    tag = str(read_tag(text))
    if tag == ORDER:
        return SHOWN_ORDER
    if tag == GLUE_BIN:
        return SHOWN_GLUE
    if tag == NEW_TAG:
        return replace(SHOWN_ROLL, tag=NEW_TAG)
    if tag in {ROLL, PIECE}:
        return SHOWN_ROLL if tag == ROLL else SHOWN_PIECE
    raise Refusal(f"No {tag} in this shop. Look at the label again.")


def _not_made_up(*_: object) -> Never:
    raise Refusal("These jobs are tried on a real shop.")


NO_ORDERING = OrderJobs(*(_not_made_up for _ in fields(OrderJobs)))
NO_RACKS = RackJobs(*(_not_made_up for _ in fields(RackJobs)))
NO_COUNTING = CountJobs(*(_not_made_up for _ in fields(CountJobs)))
NO_BUYING = BuyingJobs(*(_not_made_up for _ in fields(BuyingJobs)))
NO_MATCHING = MatchJobs(*(_not_made_up for _ in fields(MatchJobs)))
NO_LEFT_OVER = LeftOverJobs(*(_not_made_up for _ in fields(LeftOverJobs)))


def jobs(
    rail: Callable[[date], tuple[RailEntry, ...]] = lambda _today: RAIL,
    ticket: Callable[[str, date], Ticket] = ticket_for,
    show: Callable[[str], Shown] = shown_for,
    latest: Callable[[], Hashable] = lambda: 1,
    picking: PickJobs | None = None,
    bench: BenchJobs | None = None,
    packing: PackJobs | None = None,
    ordering: OrderJobs | None = None,
    goods: GoodsJobs | None = None,
    undoing: UndoJobs | None = None,
    running_low: LowJobs | None = None,
    printing: Callable[[Sequence[Paper], Stamp, int], Printed] | None = None,
) -> Jobs:
    """The made-up jobs, some of them replaced."""
    return Jobs(
        "Lindow Trim", lambda: TODAY, rail, ticket, show, lambda: NOW, latest, picking or MadeUpWalk().jobs,
        bench or MadeUpBench().jobs, packing or MadeUpPacking().jobs,
        ordering or NO_ORDERING, NO_LEFT_OVER, goods or MadeUpGoods().jobs, NO_RACKS, NO_COUNTING,
        undoing or MadeUpUndo().jobs, running_low or MadeUpLow().jobs, NO_MATCHING, NO_BUYING,
        made_up_retag, printing or MadeUpPrinting(),
    )  # fmt: skip
