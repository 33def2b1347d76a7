"""The verbs that read: what they print, their JSON, and that nothing else gets on stdout."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Desk

READING = {
    ("rail",): [
        "number", "tag", "customer", "wanted", "overdue_days", "fitted_here", "kits", "cars", "needed", "held", "waits",
        "short", "answer_overdue_days", "ready",
    ],
    ("show", "L-1041"): ["tag", "kind", "title", "facts", "promises", "movements", "order"],
    ("car", "RP 1983"): ["tag", "kind", "title", "facts", "promises", "movements", "order"],
    ("explode", "L-1041"): ["ticket", "totals"],
    ("worth",): ["day", "time_zone", "currency", "items", "things", "value_minor", "quarantined_minor", "remarks"],
    ("cost", "L-1041"): ["order", "state", "line", "currency", "parts", "taken_minor", "spoilt_minor"],
    ("audit",): ["looked_at", "proofs"],
    ("kitbook", "list"): ["id", "code", "version", "title", "format"],
    ("kitbook", "check"): ["title", "faults"],
}  # fmt: skip
"""Call → the keys its JSON begins with, or those of its first entry. Programs read them: they may grow, not change."""


@pytest.mark.parametrize("words", READING, ids=" ".join)
def test_json_of_a_reading_verb_parses_and_keeps_its_keys(demo_made: Desk, words: tuple[str, ...]) -> None:
    said = demo_made.call(*words, "--json").well()
    first = said.json[0] if isinstance(said.json, list) else said.json
    assert list(first)[: len(READING[words])] == READING[words]
    assert said.err == ""


@pytest.mark.parametrize("words", READING, ids=" ".join)
def test_a_person_is_told_in_plain_lines(demo_made: Desk, words: tuple[str, ...]) -> None:
    said = demo_made.call(*words).well()
    assert said.out.strip()
    assert not said.out.startswith(("{", "["))
    assert "\x1b" not in said.out
    assert said.err == ""


def test_rail_lists_the_orders_in_hand_by_the_date_wanted(demo_made: Desk) -> None:
    rail = demo_made.call("rail", "--json").json
    dates = [entry["wanted"] for entry in rail]
    assert len(rail) == 11
    assert dates == [*sorted(date for date in dates if date), None]
    assert {entry["ready"] for entry in rail} == {"held", "short", "waits"}

    lines = demo_made.call("rail").out.splitlines()
    assert [line.split()[0] for line in lines if not line.startswith(" ")] == [entry["number"] for entry in rail]
    assert any("OVERDUE" in line for line in lines)
    assert any(line.strip().startswith("short: Ribbed boot carpet, dark green") for line in lines)


def test_show_opens_whatever_a_tag_names(demo_made: Desk) -> None:
    ticket = demo_made.call("explode", "L-1041", "--json").json["ticket"]
    assert demo_made.call("show", "L-1041", "--json").json["tag"] == ticket["tag"]
    by_tag = demo_made.call("show", ticket["tag"].lower(), "--json").json
    assert (by_tag["kind"], by_tag["order"]) == ("order", "L-1041")


def test_why_gives_every_line_its_reason(demo_made: Desk) -> None:
    plain = demo_made.call("explode", "L-1041").out.splitlines()
    why = demo_made.call("explode", "L-1041", "--why").out.splitlines()
    added = [line for line in why if line not in plain]
    assert set(plain) <= set(why)
    assert any("Decided by" in line for line in added), "no rule is given as a reason"
    needs = [position for position, line in enumerate(why) if line.endswith(("]", "] CHANGED"))]
    for position in needs:
        assert why[position + 1].startswith(" " * 12), f"no reason under: {why[position]}"


def test_an_order_may_be_named_by_its_tag(demo_made: Desk) -> None:
    ticket = demo_made.call("explode", "L-1041", "--json").json["ticket"]
    assert demo_made.call("explode", ticket["tag"]).out == demo_made.call("explode", "L-1041").out


def test_audit_finds_the_demo_good(demo_made: Desk) -> None:
    said = demo_made.call("audit").well()
    assert said.out.endswith("The books are good.\n")
    assert not any(proof["faults"] for proof in demo_made.call("audit", "--json").json["proofs"])


def test_audit_of_books_that_were_tampered_with_names_the_fault(desk: Desk) -> None:
    import sqlite3

    connection = sqlite3.connect(desk.shop)
    connection.execute("UPDATE holding SET held = held + 1, reserved = reserved WHERE held > 0 AND id = 1")
    connection.commit()
    connection.close()
    said = desk.call("audit")
    assert said.status == 1
    assert "movements" in said.out
    assert "The books are good." not in said.out
    assert any(proof["faults"] for proof in desk.call("audit", "--json").json["proofs"])


def test_kitbook_check_of_a_folder_needs_no_shop(demo_made: Desk) -> None:
    from stockroom.store.shipped import shipped

    said = demo_made.call("--shop", "no-such-shop.db", "kitbook", "check", shipped("seed")).well()
    assert "no faults" in said.out


def test_kitbook_check_of_a_book_with_a_gap_ends_with_1(desk: Desk) -> None:
    from stockroom.store.shipped import shipped

    text = (shipped("seed") / "kitbook.toml").read_text(encoding="utf-8")
    book = desk.folder / "book.toml"
    book.write_text(text.replace('"ribbed-carpet"', '"no-such-cloth"'), encoding="utf-8")
    said = desk.call("kitbook", "check", book)
    assert said.status == 1
    assert "no-such-cloth" in said.out + said.err
    assert "Traceback" not in said.err
