"""Undoing: what was done last is listed, and whatever can be reversed is, with all that hangs on it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from stockroom.domain.refusal import Refusal
from stockroom.jobs import parts
from stockroom.jobs.adjust import adjust
from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import back, out, tie
from stockroom.jobs.change import cancel, change_line, set_quantity, set_wanted
from stockroom.jobs.cut import cut, keep_side_piece, mark_flaw, measure
from stockroom.jobs.low import low
from stockroom.jobs.move import move, move_part
from stockroom.jobs.pack import close, new_parcel, pack, unpack
from stockroom.jobs.pick import pick, pick_short, put_back
from stockroom.jobs.quarantine import quarantine, release
from stockroom.jobs.reserve import reserve, reserve_what_there_is
from stockroom.jobs.retag import retag
from stockroom.jobs.scrap import scrap
from stockroom.jobs.take import take
from stockroom.jobs.undo import done, last_of, undo
from stockroom.store import bundles, tagged
from stockroom.store.database import Shop
from stockroom.store.tables import Holding
from tests.jobs.workshop import cut_all, pick_all, taken_order
from tests.shops import LATER, STAMP, bin_of, change, dump, line, look, order, plenty, stock_shop

WRITTEN_ONCE = {"job", "movement", "moved", "order_change", "counter", "printed"}
"""Tables to which rows are only ever added: an undo adds to them, too."""


def state(shop: Shop) -> dict[str, list[tuple[Any, ...]]]:
    """Everything that an undo brings back: all rows, but for those that are only ever added and their numbers."""
    there = {name: rows for name, rows in dump(shop).items() if name not in WRITTEN_ONCE}
    kept = [column for column in Holding.__table__.columns if column.name != "last_number"]
    with shop.read() as tx:
        there["holding"] = sorted((tuple(row) for row in tx.execute(select(*kept))), key=repr)
    return there


def differing(shop: Shop, before: dict[str, list[tuple[Any, ...]]]) -> set[str]:
    """The tables that are not as they were."""
    now = state(shop)
    return {name for name in now if now[name] != before[name]}


def last(shop: Shop) -> int:
    """Number of the latest job."""
    return done(shop, 1)[0].number


def last_standing(shop: Shop) -> int:
    """Number of the latest job that still stands and took none back."""
    return next(one.number for one in done(shop, 500) if not one.undone_by and one.undoes is None)


def bundle_tag(shop: Shop, number: str) -> str:
    """The tag of an order's only bundle."""
    with shop.read() as tx:
        (bundle,) = bundles.bundles_of(tx, look(shop, number).order.id)
    return bundle.tag


@pytest.fixture
def stocked(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with plenty of everything."""
    stock_shop(shop, tmp_path, *plenty(), bin_of("tool-bag-blank", 1))
    return shop


def _hood(shop: Shop) -> str:
    """The roll of hood cloth."""
    return next(one.tag for one in look(shop, "L-1").holds if one.item.startswith("hood-cloth"))


def _bin(shop: Shop) -> str:
    return next(one.tag for one in look(shop, "L-1").holds if one.kind == "bin")


JOBS: dict[str, tuple[Callable[[Shop], object], Callable[[Shop], object]]] = {
    "reserve": (lambda _: None, lambda shop: reserve(shop, "L-1", LATER)),
    "hold what there is": (lambda _: None, lambda shop: reserve_what_there_is(shop, "L-1", LATER)),
    "hold what there is, of too little": (
        lambda shop: (set_quantity(shop, "L-1", 1, 2, STAMP), quarantine(shop, "R3Y", "damp", STAMP)),
        lambda shop: reserve_what_there_is(shop, "L-1", LATER),
    ),
    "pick": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: pick(shop, "L-1", _bin(shop), LATER)),
    "pick short": (
        lambda shop: reserve(shop, "L-1", STAMP),
        lambda shop: pick_short(shop, "L-1", _bin(shop), 1, LATER),
    ),
    "measure": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: measure(shop, _hood(shop), 900, LATER)),
    "flaw": (
        lambda shop: reserve(shop, "L-1", STAMP),
        lambda shop: mark_flaw(shop, _hood(shop), 59_000, 59_100, "a stain", LATER),
    ),
    "wanted": (lambda _: None, lambda shop: set_wanted(shop, "L-1", date(2027, 3, 1), LATER)),
    "quantity": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: set_quantity(shop, "L-1", 1, 3, LATER)),
    "smaller quantity": (
        lambda shop: (set_quantity(shop, "L-1", 1, 3, STAMP), reserve(shop, "L-1", STAMP)),
        lambda shop: set_quantity(shop, "L-1", 1, 2, LATER),
    ),
    "change": (
        lambda shop: reserve(shop, "L-1", STAMP),
        lambda shop: change_line(shop, "L-1", 1, change("leave-out", "BF"), LATER),
    ),
    "cancel": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: cancel(shop, "L-1", LATER)),
    "answer": (
        lambda shop: reserve_what_there_is(shop, "L-1", STAMP),
        lambda shop: answer(shop, "L-1", "window", "zipped", LATER),
    ),
    "adjust": (
        lambda shop: reserve(shop, "L-1", STAMP),
        lambda shop: adjust(shop, _hood(shop), "900 mm", "miscounted", LATER),
    ),
    "scrap": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: scrap(shop, _bin(shop), "rusted", LATER)),
    "quarantine": (
        lambda shop: reserve(shop, "L-1", STAMP),
        lambda shop: quarantine(shop, _hood(shop), "damp", LATER),
    ),
    "move": (lambda shop: reserve(shop, "L-1", STAMP), lambda shop: move(shop, [_bin(shop), _hood(shop)], "B2", LATER)),
    "customer's part": (lambda _: None, lambda shop: parts.receive(shop, "L-1", "a hood frame", "R1", LATER)),
}


@pytest.mark.parametrize("job", JOBS)
def test_a_job_that_is_undone_leaves_the_shop_as_it_was(stocked: Shop, job: str) -> None:
    take(stocked, order(line("boot-set"), line("hood"), line("tool-bag", 2), number="L-1"), STAMP)
    prepare, do = JOBS[job]
    prepare(stocked)
    before = state(stocked)
    do(stocked)
    assert differing(stocked, before)
    listed = done(stocked, 1)[0]
    assert (listed.why_not, listed.by) == ("", LATER.by)
    undo(stocked, listed.number, LATER)
    assert differing(stocked, before) == set()
    assert audit(stocked).is_good
    with pytest.raises(Refusal, match="was undone already"):
        undo(stocked, listed.number, LATER)


def test_everything_on_the_way_of_an_order_but_the_cut_is_undone_newest_first(stocked: Shop) -> None:
    number = taken_order(stocked, line("boot-set"), number="L-1")
    reel = _bin(stocked)
    cut_all(stocked, number)
    mats = list(look(stocked, number).tags.values())
    steps: list[Callable[[], object]] = [
        lambda: pick(stocked, number, reel, LATER),
        lambda: put_back(stocked, number, reel, LATER),
        lambda: pick_all(stocked, number),
        lambda: tie(stocked, number, LATER),
        lambda: out(stocked, bundle_tag(stocked, number), "sewing", "Tom", LATER),
        lambda: back(stocked, bundle_tag(stocked, number), LATER),
        *(lambda tag=tag: pack(stocked, number, tag, LATER) for tag in mats),
        lambda: unpack(stocked, number, mats[0], LATER),
        lambda: new_parcel(stocked, number, "long parcel", LATER),
        lambda: pack(stocked, number, mats[0], LATER, parcel=2),
        lambda: close(stocked, number, LATER),
    ]
    states = []
    for step in steps:
        states.append((last(stocked), state(stocked)))
        step()
    for before_it, before in reversed(states):
        while last_standing(stocked) > before_it:
            undo(stocked, last_standing(stocked), LATER)
        assert differing(stocked, before) <= {"pick"}
        assert audit(stocked).is_good


def test_what_later_work_stands_on_is_refused_with_what_that_is_and_what_to_do(stocked: Shop) -> None:
    number = taken_order(stocked, line("boot-set"), number="L-1")
    reserved = last(stocked)
    pick(stocked, number, _bin(stocked), LATER)
    picked = last(stocked)
    with pytest.raises(Refusal) as said:
        undo(stocked, reserved, LATER)
    assert said.value.sentence == (
        f"Job {reserved}, reserve for order L-1 (AB, 2026-11-25 08:30), cannot be undone. "
        f"What it did was changed since. Since then: pick from B1S for order L-1 (job {picked}, CD, 2026-11-26 09:15). "
        "Undo what came later first, the newest first."
    )
    assert next(one for one in done(stocked) if one.number == reserved).why_not in said.value.sentence
    taken = next(one for one in done(stocked) if one.what == f"take order {number}")
    assert taken.why_not.startswith(f"Something was picked or cut for order {number} already")
    undo(stocked, picked, LATER)
    cut(stocked, number, next(one.tag for one in look(stocked, number).holds if one.cut_id), LATER)
    with pytest.raises(Refusal, match=r"cloth does not grow together again.* is measured"):
        undo(stocked, last(stocked), LATER)
    with pytest.raises(Refusal, match=r"Since then: cut from .* cannot be undone: .* does not grow together again"):
        undo(stocked, reserved, LATER)
    with pytest.raises(Refusal, match="There is no job 4711"):
        undo(stocked, 4711, LATER)


def test_an_order_that_was_taken_by_mistake_is_cancelled_and_an_undo_is_not_undone(stocked: Shop) -> None:
    taken_order(stocked, line("boot-set"), number="L-1")
    reserved = last(stocked)
    made = undo(stocked, reserved - 1, LATER)
    assert made.sentences[0] == "Order L-1 is cancelled."
    assert look(stocked, "L-1").order.state == "cancelled"
    assert look(stocked, "L-1").holds == ()
    with pytest.raises(Refusal, match="It took another job back itself: do that one again"):
        undo(stocked, last(stocked), LATER)
    with pytest.raises(Refusal, match="Order L-1 is cancelled"):
        undo(stocked, reserved, LATER)
    assert audit(stocked).is_good


def test_goods_moved_apart_and_released_are_back_in_one_bin_with_what_is_promised(stocked: Shop) -> None:
    taken_order(stocked, line("boot-set"), number="L-1")
    tag = _bin(stocked)
    before = look(stocked, "L-1").holds
    move_part(stocked, tag, "398", "R1", LATER)
    quarantine(stocked, tag, "damp", LATER)
    release(stocked, tag, "dried", LATER)
    while last_standing(stocked) > 3:
        undo(stocked, last_standing(stocked), LATER)
        assert audit(stocked).is_good
    assert look(stocked, "L-1").holds == before


def test_two_picks_that_never_met_are_undone_in_any_order(stocked: Shop) -> None:
    taken_order(stocked, line("boot-set"), number="L-1")
    taken_order(stocked, line("boot-set"), number="L-2")
    before = look(stocked, "L-1"), look(stocked, "L-2")
    tag = _bin(stocked)
    picks = []
    for number in ("L-1", "L-2"):
        pick(stocked, number, tag, LATER)
        picks.append(last(stocked))
    for job in picks:
        assert undo(stocked, job, LATER).sentences[0].endswith(f"is back in {tag}.")
    assert (look(stocked, "L-1").holds, look(stocked, "L-2").holds) == (before[0].holds, before[1].holds)
    assert audit(stocked).is_good


def _held(shop: Shop, number: str, which: int, kind: str) -> str:
    """The tag of one of the things that are held for an order; the last roll or bin of the shop where there is none."""
    tags = sorted({one.tag for one in look(shop, number).holds if one.kind == kind})
    return tags[which % len(tags)] if tags else {"roll": "R3Y", "bin": "B1S"}[kind]


Step = Callable[[Shop, str, int], object]
STEPS: tuple[Step, ...] = (
    lambda shop, number, _: reserve_what_there_is(shop, number, LATER),
    lambda shop, number, n: pick(shop, number, _held(shop, number, n, "bin"), LATER),
    lambda shop, number, n: pick_short(shop, number, _held(shop, number, n, "bin"), n % 4, LATER),
    lambda shop, number, n: put_back(shop, number, f"B{('1S', '2Q')[n % 2]}", LATER),
    lambda shop, number, n: set_quantity(shop, number, 1, n % 3 + 1, LATER),
    lambda shop, number, _: cancel(shop, number, LATER),
    lambda shop, number, n: measure(shop, _held(shop, number, n, "roll"), 900 + n * 40, LATER),
    lambda shop, number, n: mark_flaw(shop, _held(shop, number, n, "roll"), n * 10, n * 10 + 50, "a slub", LATER),
    lambda shop, number, n: scrap(shop, _held(shop, number, n, "bin"), "rusted", LATER, str(n + 1)),
    lambda shop, number, n: quarantine(shop, _held(shop, number, n, ("roll", "bin")[n % 2]), "damp", LATER),
    lambda shop, number, n: move(shop, [_held(shop, number, n, ("roll", "bin")[n % 2])], ("R1", "B2")[n % 2], LATER),
    lambda shop, number, n: retag(shop, _held(shop, number, n, "roll"), "torn", LATER),
    lambda shop, _, n: low(shop, ("stud", "clip")[n % 2], LATER),
)
"""Jobs on an order, or on what is held for it; the number says which and how much."""


def test_whatever_was_done_and_is_all_undone_newest_first_leaves_the_shop_as_it_was(stocked: Shop) -> None:
    for number in ("L-1", "L-2"):
        take(stocked, order(line("boot-set"), line("header-rail"), number=number), STAMP)
        reserve(stocked, number, STAMP)
    begun, before = last(stocked), state(stocked)

    @settings(
        max_examples=6 if stocked.engines[0].dialect.name == "sqlite" else 2,
        derandomize=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
        phases=[Phase.generate],
    )
    @given(
        st.lists(
            st.tuples(st.sampled_from(STEPS), st.sampled_from(["L-1", "L-2"]), st.integers(0, 60)),
            min_size=4,
            max_size=12,
        )
    )
    def done_and_undone(steps: list[tuple[Step, str, int]]) -> None:
        for step, number, n in steps:
            with suppress(Refusal):
                step(stocked, number, n)
        while (job := last_standing(stocked)) > begun:
            undo(stocked, job, LATER)
        # A pick that was taken again names another movement; what is short is found anew by every reservation.
        assert differing(stocked, before) <= {"pick", "shortage"}
        assert audit(stocked).is_good

    done_and_undone()


def test_the_last_of_somebody_is_what_they_did_last_that_still_stands(stocked: Shop) -> None:
    number = taken_order(stocked, line("boot-set"))
    mine = last(stocked)
    set_wanted(stocked, number, date(2027, 3, 1), LATER)
    assert (STAMP.by, LATER.by) == ("AB", "CD")
    assert last_of(stocked, "AB") == mine
    undo(stocked, mine, LATER)
    assert last_of(stocked, "AB") != mine, "the order was taken by them before"
    assert last_of(stocked, "CD") == mine + 1, "an undo is not what they did last"
    with pytest.raises(Refusal, match="XY did nothing of late"):
        last_of(stocked, "XY")


def test_the_tags_of_bundles_and_of_a_side_piece_are_to_be_thrown_away_when_those_are_undone(stocked: Shop) -> None:
    number = taken_order(stocked, line("boot-set"))
    roll = next(one.tag for one in look(stocked, number).holds if one.kind == "roll")
    cut_all(stocked, number)
    (bundle,) = tie(stocked, number, LATER).bundles
    assert undo(stocked, last(stocked), LATER).throw_away == (f"tag {bundle.tag}",)
    with stocked.read() as tx:
        place = next(one[1] for one in tagged.places(tx))
    piece = keep_side_piece(stocked, roll, 2_000, 400, place, LATER)
    assert undo(stocked, last(stocked), LATER).throw_away == (f"tag {piece}",)
