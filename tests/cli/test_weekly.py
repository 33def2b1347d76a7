"""The weekly run from a shell and a timer: runs shown again, an item explained, who is forecast, last orders."""

from __future__ import annotations

import json

import pytest

from tests.cli.conftest import Desk


def test_a_timer_gets_one_line_and_the_run_is_shown_again(desk: Desk) -> None:
    said = desk.call("reorder", "--week", "2026-W51", "--quiet", "--by", "TIMER").well()
    (line,) = said.out.splitlines()
    assert line.startswith("2026-W51: ")
    assert line.endswith(" urgent.")
    runs = desk.call("reorder", "--runs").well().out
    assert f"{line} Made by TIMER" in runs
    (made, *_) = desk.call("reorder", "--runs", "--json").well().json
    report = desk.call("reorder", "--week", "2026-W51", "--json").well().json
    again = desk.call("reorder", "--run", made["number"], "--json", "--inputs", "in.json").well().json
    assert again == report
    assert json.loads((desk.folder / "in.json").read_text(encoding="utf-8"))["week"] == "2026-W51"


def test_an_item_explains_itself(desk: Desk) -> None:
    said = desk.call("reorder", "--why", "leathercloth/black").well().out
    for word in ("free:", "Lead time", "Reorder point", "forecast", "week"):
        assert word in said
    told = desk.call("reorder", "--why", "leathercloth/black", "--json").well().json
    assert told["steps"][0] in said
    desk.call("reorder", "--why", "leathercloth/blak").refused("leathercloth/black")


def test_a_group_is_planned_by_a_forecast(desk: Desk) -> None:
    said = desk.call("plan-by", "forecast", "--group", "hidem", "--target", "98", "--target-of", "shelf").well().out
    assert said == "group hidem: planned by forecast, 98 % of demand met from the shelf\n"
    assert said in desk.call("plan-by").well().out
    desk.call("plan-by", "limits", "--item", "hidem-binding/black").well()
    assert "item hidem-binding/black: planned by limits" in desk.call("plan-by").well().out
    desk.call("plan-by", "--item", "hidem-binding/black", "--as-group").well()
    assert "item hidem" not in desk.call("plan-by").well().out
    desk.call("plan-by", "forecast", "--group", "hidden").refused("hidem")


def test_a_last_order_is_written_down_listed_and_ended(desk: Desk) -> None:
    day = ("--until", "2027-03-31", "--note", "the mill closes")
    desk.call("last-order", "leathercloth/tan", *day).well()
    listed = desk.call("last-order").well().out
    assert "leathercloth/tan" in listed
    assert "until 2027-03-31 (the mill closes), for 52 weeks after" in listed
    (told,) = desk.call("last-order", "--json").well().json
    assert (told["item"], told["until"]) == ("leathercloth/tan", "2027-03-31")
    desk.call("last-order", "leathercloth/tan", "--ended", "bought enough").well()
    assert desk.call("last-order").well().out == "No supplier's notice holds.\n"
    desk.call("last-order", "tool-bag-blank", *day).refused("made here")


@pytest.mark.parametrize(
    "words",
    [
        ("reorder", "--inputs", "in.json"),
        ("reorder", "--runs", "--run", "1"),
        ("reorder", "--run", "1", "--week", "2026-W51"),
        ("plan-by", "forecast"),
        ("plan-by", "--group", "hidem"),
        ("plan-by", "forecast", "--group", "hidem", "--item", "tack-10"),
        ("plan-by", "limits", "--item", "tack-10", "--target", "95"),
        ("last-order", "tack-10"),
        ("last-order", "tack-10", "--until", "soon"),
        ("last-order", "--until", "2027-03-31"),
    ],
)
def test_a_call_that_says_too_little_or_too_much_is_wrong(desk: Desk, words: tuple[str, ...]) -> None:
    said = desk.call(*words)
    assert (said.status, said.out) == (2, "")
    assert said.err
