"""Paper from the shell: every kind, where it goes, and that a name cannot lead it out of the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.jobs.printing import file_name
from tests.cli.conftest import Desk
from tests.fake_printer import FakePrinter
from tests.labels.reading import codes, texts

HOSTILE = (
    "../../../outside",
    "/etc/outside",
    "a/b\\c:d",
    "..",
    "-o",
    "~root",
    "$(touch outside)",
    "<b>bold</b>",
    "[red]9[/red]",
    "new\nline",
    "Ωő" * 60,
)


def files(folder: Path) -> set[str]:
    """Names of what lies in a folder, the shop apart."""
    return {path.name for path in folder.iterdir() if not path.name.startswith("shop.db")}


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("pick-list", "L-1041"), "pick-list-L-1041.pdf"),
        (("tags", "L-1041"), "tags-L-1041.pdf"),
        (("stock-tags",), "stock-tags.pdf"),
        (("place-tags",), "place-tags.pdf"),
        (("low-tags",), "low-tags.pdf"),
        (("fitting", "L-1041"), "fitting-L-1041-RP-1983.pdf"),
        (("packing-list", "L-1041"), "packing-list-L-1041.pdf"),
        (("claim", "R11"), "claim-R11.pdf"),
        (("drift", "leathercloth/dark-blue"), "drift-leathercloth-dark-blue.pdf"),
        (("drift", "R26N", "--as-of", "2999-01-01"), "drift-leathercloth-dark-blue.pdf"),
        (("tag", "R11", "B6I"), "tag-R11-B6I.pdf"),
        (("reorder", "--week", "2026-W48"), "reorder-2026-W48.pdf"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_each_paper_goes_here_into_a_file_of_its_own_name(desk: Desk, words: tuple[str, ...], name: str) -> None:
    said = desk.call("paper", *words).well()
    assert (said.raw, said.err) == (b"", f"{name}\n"), "the file's name belongs on stderr"
    assert files(desk.folder) == {name}
    assert (desk.folder / name).read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    "words", [("pick-list", "L-1041"), ("tags", "L-1041"), ("stock-tags",), ("place-tags",), ("reorder",)], ids=" ".join
)
def test_a_hyphen_sends_the_bare_pdf_to_stdout(desk: Desk, words: tuple[str, ...]) -> None:
    said = desk.call("paper", *words, "-o", "-").well()
    assert said.raw.startswith(b"%PDF-")
    assert said.raw.rstrip().endswith(b"%%EOF")
    assert said.err == ""
    assert files(desk.folder) == set()


def test_fitting_sheets_of_several_cars_go_into_a_folder(desk: Desk) -> None:
    desk.call("paper", "fitting", "L-1045", "-o", "sheet.pdf").refused("2 cars", "sheet.pdf")
    (desk.folder / "sheets").mkdir()
    desk.call("paper", "fitting", "L-1045", "-o", "sheets").well()
    assert files(desk.folder / "sheets") == {"fitting-L-1045-RP-4875.pdf", "fitting-L-1045-RP-5712.pdf"}


def test_tags_of_an_order_read_back_and_open_their_pieces(desk: Desk) -> None:
    read = codes(desk.call("paper", "tags", "L-1048", "-o", "-").raw, 300)
    tags = [code for page in read for code in page]
    assert len(tags) == 4
    for tag in tags:
        shown = desk.call("show", tag, "--json").json
        assert (shown["kind"], shown["order"]) == ("piece", "L-1048")


def test_kit_tags_and_bundle_tags_read_back_and_open_what_they_stand_for(desk: Desk) -> None:
    desk.call("cut", "L-1048", "R29H").well()
    desk.call("tie", "L-1048").well()
    desk.call("cut", "L-1050", "R18L").well()
    desk.call("pick", "L-1050", "B327").well()
    desk.call("pack", "L-1050", "P187P").well()
    for words, kind in ((("bundle-tags", "L-1048"), "bundle"), (("kit-tags", "L-1050"), "parcel")):
        ((tag,),) = codes(desk.call("paper", *words, "-o", "-").well().raw, 300)
        shown = desk.call("show", tag, "--json").json
        assert (shown["kind"], shown["order"]) == (kind, words[1])


def test_a_low_stock_tag_is_the_tag_of_the_bin_and_says_when_and_how_carefully(desk: Desk) -> None:
    pdf = desk.call("paper", "low-tags", "contact-adhesive", "THREAD-RED", "-o", "-").well().raw
    ((glue, thread),) = codes(pdf, 300)
    (page,) = texts(pdf)
    for words in (
        "LOW STOCK",
        "Scan this when 2 are left.",
        "Scan this when you open the last one.",
        "Highly flammable",
    ):
        assert words in page
    for words in ("In the solvent cabinet", "The supplier's safety data sheet and your own rules come first."):
        assert words in " ".join(page.split())
    assert desk.call("show", glue, "--json").json["title"] == "Contact adhesive, 5 l"
    assert "is low: it is on the buying list" in desk.call("low", thread, "--by", "AB").well().out
    desk.call("paper", "low-tags", "tack-10").refused("tack-10", "no consumable")


def test_only_the_stock_that_is_named_is_tagged(desk: Desk) -> None:
    every = [code for page in codes(desk.call("paper", "stock-tags", "-o", "-").raw, 300) for code in page]
    wanted = every[3:5]
    said = desk.call("paper", "stock-tags", *wanted, "--copies", "2", "--start-at", "4", "-o", "-")
    assert codes(said.raw, 300) == [sorted(wanted * 2)]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("tags", "L-1041", "--sheet", "a5-9x9-1x1"), "a5-9x9-1x1"),
        (("tags", "L-1041", "--start-at", "0"), "0"),
        (("tags", "L-1041", "--start-at", "99"), "99"),
        (("tags", "L-1041", "--copies", "0"), "0"),
        (("tags", "L-9999"), "L-9999"),
        (("stock-tags", "R1042L"), "R1042L"),
        (("packing-list", "L-9999"), "L-9999"),
        (("kit-tags", "L-1041"), "is not complete"),
        (("bundle-tags", "L-1041"), "no bundles to tag"),
        (("tag", "R1042L"), "R1042L"),
        (("part-tags", "L-1041"), "none to tag"),
        (("claim", "R20"), "nothing to claim for roll R20"),
        (("drift", "natural"), "no lot can be held against a master"),
        (("drift", "black", "--out", "one.pdf"), "pages of 4 cloths"),
        (("claim", "R1042L"), "R1042L"),
        (("claim", "L-1041"), "L-1041"),
        (("pick-list", "L-1041", "-o", "no/such/folder/x.pdf"), "cannot be written"),
        (("pick-list", "L-1041", "-o", "."), "cannot be written"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_paper_that_cannot_be_made_is_refused_and_no_file_is_left(
    desk: Desk, words: tuple[str, ...], told: str
) -> None:
    desk.call("paper", *words).refused(told)
    assert files(desk.folder) == set()


@pytest.mark.parametrize("number", HOSTILE)
def test_a_hostile_order_number_stays_in_the_folder(desk: Desk, number: str) -> None:
    room = desk.folder / "room" / "inner"
    room.mkdir(parents=True)
    inner = Desk(room, "")
    (room / "shop.db").write_bytes(desk.shop.read_bytes())
    kit = ("--kit", "handles-bag", "--choose", "bag-length=long", "--customer", "Ada Holm", "--car", "RP 2417")
    taken = inner.call("take", *kit, f"--number={number}")
    if taken.status:
        taken.refused()
        return
    inner.call("paper", "pick-list", "--", number).well()
    inner.call("paper", "tags", "--", number).well()
    inner.call("paper", "fitting", "--", number).well()
    names = files(room)
    assert len(names) == 3
    assert all(name.startswith(("pick-list-", "tags-", "fitting-")) for name in names)
    assert files(desk.folder) == {"room"}
    assert files(desk.folder / "room") == {"inner"}
    page = " ".join(texts((room / next(name for name in names if name.startswith("pick"))).read_bytes()))
    assert number[:8].strip().split("\n")[0].split()[0] in page, "the number is not shown literally"


@pytest.mark.parametrize("word", HOSTILE)
def test_a_file_name_is_plain_whatever_it_is_made_of(word: str) -> None:
    name = file_name("fitting", "L-1041", word)
    assert name.parts == (str(name),)
    assert str(name).startswith("fitting-L-1041-")
    assert str(name).endswith(".pdf")
    assert len(str(name).encode()) <= 255
    assert all(mark.isalnum() or mark in "-_" for mark in name.stem)


@pytest.mark.parametrize("car", HOSTILE)
def test_a_hostile_name_of_a_car_stays_in_the_folder(desk: Desk, car: str) -> None:
    room = desk.folder / "room"
    room.mkdir()
    (room / "shop.db").write_bytes(desk.shop.read_bytes())
    inner = Desk(room, "")
    kit = ("--kit", "handles-bag", "--choose", "bag-length=long", "--customer", "Ada Holm", "--number", "L-2001")
    taken = inner.call("take", *kit, f"--car={car}")
    if taken.status:
        taken.refused()
        return
    inner.call("paper", "fitting", "L-2001").well()
    assert len(files(room)) == 1
    assert files(desk.folder) == {"room"}


def test_a_paper_is_sent_to_a_printer_and_stays_if_the_printer_takes_it_not(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    printer = FakePrinter(desk.folder / "bin", monkeypatch)
    desk.call("paper", "tag", "R11", "--printer", "bench").well()
    assert printer.sent == [("bench", desk.folder / "tag-R11.pdf")]
    printer.jams("lp: The printer is on fire.")
    desk.call("paper", "pick-list", "L-1041", "--printer", "bench").refused("on fire", "The PDF is kept.")
    assert (desk.folder / "pick-list-L-1041.pdf").exists()
    desk.call("paper", "tag", "R11", "--printer", "bench", "-o", "-").refused("--printer", status=2)
