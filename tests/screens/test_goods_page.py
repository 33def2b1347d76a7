"""Goods in by keys alone, on a real shop: what is typed is said back, asked about, booked once, and never lost."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from stockroom.domain.about import About
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.printing import Outlet
from stockroom.jobs.purchasing import expected
from stockroom.jobs.racks import Thing, where_is
from stockroom.jobs.read_master import read_master
from stockroom.jobs.reserve import reserve
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.fake_printer import FakePrinter
from tests.labels.reading import codes
from tests.screens.driving import Driver, in_a_loop, press, screen_text, settle, shows
from tests.shops import STAMP, TODAY, bin_of, line, load_files, order, roll, stock_shop

HOOD = "hood-cloth/fawn"
SUPPLIERS = "code,name,lead_days,currency\nwesting,Westing Coated Cloths,35,GBP\ntern,Tern Fasteners,7,GBP\n"
PURCHASES = (
    "reference,supplier,item,quantity,received,ordered,due,price\n"
    "P-1,westing,hood-cloth/fawn,25 m,0,opening-9d,opening-5d,38.50\n"
    "P-2,westing,carpet/red,10 m,0,opening-9d,opening+5d,20.00\n"
    "P-2,westing,carpet/black,10 m,0,opening-9d,opening+5d,20.00\n"
    "P-3,tern,stud,100,60,opening-9d,opening+1d,0.10\n"
)


@pytest.fixture
def goods_shop(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """A shop with one roll of hood cloth, a bin of studs, and three purchases on their way."""
    stock_shop(sqlite_shop, tmp_path, roll(HOOD, 700, "W4391"), bin_of("stud", 10))
    load_files(sqlite_shop, tmp_path, {"suppliers.csv": SUPPLIERS, "purchases.csv": PURCHASES})
    return sqlite_shop


@asynccontextmanager
async def at_goods_in(shop: Shop, folder: Path, printer: str = "") -> AsyncIterator[Driver]:
    """The goods in page of a shop, with initials given."""
    jobs = jobs_of(shop, About("Lindow Trim", "UTC", "GBP"), Outlet(folder / "paper", printer))
    async with StockroomApp(jobs).run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "f8", *"CD", "enter", "ctrl+g")
        yield pilot


def entered(*texts: str) -> tuple[str, ...]:
    """Texts with Enter behind each; '' is Enter alone."""
    return tuple(key for text in texts for key in (*text, "enter"))


def due(shop: Shop) -> dict[tuple[str, str], str]:
    """Purchase and item → what of it is still expected."""
    return {(one.reference, one.item): one.shown for one in expected(shop, TODAY)}


def lying(shop: Shop, item: str) -> list[Thing]:
    """All there is of an item, the newest tag last."""
    return sorted(where_is(shop, item)[0].things, key=lambda one: one.tag)


def asked(pilot: Driver) -> str:
    """What the scan line asks."""
    return shows(pilot, "#scan-label").removesuffix(" ▸").strip()


@in_a_loop
async def test_a_delivery_is_received_against_its_purchase_by_a_short_run_of_questions(
    goods_shop: Shop, tmp_path: Path
) -> None:
    number = take(goods_shop, order(line("hood")), STAMP).number
    with pytest.raises(Refusal, match="is short"):
        reserve(goods_shop, number, STAMP)
    async with at_goods_in(goods_shop, tmp_path) as pilot:
        await press(pilot, *entered("p-1"))
        for question, answer in (
            ("Dye lot", "w 4391"),
            ("Length of the roll", "13 yd"),
            ("Another roll", ""),
            ("Usable width", ""),
            ("Put where", "r1"),
            ("Is it so", "no"),
            ("Say or put right", "dye lot"),
            ("Dye lot", "W5000"),
        ):
            assert asked(pilot) == question
            await press(pilot, *entered(answer))
        assert asked(pilot) == "Book it in"
        text = " ".join(screen_text(pilot).split())
        assert "lot W5000, into R1: 13 yd = 11.8872 m, booked as 11.887 m" in text
        assert "13.113 m of 25.00 m is still due after it" in text
        assert len(lying(goods_shop, HOOD)) == 1, "nothing is booked before it is confirmed"
        await press(pilot, *entered("at 5"))
        new = lying(goods_shop, HOOD)[-1]
        said = shows(pilot, "#message")
        assert f"Received {new.tag} 11.887 m: Hood cloth, fawn, lot W5000, in R1." in said
        where = f"{tmp_path / 'paper'}, from label 5 of a4-3x7-63x38"
        assert f"Printed in {where}: tag-{new.tag}.pdf. Ctrl and P prints it again." in said
        assert codes((tmp_path / "paper" / f"tag-{new.tag}.pdf").read_bytes(), 300) == [[new.tag]]
        assert f"Order {number} (Ann Example) waits for such goods" in said
        assert due(goods_shop)["P-1", HOOD] == "13.113 m"
        await press(pilot, "ctrl+p")
        assert "a4-3x7-63x38 goes on at label 6; 'at 1' begins a new one" in shows(pilot, "#message")
        await press(pilot, "enter")
        assert (tmp_path / "paper" / f"tag-{new.tag}-2.pdf").exists(), "a tag that was spoiled is printed once more"
        await press(pilot, "ctrl+r")
        assert f"Reserved: order {number}." in shows(pilot, "#message")
    assert audit(goods_shop).faults == ()


@pytest.mark.parametrize("fails", ["", "printer", "folder"])
@in_a_loop
async def test_tags_go_to_the_printer_at_once_and_whatever_becomes_of_them_the_goods_are_booked(
    fails: str, goods_shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[str] = []
    monkeypatch.setattr(StockroomApp, "bell", lambda _app: rung.append("bell"))
    printer, paper = FakePrinter(tmp_path / "bin", monkeypatch), tmp_path / "paper"
    if fails == "printer":
        printer.jams("it is on fire")
    if fails == "folder":
        paper.write_text("no folder")
    async with at_goods_in(goods_shop, tmp_path, "bench") as pilot:
        await press(pilot, *entered("P-1", "-", "2 x 12 m", "", "", "", ""))
        _, *new = sorted((one.tag for one in lying(goods_shop, HOOD)), key=lambda tag: int(tag[1:-1]))
        said, file = shows(pilot, "#message"), paper / f"tag-{'-'.join(new)}.pdf"
        assert f"Received {new[0]} 12.00 m, {new[1]} 12.00 m" in said
        assert rung == (["bell"] if fails else [])
        assert printer.sent == ([] if fails else [("bench", file)])
        if fails == "folder":
            assert f"! No paper can be kept in {paper}" in said
            assert f"Ctrl and P prints tags {', '.join(new)}." in said
        else:
            assert codes(file.read_bytes(), 300) == [new]
            assert file.name in said
            assert ("bench did not take" if fails else f"Printed on bench, and kept in {paper}") in said
        await press(pilot, *entered("clip", "25", "B2", ""), *entered("clip", "5", "B2", ""))
        assert "5 more" in shows(pilot, "#message")
        assert "Printed" not in shows(pilot, "#message"), "what lies in its bin has its tag"
    assert audit(goods_shop).faults == ()


@in_a_loop
async def test_more_than_is_due_a_wrong_item_and_a_wrong_place_are_asked_about_and_no_dead_end(
    goods_shop: Shop, tmp_path: Path
) -> None:
    async with at_goods_in(goods_shop, tmp_path) as pilot:
        await press(pilot, *entered("P-2"))
        assert "2 things may be meant" in shows(pilot, "#message")
        await press(pilot, *entered("2", "D9", "6 m", "6 m", "", "", "nowhere"))
        assert "There is no place 'nowhere'" in shows(pilot, "#message")
        assert asked(pilot) == "Put where"
        await press(pilot, *entered("R1"))
        assert "12.00 m is 2.00 m more than is still due of purchase P-2" in shows(pilot, "#message")
        await press(pilot, *entered("perhaps"))
        assert "Type yes" in shows(pilot, "#message")
        await press(pilot, *entered("yes", ""))
        assert ("P-2", "carpet/red") not in due(goods_shop)
        assert [one.amount for one in lying(goods_shop, "carpet/red")] == ["6.00 m", "6.00 m"]

        await press(pilot, *entered("clip", "25", "B2"))
        await press(pilot, "ctrl+o", *entered("with purchase", "p-3"))
        assert "Purchase P-3 is for stud, not for clip" in shows(pilot, "#message")
        await press(pilot, *entered("yes", ""))
        assert due(goods_shop)["P-3", "stud"] == "40", "what was bought stays due"
        assert [one.amount for one in lying(goods_shop, "clip")] == ["25"]
    assert audit(goods_shop).faults == ()


@in_a_loop
async def test_a_shade_that_was_read_as_wrong_is_set_apart_by_one_letter(goods_shop: Shop, tmp_path: Path) -> None:
    read_master(goods_shop, HOOD, "63,4,17", ("D65", "10"), STAMP)
    async with at_goods_in(goods_shop, tmp_path) as pilot:
        await press(pilot, *entered("P-1", "W9", "25 m", "", "", "R1"))
        await press(pilot, "ctrl+o", *entered("reading", "67,4,17,D65,10"))
        assert "Lot W9 does not match the master of its colour: ΔE00 is " in shows(pilot, "#message")
        assert asked(pilot) == "Is it so"
        await press(pilot, *entered("q"))
        assert asked(pilot) == "Book it in"
        assert "In quarantine: wrong shade." in screen_text(pilot)
        await press(pilot, *entered(""))
    (came,) = (one for one in lying(goods_shop, HOOD) if one.lot == "W9")
    assert came.quarantined == "wrong shade"


@in_a_loop
async def test_goods_without_a_purchase_are_found_while_typing_and_leaving_the_questions_loses_nothing(
    goods_shop: Shop, tmp_path: Path
) -> None:
    async with at_goods_in(goods_shop, tmp_path) as pilot:
        await press(pilot, "ctrl+n", *"stu")
        assert "1 of" in shows(pilot, "#filter-count")
        await press(pilot, "enter", "enter")
        assert "2 things may be meant" in shows(pilot, "#message"), "it is on order, and may come without it"
        await press(pilot, *entered("2", "7"))
        assert asked(pilot) == "Put where"
        await press(pilot, "escape")
        assert "Nothing more was booked" in shows(pilot, "#message")
        assert "is kept" in shows(pilot, "#message")
        await press(pilot, "ctrl+o", "enter")
        assert asked(pilot) == "Put where"
        await press(pilot, *entered("", ""))
        (bin_,) = lying(goods_shop, "stud")
        assert bin_.amount == "17"
        assert f"Received {bin_.tag} 7 more" in shows(pilot, "#message")
        assert due(goods_shop)["P-3", "stud"] == "40"
        await press(pilot, "escape", "escape")
        assert "expected" in shows(pilot, "#heading")
    assert audit(goods_shop).faults == ()


@in_a_loop
async def test_what_came_is_measured_looked_over_set_apart_and_put_away_and_a_purchase_is_closed(
    goods_shop: Shop, tmp_path: Path
) -> None:
    async with at_goods_in(goods_shop, tmp_path) as pilot:
        await press(pilot, *entered("P-1", "-", "", "", "", "", ""))
        tag = lying(goods_shop, HOOD)[-1].tag
        assert f"Received {tag} 25.00 m" in shows(pilot, "#message"), "who says that there is no lot is not asked again"
        await press(pilot, "ctrl+t", *entered("24.5 m"))
        assert "0.50 m shorter than it came. Ctrl and P prints claim" in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        assert (tmp_path / "paper" / f"claim-{tag}.pdf").exists()
        await press(pilot, "ctrl+f", *entered("2 m", "2.1 m", "a slub"))
        assert f"The flaw on {tag}, from 2.00 m to 2.10 m, is written down: a slub." in shows(pilot, "#message")
        await press(pilot, "ctrl+o", *entered("8 m:1 in:knot", "8 metres in, a knot"))
        assert asked(pilot) == "Fault", "what is none is refused, and what was met before it stays"
        await press(pilot, *["backspace"] * 19, *entered("99 m:2 in:hole", ""))
        assert "lies beyond the 24.50 m" in shows(pilot, "#message")
        await press(pilot, "ctrl+o", *entered("-", "2.4 m:5 in:slub", ""))
        assert "3 points on 24.50 m" in shows(pilot, "#message")
        await press(pilot, "ctrl+k", *entered("wrong shade"))
        assert "may not be used: wrong shade" in shows(pilot, "#message")
        await press(pilot, *entered(tag, "B2"))
        facts = dict(show(goods_shop, tag).facts)
        assert facts["Quarantined"] == "wrong shade"
        assert facts["Flaws"].count(";") == 2
        assert facts["Place"] == "B2"
        await press(pilot, "ctrl+l", *entered("the mill has no more"))
        assert "is closed" in shows(pilot, "#message")
        assert len(due(goods_shop)) == 2
    assert audit(goods_shop).faults == ()
