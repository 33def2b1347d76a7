"""Consumables: a low-stock tag that is scanned goes on the buying list, and what has a day says when it is past."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import update

from stockroom.domain.refusal import Refusal
from stockroom.jobs.expiring import expiring
from stockroom.jobs.low import buying_list, low, low_scanned, not_wanted
from stockroom.jobs.purchasing import Purchase, buy
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reorder_report import ReorderLine, ReorderReport
from stockroom.jobs.show import show
from stockroom.jobs.undo import done, undo
from stockroom.store import low_stock, tagged
from stockroom.store.database import Shop
from stockroom.store.tables import Holding
from tests.shops import LATER, STAMP, load_files, plenty, stock_shop

TODAY = date(2026, 11, 26)
ADHESIVE = "adhesive"


@pytest.fixture
def stocked(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with adhesive that somebody sells and that has a day, beside what any shop has."""
    stock_shop(shop, tmp_path, *plenty())
    load_files(
        shop,
        tmp_path,
        {
            "items.csv": "code,kind,title,hazards,storage,posting,least,most\n"
            f"{ADHESIVE},consumable,Contact adhesive,Highly flammable.,In the solvent cabinet.,Not by air.,,6\n",
            "bins.csv": f"item,place,count,expires\n{ADHESIVE},B1,4,2026-12-10\n",
            "suppliers.csv": "code,name,lead_days\nglue,Marsh Lane Glues,7\n",
            "terms.csv": f"supplier,item,least_quantity,multiple,price\nglue,{ADHESIVE},2,2,9.50\n",
        },
    )
    return shop


def shelf_tag(shop: Shop) -> str:
    """The tag of the adhesive's bin."""
    with shop.read() as tx:
        (found,) = [one.tag for one in tagged.holdings_by_tag(tx, []) if one.item == ADHESIVE]
    return found


def report(shop: Shop) -> ReorderReport:
    """This week's."""
    return reorder(shop, None, TODAY, LATER)


def lines(shop: Shop) -> list[ReorderLine]:
    """What the report says of the adhesive."""
    return [line for _, _, some in report(shop).groups() for line in some if line.item == ADHESIVE]


def test_a_scanned_low_stock_tag_is_a_line_of_the_reorder_report_until_it_is_bought(stocked: Shop) -> None:
    assert lines(stocked) == []
    said = low_scanned(stocked, shelf_tag(stocked).lower(), STAMP)
    assert said is not None
    assert said.sentence == "Contact adhesive is low: it is on the buying list."
    (line,) = lines(stocked)
    assert line.why == "low-stock tag scanned by AB on 2026-11-25"
    assert (line.needed, line.quantity) == (1, 2)
    assert "Low-stock tag scanned by AB on 2026-11-25." in line.steps
    assert report(stocked) == report(stocked)
    again = low(stocked, ADHESIVE.upper(), LATER)
    assert not again.changed_anything
    assert again.sentence == "Contact adhesive is on the buying list already (AB, 2026-11-25). Nothing is added."
    (listed,) = buying_list(stocked)
    assert (listed.item, listed.by, listed.on_order) == (ADHESIVE, "AB", ())
    buy(stocked, Purchase("PO-7", "glue", ADHESIVE, "2"), LATER)
    assert buying_list(stocked) == ()
    assert lines(stocked) == []
    assert low(stocked, ADHESIVE, LATER).sentence.endswith("More is on order: purchase PO-7, due on 2026-12-03.")
    assert lines(stocked) == []


def test_what_is_not_wanted_comes_off_the_list_and_a_mistaken_scan_is_undone(stocked: Shop) -> None:
    low(stocked, ADHESIVE, STAMP)
    assert undo(stocked, done(stocked, 1)[0].number, LATER).sentences == ("It is off the buying list.",)
    assert buying_list(stocked) == ()
    low(stocked, ADHESIVE, STAMP)
    scan = done(stocked, 1)[0].number
    assert not_wanted(stocked, ADHESIVE, LATER).changed_anything
    assert not not_wanted(stocked, ADHESIVE, LATER).changed_anything
    assert lines(stocked) == []
    with pytest.raises(Refusal, match="It was bought, or has come, or is not wanted any more"):
        undo(stocked, scan, LATER)


def test_only_the_tag_of_a_consumable_says_by_itself_that_it_is_low(stocked: Shop) -> None:
    with stocked.read() as tx:
        others = [one.tag for one in tagged.holdings_by_tag(tx, []) if one.item_kind in ("cloth", "hardware")]
    assert [low_scanned(stocked, tag, STAMP) for tag in (others[0], others[-1], "L-1", "stud")] == [None] * 4
    with pytest.raises(Refusal, match="There is no item 'adhesiv'"):
        low(stocked, "adhesiv", STAMP)
    with stocked.read() as tx:
        assert low_stock.standing_low(tx) == []


def test_what_expires_is_named_with_its_day_and_its_cautions(stocked: Shop) -> None:
    assert expiring(stocked, 13, TODAY) == ()
    (soon,) = expiring(stocked, 14, TODAY)
    assert (soon.tag, soon.amount, soon.days_left) == (shelf_tag(stocked), "4", 14)
    assert soon.words == "not to be used after 2026-12-10 (14 days)"
    (past,) = expiring(stocked, 0, date(2026, 12, 11))
    assert past.words.startswith("expired on 2026-12-10: do not use it")
    facts = dict(show(stocked, shelf_tag(stocked)).facts)
    assert facts["Not to be used after"] == "2026-12-10"
    assert (facts["Hazards"], facts["Storage"]) == ("Highly flammable.", "In the solvent cabinet.")
    assert facts["Posting"] == "Not by air."
    assert facts["Rules"] == "The supplier's safety data sheet and your own rules come first."
    with stocked.write() as tx:
        tx.execute(update(Holding).where(Holding.item == ADHESIVE).values(held=0, last_number=0, value_minor=0))
    assert expiring(stocked, 3650, TODAY) == ()
