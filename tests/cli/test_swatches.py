"""Swatches and substitutes at the shell."""

from __future__ import annotations

from tests.cli.conftest import Desk


def test_a_swatch_goes_to_the_customer_and_comes_back_with_a_no(desk: Desk) -> None:
    bare = len(desk.call("swatch", "missing", "--json").well().json)
    tag = desk.call("swatch", "cut", "R8O", "60 mm", "M3", "--json").well().json["tags"][0]
    assert len(desk.call("swatch", "missing", "--json").well().json) == bare - 1
    desk.call("swatch", "send", tag, "L-1049", "--until", "soon").refused("'soon' is not a day")
    desk.call("swatch", "send", tag, "L-1049", "--until", "2026-13-01").refused("is not a day")
    assert "1.576 m of lot W4475 is held" in desk.call("swatch", "send", tag, "L-1049", "--until", "14d").well().out
    (waiting,) = desk.call("swatch", "sent", "--json").well().json
    assert (waiting["tag"], waiting["order"], waiting["overdue_days"]) == (tag, "L-1049", 0)
    assert f"until swatch {tag} is answered" in desk.call("show", "R8O").well().out
    desk.call("answer", "L-1049", "hood cloth in dark blue", "perhaps").refused("yes or no; 'perhaps' is neither")
    said = desk.call("swatch", "answer", tag, "no", "--from", "Anna Brook").well().out
    assert "No other lot of Coated hood cloth, dark blue has anything free." in said
    desk.call("audit").well()


def test_a_substitute_is_taken_only_with_a_name(desk: Desk) -> None:
    words = ("substitute", "L-1050", "leathercloth/tan", "--with", "leathercloth-smooth/tan")
    desk.call(*words).refused("needs the customer's yes")
    done = desk.call(*words, "--yes-from", "Peter Wray", "--json").well().json
    assert (done["lines"], done["yes_from"], done["reserved"]["short"]) == ([1], "Peter Wray", [])
    assert "L-1044" in done["ask_too"][0]
    assert "Smooth leathercloth, tan instead of" in desk.call("explode", "L-1050", "--why").well().out
    desk.call("audit").well()
