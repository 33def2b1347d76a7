"""Sewing: the panels of an assembly become one piece, with who and when; said twice, spoilt after it, undone."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import back, bench, out, tie
from stockroom.jobs.pack import pack, packing_list
from stockroom.jobs.sew import sew
from stockroom.jobs.show import show
from stockroom.jobs.spoil import spoil
from stockroom.jobs.undo import last_of, undo
from stockroom.store.database import Shop
from tests.jobs.workshop import cut_all, made_order, piece_tag, taken_order
from tests.shops import BOOK_WITH_POCKETS, LATER, STAMP, bin_of, dump, line, roll, stock_shop

Bags = tuple[Shop, str, str, str]
"""A shop, an order of two tool bags whose panels are cut and tied, and the tags of the bags."""
TO_SEW = "to be sewn from body and pocket"


@pytest.fixture
def bags(shop: Shop, tmp_path: Path) -> Bags:
    stock = roll("leathercloth/red", 9000), roll("hood-cloth/fawn", 9000), bin_of("stud", 9)
    stock_shop(shop, tmp_path, *stock, book=BOOK_WITH_POCKETS)
    number = made_order(shop, line("tool-bag", 2))
    tie(shop, number, STAMP)
    return shop, number, piece_tag(shop, number, "TB"), piece_tag(shop, number, "TB", 2)


def sewing(shop: Shop, number: str) -> list[str]:
    return [one.sewing for one in packing_list(shop, number).pieces]


def test_panels_that_are_sewn_are_one_piece_with_its_tag_and_said_again_nothing_is_booked(bags: Bags) -> None:
    shop, number, first, second = bags
    done = sew(shop, first.lower(), Stamp("cd", LATER.at))  # initials are one person's in either case
    assert (done.order, done.pieces) == (number, ((first, "Tool bag"),))
    assert done.sentence == f"Tool bag ({first}) is sewn from body and pocket: one piece from now on."
    assert sewing(shop, number) == ["sewn, one piece (CD, 2026-11-26)", TO_SEW]
    by = {one.tag: (one.by, one.at) for bundle in bench(shop, LATER.at) for one in bundle.assemblies}
    assert by == {first: ("CD", LATER.at), second: ("", None)}
    assert dict(show(shop, first).facts)["Sewn"] == "one piece (CD, 2026-11-26)"
    before = dump(shop)
    again = sew(shop, first, STAMP)
    assert (again.changed_anything, again.pieces) == (False, ())
    assert again.sentence == f"Sewn already: Tool bag ({first}) (CD, 2026-11-26). Nothing is booked again."
    assert dump(shop) == before
    assert not audit(shop).faults


def test_where_its_bundle_is_out_it_is_sewn_only_at_the_stage_that_is_named(bags: Bags) -> None:
    shop, number, first, _ = bags
    bundle = bench(shop, STAMP.at)[0].tag
    out(shop, bundle, "fasteners", "", STAMP)
    with pytest.raises(Refusal, match=rf"which is out: fasteners. .* stockroom sew {first} --at fasteners"):
        sew(shop, first, STAMP)
    with pytest.raises(Refusal, match="which is out: fasteners"):
        sew(shop, first, STAMP, "sewing")
    with pytest.raises(Refusal, match=r"no stage 'sewng'"):
        sew(shop, first, STAMP, "sewng")
    assert sew(shop, bundle, STAMP, "Fasteners").pieces == ((first, "Tool bag"),)
    back(shop, bundle, LATER)
    assert sewing(shop, number)[0] == "sewn, one piece (AB, 2026-11-25)"


def test_what_is_not_wholly_cut_or_of_one_panel_cannot_be_sewn(bags: Bags) -> None:
    shop, _, first, _ = bags
    spoil(shop, first, "pocket", "the shears slipped", STAMP)
    with pytest.raises(Refusal, match=rf"Tool bag \({first}\) cannot be sewn yet: 1 panel of it not cut"):
        sew(shop, first, STAMP)
    other = taken_order(shop, line("tool-bag"))
    with pytest.raises(Refusal, match="2 panels of it not cut"):
        sew(shop, piece_tag(shop, other, "TB"), STAMP)
    number = made_order(shop, line("tonneau"))
    with pytest.raises(Refusal, match="not made of several panels"):
        sew(shop, piece_tag(shop, number, "TN"), STAMP)
    (cover,) = tie(shop, number, STAMP).bundles
    with pytest.raises(Refusal, match="no piece has several panels"):
        sew(shop, cover.tag, STAMP)


def test_spoilt_after_sewing_it_is_cut_and_sewn_again_and_its_copy_stays_sewn(bags: Bags) -> None:
    shop, number, first, second = bags
    sew(shop, first, STAMP)
    sew(shop, second, STAMP)
    assert spoil(shop, first, "pocket", "sewn askew", LATER).sentence.endswith("so it is to be sewn again.")
    assert sewing(shop, number) == [TO_SEW, "sewn, one piece (AB, 2026-11-25)"]
    assert not audit(shop).faults
    undo(shop, last_of(shop, "CD"), LATER)
    assert sewing(shop, number) == ["sewn, one piece (AB, 2026-11-25)"] * 2
    spoil(shop, first, "pocket", "sewn askew", LATER)
    cut_all(shop, number)
    assert sew(shop, first, LATER).changed_anything
    assert sewing(shop, number)[0] == "sewn, one piece (CD, 2026-11-26)"


def test_packed_without_a_word_it_is_sewn_and_undone_it_is_as_before(bags: Bags) -> None:
    shop, number, first, second = bags
    sew(shop, second, STAMP)
    undo(shop, last_of(shop, "AB"), STAMP)
    assert sewing(shop, number) == [TO_SEW] * 2
    assert pack(shop, number, first, LATER).sentence == f"Tool bag ({first}) is in parcel 1 (box), and so sewn."
    assert sewing(shop, number)[0] == "sewn, one piece (CD, 2026-11-26)"
    undo(shop, last_of(shop, "cd"), LATER)
    assert sewing(shop, number) == [TO_SEW] * 2
    assert not audit(shop).faults
