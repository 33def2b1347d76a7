"""What is past its day is held for nobody and not taken; whoever is short of it is told that it lies there."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.cut import cut
from stockroom.jobs.pick import pick
from stockroom.jobs.quarantine import quarantine
from stockroom.jobs.reserve import reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.jobs.test_moving import HOOD, tags
from tests.jobs.workshop import taken_order
from tests.shops import LATER, STAMP, Stocked, bin_of, line, look, order, roll, stock_shop

YESTERDAY, TODAY, TOMORROW = "2026-11-24", "2026-11-25", "2026-11-26"
LONG_AFTER = replace(STAMP, at=STAMP.at + timedelta(days=30))


def clips(count: int, place: str, expires: str) -> Stocked:
    """A bin of clips with a day."""
    return Stocked("bins", {"item": "clip", "place": place, "count": count, "expires": expires})


def test_an_order_holds_what_may_be_used_today_and_is_told_of_what_may_not(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll(HOOD, 5_000, expires=YESTERDAY), clips(50, "B1", YESTERDAY), clips(9, "B2", TODAY),
        roll("binding/black", 9_000),
    )  # fmt: skip
    cover = take(shop, order(line("tonneau"), number="T-1"), STAMP).number
    rail = take(shop, order(line("header-rail"), number="T-2"), STAMP).number
    with pytest.raises(Refusal) as refused:
        reserve(shop, cover, STAMP)
    old = tags(shop, HOOD)[0]
    assert f"Not counted, since its day is past: 5.00 m in {old} ({YESTERDAY})." in refused.value.sentence
    held = reserve_what_there_is(shop, rail, STAMP)
    assert {one.place for one in look(shop, rail).holds if one.item == "clip"} <= {"B2"}
    assert all("clip" not in one.casefold() or "day is past" in one for one in held.short)
    assert audit(shop).is_good


def test_what_is_past_its_day_since_it_was_held_is_not_taken_until_it_is_set_apart(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll(HOOD, 2_000, "1", expires=TOMORROW), roll(HOOD, 60_000, "2"), bin_of("stud", 5),
        clips(50, "B1", TOMORROW), clips(50, "B2", ""), *(roll(f"binding/{one}", 9_000) for one in ("red", "black")),
    )  # fmt: skip
    number = taken_order(shop, line("tonneau"), line("header-rail"), number="T-1")
    old = tags(shop, HOOD)[0]
    for one in look(shop, number).holds:
        if one.tag in (old, tags(shop, "clip")[0]):
            take_it = cut if one.cut_id is not None else pick
            with pytest.raises(Refusal, match=f"to be used by {TOMORROW}: nothing is taken from it"):
                take_it(shop, number, one.tag, LONG_AFTER)
            quarantine(shop, one.tag, "past its day", LONG_AFTER)
    now = look(shop, number)
    assert now.wholly_held
    assert not {one.tag for one in now.holds} & {old, tags(shop, "clip")[0]}
    with pytest.raises(Refusal, match="in quarantine"):
        pick(shop, number, old, LATER)
    assert audit(shop).is_good
