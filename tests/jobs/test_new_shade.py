"""The shade of what comes in: asked about only where an instrument says it is wrong, and set apart by one word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from stockroom.domain.arrival import Arrival
from stockroom.domain.refusal import Refusal
from stockroom.jobs.quarantine import quarantine
from stockroom.jobs.read_master import read_master
from stockroom.jobs.read_roll import read_roll
from stockroom.jobs.receive import receive, receive_check
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.jobs.verdict import give_verdict
from stockroom.store.database import Shop
from tests.shops import LATER, STAMP, line, order, roll
from tests.shops import stock_shop as stocked

HOOD = "hood-cloth/fawn"


def read(lightness: float) -> dict[str, object]:
    """Columns of a reading that differs from others in L* alone."""
    return {"L": lightness, "a": 4, "b": 17, "illuminant": "D65", "observer": 10}


def came(lot: str = "NEW", lightness: float | None = None, **more: Any) -> Arrival:
    """A roll of hood cloth that comes in, read so."""
    reading = "" if lightness is None else f"{lightness} 4 17 D65 10"
    return Arrival(HOOD, ("9 m",), **{"place": "R1", "lot": lot, "reading": reading, **more})


@pytest.fixture
def fawns(shop: Shop, tmp_path: Path) -> Shop:
    """A car's tonneau cover is held from lot A, and its hood, seen beside it, is short: 1 m of A and of B are not 2 m.

    The master has L* 63; A reads 63.4, B has no reading.
    """
    stocked(shop, tmp_path, roll(HOOD, 1_200, "A", **read(63.4)), roll(HOOD, 900, "B"), roll("zip/fawn", 5_000))
    read_master(shop, HOOD, "63,4,17", ("D65", "10"), STAMP)
    take(shop, order(line("tonneau"), number="O-1"), STAMP)
    reserve(shop, "O-1", STAMP)
    take(shop, order(line("hood", choices={"window": "zipped"}), number="O-2"), STAMP)
    with pytest.raises(Refusal, match="short"):
        reserve(shop, "O-2", STAMP)
    return shop


def asked(shop: Shop, said: Arrival) -> dict[str, str]:
    """What is asked of it: name and sentence."""
    return {one.name: one.sentence for one in receive_check(shop, said, LATER).questions}


def test_a_reading_that_is_wrong_is_asked_about_and_a_lot_without_one_never(fawns: Shop) -> None:
    assert asked(fawns, came()) == {}, "a shop without an instrument is asked nothing"
    assert asked(fawns, came(lightness=63.2)) == {}
    assert asked(fawns, came(lightness=64.6)).keys() == set(), "between the two the eye decides, and nothing is asked"
    wrong = asked(fawns, came(lightness=67))
    assert wrong["off-master"].startswith("Lot NEW does not match the master of its colour: ΔE00 is ")
    assert wrong["off-lots"].startswith(
        "Lot NEW matches nothing that is held beside what order O-2 waits for (beside lot A: ΔE00 is "
    )
    assert asked(fawns, came(lightness=67, quarantine="wrong shade")) == {}
    assert asked(fawns, replace(came(lightness=67), reading="67 4 17 A 10")) == {}, "under another light"
    with pytest.raises(Refusal, match="or set it apart: --quarantine") as refused:
        receive(fawns, came(lightness=67), LATER)
    assert [one.split(":")[0] for one in refused.value.faults] == ["off-lots", "off-master"]
    receive(fawns, came(lightness=67), LATER, {"off-lots", "off-master"})
    give_verdict(fawns, HOOD, ("A", "NEW"), "match", "daylight", LATER)
    again = asked(fawns, came(lightness=67, delivery="2"))
    assert "off-lots" not in again, "an eye that saw them stands above the number"
    assert "off-master" in again


def test_what_is_to_be_looked_at_is_said_and_nothing_need_be_answered(fawns: Shop) -> None:
    (hint,) = receive(fawns, came(), LATER).hints
    assert hint.startswith("Lot NEW was not read: check it by eye in daylight beside lot A, and write down ")
    assert hint.endswith(f"stockroom verdict {HOOD} 'A' 'NEW' match|near|no-match --light daylight")
    assert receive(fawns, came(delivery="2"), LATER, {"again"}).hints == (), "it is not new any more"
    (other,) = receive(fawns, replace(came("ALIEN"), reading="63 4 17 A 10"), LATER).hints[:1]
    assert other.startswith("Lot ALIEN is not held against the master of its colour. One reading is under ")
    assert receive(fawns, came("SAME", 63.3), LATER).hints == ()


def test_a_roll_that_is_read_later_is_warned_of_until_it_is_set_apart(fawns: Shop) -> None:
    tag = receive(fawns, came(), LATER).goods[0].tag
    warned = read_roll(fawns, tag, "67,4,17", ("D65", "10"), LATER).warnings
    assert [one.split(" (")[0] for one in warned] == [
        "Lot NEW matches nothing that is held beside what order O-2 waits for",
        warned[1],
        f'Set it apart, if it is not to be used: stockroom quarantine {tag} --because "wrong shade"',
    ]
    quarantine(fawns, tag, "wrong shade", LATER)
    assert read_roll(fawns, tag, "67,4,17", ("D65", "10"), LATER).warnings == ()


def test_a_reading_in_another_order_is_refused_as_it_comes_in(fawns: Shop) -> None:
    with pytest.raises(Refusal, match="Write L\\*, a\\* and b\\* in this order"):
        receive_check(fawns, replace(came(), reading="17 63 4 D65 10"), LATER)
