"""The verbs that take and change orders and hold stock for them, as a person types them."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from stockroom.store.shipped import shipped
from tests.cli.conftest import Desk

TAKE = ("take", "--kit", "handles-bag", "--customer", "Ada Holm", "--car", "RP 2417")


def rows(desk: Desk) -> int:
    """How many rows the tables of orders, requirements and holds have in all."""
    with sqlite3.connect(desk.shop) as connection:
        tables = ("customer_order", "requirement", "reservation", "planned_cut", "movement", "job")
        total = sum(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables)
    connection.close()
    return int(total)


def ready(desk: Desk, number: str) -> str:
    """How ready an order on the rail is."""
    (word,) = (entry["ready"] for entry in desk.call("rail", "--json").json if entry["number"] == number)
    return str(word)


def test_an_order_is_taken_from_arguments_and_goes_on_to_be_held(desk: Desk) -> None:
    said = desk.call(*TAKE, "--choose", "bag-length=long", "--wanted", "2027-01-15", "--json").well()
    number = said.json["number"]
    (entry,) = (one for one in desk.call("rail", "--json").json if one["number"] == number)
    assert (entry["customer"], entry["wanted"], entry["ready"]) == ("Ada Holm", "2027-01-15", "not held yet")
    desk.call("reserve", number).well()
    assert ready(desk, number) == "held"


def test_an_order_says_what_it_waits_for_and_goes_on_when_it_is_answered(desk: Desk) -> None:
    said = desk.call(*TAKE).well()
    number = said.out.split()[1]
    assert "waits for 'bag-length'" in said.out
    assert f"Next: stockroom reserve {number}" in said.out
    done = desk.call("answer", number, "bag-length", "short", "--json").well()
    assert done.json["still_waits"] == []
    assert ready(desk, number) == "not held yet"


def test_a_wrong_answer_is_refused_and_the_question_stays(desk: Desk) -> None:
    desk.call("answer", "L-1046", "bag-length", "medium").refused("medium", "long")
    desk.call("answer", "L-1046", "bag-colour", "black").refused("bag-colour")
    assert desk.call("answer", "L-1046", "bag-length", "long").well().out.startswith("Order L-1046: 'bag-length'")


def test_an_order_is_taken_from_a_file(desk: Desk) -> None:
    text = (shipped("seed") / "orders" / "01-boot-set-in-red.toml").read_text(encoding="utf-8")
    (desk.folder / "order.toml").write_text(
        text.replace("L-1041", "L-2001").replace("opening+21d", "2027-02-01"), encoding="utf-8"
    )
    said = desk.call("take", "order.toml").well()
    assert said.out.startswith("Order L-2001 taken (tag O")
    assert "Known car: RP 1983." in said.out
    desk.call("take", "order.toml").refused("There is an order L-2001 already")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((*TAKE, "--quantity", "0"), "positive whole number"),
        ((*TAKE, "--quantity", "1.5"), "positive whole number"),
        ((*TAKE, "--quantity", "²"), "positive whole number"),
        ((*TAKE, "--trim", "no-such-colour"), "no-such-colour"),
        (("take", "--kit", "no-such-kit", "--customer", "A", "--car", "RP 2417"), "no-such-kit"),
        ((*TAKE, "--choose", "bag-length=long", "--choose", "bag-length=short"), "contradict"),
        ((*TAKE, "--choose", "bag-length=medium"), "medium"),
        ((*TAKE, "--wanted", "31.12.2026"), "is not a day"),
        ((*TAKE, "--number", "L-1041"), "L-1041"),
        ((*TAKE, "--piece", "XXX"), "XXX"),
        ((*TAKE, "--hand", "middle"), "middle"),
        ((*TAKE, "--built", "last summer"), "last summer"),
        (("take", "no-such-file.toml"), "no-such-file.toml"),
        (("explode", "L-9999"), "There is no order 'L-9999'"),
        (("reserve", "L-9999"), "There is no order 'L-9999'"),
        (("cancel", "L-9999"), "There is no order 'L-9999'"),
        (("show", "R1042L"), "R1042L"),
        (("show", "R10420"), "mistyped"),
        (("car", "RP 9999"), "RP 9999"),
        (("car", "RP 1983", "--hand", "middle"), "middle"),
        (("change", "L-1041", "--quantity", "-1"), "positive whole number"),
        (("change", "L-1041", "--wanted", "soon"), "is not a day"),
        (("change", "L-1041", "--line", "7", "--quantity", "2"), "has no line 7"),
        (("change", "L-1041", "--leave-out", "QPR"), "--because"),
        (("change", "L-1041", "--leave-out", "XXX", "--because", "so"), "XXX"),
        (("change", "L-1041", "--hole", "QPR:top:no such hole=solid", "--because", "so"), "no such hole"),
        (("change", "L-1041", "--cloth", "QPR=no-such-cloth", "--because", "so"), "no-such-cloth"),
        (("change", "L-1041", "--colour", "QPR=no-such-colour", "--because", "so"), "no-such-colour"),
        (("change", "L-1041", "--overlong", "QPR:top:rear=far", "--because", "so"), "far"),
        (("overrule", "L-1041", "no-such-rule", "black", "--because", "so"), "no-such-rule"),
        (("overrule", "L-1041", "carpet-colour", "black", "--because", " "), "reason"),
        (("reserve", "L-1043", "--approve-mix", "hood-cloth/fawn"), "reason"),
        (("reserve", "L-1043", "--approve-mix", "no/such", "--because", "so"), "no/such"),
        (("reorder", "--week", "2026-W99"), "2026-W99"),
        (("reorder", "--week", "next"), "next"),
        (("kitbook", "check", "--code", "no-such-book"), "no-such-book"),
        (("load", "no-such-folder"), "no-such-folder"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_cannot_be_done_is_refused_with_a_sentence_and_nothing_is_written(
    desk: Desk, words: tuple[str, ...], told: str
) -> None:
    before = rows(desk)
    desk.call(*words).refused(told)
    assert rows(desk) == before


@pytest.mark.parametrize(
    "words",
    [
        ("conjure",),
        ("rail", "--conjure"),
        ("rail", "extra"),
        ("show",),
        ("answer", "L-1046"),
        ("overrule", "L-1041", "carpet-colour", "black"),
        ("take",),
        ("take", "--kit", "handles-bag", "--customer", "Ada Holm"),
        (*TAKE, "--choose", "bag-length"),
        ("change", "L-1041"),
        ("change", "L-1041", "--wanted", "open", "--quantity", "2"),
        ("change", "L-1041", "--add", "QPR", "--leave-out", "QPL", "--because", "so"),
        ("change", "L-1041", "--hole", "QPR", "--because", "so"),
        ("change", "L-1041", "--line", "0", "--quantity", "2"),
        ("reserve", "L-1041", "--because", "so"),
        ("paper", "conjure"),
        ("paper", "tags", "L-1041", "--copies", "many"),
        ("kitbook",),
        ("paper",),
    ],
    ids=" ".join,
)
def test_a_call_that_is_wrong_ends_with_2(desk: Desk, words: tuple[str, ...]) -> None:
    before = rows(desk)
    desk.call(*words).refused(status=2)
    assert rows(desk) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--wanted", "2027-03-01"), "Wanted 2027-03-01"),
        (("--wanted", "open"), "Wanted open"),
        (("--line", "2", "--quantity", "2"), "Line 2: quantity 2"),
        (("--leave-out", "QPR", "--because", "it is to be rebuilt"), "the piece is left out"),
        (("--hole", "QPR:top:filler pipe=solid", "--because", "filler moved"), "is left solid"),
        (("--overlong", "QPR:top:rear=30", "--because", "a dent"), "over-long"),
        (("--cloth", "BFM=loop-carpet", "--because", "a wish"), "the cloth is"),
        (("--colour", "BFM=black", "--because", "a wish"), "the colour is"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_each_change_is_made_said_and_shown(desk: Desk, words: tuple[str, ...], told: str) -> None:
    said = desk.call("change", "L-1041", *words).well()
    assert told in said.out
    assert said.out.startswith("Order L-1041: ")
    assert desk.call("audit").status == 0
    if "--because" in words:
        assert words[-1] in desk.call("explode", "L-1041").out, "the ticket does not show the reason"


def test_a_piece_of_the_book_is_added_to_one_order(desk: Desk) -> None:
    before = desk.call("explode", "L-1048", "--json").json["ticket"]["needs"]
    desk.call("change", "L-1048", "--add", "QPL", "--because", "the old one is torn").well()
    after = desk.call("explode", "L-1048", "--json").json["ticket"]["needs"]
    assert {need["piece"] for need in after} - {need["piece"] for need in before} == {"QPL"}


def test_a_change_proved_on_the_car_comes_back_with_its_next_order(desk: Desk) -> None:
    change = ("--hole", "QPR:top:filler pipe=solid", "--because", "filler moved", "--proved")
    desk.call("change", "L-1041", *change).well()
    again = desk.call("take", "--kit", "full-boot-set", "--piece", "QPR", "--customer", "Ada Holm", "--car", "RP 1983")
    number = again.well().out.split()[1]
    assert "filler moved (AB, proved on this car)" in desk.call("explode", number, "--why").out


def test_the_whole_order_is_made_anew_from_a_file(desk: Desk) -> None:
    text = (shipped("seed") / "orders" / "01-boot-set-in-red.toml").read_text(encoding="utf-8")
    cut = text[: text.rindex("[[lines]]")].replace("opening+21d", "2027-04-01")
    (desk.folder / "order.toml").write_text(cut, encoding="utf-8")
    said = desk.call("change", "L-1041", "--file", "order.toml").well()
    assert "Line 2 dropped: Tool bag" in said.out
    ticket = desk.call("explode", "L-1041", "--json").json["ticket"]
    assert (len(ticket["lines"]), ticket["wanted"]) == (1, "2027-04-01")


def test_a_rule_is_overruled_for_one_car_with_initials_and_a_reason(desk: Desk) -> None:
    desk.call("overrule", "L-1041", "carpet-colour", "black", "--because", "owner's wish", "--by", "HM").well()
    lines = desk.call("explode", "L-1041").out
    assert "overruled: black, because owner's wish (HM)" in lines
    assert "Ribbed boot carpet, black" in lines
    assert "Ribbed boot carpet, red" not in lines


def test_a_cancelled_order_lets_go_and_leaves_the_rail(desk: Desk) -> None:
    assert desk.call("cancel", "L-1041").well().out.startswith("Order L-1041 is cancelled; ")
    assert "L-1041" not in {entry["number"] for entry in desk.call("rail", "--json").json}
    desk.call("cancel", "L-1041").refused("cancelled")
    desk.call("reserve", "L-1041").refused("cancelled")
    assert desk.call("audit").status == 0


def test_reserving_twice_changes_nothing(desk: Desk) -> None:
    before = rows(desk)
    assert "held already" in desk.call("reserve", "L-1041").well().out
    assert rows(desk) == before


def test_what_is_short_is_refused_or_held_in_part_and_named(desk: Desk) -> None:
    refused = desk.call("reserve", "L-1042").refused("is short, so nothing more was held", "Ribbed boot carpet")
    partly = desk.call("reserve", "L-1042", "--what-there-is")
    assert partly.status == 1
    assert "SHORT Ribbed boot carpet, dark green" in partly.out
    first = refused.err.strip().splitlines()[0]
    assert first.rpartition("for it: ")[2] in partly.out
    assert "To hold what there is: stockroom reserve L-1042 --what-there-is" in refused.err


def test_a_mix_of_lots_that_do_not_match_is_held_once_an_eye_saw_them_near_and_somebody_approves_it(desk: Desk) -> None:
    never = "Lot W4391 would have enough, but may not be used here. Lot W4391 beside lot W4288: does not match; ΔE00 is"
    desk.call("reserve", "L-1043").refused(never)
    desk.call("verdict", "hood-cloth/fawn", "W4288", "W4391", "near", "--light", "daylight", "--by", "GH").well()
    desk.call("reserve", "L-1043").refused(
        "W4391 would do. Lot W4391 beside lot W4288: check by eye in daylight; GH saw them side by side",
        "the eye stands above it",
        "--approve-mix hood-cloth/fawn --lot W4391 --lot W4288",
    )
    words = ("--approve-mix", "hood-cloth/fawn", "--because", "never side by side")
    desk.call("reserve", "L-1043", *words, "--lot", "W4391", "--lot", "W4410").refused("is another mix now")
    desk.call("reserve", "L-1043", "--lot", "W4391").refused("nothing to approve", status=2)
    said = desk.call("reserve", "L-1043", *words, "--json").well()
    assert said.json["short"] == []
    assert ready(desk, "L-1043") == "held"
    assert desk.call("audit").status == 0


def test_a_car_is_put_right_and_its_orders_follow(desk: Desk) -> None:
    desk.call(*TAKE, "--choose", "bag-length=long").well()
    said = desk.call("car", "RP 2417", "--trim", "red").well()
    assert "red" in said.out
    assert "red" in desk.call("car", "RP 2417").out


def test_writing_verbs_answer_in_json_too(desk: Desk) -> None:
    for words in (
        (*TAKE,),
        ("answer", "L-1046", "bag-length", "long"),
        ("change", "L-1041", "--wanted", "open"),
        ("overrule", "L-1041", "carpet-colour", "black", "--because", "so"),
        ("reserve", "L-1041"),
        ("car", "RP 1983", "--hood", "fawn"),
        ("cancel", "L-1041"),
    ):
        answered = desk.call(*words, "--json").well().json
        assert isinstance(answered, dict), words


def test_who_did_it_is_the_initials_given_or_the_environments(desk: Desk) -> None:
    desk.call("change", "L-1041", "--overlong", "QPR:top:rear=30", "--because", "a dent", "--by", "HM").well()
    desk.call("change", "L-1041", "--overlong", "QPL:top:rear=30", "--because", "a dent too").well()
    lines = desk.call("explode", "L-1041").out
    assert "because a dent (HM)" in lines
    assert "because a dent too (AB)" in lines


def test_the_weekly_reorder_in_every_form(desk: Desk, tmp_path: Path) -> None:
    said = desk.call("reorder", "--week", "2026-W48", "--csv", "lines.csv", "--pdf", "report.pdf").well()
    assert said.out.startswith("Reorder report of Lindow Trim, 2026-W48")
    assert said.err == "report.pdf\nlines.csv\n"
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF-")
    report = desk.call("reorder", "--week", "2026-W48", "--json").well().json
    assert report["week"] == "2026-W48"
    items = json.dumps(report)
    csv = (tmp_path / "lines.csv").read_text(encoding="utf-8").splitlines()
    assert len(csv) > 3
    assert all(item.split(",")[2] in items for item in csv[1:])
