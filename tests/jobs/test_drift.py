"""Drift out of a shop: days, masters of a colour and of a cloth, what was read since, and what lies apart."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.drift import drift
from stockroom.jobs.drift_paper import drift_pages
from stockroom.jobs.paper_making import make
from stockroom.jobs.papers import Paper, of_shown
from stockroom.jobs.read_master import read_master
from stockroom.jobs.read_roll import read_roll
from stockroom.jobs.show import show
from stockroom.jobs.verdict import give_verdict
from stockroom.store import stock
from stockroom.store.database import Shop
from tests.labels.reading import texts
from tests.shops import LATER, STAMP, TODAY, load_files, roll, stock_shop

RED = "leathercloth/red"
UNDER = ("D65", "10")
TERMS = "supplier,item,least_quantity,price\nhollin,leathercloth/red,10 m,20.00\n"


def read(lightness: float, ago: int, light: str = "D65") -> dict[str, object]:
    """Columns of a reading that differs from others in L* alone, of a roll that came in so many days ago."""
    came = f"opening-{ago}d"
    return {"L": lightness, "a": 0, "b": 0, "illuminant": light, "observer": 10, "received": came}


@pytest.fixture
def reds(shop: Shop, tmp_path: Path) -> Shop:
    """Red leathercloth whose lots grow lighter, one read otherwise, one unread; and a carpet of the same red."""
    stock_shop(
        shop,
        tmp_path,
        roll(RED, 5_000, "late", **read(52, 5)),
        roll(RED, 5_000, "early", **read(50.2, 90)),
        roll(RED, 5_000, "early", **read(50.4, 80)),
        roll(RED, 5_000, "other", **read(60, 40, "A")),
        roll(RED, 5_000, "unread"),
        roll("carpet/red", 5_000, "C", **read(50, 30)),
    )
    read_master(shop, "red", "50,0,0", UNDER, STAMP)
    suppliers = "code,name,lead_days,currency\nhollin,Hollin Cloth Mill,35,GBP\n"
    load_files(shop, tmp_path, {"suppliers.csv": suppliers, "terms.csv": TERMS})
    return shop


def tag_of(shop: Shop, lot: str) -> str:
    """The tag of the first roll of a lot of the red leathercloth."""
    with shop.read() as tx:
        return next(one.tag for one in stock.rolls_of(tx, RED) if one.lot == lot)


def test_lots_stand_by_the_day_they_came_against_the_master_of_their_cloth_or_else_of_their_colour(reds: Shop) -> None:
    (item,) = drift(reds, RED).items
    ago = {one.lot: (TODAY - one.came).days for one in item.lots}
    assert ago == {"early": 90, "late": 5}
    assert [(one.L, one.readings, one.words) for one in item.lots] == [
        (50.3, 2, "matches"),
        (52.0, 1, "does not match"),
    ]
    assert item.unread == ("unread",)
    assert len(item.left_out) == 1
    assert "lot other, read once under A/10°" in item.left_out[0]
    assert [(one.lot, one.lots) for one in item.apart] == [("late", ("early",))]
    give_verdict(reds, RED, ("early", "late"), "match", "daylight", LATER)
    assert drift(reds, RED).items[0].apart == (), "an eye stands above the number"

    read_master(reds, RED, "52,0,0", UNDER, LATER)
    both = {one.item: one for one in drift(reds, "Red").items}
    assert both.keys() == {RED, "carpet/red"}
    assert [one.words for one in both[RED].lots] == ["does not match", "matches"]
    master = both[RED].master
    assert master is not None
    assert master.of == "Leathercloth"
    assert both["carpet/red"].lots[0].words == "matches"


def test_an_earlier_day_goes_by_what_was_read_by_then(reds: Shop) -> None:
    read_roll(reds, tag_of(reds, "late"), "52.4,0,0", UNDER, LATER)
    read_master(reds, "red", "51,0,0", UNDER, LATER)
    then, now = drift(reds, RED, STAMP.at.date()), drift(reds, tag_of(reds, "late"))
    assert [one.readings for one in then.items[0].lots] == [2, 1]
    assert [one.readings for one in now.items[0].lots] == [2, 2]
    assert [one.items[0].master.L for one in (then, now) if one.items[0].master] == [50, 51]
    assert [one.L for one in now.earlier_masters] == [50]
    assert drift(reds, RED, STAMP.at.date() - timedelta(1)).items == ()


def test_the_page_goes_to_the_one_supplier_and_is_offered_of_a_roll_that_was_read(reds: Shop) -> None:
    tag = tag_of(reds, "late")
    assert Paper("drift", (tag,)) in of_shown(show(reds, tag))
    assert Paper("drift", (tag_of(reds, "unread"),)) not in of_shown(show(reds, tag_of(reds, "unread")))
    (made,) = make(reds, Paper("drift", (tag,)), STAMP, date(2026, 11, 25))
    (page,) = texts(made.pdf)
    for said in (
        "Hollin Cloth Mill",
        "1 early",
        "2 late",
        "NO MATCH",
        f"Roll {tag}",
        "lot other, read once under A/10°",
    ):
        assert said in page, said
    with pytest.raises(Refusal, match="no lot can be held against a master"):
        drift_pages(reds, "green", STAMP)
