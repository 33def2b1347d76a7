"""Printing: what is made is kept, a printer that fails is told of in words, and any tag can be had again."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import make_tag
from stockroom.jobs.begun_sheets import BegunSheets
from stockroom.jobs.bundle import tie
from stockroom.jobs.pack import close_incomplete, pack, packing_list
from stockroom.jobs.paper_making import make
from stockroom.jobs.papers import Paper, of_orders, of_packing, of_shown
from stockroom.jobs.parts import give_back, receive
from stockroom.jobs.printing import Outlet, Printed, print_papers
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.fake_printer import FakePrinter
from tests.jobs.workshop import made_order, piece_tag, taken_order
from tests.labels.reading import codes, texts
from tests.shops import STAMP, TODAY, dump, line, order, plenty, stock_shop

BOOT = line("boot-set")


@pytest.fixture
def boot_shop(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """A shop with enough of everything. What is printed does not hang on the kind of database."""
    stock_shop(sqlite_shop, tmp_path, *plenty())
    return sqlite_shop


def printed(shop: Shop, *papers: Paper, folder: Path, printer: str = "") -> Printed:
    """What printing these papers did."""
    return print_papers(shop, papers, STAMP, TODAY, Outlet(folder, printer))


def test_papers_are_kept_in_the_folder_and_never_written_over(boot_shop: Shop, tmp_path: Path) -> None:
    number = taken_order(boot_shop, BOOT)
    folder = tmp_path / "new" / "paper"
    first = printed(boot_shop, *of_orders([number]), folder=folder)
    assert [file.name for file in first.files] == [
        f"pick-list-{number}.pdf",
        f"tags-{number}.pdf",
        f"fitting-{number}-RP-1500.pdf",
    ]
    assert str(folder) in first.sentence
    before = {file: file.read_bytes() for file in first.files}
    again = printed(boot_shop, Paper("tags", (number,)), folder=folder)
    assert [file.name for file in again.files] == [f"tags-{number}-2.pdf"]
    assert {file: file.read_bytes() for file in first.files} == before


def test_what_is_printed_goes_to_the_printer_too(
    boot_shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printer = FakePrinter(tmp_path / "bin", monkeypatch)
    number = taken_order(boot_shop, BOOT)
    done = printed(boot_shop, Paper("pick-list", (number,)), folder=tmp_path / "paper", printer="bench")
    assert printer.sent == [("bench", done.files[0])]
    assert "on bench, and kept in" in done.sentence
    assert done.trouble == ""


@pytest.mark.parametrize(
    ("trouble", "told"),
    [
        ("jammed", "bench did not take pick-list-O-1.pdf: lp: The printer or class does not exist."),
        ("no lp", "Nothing was sent to bench: this computer has no 'lp' to print with."),
        ("name", "Nothing was sent: '-x evil' is no name of a printer."),
    ],
)
def test_a_printer_that_fails_is_told_in_words_and_the_paper_stays(
    boot_shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: str, told: str
) -> None:
    printer = FakePrinter(tmp_path / "bin", monkeypatch)
    if trouble == "jammed":
        printer.jams("lp: The printer or class does not exist.")
    if trouble == "no lp":
        monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    number = take(boot_shop, order(BOOT, number="O-1"), STAMP).number
    name = "-x evil" if trouble == "name" else "bench"
    done = printed(boot_shop, Paper("pick-list", (number,)), folder=tmp_path / "paper", printer=name)
    assert done.trouble == f"{told} The PDF is kept."
    assert done.files[0].read_bytes().startswith(b"%PDF-")
    assert printer.sent == []


def test_tags_go_on_the_labels_that_there_are_and_begin_where_a_sheet_is_free(boot_shop: Shop, tmp_path: Path) -> None:
    number = taken_order(boot_shop, BOOT)
    papers = (Paper("pick-list", (number,)), Paper("tags", (number,)))
    sheet = print_papers(boot_shop, papers, STAMP, TODAY, Outlet(tmp_path / "paper"), start_at=6)
    assert [len(page) for page in codes(sheet.files[1].read_bytes(), 300)] == [3, 1], "the sheet has eight labels"
    rolls = print_papers(boot_shop, papers, STAMP, TODAY, Outlet(tmp_path / "rolls", labels="roll-100x50-203dpi"))
    assert len(codes(rolls.files[1].read_bytes(), 300)) == 4, "a label a page"


def test_a_sheet_that_somebody_said_was_used_goes_on_where_the_last_tags_ended(boot_shop: Shop, tmp_path: Path) -> None:
    tags, begun = (Paper("tags", (taken_order(boot_shop, BOOT),)),), BegunSheets()

    def printed_at(start_at: int = 0) -> str:
        return print_papers(boot_shop, tags, STAMP, TODAY, Outlet(tmp_path), start_at, begun).sentence

    assert "from label" not in printed_at()
    assert "from label" not in printed_at(), "nobody said that a sheet was used: each print takes a new one"
    assert ", from label 3 of a4-2x4-99x67: " in printed_at(3)
    assert begun.words == "a4-2x4-99x67 goes on at label 7"
    with pytest.raises(Refusal, match="positions 1 to 8"):
        printed_at(9)
    assert ", from label 7 of a4-2x4-99x67: " in printed_at()
    assert ", from label 3 of a4-2x4-99x67: " in printed_at(), "two of the four went on the next sheet"
    assert "from label" not in printed_at(1)


def test_a_folder_that_cannot_be_written_to_is_refused_in_words(boot_shop: Shop, tmp_path: Path) -> None:
    number = taken_order(boot_shop, BOOT)
    (tmp_path / "paper").write_text("a file")
    with pytest.raises(Refusal, match=r"No paper can be kept in .*paper: "):
        printed(boot_shop, Paper("pick-list", (number,)), folder=tmp_path / "paper")


def test_of_several_orders_what_can_be_printed_is_and_the_rest_is_told(boot_shop: Shop, tmp_path: Path) -> None:
    uncut, number = taken_order(boot_shop, BOOT), made_order(boot_shop, BOOT, number="O-2")
    tie(boot_shop, number, STAMP)
    done = printed(boot_shop, Paper("bundle-tags", (uncut, number)), folder=tmp_path / "paper")
    assert [file.name for file in done.files] == [f"bundle-tags-{number}.pdf"]
    assert f"Order {uncut} has no bundles to tag" in done.trouble
    with pytest.raises(Refusal, match="has no bundles to tag"):
        printed(boot_shop, Paper("bundle-tags", (uncut,)), folder=tmp_path / "paper")


def test_every_kind_of_tag_can_be_had_again_and_opens_what_it_is_on(boot_shop: Shop) -> None:
    number = made_order(boot_shop, BOOT)
    (bundle,) = tie(boot_shop, number, STAMP).bundles
    part = receive(boot_shop, number, "hood frame", "R1", STAMP).tag
    pack(boot_shop, number, piece_tag(boot_shop, number, "BF"), STAMP)
    close_incomplete(boot_shop, number, "the car leaves today", STAMP)
    (parcel,) = packing_list(boot_shop, number).parcels
    rows = dump(boot_shop)
    place = str(rows["place"][0][1])
    wanted = [make_tag("R", 1), make_tag("B", 1), place, piece_tag(boot_shop, number, "BSL"), bundle.tag, parcel.tag]
    (paper,) = make(boot_shop, Paper("tag", (*wanted, part)), STAMP, TODAY)
    assert codes(paper.pdf, 300) == [sorted((*wanted, part))]
    for tag in wanted:
        assert show(boot_shop, tag).tag == tag
    words = " ".join(texts(paper.pdf))
    for said in ("hood frame", "CUSTOMER'S PART", number):
        assert said in words


@pytest.mark.parametrize(
    ("tag", "told"),
    [
        (make_tag("O", 1), "which stands on its pick list"),
        (make_tag("C", 1), "which stands on its fitting sheet"),
        (make_tag("R", 900), "no roll or bin"),
        (make_tag("L", 900), "no place with the tag"),
        (make_tag("G", 900), "No customer's part"),
        ("R1042X", "R1042X"),
    ],
)
def test_what_has_no_tag_and_what_is_not_here_is_refused(boot_shop: Shop, tag: str, told: str) -> None:
    with pytest.raises(Refusal, match=told):
        make(boot_shop, Paper("tag", (tag,)), STAMP, TODAY)


def test_the_parts_of_the_customer_are_tagged_while_they_are_here(boot_shop: Shop) -> None:
    number = taken_order(boot_shop, BOOT)
    tags = [receive(boot_shop, number, what, "R1", STAMP).tag for what in ("hood frame", "bright strip")]
    paper = Paper("part-tags", (number,))
    (made,) = make(boot_shop, paper, STAMP, TODAY)
    assert codes(made.pdf, 300) == [sorted(tags)]
    give_back(boot_shop, tags[0], STAMP)
    (made,) = make(boot_shop, paper, STAMP, TODAY)
    assert codes(made.pdf, 300) == [tags[1:]]
    give_back(boot_shop, tags[1], STAMP)
    with pytest.raises(Refusal, match="none to tag"):
        make(boot_shop, paper, STAMP, TODAY)


def test_kit_tags_are_offered_only_when_the_order_is_complete_or_went_out_incomplete(boot_shop: Shop) -> None:
    number = made_order(boot_shop, BOOT)
    for piece in ("BSL", "BSR", "BF"):
        pack(boot_shop, number, piece_tag(boot_shop, number, piece), STAMP)
        assert of_packing(packing_list(boot_shop, number))[0].kind == "packing-list"
    pack(boot_shop, number, piece_tag(boot_shop, number, ""), STAMP)
    assert of_packing(packing_list(boot_shop, number))[0] == Paper("kit-tags", (number,))


def test_a_tag_page_offers_its_tag_and_nothing_for_what_has_none(boot_shop: Shop) -> None:
    number = taken_order(boot_shop, BOOT)
    roll = make_tag("R", 1)
    assert of_shown(show(boot_shop, roll)) == (Paper("tag", (roll,)), Paper("claim", (roll,)))
    assert of_shown(show(boot_shop, number)) == ()
