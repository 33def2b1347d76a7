"""Packing: nothing goes into the wrong box, and nothing is sent before it is complete or somebody says why."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import out, tie
from stockroom.jobs.pack import close, close_incomplete, new_parcel, pack, packing_list, tick, unpack
from stockroom.jobs.pick import pick
from stockroom.jobs.reserve import reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, piece_tag, take_all, taken_order
from tests.shops import LATE, LATER, STAMP, bin_of, dump, line, look, order, roll, stock_shop

BOOT = line("boot-set")


def tags_of(shop: Shop, number: str) -> list[str]:
    """The tags of all pieces of an order."""
    return [one.tag for one in packing_list(shop, number).pieces]


def test_the_list_tells_of_each_piece_whether_it_is_packed_ready_or_what_of_it_is_not_taken(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    cut_all(full_shop, number)
    pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    listed = {one.piece: one for one in packing_list(full_shop, number).pieces}
    assert {code: (one.state, one.parcel) for code, one in listed.items()} == {
        "BF": ("not ready", 0),
        "BSL": ("packed", 1),
        "BSR": ("ready", 0),
        "": ("not ready", 0),
    }
    assert listed["BF"].lacks == ("1.68 m of Edge binding, red not picked yet", "4 of Stud not picked yet")
    assert listed[""].lacks == ("1 of Stud not picked yet",)
    assert [code for code, one in listed.items() if one.must_scan] == ["BSL", "BSR", ""]
    assert listed[""].title == "Packet of hardware, full boot set"


def test_the_list_is_found_by_the_tag_of_the_order_a_bundle_a_piece_or_a_parcel(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    (bundle,) = tie(full_shop, number, STAMP).bundles
    piece = piece_tag(full_shop, number, "BSL")
    pack(full_shop, number, piece, STAMP)
    (parcel,) = packing_list(full_shop, number).parcels
    order_tag = look(full_shop, number).order.tag
    assert packing_list(full_shop, bundle.tag).bundle == bundle.tag
    for tag in (bundle.tag, piece, parcel.tag, order_tag):
        assert packing_list(full_shop, tag).order == number
    with pytest.raises(Refusal, match=r"is nothing of an order"):
        packing_list(full_shop, make_tag("R", 1))
    with pytest.raises(Refusal, match=r"There is no order 'nothing'"):
        packing_list(full_shop, "nothing")


def test_a_piece_is_packed_once_and_a_second_scan_says_so_and_does_no_harm(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    tag = piece_tag(full_shop, number, "BSL")
    done = pack(full_shop, number, tag, STAMP)
    assert (done.parcel, done.changed_anything, done.left) == (1, True, 3)
    assert done.sentence == f"Boot side, left ({tag}) is in parcel 1 (box)."
    before = dump(full_shop)
    again = pack(full_shop, number, tag.lower(), LATER)
    assert dump(full_shop) == before
    assert (again.parcel, again.changed_anything, again.left) == (1, False, 3)
    right = piece_tag(full_shop, number, "BSR")
    assert again.sentence.endswith(
        f"already (AB). Nothing is packed again. What is missing is Boot side, right ({right})."
    )


def test_a_stranger_is_named_with_its_order_and_a_second_left_with_the_right_that_is_missing(full_shop: Shop) -> None:
    number, other = made_order(full_shop, BOOT), made_order(full_shop, line("boot-set", car=LATE))
    mine, stranger = (piece_tag(full_shop, one, "BSL") for one in (number, other))
    with pytest.raises(Refusal, match=rf"^Boot side, left \({stranger}\) is of order {other}, not of {number}"):
        pack(full_shop, number, stranger, STAMP)
    pack(full_shop, number, mine, STAMP)
    right = piece_tag(full_shop, number, "BSR")
    with pytest.raises(Refusal, match=rf"^That is a second left one: .* missing is Boot side, right \({right}\)"):
        pack(full_shop, number, stranger, STAMP)
    pack(full_shop, number, right, STAMP)
    with pytest.raises(Refusal, match=r"^Boot side, left"):
        pack(full_shop, number, stranger, STAMP)
    with pytest.raises(Refusal, match=rf"is of order {other}"):
        unpack(full_shop, number, stranger, STAMP)


def test_only_what_need_not_be_scanned_may_be_ticked(shop: Shop, tmp_path: Path) -> None:
    stock_shop(
        shop, tmp_path, roll("carpet/red", 5000), roll("binding/red", 5000), bin_of("stud", 50), bin_of("clip", 50),
        bin_of("tool-bag-blank", 1),
    )  # fmt: skip
    number = made_order(shop, line("touring"), line("header-rail"))
    for piece, on_line in (("BSL", 1), ("TB", 1), ("", 1)):
        with pytest.raises(Refusal, match=r"is not ticked but scanned"):
            tick(shop, number, piece_tag(shop, number, piece, line=on_line), STAMP)
    assert tick(shop, number, piece_tag(shop, number, "BF"), STAMP).changed_anything
    assert tick(shop, number, piece_tag(shop, number, "RT", line=2), STAMP).left == 4
    assert {row[2] for row in dump(shop)["packed"]} == {"ticked"}


def test_of_two_copies_as_many_are_packed_as_are_made(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 1100))
    number = take(shop, order(line("tonneau", 2)), STAMP).number
    reserve_what_there_is(shop, number, STAMP)
    cut_all(shop, number)
    first, second = (piece_tag(shop, number, "TN", copy) for copy in (1, 2))
    assert [one.state for one in packing_list(shop, number).pieces] == ["ready", "not ready"]
    pack(shop, number, second, STAMP)
    with pytest.raises(Refusal, match=r"panel cover of Hood cloth, fawn not cut, and no cloth is held"):
        pack(shop, number, first, STAMP)
    assert [one.state for one in packing_list(shop, number).pieces] == ["not ready", "packed"]
    assert not audit(shop).faults


def test_bags_are_ready_as_they_come_from_stock_or_are_made(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("leathercloth/red", 900), bin_of("stud", 3), bin_of("tool-bag-blank", 1))
    number = taken_order(shop, line("tool-bag", 2))
    assert [one.lacks for one in packing_list(shop, number).pieces] == [
        ("panel body of Leathercloth, red not cut yet", "3 of Stud not picked yet"),
        ("1 of Bag blank not picked yet",),
    ]
    cut_all(shop, number)
    assert [one.state for one in packing_list(shop, number).pieces] == ["not ready", "not ready"]
    take_all(shop, number)
    for tag in tags_of(shop, number):
        pack(shop, number, tag, STAMP)
    assert close(shop, number, STAMP).owed == ()
    assert not audit(shop).faults


# --- parcels -------------------------------------------------------------------------------------------------------


def test_long_bars_travel_apart_and_each_parcel_has_its_list(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT, line("header-rail"))
    bar = piece_tag(full_shop, number, "RT", line=2)
    with pytest.raises(Refusal, match=rf"Order {number} has no parcel 2. It has none yet"):
        pack(full_shop, number, bar, STAMP, parcel=2)
    for tag in tags_of(full_shop, number):
        if tag != bar:
            pack(full_shop, number, tag, STAMP)
    made = new_parcel(full_shop, number, "long parcel", LATER)
    assert (made.number, made.what, made.tag[0]) == (2, "long parcel", "K")
    assert pack(full_shop, number, bar, LATER, parcel=2).sentence.endswith("is in parcel 2 (long parcel).")
    unpack(full_shop, number, bar, LATER)
    with pytest.raises(Refusal, match=r"has no parcel 3. It has 1 and 2"):
        pack(full_shop, number, bar, LATER, parcel=3)
    pack(full_shop, number, bar, LATER, parcel=2)
    new_parcel(full_shop, number, "box", LATER)
    sent = close(full_shop, number, LATER)
    assert [(one.number, one.what, one.state, len(one.pieces)) for one in sent.parcels] == [
        (1, "box", "closed", 4),
        (2, "long parcel", "closed", 1),
    ], "an empty parcel is not sent"
    assert not audit(full_shop).faults


def test_what_is_fitted_here_is_issued_to_the_car(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"), fitted_here=True)
    tag = piece_tag(full_shop, number, "TN")
    assert pack(full_shop, number, tag, STAMP).sentence == f"Tonneau cover ({tag}) is issued to the car."
    with pytest.raises(Refusal, match=r"is to be fitted here: a parcel of it is 'to the car', not 'box'"):
        new_parcel(full_shop, number, "box", STAMP)
    sent = close(full_shop, number, STAMP)
    assert (sent.fitted_here, [one.what for one in sent.parcels]) == (True, ["to the car"])
    other = made_order(full_shop, line("tonneau"))
    with pytest.raises(Refusal, match=r"is to be sent: a parcel of it is 'box' or 'long parcel', not 'to the car'"):
        new_parcel(full_shop, other, "to the car", STAMP)


def test_a_piece_comes_out_again_and_out_of_nothing_nothing(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"))
    tag = piece_tag(full_shop, number, "TN")
    assert not unpack(full_shop, number, tag, STAMP).changed_anything
    pack(full_shop, number, tag, STAMP)
    done = unpack(full_shop, number, tag, STAMP)
    assert (done.parcel, done.changed_anything, done.left) == (0, True, 1)
    assert dump(full_shop)["packed"] == []


# --- sending -------------------------------------------------------------------------------------------------------


def test_a_complete_order_is_sent_and_nothing_is_done_to_it_after(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    tags = tags_of(full_shop, number)
    for tag in tags[:-1]:
        pack(full_shop, number, tag, STAMP)
    with pytest.raises(
        Refusal, match=rf"Order {number} is not complete: Packet of hardware, full boot set .*not packed"
    ):
        close(full_shop, number, STAMP)
    pack(full_shop, number, tags[-1], STAMP)
    sent = close(full_shop, number, LATER)
    assert (sent.cars, sent.kits, sent.owed, sent.by) == (("RP 1500",), ("1 × Full boot set",), (), "CD")
    (parcel,) = sent.parcels
    assert (parcel.tag[0], [tag for tag, _ in parcel.pieces]) == ("K", tags)
    shown = packing_list(full_shop, number)
    assert (shown.state, shown.is_complete, shown.short_because) == ("sent", True, "")
    assert not audit(full_shop).faults
    before = dump(full_shop)
    for asked in (
        lambda: close(full_shop, number, LATER),
        lambda: unpack(full_shop, number, tags[0], LATER),
        lambda: pack(full_shop, number, tags[0], LATER),
        lambda: pick(full_shop, number, "R1N", LATER),
    ):
        with pytest.raises(Refusal, match=rf"Order {number} is sent"):
            asked()
    assert dump(full_shop) == before


def test_somebody_sends_an_order_incomplete_and_what_is_owed_is_written_down(full_shop: Shop) -> None:
    number = take(full_shop, order(BOOT, line("hood")), STAMP).number
    reserve_what_there_is(full_shop, number, STAMP)
    cut_all(full_shop, number)
    with pytest.raises(Refusal, match=r"is packed, so there is nothing to send"):
        close_incomplete(full_shop, number, "the boat sails", STAMP)
    pack(full_shop, number, piece_tag(full_shop, number, "BSL"), STAMP)
    with pytest.raises(Refusal, match=r"with a reason"):
        close_incomplete(full_shop, number, " ", STAMP)
    sent = close_incomplete(full_shop, number, "the boat sails", LATER)
    packet = piece_tag(full_shop, number, "")
    assert sent.owed[-1].startswith("Line 2 waits for window: ")
    assert f"Packet of hardware, full boot set ({packet}): 1 of Stud not picked yet." in sent.owed
    assert not any(one.startswith("Boot side, left") for one in sent.owed)
    shown = packing_list(full_shop, number)
    assert (shown.owed, shown.short_because) == (sent.owed, "the boat sails (CD)")
    assert look(full_shop, number).holds == ()
    assert not audit(full_shop).faults


def test_a_complete_order_is_not_sent_as_incomplete(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"))
    pack(full_shop, number, piece_tag(full_shop, number, "TN"), STAMP)
    with pytest.raises(Refusal, match=r"is complete. Send it as complete"):
        close_incomplete(full_shop, number, "no reason", STAMP)
    assert close(full_shop, number, STAMP).order == number


def test_a_bundle_that_is_still_out_holds_up_the_order(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"), line("header-rail"))
    (bundle,) = tie(full_shop, number, STAMP).bundles
    out(full_shop, bundle.tag, "sewing", "", STAMP)
    pack(full_shop, number, piece_tag(full_shop, number, "RT", line=2), STAMP)
    with pytest.raises(Refusal, match=rf"not complete: Tonneau cover .*: its bundle {bundle.tag} is out: sewing"):
        close(full_shop, number, STAMP)


# --- the proof -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("damage", "fault"),
    [
        (
            "UPDATE requirement SET taken = 0 WHERE need = 'panel'",
            r"Order 1001: piece 'TN' is in a bundle, but of its panel 'cover' only 0 are cut",
        ),
        (
            "UPDATE requirement SET taken = 0 WHERE need = 'panel'",
            r"Order 1001: piece 'TN' is packed, but hood-cloth/fawn \(cover\) for it was not all taken",
        ),
        (
            "UPDATE parcel SET order_id = 2",
            r"Piece P\w+ of order 1001 is packed in parcel 1 of order 1002",
        ),
        (
            "UPDATE customer_order SET state = 'sent' WHERE id = 2",
            r"Order 1002 is sent, but 1 of its pieces were never packed, and nobody said why",
        ),
        (
            "UPDATE customer_order SET state = 'sent' WHERE id = 2",
            r"Order 1002 is sent, but 1 of its requirements' holds are still there",
        ),
        (
            "UPDATE bundle SET tag = 'T2X'",
            r"bundle",
        ),
    ],
)
def test_what_does_not_go_together_is_found_by_the_audit(full_shop: Shop, damage: str, fault: str) -> None:
    number = made_order(full_shop, line("tonneau"))
    taken_order(full_shop, line("tonneau", car=LATE))
    tie(full_shop, number, STAMP)
    pack(full_shop, number, piece_tag(full_shop, number, "TN"), STAMP)
    assert not audit(full_shop).faults
    with full_shop.write() as tx:
        tx.exec_driver_sql(damage)
    assert any(re.search(fault, one) for one in audit(full_shop).faults), audit(full_shop).faults
