"""The verbs of goods in, as a person types them: what is due, what came, what is asked, and the tags at once."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Desk
from tests.cli.terminal import terminal
from tests.fake_printer import FakePrinter
from tests.labels.reading import codes

FAWN = ("receive", "hood-cloth/fawn", "27 yd", "--purchase", "P-0611", "--lot", "W4466", "--place", "H2")


def due(desk: Desk) -> dict[str, str]:
    """Reference of a purchase → what of it is still due."""
    return {one["reference"]: one["shown"] for one in desk.call("expected", "--json").well().json}


def test_what_came_is_booked_its_tag_printed_and_its_order_goes_on(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    printer = FakePrinter(desk.folder / "bin", monkeypatch)
    said = desk.call(*FAWN, "--reserve", "--pdf", "tags.pdf", "--printer", "bench").well()
    assert "27 yd = 24.6888 m, booked as 24.688 m." in said.out
    assert "29.3 kg. Heavy: two people or a roll stand." in said.out
    assert "Order L-1043: all of it is held now" in said.out
    (tag,) = codes((desk.folder / "tags.pdf").read_bytes(), 300)[0]
    assert f"{tag}: 24.688 m, a new tag." in said.out
    assert printer.sent == [("bench", desk.folder / "tags.pdf")]
    assert due(desk)["P-0611"] == "0.312 m"
    desk.call("close-purchase", "P-0611", "--because", "near enough").well()
    assert "P-0611" not in due(desk)
    assert "shorter than it came. Claim it: stockroom paper claim" in desk.call("measure", tag, "24 m").well().out
    found = desk.call("inspect", tag, "--fault", "2.4 m:5 in:slub", "--json").well().json
    assert (found["points"], found["is_over"]) == (2, False)
    desk.call("paper", "claim", tag).well()
    assert desk.call("audit").well().out.endswith("The books are good.\n")


def test_new_tags_are_printed_at_once_as_in_the_screens_and_whatever_becomes_of_them_the_goods_are_booked(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    printer, paper = FakePrinter(desk.folder / "bin", monkeypatch), desk.folder / "paper"
    black = ("receive", "hood-cloth/black", "5 m", "--from", "westing", "--place", "H2", "--yes", "--lot")
    said = desk.call(*black, "N1", STOCKROOM_PRINTER="bench").well()
    (file,) = paper.glob("*.pdf")
    (tag,) = codes(file.read_bytes(), 300)[0]
    assert f"{tag}: 5.00 m, a new tag." in said.out
    assert f"Printed on bench, and kept in {paper}: {file.name}." in said.out
    assert printer.sent == [("bench", file)]
    said = desk.call(*black, "N2", "--no-tags").well()
    assert "Print what is new: stockroom paper stock-tags R" in said.out
    assert list(paper.iterdir()) == [file]
    said = desk.call(*black, "N3", "--json", STOCKROOM_PAPER=str(desk.folder / "out")).well()
    assert f"tag-{said.json['new_tags'][0]}.pdf" in said.err
    assert len(list((desk.folder / "out").iterdir())) == 1
    printer.jams("it is on fire")
    said = desk.call(*black, "N4", STOCKROOM_PRINTER="bench").well()
    assert "it is on fire. The PDF is kept.\nWhat came in is booked." in said.err
    said = desk.call(*black, "N5", "--printer", "bench")
    assert (said.status, "What came in is booked." in said.err) == (1, True)
    said = desk.call(*black, "N6", STOCKROOM_PAPER=str(desk.shop)).well()
    assert "No paper can be kept in" in said.err
    assert desk.call("audit").well().out.endswith("The books are good.\n")


def test_what_is_not_likely_is_asked_and_nothing_is_booked_by_asking(desk: Desk) -> None:
    back = desk.call(*FAWN[:2], "30 m", "--lot", "w 4391", *FAWN[3:5], "--place", "H2", "--check").well().out
    assert "ASKED new-lot: Lot 'w 4391' is not known, but 'W4391' is." in back
    assert "ASKED over: 30.00 m is 5.00 m more" in back
    desk.call(*FAWN[:2], "30 m", *FAWN[3:]).refused("--sure over", "5.00 m more")
    assert due(desk)["P-0611"] == "25.00 m"
    desk.call(*FAWN[:2], "30 m", *FAWN[3:], "--sure", "over").well()
    assert "P-0611" not in due(desk)
    desk.call("receive", "tack-10", "5 m", "--place", "B6").refused("is not a count")
    desk.call(*FAWN, "--pdf", "tags.pdf", "--start-at", "22").refused("positions 1 to 21")
    desk.call(*FAWN, "--json", "--pdf", "-").refused("not both", status=2)
    desk.call(*FAWN, "--no-tags", "--printer", "bench").refused("--no-tags", status=2)
    desk.call("close-purchase", "P-0612").refused("--because", status=2)


def test_a_purchase_made_by_telephone_is_written_down_and_comes_in(desk: Desk) -> None:
    said = desk.call("purchase", "P-0630", "tern", "tack-10", "200").well().out
    assert "0.01 GBP each, as in its terms." in said
    assert due(desk)["P-0630"] == "200"
    done = desk.call("receive", "tack-10", "150", "--purchase", "p-0630", "--place", "b6", "--json").well().json
    assert (done["goods"][0]["quantity"], done["new_tags"], done["reserved"]) == (150, [], [])
    assert due(desk)["P-0630"] == "50"


def test_at_a_terminal_what_was_typed_is_said_back_before_it_counts(desk: Desk) -> None:
    with terminal(
        *FAWN[:2], "30 m", *FAWN[3:], cwd=desk.folder, columns=120, rows=40, STOCKROOM_SHOP=str(desk.shop)
    ) as screen:
        screen.wait_for("Is all of it kept? [y/N]")
        screen.press("y\n")
        screen.wait_for("Book it in? [y/N]")
        screen.press("\n")
        screen.wait_for("Nothing was received.")
        assert screen.end() == 1
    assert due(desk)["P-0611"] == "25.00 m"


def test_at_a_terminal_a_shade_that_was_read_as_wrong_is_set_apart_by_one_letter(desk: Desk) -> None:
    shade = ("--reading", "66.0 3.5 14.0 D65 10", "--lot", "W9", "--no-tags")
    with terminal(*FAWN, *shade, cwd=desk.folder, columns=120, rows=40, STOCKROOM_SHOP=str(desk.shop)) as screen:
        screen.wait_for("q sets it apart]")
        screen.press("q\n")
        screen.wait_for("Book it in? [y/N]")
        screen.press("y\n")
        screen.wait_for("In quarantine: wrong shade.")
        assert screen.end() == 0
    there = desk.call("racks", "hood-cloth/fawn", "--json").well().json
    assert "wrong shade" in str(there)
