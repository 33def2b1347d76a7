"""What stock is worth on a day: from the books as they stood at its end, by roll and at the average."""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select

from stockroom.domain.arrival import Arrival
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.adjust import adjust
from stockroom.jobs.audit import audit
from stockroom.jobs.cut import keep_side_piece
from stockroom.jobs.move import move
from stockroom.jobs.quarantine import quarantine, release
from stockroom.jobs.receive import receive
from stockroom.jobs.scrap import scrap
from stockroom.jobs.undo import last_of, undo
from stockroom.jobs.worth import Worth, end_of_day, worth
from stockroom.store import ledger
from stockroom.store import tables as t
from stockroom.store.database import Shop
from stockroom.store.ledger import Entry
from tests.jobs.workshop import made_order
from tests.shops import STAMP, TODAY, bin_of, line, load_files, roll, stock_shop

HOOD = "hood-cloth/fawn"
WED, THU, FRI = (Stamp("AB", STAMP.at + timedelta(days=days)) for days in range(3))
"""Wednesday, the day the books were opened, and the two after it."""


def on(shop: Shop, stamp: Stamp, **more: object) -> Worth:
    """What stock was worth at the end of that day, as it is told on Friday."""
    return worth(shop, FRI.at, stamp.at.date(), **more)  # type: ignore[arg-type]


def minor(shop: Shop, stamp: Stamp) -> tuple[int, int]:
    found = on(shop, stamp)
    return found.value_minor, found.quarantined_minor


def priced_shop(shop: Shop, folder: Path) -> None:
    """Two rolls of hood cloth, 5 m at 30.00 and 5 m at 40.00 a metre, and 40 studs at 0.10."""
    stock_shop(
        shop, folder, roll(HOOD, 5_000, value="150.00"), roll(HOOD, 5_000, "2", value="200.00"),
        bin_of("stud", 40),
    )  # fmt: skip
    load_files(shop, folder, {"bins.csv": "item,lot,place,count,value\nclip,,B1,100,5.00\n"})


def tag_of(shop: Shop, lot: str, item: str = HOOD) -> str:
    return next(one.tag for one in on(shop, FRI, item=item, things_of=True).things if one.lot == lot)


def test_a_shop_reckoned_by_hand(shop: Shop, tmp_path: Path) -> None:
    """10 m for 350.00, 100 clips for 5.00. On Thursday 1 m at 30.00 and 10 clips are thrown away: 320.00 and 4.50."""
    priced_shop(shop, tmp_path)
    scrap(shop, tag_of(shop, "1"), "torn", THU, "1 m")
    scrap(shop, tag_of(shop, "", "clip"), "bent", THU, "10")

    assert [minor(shop, day) for day in (WED, THU, FRI)] == [(355_00, 0), (324_50, 0), (324_50, 0)]
    (clips, cloth, studs) = on(shop, WED).items
    assert (cloth.item, cloth.usable.held, cloth.usable.value_minor) == (HOOD, 10_000, 350_00)
    assert cloth.usable.each == "35.0000 GBP"
    assert (clips.usable.held, clips.usable.each) == (100, "0.0500 GBP")
    assert (studs.usable.held, studs.usable.priced, studs.usable.each) == (40, 0, "")
    (clips, cloth, _) = on(shop, THU).items
    assert (clips.usable.held, clips.usable.value_minor) == (90, 4_50)
    assert (cloth.usable.held, cloth.usable.each) == (9_000, "35.5556 GBP")
    things = on(shop, THU, item=HOOD, things_of=True).things
    assert [(one.lot, one.held, one.value_minor, one.each) for one in things] == [
        ("1", 4_000, 120_00, "30.0000 GBP"),
        ("2", 5_000, 200_00, "40.0000 GBP"),
    ]
    assert on(shop, WED).remarks == ("40 of Stud (stud) without a known price.",)
    assert on(shop, Stamp("AB", WED.at - timedelta(days=1))).remarks == (
        f"By the books nothing was held at the end of {TODAY - timedelta(days=1)}. They were opened on {TODAY}.",
    )


def test_what_was_undone_later_still_was_so(shop: Shop, tmp_path: Path) -> None:
    priced_shop(shop, tmp_path)
    scrap(shop, tag_of(shop, "2"), "torn", THU)
    undo(shop, last_of(shop, "AB"), FRI)
    assert [minor(shop, day)[0] for day in (WED, THU, FRI)] == [355_00, 155_00, 355_00]
    assert audit(shop).faults == ()


def test_quarantine_is_told_as_it_was(shop: Shop, tmp_path: Path) -> None:
    """A roll as a whole on Thursday, put right again on Friday; some of a bin; and one whose quarantine is undone."""
    priced_shop(shop, tmp_path)
    first, second = tag_of(shop, "1"), tag_of(shop, "2")
    quarantine(shop, first, "damp", THU)
    quarantine(shop, tag_of(shop, "", "clip"), "rusty", THU, "20")
    release(shop, first, "dried out", FRI)
    assert [minor(shop, day) for day in (WED, THU, FRI)] == [(355_00, 0), (204_00, 151_00), (354_00, 1_00)]
    quarantine(shop, second, "wrong shade", THU)
    undo(shop, last_of(shop, "AB"), FRI)
    move(shop, [second], "B2", FRI)  # a movement of nothing that is none of quarantine
    assert [minor(shop, day) for day in (WED, THU, FRI)] == [(355_00, 0), (4_00, 351_00), (354_00, 1_00)]


def test_a_clock_that_was_set_back_changes_nothing_of_an_earlier_day(shop: Shop, tmp_path: Path) -> None:
    """Friday's movement, then one that the clock dates on Wednesday: Wednesday lacks both."""
    priced_shop(shop, tmp_path)
    tag = tag_of(shop, "1")
    adjust(shop, tag, "4 m", "measured", FRI)
    adjust(shop, tag, "3 m", "measured", WED)
    assert [minor(shop, day)[0] for day in (WED, THU, FRI)] == [355_00, 355_00, 295_00]


@pytest.mark.parametrize("seed", [1, 2])
def test_any_day_is_the_ledger_played_up_to_it(shop: Shop, tmp_path: Path, seed: int) -> None:
    """Against every movement replayed one by one: each is as late as the latest before it in its holding."""
    priced_shop(shop, tmp_path)
    chance = random.Random(seed)
    with shop.write() as tx:
        ids = list(tx.execute(select(t.Holding.id).order_by(t.Holding.id)).scalars())
        for _ in range(60):
            stamp = Stamp("AB", WED.at + timedelta(hours=chance.randrange(24 * 10)))
            job = ledger.begin_job(tx, "play", stamp)
            some = chance.randrange(1, 9)
            entry = chance.choice(
                [Entry(0, "received", some, some * 7), Entry(0, "scrapped", -some), Entry(0, "moved", 0)]
            )
            holding = chance.choice(ids)
            ledger.append(tx, job, stamp, [Entry(holding, entry.kind, entry.quantity, entry.value_minor)])
    with shop.read() as tx:
        m = t.Movement
        rows = tx.execute(select(m.holding_id, m.quantity, m.value_minor, m.at).order_by(m.holding_id, m.number)).all()
        now = tx.execute(select(func.sum(t.Holding.value_minor)).where(t.Holding.kind != "past")).scalar_one()
    for day in range(-1, 11):
        ends = end_of_day(TODAY + timedelta(days=day), ZoneInfo("Europe/London"))
        latest: defaultdict[int, datetime] = defaultdict(lambda: datetime(2000, 1, 1, tzinfo=UTC))
        held = value = 0
        for holding, quantity, value_minor, at in rows:
            latest[holding] = max(latest[holding], at)
            if latest[holding] <= ends:
                held, value = held + quantity, value + value_minor
        found = worth(shop, WED.at + timedelta(days=30), TODAY + timedelta(days=day))
        assert (sum(one.usable.held for one in found.items), found.value_minor) == (held, value)
    assert worth(shop, WED.at + timedelta(days=30)).value_minor == now


@pytest.mark.parametrize(
    ("day", "last"),
    [("2026-11-25", "2026-11-25T23:59"), ("2026-07-01", "2026-07-01T22:59"), ("2026-10-25", "2026-10-25T23:59")],
)
def test_a_day_ends_by_the_shop_s_own_clock(day: str, last: str) -> None:
    assert end_of_day(date.fromisoformat(day), ZoneInfo("Europe/London")).isoformat().startswith(last)


def test_goods_without_a_price_are_named_with_why(shop: Shop, tmp_path: Path) -> None:
    priced_shop(shop, tmp_path)
    load_files(
        shop,
        tmp_path,
        {
            "suppliers.csv": "code,name,lead_days,currency\ntern,Tern Fasteners,7,EUR\n",
            "purchases.csv": "reference,supplier,item,quantity,received,ordered,due,price\n"
            "P-2,tern,clip,50,0,opening-9d,opening+1d,0.10\n",
        },
    )
    receive(shop, Arrival("clip", ("50",), place="B2", purchase="P-2"), THU)
    receive(shop, Arrival("clip", ("20",), place="B1"), THU)
    said = on(shop, THU, item="clip")
    assert (said.items[0].usable.held, said.items[0].usable.priced, said.value_minor) == (170, 120, 5_00)
    first, second = said.remarks
    assert first == "50 of Clip (clip) without a known price. Some was bought in EUR, and nothing is converted."
    assert second.startswith("Some of Clip in B")
    assert second.endswith("the average there is too low.")
    assert on(shop, WED, item="clip").remarks == ()


def test_a_side_piece_is_not_called_unpriced(shop: Shop, tmp_path: Path) -> None:
    priced_shop(shop, tmp_path)
    made_order(shop, line("tonneau"))
    keep_side_piece(shop, tag_of(shop, "1"), 900, 500, "B2", THU)
    said = on(shop, THU, item=HOOD)
    assert said.remarks == (
        f"0.90 m of Hood cloth, fawn ({HOOD}) is side pieces: paid with the cut they were left from.",
    )
    assert said.items[0].usable.each == "35.5556 GBP"


def test_what_is_asked_amiss_is_refused(shop: Shop, tmp_path: Path) -> None:
    priced_shop(shop, tmp_path)
    for call, said in (
        ({"day": date(2026, 12, 1)}, "still to come"),
        ({"item": "sealskin"}, "no item 'sealskin'"),
        ({"item": "hood-cloth"}, "may be several items"),
        ({"group": "hoods"}, "no group 'hoods'"),
    ):
        with pytest.raises(Refusal, match=said):
            worth(shop, FRI.at, **call)
