"""Substitutes: proposed for what is short, taken only with the customer's yes, and kept through every change."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.substitutes import permitted
from stockroom.jobs.audit import audit
from stockroom.jobs.change import retake, set_quantity
from stockroom.jobs.lookup import catalogue_of
from stockroom.jobs.packing_paper import packing_list
from stockroom.jobs.pick_list import pick_list
from stockroom.jobs.reorder import reorder
from stockroom.jobs.reserve import reserve_all, reserve_what_there_is
from stockroom.jobs.substitute import substitute
from stockroom.jobs.swatch_sent import answer_swatch, send
from stockroom.jobs.swatches import cut
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.jobs.undo import last_of, undo
from stockroom.store import substitutions, tagged
from stockroom.store.database import Shop
from tests.labels.reading import texts
from tests.shops import (
    LATE,
    LATER,
    STAMP,
    TODAY,
    Stocked,
    change,
    dump,
    line,
    load_files,
    look,
    order,
    roll,
    stock_shop,
)

HOOD = "hood-cloth/fawn"
GREEN, BLACK, LEATHER = "hood-cloth/green", "hood-cloth/black", "leathercloth/fawn"
A_HOOD = line("hood", choices={"window": "sewn"})
GONE = "Hood cloth, fawn is discontinued, and may be replaced by"


def shop_with(shop: Shop, folder: Path, *stocked: Stocked) -> None:
    """The shop, in which leathercloth may stand in for hood cloth, and green for fawn of it."""
    stock_shop(shop, folder, *stocked)
    cloths = (
        "code,title,kind,width,nap,shortest_useful,colour_tolerance,substitutes\n"
        "hood-cloth,Hood cloth,cloth,1500,yes,300,1,leathercloth\n"
    )
    items = (
        "code,kind,cloth,colour,substitutes,discontinued\nhood-cloth/fawn,cloth,hood-cloth,fawn,hood-cloth/green,yes\n"
    )
    load_files(shop, folder, {"cloths.csv": cloths, "items.csv": items})


def plain(pdf: bytes) -> str:
    """The words on paper, however its lines are broken."""
    return " ".join(" ".join(texts(pdf)).split())


def assert_good(shop: Shop) -> None:
    """The books prove."""
    assert audit(shop).is_good


def test_what_is_short_is_told_its_permitted_substitutes_and_a_yes_takes_one(shop: Shop, tmp_path: Path) -> None:
    shop_with(
        shop, tmp_path, roll(HOOD, 500), roll(GREEN, 3000, "G1"), roll(GREEN, 900, "G2"), roll("carpet/red", 4000)
    )
    number = take(shop, order(A_HOOD, line("boot-set")), STAMP).number
    short = reserve_what_there_is(shop, number, STAMP)
    assert short.substitutes == (
        f"{GONE} Hood cloth, green (3.00 m of lot G1 and 0.90 m of lot G2 free), if the customer says yes: "
        f"stockroom substitute {number} {HOOD} --with {GREEN} --yes-from NAME",
        f"{GONE} Leathercloth, fawn (nothing free), if the customer says yes: "
        f"stockroom substitute {number} {HOOD} --with {LEATHER} --yes-from NAME",
    )
    assert [one.instead for one in ticket(shop, number, TODAY).substitutes] == [GREEN, LEATHER]
    report = reorder(shop, None, TODAY, STAMP)
    wanted = next(one for _, _, lines in report.groups() for one in lines if one.item == HOOD)
    assert "Hood cloth, green may stand in, with the customer's yes: 3.90 m free" in wanted.why
    before = look(shop, number)
    done = substitute(shop, number, HOOD, GREEN, "Ann's son", LATER, note="by letter")
    told = "Hood cloth, green instead of Hood cloth, fawn: Ann's son said yes, by letter (CD, 2026-11-26)."
    assert done.sentence == f"Line 1: {told}"
    now = look(shop, number)
    assert (now.needed(HOOD), now.needed(GREEN), now.lots(GREEN)) == (0, 2, {"G1"})
    assert (now.held("carpet/red"), now.tags) == (before.held("carpet/red"), before.tags)
    assert f"HL: {told}" in ticket(shop, number, TODAY).lines[0].changes
    assert told in plain(pick_list(shop, number, STAMP, TODAY))
    assert told in plain(packing_list(shop, number, STAMP))
    assert_good(shop)
    undo(shop, last_of(shop, LATER.by), LATER)
    assert look(shop, number).needed(HOOD) == 2
    assert ticket(shop, number, TODAY).shortages
    assert_good(shop)


def test_a_change_of_the_order_keeps_what_was_agreed_and_a_new_line_does_not_inherit_it(
    shop: Shop, tmp_path: Path
) -> None:
    shop_with(shop, tmp_path, roll(GREEN, 9000, "G1"))
    number = take(shop, order(line("tonneau")), STAMP).number
    substitute(shop, number, HOOD, GREEN, "Ann", LATER)
    set_quantity(shop, number, 1, 3, LATER)
    assert look(shop, number).needed(GREEN) == 3
    asked = line("tonneau", 3, changes=(change("overlong", "TN", panel="cover", part="front", mm=30),))
    retake(shop, number, order(asked), LATER)
    assert (look(shop, number).needed(GREEN), look(shop, number).needed(HOOD)) == (3, 0)
    substitute(shop, number, GREEN, LEATHER, "Ann", LATER)
    assert (look(shop, number).needed(GREEN), look(shop, number).needed(LEATHER)) == (0, 3)
    substitute(shop, number, LEATHER, HOOD, "Ann", LATER)
    assert look(shop, number).needed(HOOD) == 3
    substitute(shop, number, HOOD, GREEN, "Ann", LATER)
    retake(shop, number, order(A_HOOD), LATER)
    assert (look(shop, number).needed(GREEN), look(shop, number).needed(HOOD)) == (0, 2)
    with shop.read() as tx:
        assert substitutions.substitutions_of(tx, look(shop, number).order.id) == {}
    assert_good(shop)


def test_what_is_seen_together_moves_together_and_other_orders_of_the_car_are_asked_about(
    shop: Shop, tmp_path: Path
) -> None:
    shop_with(shop, tmp_path, roll(GREEN, 9000, "G1"))
    number = take(shop, order(A_HOOD, line("tonneau"), line("tonneau", car=LATE)), STAMP).number
    other = take(shop, order(line("tonneau", 2)), STAMP).number
    with pytest.raises(Refusal, match=r"Line 2 .* is for the same car and seen together with line 1"):
        substitute(shop, number, HOOD, GREEN, "Ann", LATER, line=1)
    assert substitute(shop, number, HOOD, GREEN, "Ann", LATER, line=3).lines == (3,)
    done = substitute(shop, number, HOOD, GREEN, "Ann", LATER)
    assert done.lines == (1, 2)
    assert [one.partition(" of the same car")[0] for one in done.ask_too] == [f"Order {other}"]
    assert_good(shop)


def test_a_yes_to_the_swatch_of_a_substitute_is_a_yes_to_it(shop: Shop, tmp_path: Path) -> None:
    shop_with(shop, tmp_path, roll(HOOD, 500), roll(GREEN, 3000, "G1"))
    number = take(shop, order(line("tonneau")), STAMP).number
    with shop.read() as tx:
        green = next(one.tag for one in tagged.holdings_by_tag(tx, []) if one.item == GREEN)
    tag = cut(shop, green, "0", "B1", STAMP).tags[0]
    assert send(shop, tag, number, TODAY + timedelta(days=9), STAMP).held_mm == 1000
    answer_swatch(shop, tag, "yes", "Ann", LATER)
    assert (look(shop, number).lots(GREEN), look(shop, number).needed(HOOD)) == ({"G1"}, 0)
    assert_good(shop)
    undo(shop, last_of(shop, LATER.by), LATER)
    assert look(shop, number).requirements == ()
    assert_good(shop)


def test_without_a_yes_or_a_permission_nothing_changes(sqlite_shop: Shop, tmp_path: Path) -> None:
    shop = sqlite_shop
    shop_with(shop, tmp_path, roll(HOOD, 500), roll(GREEN, 3000))
    number = take(shop, order(line("tonneau"), line("boot-set")), STAMP).number
    assert reserve_all(shop, number, STAMP).short
    before = dump(shop)
    for item, instead, name, sentence in (
        (HOOD, GREEN, " ", "needs the customer's yes"),
        (
            HOOD,
            BLACK,
            "Ann",
            "Hood cloth, black is no permitted substitute for Hood cloth, fawn. Permitted: Hood cloth, green",
        ),
        (HOOD, "hood-cloth/gren", "Ann", "hood-cloth/green"),
        ("carpet/red", "carpet/black", "Ann", "Nothing is permitted instead of Boot carpet, red"),
        ("zip/fawn", GREEN, "Ann", "takes no 'zip/fawn'. It takes"),
    ):
        with pytest.raises(Refusal, match=sentence):
            substitute(shop, number, item, instead, name, STAMP)
    with pytest.raises(Refusal, match=r"Line 2 .* takes no"):
        substitute(shop, number, HOOD, GREEN, "Ann", STAMP, line=2)
    assert dump(shop) == before


def test_what_is_wrong_with_substitutes_in_a_file_is_named(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path)
    head = "code,kind,cloth,colour,substitutes\n"
    for wrong, sentence in (
        (HOOD, "cannot stand in for itself"),
        ("hood-cloth/gren", "hood-cloth/green"),
        ("zip/fawn", "is narrow, and cannot stand in for cloth"),
    ):
        with pytest.raises(Refusal) as refused:
            load_files(sqlite_shop, tmp_path, {"items.csv": f"{head}{HOOD},cloth,hood-cloth,fawn,{wrong}\n"})
        assert sentence in " ".join((refused.value.sentence, *refused.value.faults))
    with sqlite_shop.read() as tx:
        catalogue = catalogue_of(sqlite_shop, tx)
    assert permitted(catalogue.items[HOOD], catalogue.items, catalogue.cloths) == ()
