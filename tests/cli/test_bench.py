"""The verbs of the shelf, the cutting table, the bench and the packing table, as a person types them."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Desk
from tests.labels.reading import codes


def kept(desk: Desk) -> list[str]:
    """Everything that the shop keeps."""
    with sqlite3.connect(desk.shop) as connection:
        lines = list(connection.iterdump())
    connection.close()
    return lines


def stops(desk: Desk, *numbers: str) -> list[Any]:
    """What is to be fetched for orders, in walking order."""
    return list(desk.call("walk", *numbers, "--json").well().json["stops"])


def fetch(desk: Desk, number: str) -> None:
    """Picks every reel and bin of an order and cuts every roll of it, in walking order."""
    for stop in stops(desk, number):
        desk.call(stop["how"], number, stop["tag"]).well()


def printed(desk: Desk, number: str) -> list[str]:
    """The tags of an order's pieces, as a scanner reads them from their paper."""
    return [tag for page in codes(desk.call("paper", "tags", number, "-o", "-").well().raw, 300) for tag in page]


def packed(desk: Desk, number: str) -> dict[str, Any]:
    """The pieces on an order's packing list, by tag."""
    return {one["tag"]: one for one in desk.call("packing", number, "--json").well().json["pieces"]}


def held(desk: Desk, tag: str) -> str:
    """What a bin, reel or roll holds."""
    return str(dict(desk.call("show", tag, "--json").well().json["facts"])["Held"])


def assert_books_are_good(desk: Desk) -> None:
    """The audit finds nothing."""
    assert desk.call("audit").well().out.endswith("The books are good.\n")


@pytest.fixture(scope="module")
def worked_made(demo_made: Desk, tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The demo with order L-1048 fetched, its bundle (T1U) out at sewing, and its draught strip packed. Read only."""
    folder = tmp_path_factory.mktemp("worked")
    shutil.copyfile(demo_made.shop, folder / "shop.db")
    desk = Desk(folder, "")
    fetch(desk, "L-1048")
    desk.call("tie", "L-1048").well()
    desk.call("out", "T1U", "sewing", "--with", "Rosa").well()
    desk.call("pack", "L-1048", "P183X").well()
    return desk


@pytest.fixture
def worked(worked_made: Desk, tmp_path: Path) -> Desk:
    """A copy of the shop at work for one test."""
    shutil.copyfile(worked_made.shop, tmp_path / "shop.db")
    return Desk(tmp_path, "")


def test_an_order_goes_from_the_rail_to_the_van_by_verbs_alone(desk: Desk) -> None:
    assert "L-1041" in desk.call("rail").well().out
    tags = printed(desk, "L-1041")
    caps = int(held(desk, "B1S"))

    fetch_as_told(desk, "L-1041")
    assert int(held(desk, "B1S")) == caps - 8
    sew(desk, "L-1041")
    assert sorted(packed(desk, "L-1041")) == sorted(tags)
    pack_by_tags(desk, "L-1041", tags)

    said = desk.call("send", "L-1041").well().out
    assert said.startswith("Order L-1041 is sent: 2 parcels.\n")
    assert f"long parcel, tag {parcel_tags(desk, 'L-1041')[1]}: 1 piece\n" in said
    assert "OWED" not in said
    assert "L-1041" not in desk.call("rail").well().out
    assert "Order L-1041, Ágnes Lőrinc, sent\n" in desk.call("packing", "L-1041").well().out
    desk.call("send", "L-1041").refused("L-1041 is sent")
    desk.call("unpack", "L-1041", tags[0]).refused("L-1041 is sent")
    assert_books_are_good(desk)


def fetch_as_told(desk: Desk, number: str) -> None:
    """Walks, and does at each stop what it says; a scan of a roll says what to cut and takes nothing."""
    todo = stops(desk, number)
    assert [stop["walk"] for stop in todo] == sorted(stop["walk"] for stop in todo)
    assert {stop["how"] for stop in todo} == {"pick", "cut"}
    shown = desk.call("walk", number).well().out
    for left, stop in zip(reversed(range(len(todo))), todo, strict=True):
        assert stop["tag"] in shown
        said = desk.call("pick", number, stop["tag"], "--json").well().json
        if stop["how"] == "cut":
            assert (said["changed_anything"], stop["amount"] in said["sentence"]) == (False, True)
            cut = desk.call("cut", number, stop["tag"]).well().out
            assert cut.startswith(f"{stop['amount']} cut from {stop['tag']} for order {number}.\n")
        else:
            assert said["sentence"].startswith(f"{stop['amount']} of {stop['title']} taken from {stop['tag']}.")
            assert said["left"] == left
    assert desk.call("walk", number).well().out == "Nothing is left to fetch.\n"


def sew(desk: Desk, number: str) -> None:
    """Ties the panels, sends every bundle out and takes it back; meanwhile no piece of it is packed."""
    tied = desk.call("tie", number, "--json").well().json
    assert tied["bundles"]
    assert tied["not_cut"] == []
    for bundle in tied["bundles"]:
        tag, (piece, _) = bundle["tag"], bundle["pieces"][0]
        assert f"{tag} is out: sewing (Rosa)" in desk.call("out", tag, "sewing", "--with", "Rosa").well().out.replace(
            f" of order {number}", ""
        )
        assert f"{tag:<8} {number:<8} {bundle['kit']}: out: sewing (Rosa)" in desk.call("bench").well().out
        desk.call("pack", number, piece).refused(tag, "out: sewing (Rosa)")
        assert "is back at the bench" in desk.call("back", tag).well().out
        assert f"{bundle['kit']}: at the bench" in desk.call("bench").well().out


def pack_by_tags(desk: Desk, number: str, tags: list[str]) -> None:
    """Packs each printed tag: what must be scanned is scanned, the rest ticked; the draught strip travels apart."""
    todo = packed(desk, number)
    assert {one["state"] for one in todo.values()} == {"ready"}
    assert {one["must_scan"] for one in todo.values()} == {True, False}
    desk.call("send", number).refused(f"Order {number} is not complete")
    (strip,) = (tag for tag, one in todo.items() if one["piece"] == "DRS")
    for left, tag in zip(reversed(range(len(tags))), [*(tag for tag in tags if tag != strip), strip], strict=True):
        more: tuple[str, ...] = ()
        if tag == strip:
            assert "Parcel 2 of order" in desk.call("parcel", number, "long parcel").well().out
            more = ("--parcel", "2")
        if todo[tag]["must_scan"]:
            desk.call("tick", number, tag, *more).refused("not ticked but scanned")
        said = desk.call("pack" if todo[tag]["must_scan"] else "tick", number, tag, *more).well().out
        assert said.endswith(f"Pieces of order {number} that are not packed: {left}\n")
    assert desk.call("bench").well().out.startswith("No bundles.")
    assert "Complete.\n" in desk.call("packing", number).well().out


def parcel_tags(desk: Desk, number: str) -> list[str]:
    """The tags of an order's parcels, in their turn."""
    return [one["tag"] for one in desk.call("packing", number, "--json").well().json["parcels"]]


def test_an_order_that_is_fitted_here_is_issued_to_the_car(desk: Desk) -> None:
    tags = printed(desk, "L-1047")
    fetch(desk, "L-1047")
    desk.call("parcel", "L-1047", "box").refused("'to the car'")
    assert "(to the car, tag K" in desk.call("parcel", "L-1047", "to the car").well().out
    for tag in tags:
        assert "is issued to the car" in desk.call("pack", "L-1047", tag).well().out
    assert desk.call("send", "L-1047").well().out.startswith("Order L-1047 is with the car: 1 parcel.\n")
    assert_books_are_good(desk)


def test_several_orders_are_fetched_in_one_walk(desk: Desk) -> None:
    both = stops(desk, "L-1044", "L-1041")
    assert {stop["order"] for stop in both} == {"L-1041", "L-1044"}
    assert len(both) == len(stops(desk, "L-1041")) + len(stops(desk, "L-1044"))
    assert [stop["walk"] for stop in both] == sorted(stop["walk"] for stop in both)
    assert stops(desk, "L-1044", "L-1044") == stops(desk, "L-1044")


def test_a_walk_says_what_is_short_and_what_waits(desk: Desk) -> None:
    said = desk.call("walk", "L-1042", "L-1049").well().out
    assert "! Order L-1042: Ribbed boot carpet, dark green: No single dye lot is long enough" in said
    assert "! Order L-1049, line 1 waits for hood cloth in dark blue: Does the customer agree to the swatch" in said


def test_a_line_of_a_walk_marks_what_was_changed_for_the_car(desk: Desk) -> None:
    lines = {line.split()[1]: line for line in desk.call("walk", "L-1044").well().out.splitlines()}
    assert lines["R18L"].endswith("Leathercloth, tan, lot N2177  (L-1044)  CHANGED")
    assert lines["R27L"].endswith("lot K7731  (L-1044)")


def test_what_is_not_there_is_short_and_what_is_put_back_is_there_again(desk: Desk) -> None:
    before = held(desk, "B1S")
    said = desk.call("pick", "L-1044", "B1S", "--there", "5").well().out
    assert said.startswith("5 of Snap fastener, cap taken from B1S. 3 short: count B1.\n")
    assert "! Order L-1044: Snap fastener, cap: 3 was not in B1S" in desk.call("walk", "L-1044").well().out
    desk.call("put-back", "L-1044", "B1S").well()
    assert held(desk, "B1S") == before
    desk.call("put-back", "L-1044", "B1S").refused("Nothing was picked from B1S")
    assert_books_are_good(desk)


def test_a_reel_may_be_short_by_a_length(desk: Desk) -> None:
    said = desk.call("pick", "L-1048", "R755", "--there", "1.2 m").well().out
    assert said.startswith("1.20 m of Draught strip, black taken from R755. 2.20 m short: count P4.\n")
    assert_books_are_good(desk)


def test_another_length_than_the_planned_one_may_be_cut(desk: Desk) -> None:
    before = held(desk, "R27L")
    said = desk.call("cut", "L-1044", "R27L", "--length", "2.95 m", "--note", "the end was frayed", "--json").json
    assert (said["planned_mm"], said["cut_mm"], said["short"]) == (2909, 2950, [])
    assert "0.041 m more than the 2.909 m planned." in said["sentences"]
    assert (before, held(desk, "R27L")) == ("28.40 m", "25.45 m")
    assert_books_are_good(desk)


def test_a_side_piece_is_kept_as_a_remnant_with_a_tag(desk: Desk) -> None:
    said = desk.call("side-piece", "R27L", "1.2 m", "600 mm", "M3").well().out
    tag = said.split()[3].rstrip(".")
    assert said == f"It is remnant {tag}. Print its tag: stockroom paper stock-tags {tag}\n"
    facts = dict(desk.call("show", tag, "--json").well().json["facts"])
    assert (facts["Item"], facts["Dye lot"], facts["Place"]) == ("ribbed-carpet/black", "K7731", "M3")
    assert (facts["Held"], facts["Usable width"]) == ("1.20 m", "0.60 m")
    (read,) = codes(desk.call("paper", "stock-tags", tag, "-o", "-").well().raw, 300)
    assert read == [tag]
    assert_books_are_good(desk)


def test_a_roll_is_measured_and_its_promises_find_their_place_again(desk: Desk) -> None:
    said = desk.call("measure", "R27L", "24.35 m").well().out
    assert said.startswith("R27L holds 24.35 m. Planned cuts moved along it: 2.\n")
    assert "SHORT" not in said
    said = desk.call("measure", "R27L", "4 m").well().out
    assert "Planned on other cloth now: order " in said or "SHORT Order " in said
    assert held(desk, "R27L") == "4.00 m"
    assert_books_are_good(desk)


def test_a_flaw_is_written_down_and_the_cut_planned_over_it_moves(desk: Desk) -> None:
    (at,) = (stop for stop in stops(desk, "L-1044") if stop["tag"] == "R27L")
    start, end = f"{at['from_mm'] + 10} mm", f"{at['from_mm'] + 60} mm"
    said = desk.call("flaw", "R27L", start, end, "slub", "--json").well().json
    assert (said["left_mm"], said["short"]) == (28_400, [])
    assert said["moved"] > 0
    assert_books_are_good(desk)


def test_a_spoilt_panel_is_fetched_again(worked: Desk) -> None:
    assert stops(worked, "L-1048") == []
    said = worked.call("spoil", "P1812", "--panel", "face", "--because", "the knife slipped").well().out
    assert said.startswith("Panel face of Wheel-arch carpet, left (P1812) is to be cut again")
    assert packed(worked, "L-1048")["P1812"]["state"] == "not ready"
    assert stops(worked, "L-1048") or "SHORT" in said
    assert_books_are_good(worked)


def test_an_order_goes_out_incomplete_on_somebodys_word(worked: Desk) -> None:
    worked.call("back", "T1U").well()
    said = worked.call("send", "L-1048", "--incomplete", "--because", "the customer cannot wait").well().out
    assert said.startswith("Order L-1048 is sent: 1 parcel.\n")
    assert "  OWED Wheel-arch carpet, left (P1812): not packed.\n" in said
    assert said.count("  OWED ") == 3
    assert_books_are_good(worked)


def test_a_piece_changes_its_parcel(worked: Desk) -> None:
    assert "Parcel 2 of order L-1048 is begun (long parcel, tag K" in (
        worked.call("parcel", "L-1048", "long parcel").well().out
    )
    assert "(P183X) is out of parcel 1." in worked.call("unpack", "L-1048", "P183X").well().out
    assert "(P183X) is in parcel 2" in worked.call("tick", "L-1048", "P183X", "--parcel", "2").well().out
    assert packed(worked, "L-1048")["P183X"]["parcel"] == 2


def test_any_tag_of_an_order_opens_its_packing_list(worked: Desk) -> None:
    order = worked.call("packing", "L-1048", "--json").well().json
    (parcel,) = (one["tag"] for one in order["parcels"])
    for tag in ("P1812", parcel, order["tag"]):
        assert worked.call("packing", tag, "--json").well().json == order
    assert worked.call("packing", "T1U", "--json").well().json == {**order, "bundle": "T1U"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("pick", "L-1048", "B6I"), "taken from B6I already (AB). Nothing is taken again."),
        (("tie", "L-1048"), "tied before, T1U. Nothing is tied again."),
        (("out", "T1U", "sewing", "--with", "Rosa"), "is out: sewing (Rosa) already."),
        (("pack", "L-1048", "P183X"), "is in parcel 1 already (AB). Nothing is packed again."),
        (("tick", "L-1048", "P183X"), "is in parcel 1 already (AB). Nothing is packed again."),
        (("unpack", "L-1048", "P1812"), "is in no parcel. Nothing is unpacked."),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_is_scanned_twice_is_done_once(worked: Desk, words: tuple[str, ...], told: str) -> None:
    before = kept(worked)
    assert told in worked.call(*words).well().out
    assert worked.call(*words, "--json").well().json["changed_anything"] is False
    assert kept(worked) == before


def test_a_bundle_that_is_back_is_not_taken_back_twice(worked: Desk) -> None:
    worked.call("back", "T1U").well()
    before = kept(worked)
    assert worked.call("back", "T1U").well().out == "Bundle T1U is at the bench already.\n"
    assert kept(worked) == before


@pytest.mark.parametrize(
    ("words", "known"),
    [
        (("walk", "L-1044"), {"orders": ["L-1044"], "short": []}),
        (("pick", "L-1044", "B1S"), {"order": "L-1044", "tag": "B1S", "changed_anything": True, "left": 21}),
        (("pick", "L-1044", "B1S", "--there", "5"), {"order": "L-1044", "tag": "B1S", "changed_anything": True}),
        (("cut", "L-1044", "R27L"), {"order": "L-1044", "tag": "R27L", "planned_mm": 2909, "cut_mm": 2909}),
        (("side-piece", "R27L", "1.2 m", "60 cm", "M3"), {}),
        (("measure", "R27L", "24.35 m"), {"tag": "R27L", "left_mm": 24_350, "short": []}),
        (("flaw", "R27L", "3.2 m", "3.25 m", "slub"), {"tag": "R27L", "left_mm": 28_400}),
        (("spoil", "P1812", "--panel", "face", "--because", "so"), {"order": "L-1048", "tag": "P1812", "lot": "K7640"}),
        (("tie", "L-1048"), {"order": "L-1048", "not_cut": [], "changed_anything": False}),
        (("out", "T1U", "binding"), {"tag": "T1U", "order": "L-1048", "where": "out: binding"}),
        (("back", "T1U"), {"tag": "T1U", "order": "L-1048", "where": "at the bench"}),
        (("packing", "L-1048"), {"order": "L-1048", "state": "open", "fitted_here": False, "bundle": ""}),
        (("unpack", "L-1048", "P183X"), {"order": "L-1048", "tag": "P183X", "parcel": 0, "left": 4}),
        (("parcel", "L-1048"), {"number": 2, "what": "box", "state": "open", "pieces": []}),
        (("send", "L-1048", "--incomplete", "--because", "so"), {"order": "L-1048", "because": "so", "by": "AB"}),
        (("put-back", "L-1048", "B6I"), {"order": "L-1048", "tag": "B6I", "changed_anything": True, "left": 1}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_every_verb_answers_in_json(worked: Desk, words: tuple[str, ...], known: dict[str, object]) -> None:
    said = worked.call(*words, "--json").well()
    assert said.err == ""
    assert {key: said.json[key] for key in known} == known
    if words[0] == "side-piece":
        assert worked.call("show", said.json["tag"]).status == 0


def test_the_bench_answers_in_json(worked: Desk) -> None:
    (one,) = worked.call("bench", "--json").well().json
    assert (one["tag"], one["order"], one["stage"], one["holder"], one["pieces"]) == (
        "T1U", "L-1048", "sewing", "Rosa", 3
    )  # fmt: skip


def test_names_are_shown_literally(worked: Desk) -> None:
    said = worked.call("out", "T1U", "binding", "--with", "[red]<b>Rosa</b>[/]").well().out
    assert "binding ([red]<b>Rosa</b>[/])" in said
    assert "binding ([red]<b>Rosa</b>[/])" in worked.call("bench").well().out


NO_ORDER = "There is no order 'L-9999'"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("walk", "L-9999"), NO_ORDER),
        (("walk", "L-1044", "L-9999"), NO_ORDER),
        (("pick", "L-9999", "B1S"), NO_ORDER),
        (("pick", "L-1044", "B1X"), "mistyped"),
        (("pick", "L-1044", "bin one"), "is not a tag"),
        (("pick", "L-1044", "B37Y"), "Tool bag blank; order L-1044 needs something else from there. Put it back."),
        (("pick", "L-1048", "B1S"), "order L-1048 needs nothing more from there. Put it back."),
        (("pick", "L-1044", "P58L"), "is no roll, reel or bin of this shop"),
        (("pick", "L-1044", "R54F"), "is dye lot G899; order L-1044 holds dye lot G881"),
        (("pick", "L-1044", "B1S", "--there", "9"), "holds less than that in B1S"),
        (("pick", "L-1044", "B1S", "--there", "-5"), "'-5' is no count"),
        (("pick", "L-1044", "B1S", "--there", "²"), "'²' is no count"),
        (("put-back", "L-1044", "B1S"), "Nothing was picked from B1S"),
        (("put-back", "L-1048", "B1X"), "mistyped"),
        (("cut", "L-1044", "R29H"), "is dye lot K7640; order L-1044 holds dye lot K7731"),
        (("cut", "L-1048", "R29H"), "nothing of that is left to cut for order L-1048"),
        (("cut", "L-1044", "R17N"), "is Leathercloth, dark red; nothing of that is left to cut"),
        (("cut", "L-1044", "B1S"), "is no roll of this shop"),
        (("cut", "L-1044", "R27X"), "mistyped"),
        (("cut", "L-1044", "R27L", "--length", "99 m"), "there are 28.40 m"),
        (("cut", "L-1044", "R27L", "--length", "0"), "at least 1 mm"),
        (("cut", "L-1044", "R27L", "--length", "long"), "'long' is not a length"),
        (("side-piece", "R27L", "1.2 m", "3 m", "M3"), "narrower than the roll"),
        (("side-piece", "R27L", "10 mm", "600 mm", "M3"), "too short to be useful"),
        (("side-piece", "R27L", "1.2 m", "600 mm", "Z9"), "There is no place 'Z9'"),
        (("measure", "R27L", "long"), "'long' is not a length"),
        (("measure", "B1S", "2 m"), "is no roll of this shop"),
        (("flaw", "R27L", "3 m", "2 m", "slub"), "between 0 and 28.40 m"),
        (("flaw", "R27L", "28 m", "29 m", "slub"), "between 0 and 28.40 m"),
        (("flaw", "R27L", "2 m", "3 m", " "), "Say what the flaw is"),
        (("spoil", "P58L", "--because", "so"), "is not cut yet"),
        (("spoil", "P1812", "--because", "so"), "several panels"),
        (("spoil", "P1812", "--panel", "sole", "--because", "so"), "no panel 'sole'"),
        (("spoil", "P183X", "--because", "so"), "has no panels"),
        (("spoil", "P1812", "--panel", "face", "--because", " "), "Say how the panel was spoilt"),
        (("spoil", "P1813", "--because", "so"), "mistyped"),
        (("tie", "L-9999"), NO_ORDER),
        (("tie", "L-1044"), "Nothing of order L-1044 can be tied yet"),
        (("out", "T1S", "sewing"), "mistyped"),
        (("out", "T9E", "sewing"), "No bundle in this shop has the tag T9E"),
        (("out", "P1812", "sewing"), "P1812"),
        (("out", "T1U", "sewin"), "'sewing'"),
        (("back", "T1S"), "mistyped"),
        (("back", "T9E"), "No bundle in this shop has the tag T9E"),
        (("packing", "L-9999"), NO_ORDER),
        (("packing", "R29H"), "is nothing of an order"),
        (("packing", "K77K"), "is nothing of an order"),
        (("pack", "L-9999", "P1812"), NO_ORDER),
        (("pack", "L-1048", "P58L"), "is of order L-1044, not of L-1048. Put it back."),
        (("pack", "L-1048", "P1813"), "mistyped"),
        (("pack", "L-1048", "P99990"), "P99990"),
        (("pack", "L-1048", "R29H"), "R29H"),
        (("pack", "L-1048", "P1812"), "its bundle T1U is out: sewing (Rosa)"),
        (("pack", "L-1044", "P58L"), "is not ready: panel felt of Underlay felt, natural not cut yet."),
        (("tick", "L-1048", "P182Z"), "not ticked but scanned"),
        (("tick", "L-1048", "P58L"), "is of order L-1044, not of L-1048. Put it back."),
        (("unpack", "L-1048", "P58L"), "is of order L-1044, not of L-1048"),
        (("parcel", "L-1048", "crate"), "not 'crate'"),
        (("parcel", "L-9999"), NO_ORDER),
        (("send", "L-9999"), NO_ORDER),
        (("send", "L-1048"), "Order L-1048 is not complete"),
        (("send", "L-1048", "--incomplete"), "with a reason"),
        (("send", "L-1041", "--incomplete", "--because", "so"), "Nothing of order L-1041 is packed"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_cannot_be_done_is_refused_with_a_sentence_and_nothing_is_written(
    worked: Desk, words: tuple[str, ...], told: str
) -> None:
    before = kept(worked)
    worked.call(*words).refused(told)
    assert kept(worked) == before


def test_a_parcel_that_was_not_begun_is_refused(worked: Desk) -> None:
    worked.call("back", "T1U").well()
    worked.call("pack", "L-1048", "P1812", "--parcel", "7").refused("no parcel 7", "It has 1.")


@pytest.mark.parametrize(
    "words",
    [
        ("walk",),
        ("pick", "L-1044"),
        ("put-back", "L-1044"),
        ("cut", "L-1044"),
        ("side-piece", "R27L", "1.2 m", "600 mm"),
        ("measure", "R27L"),
        ("flaw", "R27L", "3.2 m", "3.25 m"),
        ("spoil", "P1812"),
        ("tie",),
        ("bench", "L-1048"),
        ("out", "T1U"),
        ("back",),
        ("packing",),
        ("pack", "L-1048"),
        ("tick", "L-1048"),
        ("unpack", "L-1048"),
        ("parcel",),
        ("send",),
        ("send", "L-1048", "--because", "the customer cannot wait"),
        ("pack", "L-1048", "P1812", "--parcel", "0"),
        ("pack", "L-1048", "P1812", "--parcel", "one"),
        ("pack", "L-1048", "P1812", "--into", "1"),
    ],
    ids=" ".join,
)
def test_a_wrong_call_is_told_what_is_wrong_and_nothing_is_written(worked: Desk, words: tuple[str, ...]) -> None:
    before = kept(worked)
    worked.call(*words).refused(status=2)
    assert kept(worked) == before
