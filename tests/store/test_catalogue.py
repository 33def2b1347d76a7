"""The catalogue is given back as it was written, on both databases, and a second writing changes only what differs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockroom.domain.about import About
from stockroom.domain.catalogue import Item, PriceBreak, Stage, Terms
from stockroom.domain.kitbook import KitBook
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import is_tag
from stockroom.store import about, books, catalogue
from stockroom.store.catalogue import Written
from stockroom.store.database import Shop
from stockroom.store.edition import edition
from stockroom.store.tables import Place
from tests.databases import count_statements
from tests.small_shop import CLOTHS, COLOURS, ITEMS, PLACES, STAMP, SUPPLIERS, write_small_shop

TERMS = (
    Terms("mill", "nut", 14, 25, 25, (PriceBreak(1, 12), PriceBreak(500, 10)), preferred=False),
    Terms("mill", "felt/red", None, 9144, 1000, (), roll_mm=25_000),
)
STAGES = (Stage("sewing", "Sewing", 20), Stage("binding", "Binding", 10))


@pytest.fixture
def small(shop: Shop) -> Shop:
    with shop.write() as tx:
        write_small_shop(tx)
    return shop


def test_everything_is_given_back_as_it_was_written(small: Shop) -> None:
    with small.write() as tx:
        catalogue.write_terms(tx, TERMS)
    with small.read() as tx:
        assert tuple(catalogue.read_colours(tx).values()) == COLOURS
        assert catalogue.read_cloths(tx) == {one.code: one for one in CLOTHS}
        assert catalogue.read_items(tx) == {one.code: one for one in ITEMS}
        assert tuple(catalogue.read_places(tx).values()) == PLACES
        assert tuple(catalogue.read_suppliers(tx).values()) == SUPPLIERS
        assert catalogue.read_terms(tx) == (TERMS[1], TERMS[0])


def test_codes_are_ordered_by_code_point_on_both_databases(small: Shop) -> None:
    with small.write() as tx:
        catalogue.write_items(tx, [Item(code, code, "hardware") for code in ("Zip", "a-b", "aB", "a/b", "ab")])
    with small.read() as tx:
        assert list(catalogue.read_items(tx)) == sorted(catalogue.read_items(tx))


def test_what_an_explosion_asks_is_read_in_three_statements(small: Shop) -> None:
    with small.read() as tx, count_statements(small) as sent:
        cloths, items, colours = catalogue.cloths_and_items(tx)
    assert sent.count == 3
    assert (len(cloths), len(items), len(colours)) == (len(CLOTHS), len(ITEMS), len(COLOURS))


def test_writing_the_same_again_changes_nothing_and_says_so(small: Shop) -> None:
    with small.write() as tx:
        before = edition(tx)
        assert catalogue.write_items(tx, ITEMS) == Written("items", same=len(ITEMS))
        assert catalogue.write_places(tx, PLACES) == Written("places", same=len(PLACES))
        assert edition(tx) == before


def test_a_change_is_written_and_told_in_a_sentence(small: Shop) -> None:
    with small.write() as tx:
        before = edition(tx)
        changed = replace(ITEMS[3], title="Nut, M4", least=20)
        assert catalogue.write_items(tx, [changed, Item("washer", "Washer", "hardware")]) == Written(
            "items", added=1, changes=("items: nut: title was 'Nut', is now 'Nut, M4'; least was empty, is now 20",)
        )
        assert edition(tx) > before
        assert catalogue.read_items(tx)["nut"] == changed
        cloth = replace(CLOTHS[0], discontinued=True, substitutes=())
        (told,) = catalogue.write_cloths(tx, [cloth]).changes
        assert "substitutes was ['felt'], is now empty; discontinued was no, is now yes" in told
        assert catalogue.read_cloths(tx)["hood-cloth"] == cloth


def test_terms_are_known_by_supplier_and_item(small: Shop) -> None:
    with small.write() as tx:
        catalogue.write_terms(tx, TERMS)
        dearer = replace(TERMS[0], breaks=(PriceBreak(1, 13),))
        written = catalogue.write_terms(tx, [dearer, TERMS[1]])
        assert (written.added, written.same, len(written.changes)) == (0, 1, 1)
        assert written.changes[0].startswith("terms: mill / nut: breaks was [[1, 12], [500, 10]], is now [[1, 13]]")
        assert catalogue.read_terms(tx)[1] == dearer


def test_stages_are_given_back_in_their_turn_and_may_change(small: Shop) -> None:
    with small.write() as tx:
        assert catalogue.write_stages(tx, STAGES) == Written("stages", added=2)
        assert list(catalogue.read_stages(tx).values()) == [STAGES[1], STAGES[0]]
        assert catalogue.write_stages(tx, [replace(STAGES[0], turn=5)]).changes == (
            "stages: sewing: turn was 20, is now 5",
        )
        assert list(catalogue.read_stages(tx)) == ["sewing", "binding"]


def test_places_keep_their_tags(small: Shop) -> None:
    with small.write() as tx:
        tags = dict(tx.execute(Place.__table__.select().with_only_columns(Place.code, Place.tag)).all())
        catalogue.write_places(tx, [replace(PLACES[0], title="Moved"), replace(PLACES[0], code="H2")])
        after = dict(tx.execute(Place.__table__.select().with_only_columns(Place.code, Place.tag)).all())
    assert all(is_tag(tag) and tag.startswith("L") for tag in after.values())
    assert {**after, **tags} == after
    assert len(set(after.values())) == 3


def test_an_item_in_use_stays_by_length_or_by_count(small: Shop) -> None:
    from stockroom.store.stock import add_holdings, empty_holding

    with small.write() as tx:
        add_holdings(tx, [empty_holding("bin", "B1", "nut", "B1", "")])
        as_blank = catalogue.write_items(tx, [replace(ITEMS[3], kind="blank")])
        assert len(as_blank.changes) == 1
        with pytest.raises(Refusal, match="nut cannot change between being stocked by length and by count"):
            catalogue.write_items(tx, [replace(ITEMS[3], kind="narrow")])
        assert len(catalogue.write_items(tx, [replace(ITEMS[4], kind="narrow")]).changes) == 1


def test_the_shop_s_own_facts_are_kept_and_changed(small: Shop) -> None:
    was = About("Lindow Trim", "Europe/London", "GBP", STAMP.at.date())
    usual = "up to 40 points, colours 1:1:1, counted again beyond 1 % of a length, 1 % of a count"
    with small.write() as tx:
        assert about.read_about(tx) == was
        assert about.write_about(tx, was, STAMP) == Written("shop", same=1)
        assert about.write_about(tx, replace(was, name="Lindow Trim & Co", opening=None), STAMP).changes == (
            f"shop: was 'Lindow Trim' (Europe/London, GBP, {usual}), is now "
            f"'Lindow Trim & Co' (Europe/London, GBP, {usual})",
        )
        assert about.read_about(tx) == replace(was, name="Lindow Trim & Co")
        with pytest.raises(Refusal, match=r"books were opened on 2026-11-25; shop\.toml says 2026-11-01"):
            about.write_about(tx, replace(was, opening=was.opening and was.opening.replace(day=1)), STAMP)


def test_the_currency_stays_once_there_is_money_in_it(small: Shop) -> None:
    euros = About("Lindow Trim", "Europe/London", "EUR", None)
    with small.write() as tx:
        about.write_about(tx, euros, STAMP)
        catalogue.write_terms(tx, TERMS)
        with pytest.raises(Refusal, match="keeps its books in EUR; they cannot be turned into GBP"):
            about.write_about(tx, replace(euros, currency="GBP"), STAMP)


def _book(code: str, version: str) -> KitBook:
    return KitBook(code, code.title(), version, 1, {}, {}, {}, {}, {}, {}, {}, {})


def test_a_kit_book_s_versions_are_kept_with_their_text(small: Shop) -> None:
    with small.write() as tx:
        with pytest.raises(Refusal, match="has no kit book yet"):
            books.newest(tx)
        first = books.add_book(tx, _book("plover", "1"), "text of 1", STAMP)
        second = books.add_book(tx, _book("plover", "2"), "text of 2", STAMP)
        assert books.add_book(tx, _book("plover", "1"), "text of 1", STAMP) == first
        assert [(one.id, one.version) for one in books.books(tx)] == [(second, "2"), (first, "1")]
        assert books.newest(tx).id == books.newest(tx, "plover").id == second
        assert books.book_source(tx, first) == "text of 1"
        with pytest.raises(Refusal, match="Version '1' of the kit book 'plover' is kept already with another text"):
            books.add_book(tx, _book("plover", "1"), "another text", STAMP)
        with pytest.raises(Refusal, match="no kit book of number 99"):
            books.book_source(tx, 99)


def test_with_several_kit_books_it_must_be_said_which(small: Shop) -> None:
    with small.write() as tx:
        for code in ("plover", "dunlin"):
            books.add_book(tx, _book(code, "1"), code, STAMP)
        with pytest.raises(Refusal, match="several kit books: dunlin, plover"):
            books.newest(tx)
        with pytest.raises(Refusal, match=r"no kit book 'snipe' in this shop\. It has dunlin, plover"):
            books.newest(tx, "snipe")
