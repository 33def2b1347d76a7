"""Bundles: tied when all is cut, out to a stage, back at the bench, and where each of them is."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import back, bench, out, stages, tie
from stockroom.jobs.cut import cut
from stockroom.jobs.pack import pack, packing_list, unpack
from stockroom.jobs.show import show
from stockroom.store.bundles import Assembly
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, piece_tag, take_all, taken_order
from tests.shops import BOOK_WITH_POCKETS, LATER, STAMP, TODAY, bin_of, dump, line, look, roll, stock_shop


def test_each_kit_is_tied_with_the_pieces_whose_panels_are_in_it(full_shop: Shop) -> None:
    number = made_order(full_shop, line("touring"))
    tied = tie(full_shop, number, STAMP)
    assert [(one.kit, [title for _, title in one.pieces]) for one in tied.bundles] == [
        ("Touring set / Full boot set", ["Boot floor", "Boot side, left", "Boot side, right"]),
        ("Touring set / Tool bag", ["Tool bag"]),
    ]
    assert all(one.tag.startswith("T") and one.just_tied for one in tied.bundles)
    assert (tied.not_cut, tied.changed_anything) == ((), True)
    assert not audit(full_shop).faults


def test_tied_twice_nothing_is_tied_again_and_it_says_so(full_shop: Shop) -> None:
    number = made_order(full_shop, line("touring"))
    first = tie(full_shop, number, STAMP)
    before = dump(full_shop)
    again = tie(full_shop, number, LATER)
    assert dump(full_shop) == before
    assert ([one.tag for one in again.bundles], again.changed_anything) == ([one.tag for one in first.bundles], False)
    assert "Nothing is tied again" in again.sentence


def test_what_is_not_wholly_cut_is_named_and_the_rest_is_tied(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 9000), roll("leathercloth/red", 5000), bin_of("stud", 9))
    number = taken_order(shop, line("tonneau"), line("tool-bag"))
    with pytest.raises(Refusal, match=r"can be tied yet. Tonneau cover \(line 1\): 1 panel of Tonneau cover"):
        tie(shop, number, STAMP)
    (cloth,) = {one.tag for one in look(shop, number).holds if one.item == "hood-cloth/fawn"}
    cut(shop, number, cloth, STAMP)
    tied = tie(shop, number, STAMP)
    assert [one.kit for one in tied.bundles] == ["Tonneau cover"]
    tag = piece_tag(shop, number, "TB", line=2)
    assert tied.not_cut == (f"Tool bag (line 2): 1 panel of Tool bag ({tag}) not cut.",)
    take_all(shop, number)
    assert [one.just_tied for one in tie(shop, number, LATER).bundles] == [False, True]
    assert not audit(shop).faults


def test_of_two_kits_each_is_a_bundle_of_its_own(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, roll("hood-cloth/fawn", 9000))
    number = made_order(shop, line("tonneau", 2))
    tied = tie(shop, number, STAMP)
    assert [(one.copy, [tag for tag, _ in one.pieces]) for one in tied.bundles] == [
        (copy, [piece_tag(shop, number, "TN", copy)]) for copy in (1, 2)
    ]


def test_a_bag_from_stock_is_in_no_bundle(shop: Shop, tmp_path: Path) -> None:
    stock_shop(shop, tmp_path, bin_of("tool-bag-blank", 2))
    number = made_order(shop, line("tool-bag"))
    with pytest.raises(Refusal, match=r"It has no panels to tie"):
        tie(shop, number, STAMP)


def test_of_a_bundle_it_is_said_which_pieces_are_sewn_from_several_panels(shop: Shop, tmp_path: Path) -> None:
    stock = roll("leathercloth/red", 9000), roll("hood-cloth/fawn", 9000), bin_of("stud", 9)
    stock_shop(shop, tmp_path, *stock, book=BOOK_WITH_POCKETS)
    number = made_order(shop, line("tonneau"), line("tool-bag"))
    cover, bag = (bundle.tag for bundle in tie(shop, number, STAMP).bundles)
    tag = piece_tag(shop, number, "TB", line=2)
    assert {one.tag: one.assemblies for one in bench(shop, STAMP.at)} == {
        cover: (),
        bag: (Assembly(tag, "Tool bag", 2),),
    }
    assert dict(show(shop, bag).facts)[tag] == "Tool bag: to be sewn from body and pocket; ready"
    assert [(one.panels, one.sewing) for one in packing_list(shop, number).pieces] == [
        (("cover",), ""),
        (("body", "pocket"), "to be sewn from body and pocket"),
    ]


def test_a_bundle_goes_out_from_stage_to_stage_and_comes_back(full_shop: Shop) -> None:
    assert stages(full_shop) == (("sewing", "Sewing"), ("fasteners", "Fasteners"))
    number = made_order(full_shop, line("tonneau"), wanted=TODAY)
    (bundle,) = tie(full_shop, number, STAMP).bundles
    assert out(full_shop, bundle.tag, "sewing", "Tom Example", STAMP).where == "out: sewing (Tom Example)"
    assert out(full_shop, bundle.tag.lower(), "fasteners", "", LATER).where == "out: fasteners"
    moved = back(full_shop, bundle.tag, LATER)
    assert (moved.where, moved.order, moved.changed_anything) == ("at the bench", number, True)
    (there,) = bench(full_shop, LATER.at + timedelta(days=3, hours=1))
    assert (there.tag, there.order, there.customer, there.kit) == (bundle.tag, number, "Ann Example", "Tonneau cover")
    assert (there.where, there.since, there.days, there.by, there.pieces) == ("at the bench", LATER.at, 3, "CD", 1)
    assert (there.wanted, there.overdue_days) == (TODAY, 4)
    assert show(full_shop, bundle.tag).movements == (
        "back at the bench (CD, 2026-11-26 09:15 UTC)",
        "out to fasteners (CD, 2026-11-26 09:15 UTC)",
        "out to sewing, Tom Example (AB, 2026-11-25 08:30 UTC)",
        "tied (AB, 2026-11-25 08:30 UTC)",
    )
    assert not audit(full_shop).faults


def test_scanned_out_or_in_twice_it_says_so_and_does_no_harm(full_shop: Shop) -> None:
    (bundle,) = tie(full_shop, made_order(full_shop, line("tonneau")), STAMP).bundles
    assert not back(full_shop, bundle.tag, STAMP).changed_anything
    out(full_shop, bundle.tag, "sewing", "", STAMP)
    before = dump(full_shop)
    again = out(full_shop, bundle.tag, " Sewing", " ", LATER)
    assert (again.changed_anything, again.sentence) == (False, f"Bundle {bundle.tag} is out: sewing already.")
    assert dump(full_shop) == before


def test_what_cannot_be_scanned_out_is_refused_in_words(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"))
    (bundle,) = tie(full_shop, number, STAMP).bundles
    piece = piece_tag(full_shop, number, "TN")
    with pytest.raises(Refusal, match=r"no stage 'sewng'"):
        out(full_shop, bundle.tag, "sewng", "", STAMP)
    with pytest.raises(Refusal, match=r"is the tag of a piece. Scan the tag of a bundle"):
        out(full_shop, piece, "sewing", "", STAMP)
    with pytest.raises(Refusal, match=r"No bundle in this shop has the tag"):
        back(full_shop, make_tag("T", 9999), STAMP)
    pack(full_shop, number, piece, STAMP)
    with pytest.raises(Refusal, match=r"is packed. Unpack a piece of it"):
        out(full_shop, bundle.tag, "sewing", "", STAMP)
    assert bench(full_shop, STAMP.at) == ()
    unpack(full_shop, number, piece, STAMP)
    assert [one.tag for one in bench(full_shop, STAMP.at)] == [bundle.tag]


def test_a_piece_whose_bundle_is_out_is_not_ready(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"))
    (bundle,) = tie(full_shop, number, STAMP).bundles
    out(full_shop, bundle.tag, "sewing", "Tom", STAMP)
    shown = dict(show(full_shop, bundle.tag).facts)
    piece = piece_tag(full_shop, number, "TN")
    assert shown[piece] == f"Tonneau cover: not ready; its bundle {bundle.tag} is out: sewing (Tom)"
    with pytest.raises(Refusal, match=rf"is not ready: its bundle {bundle.tag} is out: sewing \(Tom\)"):
        pack(full_shop, number, piece_tag(full_shop, number, "TN"), STAMP)


def test_a_bundle_tied_after_its_pieces_were_packed_is_packed(full_shop: Shop) -> None:
    number = made_order(full_shop, line("tonneau"))
    pack(full_shop, number, piece_tag(full_shop, number, "TN"), STAMP)
    (tied,) = tie(full_shop, number, STAMP).bundles
    with pytest.raises(Refusal, match="packed"):
        out(full_shop, tied.tag, stages(full_shop)[0][0], "", STAMP)
    assert not audit(full_shop).faults
