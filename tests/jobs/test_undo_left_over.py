"""Undoing what was done with what no order takes: cancelling what is begun, keeping, using, letting go, fetching."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stockroom.domain.order import FOR_STOCK
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import tie
from stockroom.jobs.change import cancel, change_line
from stockroom.jobs.keep import keep
from stockroom.jobs.left_over import left_over
from stockroom.jobs.offer import offers_of
from stockroom.jobs.pack import pack
from stockroom.jobs.pick import pick, put_back
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.jobs.undo import done, undo
from stockroom.jobs.use import unuse, use
from stockroom.store.database import Shop
from tests.jobs.test_undo import differing, last, state
from tests.jobs.workshop import made_order, pick_all, piece_tag, take_all, taken_order
from tests.shops import LATER, STAMP, TODAY, change, line, look, order


def _side(shop: Shop) -> str:
    """The left boot side that is stock, kept of O-1; its tag."""
    return left_over(shop)[0][0].tag


def _kept(shop: Shop) -> None:
    """A left boot side is stock, and another order is reserved that it fits."""
    made_order(shop, line("boot-set"), number="O-1")
    cancel(shop, "O-1", STAMP)
    keep(shop, piece_tag(shop, "O-1", "BSL"), "B2", STAMP)
    taken_order(shop, line("boot-set"), number="O-2")


def _used(shop: Shop) -> None:
    _kept(shop)
    use(shop, _side(shop), "O-2", STAMP)


def _packed(shop: Shop) -> None:
    """An order is tied and partly packed, and is to have a finished thing too."""
    _used(shop)
    take_all(shop, "O-2")
    tie(shop, "O-2", STAMP)
    pack(shop, "O-2", piece_tag(shop, "O-2", "BF"), STAMP)


def _for_stock(shop: Shop) -> None:
    take(shop, order(line("tonneau"), number="S-1", customer=FOR_STOCK, for_stock=True), STAMP)
    reserve(shop, "S-1", STAMP)
    take_all(shop, "S-1")


JOBS: dict[str, tuple[Callable[[Shop], object], Callable[[Shop], object]]] = {
    "cancel what is packed": (_packed, lambda shop: cancel(shop, "O-2", LATER)),
    "keep": (
        lambda shop: (made_order(shop, line("boot-set"), number="O-1"), cancel(shop, "O-1", STAMP)),
        lambda shop: keep(shop, piece_tag(shop, "O-1", "BSL"), "B2", LATER),
    ),
    "keep all that is for stock": (_for_stock, lambda shop: keep(shop, "S-1", "B2", LATER)),
    "use": (_kept, lambda shop: use(shop, _side(shop), "O-2", LATER)),
    "unuse": (_used, lambda shop: unuse(shop, _side(shop), LATER)),
    "fetch": (_used, lambda shop: pick(shop, "O-2", _side(shop), LATER)),
}


@pytest.mark.parametrize("job", JOBS)
def test_what_is_undone_leaves_the_shop_as_it_was(full_shop: Shop, job: str) -> None:
    before_it, does = JOBS[job]
    before_it(full_shop)
    before = state(full_shop)
    does(full_shop)
    number = last(full_shop)
    assert done(full_shop, 1)[0].can_be_undone
    undo(full_shop, number, LATER)
    # A thing that was kept stays known by its tag, with nothing held: its label may still hang somewhere.
    known = {"holding", "finished", "item", "about"} if job.startswith("keep") else set()
    assert differing(full_shop, before) <= known
    assert audit(full_shop).faults == ()
    if job == "keep":
        assert left_over(full_shop)[0] == ()
        assert keep(full_shop, piece_tag(full_shop, "O-1", "BSL"), "B2", LATER).tag


def test_a_cancelled_order_of_which_something_is_put_away_does_not_come_back(full_shop: Shop) -> None:
    made_order(full_shop, line("boot-set"), number="O-1")
    cancel(full_shop, "O-1", STAMP)
    cancelled = last(full_shop)
    keep(full_shop, piece_tag(full_shop, "O-1", "BSL"), "B2", STAMP)
    kept = last(full_shop)
    with pytest.raises(Refusal, match=r"changed since.*Since then: keep P"):
        undo(full_shop, cancelled, LATER)
    undo(full_shop, kept, LATER)
    undo(full_shop, cancelled, LATER)
    assert pack(full_shop, "O-1", piece_tag(full_shop, "O-1", "BSL"), LATER).changed_anything
    assert audit(full_shop).faults == ()


def test_what_a_used_thing_stands_on_is_refused_in_words_or_right(full_shop: Shop) -> None:
    made_order(full_shop, line("boot-set"), number="O-1")
    cancel(full_shop, "O-1", STAMP)
    keep(full_shop, piece_tag(full_shop, "O-1", "BSL"), "B2", STAMP)
    kept, tag = last(full_shop), _side(full_shop)
    taken_order(full_shop, line("boot-set"), number="O-2")
    reserved = last(full_shop)
    use(full_shop, tag, "O-2", STAMP)
    used = last(full_shop)
    with pytest.raises(Refusal, match=f"Since then: use {tag} for order O-2"):
        undo(full_shop, reserved, LATER)
    with pytest.raises(Refusal, match=f"{tag} is promised to order O-2. Let it go first"):
        undo(full_shop, kept, LATER)
    pick(full_shop, "O-2", tag, STAMP)
    fetched = last(full_shop)
    with pytest.raises(Refusal, match=f"Since then: fetch {tag} for order O-2"):
        undo(full_shop, used, LATER)
    pick_all(full_shop, "O-2")
    pack_it = piece_tag(full_shop, "O-2", "BSL")
    pack(full_shop, "O-2", pack_it, STAMP)
    with pytest.raises(Refusal, match="cannot be undone"):
        undo(full_shop, fetched, LATER)
    undo(full_shop, last(full_shop), LATER)
    undo(full_shop, fetched, LATER)
    assert not ticket(full_shop, "O-2", TODAY).from_stock[0].is_fetched
    assert audit(full_shop).faults == ()


def test_a_change_that_a_finished_thing_was_chosen_for_is_not_undone_under_it(full_shop: Shop) -> None:
    overlong = change("overlong", "BSL", panel="side", part="slope", mm=20)
    made_order(full_shop, line("boot-set", changes=(overlong,)), number="O-1")
    cancel(full_shop, "O-1", STAMP)
    keep(full_shop, piece_tag(full_shop, "O-1", "BSL"), "B2", STAMP)
    taken_order(full_shop, line("boot-set"), number="O-2")
    assert offers_of(full_shop, "O-2") == ()
    change_line(full_shop, "O-2", 1, overlong, STAMP)
    changed = last(full_shop)
    use(full_shop, _side(full_shop), "O-2", STAMP)
    with pytest.raises(Refusal, match="cannot be undone"):
        undo(full_shop, changed, LATER)
    put = look(full_shop, "O-2")
    assert put.wholly_held
    assert audit(full_shop).faults == ()


def test_a_finished_thing_promised_to_another_order_since_is_not_taken_back_from_it(full_shop: Shop) -> None:
    _used(full_shop)
    tag = _side(full_shop)
    unuse(full_shop, tag, STAMP)
    let_go = last(full_shop)
    taken_order(full_shop, line("boot-set"), number="O-3")
    use(full_shop, tag, "O-3", STAMP)
    with pytest.raises(Refusal, match=r"in use by now|changed since"):
        undo(full_shop, let_go, LATER)
    pick(full_shop, "O-3", tag, STAMP)
    put_back(full_shop, "O-3", tag, STAMP)
    assert audit(full_shop).faults == ()
