"""Customers' parts: received, tagged, placed and given back with their order, and never counted as stock."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel
from stockroom.jobs.pack import close, pack, packing_list
from stockroom.jobs.parts import PartMoved, give_back, move, receive
from stockroom.jobs.show import show
from stockroom.jobs.ticket import TicketPart, ticket
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, taken_order
from tests.shops import LATE, LATER, STAMP, TODAY, changed_tables, dump, line, look

BOOT = line("boot-set")


def place_tag(shop: Shop, code: str) -> str:
    """The tag of a place."""
    return next(str(row[1]) for row in dump(shop)["place"] if row[0] == code)


def test_a_part_is_received_with_a_tag_and_a_place_and_is_no_stock(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    before = dump(full_shop)
    done = receive(full_shop, number, " hood frame ", "R1", LATER)
    assert (done.order, done.what, done.place, done.changed_anything) == (number, "hood frame", "R1", True)
    assert done.tag == make_tag("G", 1)
    assert changed_tables(before, dump(full_shop)) == {"customer_part", "counter", "job", "order_change"}
    assert ticket(full_shop, number, TODAY).customers_parts == (TicketPart(done.tag, "hood frame", "in R1", True),)
    assert (
        f"Customer's part {done.tag} came in: hood frame, put in R1 (CD" in ticket(full_shop, number, TODAY).history[-1]
    )
    shown = show(full_shop, done.tag.lower())
    assert (shown.kind, shown.title, shown.order) == ("customer's part", "hood frame", number)
    assert dict(shown.facts)["Place"] == "in R1"
    assert dict(shown.facts)["Car"] == "RP 1500"
    assert (done.tag, f"hood frame: a customer's part, order {number}") in show(
        full_shop, place_tag(full_shop, "R1")
    ).facts
    assert not audit(full_shop).faults


def test_a_part_of_an_order_for_two_cars_is_of_neither(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT, line("boot-set", car=LATE))
    tag = receive(full_shop, number, "hood frame", "R1", STAMP).tag
    assert "Car" not in dict(show(full_shop, tag).facts)


def test_a_part_is_moved_by_the_code_or_the_tag_of_a_place_and_a_second_scan_says_so(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    tag = receive(full_shop, number, "hood frame", place_tag(full_shop, "R1"), STAMP).tag
    done = move(full_shop, tag, place_tag(full_shop, "B2").lower(), LATER)
    assert (done.place, done.changed_anything) == ("B2", True)
    assert done.sentence == f"hood frame ({tag}) is in B2 now, no longer in R1."
    before = dump(full_shop)
    again = move(full_shop, tag, "B2", LATER)
    assert (again.place, again.changed_anything) == ("B2", False)
    assert again.sentence == f"hood frame ({tag}) lies in B2 already. Nothing is moved."
    assert dump(full_shop) == before
    assert show(full_shop, place_tag(full_shop, "R1")).facts[-1][0] != tag


def test_a_part_is_given_back_once_and_lies_in_no_place_then(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    tag = receive(full_shop, number, "hood frame", "B2", STAMP).tag
    done = give_back(full_shop, tag, LATER)
    assert done.changed_anything
    assert done.sentence == f"hood frame ({tag}) is given back to Ann Example, order {number}."
    assert ticket(full_shop, number, TODAY).customers_parts == (
        TicketPart(tag, "hood frame", "given back 2026-11-26 (CD)", False),
    )
    assert dict(show(full_shop, tag).facts)["Place"] == "given back 2026-11-26 (CD)"
    assert tag not in dict(show(full_shop, place_tag(full_shop, "B2")).facts)
    before = dump(full_shop)
    again = give_back(full_shop, tag, STAMP)
    assert not again.changed_anything
    assert again.sentence == f"hood frame ({tag}) was given back already (CD, 2026-11-26). Nothing is given back again."
    with pytest.raises(Refusal, match=r"was given back already .* It lies in no place of this shop"):
        move(full_shop, tag, "R1", STAMP)
    assert dump(full_shop) == before
    assert not audit(full_shop).faults


def test_an_order_that_is_sent_names_the_parts_that_are_still_here(full_shop: Shop) -> None:
    number = made_order(full_shop, BOOT)
    frame = receive(full_shop, number, "hood frame", "R1", STAMP).tag
    strip = receive(full_shop, number, "bright strip", "B2", STAMP).tag
    give_back(full_shop, strip, STAMP)
    for piece in packing_list(full_shop, number).pieces:
        pack(full_shop, number, piece.tag, STAMP)
    here = (f"Customer's part {frame}, hood frame, is still in R1: give it back.",)
    packed = packing_list(full_shop, frame)
    assert (packed.order, packed.is_complete, packed.customers_parts) == (number, True, here)
    sent = close(full_shop, number, STAMP)
    assert sent.owed == here
    with pytest.raises(Refusal, match=r"is sent: no part comes in with it any more"):
        receive(full_shop, number, "header rail", "R1", STAMP)
    assert give_back(full_shop, frame, LATER).changed_anything
    assert packing_list(full_shop, number).customers_parts == ()
    assert not audit(full_shop).faults


def test_cancelling_an_order_names_the_parts_that_are_to_be_given_back(full_shop: Shop) -> None:
    number = taken_order(full_shop, BOOT)
    tag = receive(full_shop, number, "hood frame", "R1", STAMP).tag
    assert cancel(full_shop, number, STAMP).customers_parts == (
        f"Customer's part {tag}, hood frame, is still in R1: give it back.",
    )
    assert give_back(full_shop, tag, LATER).changed_anything


Asked = Callable[[Shop, str, str], PartMoved]
REFUSED: tuple[tuple[Asked, str], ...] = (
    (lambda shop, number, _: receive(shop, number, " ", "R1", STAMP), "Say what came in"),
    (lambda shop, number, _: receive(shop, number, "frame", "R9", STAMP), "There is no place 'R9'. The nearest"),
    (lambda shop, number, _: receive(shop, number, "frame", make_tag("L", 99), STAMP), "There is no place 'L99"),
    (lambda shop, _, __: receive(shop, "L-9", "frame", "R1", STAMP), "There is no order 'L-9'"),
    (lambda shop, _, tag: move(shop, tag, "", STAMP), "There is no place ''"),
    (lambda shop, _, __: move(shop, make_tag("G", 99), "R1", STAMP), "No customer's part in this shop has the tag G99"),
    (
        lambda shop, _, __: give_back(shop, make_tag("R", 1), STAMP),
        "is the tag of a roll. Scan the tag of a customer's",
    ),
    (lambda shop, _, __: give_back(shop, "G1X", STAMP), "was mistyped"),
)


@pytest.mark.parametrize(("asked", "sentence"), REFUSED, ids=[sentence for _, sentence in REFUSED])
def test_what_is_refused_changes_nothing(full_shop: Shop, asked: Asked, sentence: str) -> None:
    number = taken_order(full_shop, BOOT)
    tag = receive(full_shop, number, "hood frame", "R1", Stamp("AB", STAMP.at)).tag
    before = dump(full_shop)
    with pytest.raises(Refusal) as refused:
        asked(full_shop, number, tag)
    assert sentence in refused.value.sentence
    assert dump(full_shop) == before
    assert look(full_shop, number).order.state == "open"
