"""Tags that were lost or torn: what carries one gets another, and the old one says so wherever it is scanned."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.jobs import parts
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import back, tie
from stockroom.jobs.cut import cut, measure
from stockroom.jobs.move import move
from stockroom.jobs.pack import pack, packing_list
from stockroom.jobs.pick import pick
from stockroom.jobs.retag import retag
from stockroom.jobs.show import show
from stockroom.jobs.spoil import spoil
from stockroom.jobs.tag_again import tags_of
from stockroom.jobs.undo import done, undo
from stockroom.store import bundles, tagged
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, pick_all, taken_order
from tests.shops import LATER, STAMP, line, look, plenty, stock_shop


@pytest.fixture
def begun(shop: Shop, tmp_path: Path) -> Shop:
    """A shop with an order that is cut, picked and tied, and a frame of the customer's."""
    stock_shop(shop, tmp_path, *plenty())
    taken_order(shop, line("boot-set"), number="L-1")
    cut_all(shop, "L-1")
    pick_all(shop, "L-1")
    tie(shop, "L-1", STAMP)
    parts.receive(shop, "L-1", "hood frame", "R1", STAMP)
    return shop


def carried(shop: Shop) -> dict[str, str]:
    """A tag of each kind."""
    with shop.read() as tx:
        stock = {one.kind: one.tag for one in tagged.holdings_by_tag(tx, [])}
        order = look(shop, "L-1")
        bundle = bundles.bundles_of(tx, order.order.id)[0].tag
        place = tagged.places(tx)[0][0]
    piece = next(iter(order.tags.values()))
    pack(shop, "L-1", piece, STAMP)
    parcel = packing_list(shop, "L-1").parcels[0].tag
    return {"roll": stock["roll"], "bin": stock["bin"], "piece": piece, "bundle": bundle, "place": place,
            "kit": parcel, "order": order.order.tag, "customer's part": "G1" + _check("G1")}  # fmt: skip


def _check(body: str) -> str:
    from stockroom.domain.tags import check_character

    return check_character(body)


SCANS: dict[str, list[Callable[[Shop, str], Any]]] = {
    "roll": [
        lambda shop, tag: cut(shop, "L-1", tag, LATER),
        lambda shop, tag: pick(shop, "L-1", tag, LATER),
        lambda shop, tag: measure(shop, tag, 900, LATER),
        lambda shop, tag: move(shop, [tag], "B1", LATER),
    ],
    "bin": [lambda shop, tag: pick(shop, "L-1", tag, LATER)],
    "piece": [
        lambda shop, tag: pack(shop, "L-1", tag, LATER),
        lambda shop, tag: spoil(shop, tag, "", "a slip", LATER),
    ],
    "bundle": [lambda shop, tag: back(shop, tag, LATER)],
    "place": [lambda shop, tag: parts.move(shop, "G1" + _check("G1"), tag, LATER)],
    "kit": [lambda shop, tag: packing_list(shop, tag)],
    "order": [lambda shop, tag: packing_list(shop, tag)],
    "customer's part": [lambda shop, tag: parts.give_back(shop, tag, LATER)],
}


def test_the_old_tag_says_what_replaced_it_wherever_it_is_scanned_and_the_new_one_is_as_good(begun: Shop) -> None:
    for kind, old in carried(begun).items():
        before = show(begun, old)
        made = retag(begun, old.lower(), "torn", LATER)
        assert (made.old, made.kind) == (old, kind)
        assert show(begun, made.new).facts == before.facts
        reprinted = kind not in ("order", "kit")
        scans: list[Callable[[Shop, str], Any]] = [show, retag_again, *SCANS[kind], *([reprint] if reprinted else [])]
        for scan in scans:
            with pytest.raises(Refusal) as said:
                scan(begun, old)
            assert f"{old} was replaced by {made.new} on 2026-11-26 (CD, torn)" in said.value.sentence
            assert f"scan {made.new}" in said.value.sentence
        if reprinted:
            assert [tag.code for tag in tags_of(begun, [made.new])] == [made.new]
    assert audit(begun).is_good


def reprint(shop: Shop, tag: str) -> object:
    """The tag printed again."""
    return tags_of(shop, [tag])


def retag_again(shop: Shop, tag: str) -> object:
    """A second new tag in place of the same old one."""
    return retag(shop, tag, "lost", LATER)


def test_a_tag_replaced_twice_names_the_one_that_stands_and_an_undone_one_stands_again(begun: Shop) -> None:
    old = carried(begun)["roll"]
    second = retag(begun, old, "lost", STAMP).new
    third = retag(begun, second, "torn", LATER).new
    with pytest.raises(Refusal, match=f"{old} was replaced by {second} .*, and is {third} now.* scan {third}"):
        show(begun, old)
    job = done(begun, 1)[0]
    assert job.printed == (f"tag {third}",)
    assert undo(begun, job.number, LATER).throw_away == (f"tag {third}",)
    assert show(begun, second).tag == second
    with pytest.raises(Refusal, match="Nothing in this shop has the tag"):
        show(begun, third)
    assert audit(begun).is_good


def test_a_new_tag_wants_a_reason_and_something_that_carries_the_old_one(begun: Shop) -> None:
    with pytest.raises(Refusal, match="Say why"):
        retag(begun, carried(begun)["bin"], " ", LATER)
    with pytest.raises(Refusal, match="Nothing in this shop has the tag"):
        retag(begun, "R999" + _check("R999"), "lost", LATER)
