"""What is typed at the shell is held to what a file is held to: it ends up on the same tickets and paper."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Desk
from tests.faults.hostile import NAMES, TEXTS

TAKE = ("take", "--kit", "tonneau-cover")
_ESCAPE = "\x1b[31mred"
_LONG = "x" * 100_000
_DIGITS = "9" * 5_000


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((*TAKE, "--customer", _LONG, "--car", "y"), "up to 300 characters"),
        ((*TAKE, "--customer", _ESCAPE, "--car", "y"), "\\u001b[31mred"),
        ((*TAKE, "--customer", "a\u202eb", "--car", "y"), "\\u202e"),
        ((*TAKE, "--customer", "a", "--car", _LONG), "up to 300 characters"),
        ((*TAKE, "--customer", "a", "--car", "RP 1\x1b[0m"), "letters, figures and blanks"),
        ((*TAKE, "--customer", "a", "--car", "y", "--number", "../../x"), "an order number of letters and digits"),
        ((*TAKE, "--customer", "a", "--car", "y", "--number", _LONG), "an order number of letters and digits"),
        ((*TAKE, "--customer", "a", "--car", "y", "--note", "a\x1b[2J"), "none of them control characters"),
        ((*TAKE, "--customer", "a", "--car", "y", "--quantity", _DIGITS), "positive whole number"),
        ((*TAKE, "--customer", "a", "--car", "y", "--quantity", "１２"), "positive whole number"),
        ((*TAKE, "--customer", "a", "--car", "y", "--quantity", "1" + "0" * 30), "from 1 to"),
        ((*TAKE, "--customer", "a", "--car", "y", "--wanted", "0000-00-00"), "is not a day"),
        ((*TAKE, "--customer", "a", "--car", "y", "--trim", _LONG), "There is no colour"),
        ((*TAKE, "--customer", "a", "--car", "y", "--series", _ESCAPE), "\\u001b[31mred"),
        (("overrule", "L-1041", "carpet-colour", "black", "--because", _ESCAPE), "Reason: found"),
        (("reserve", "L-1043", "--approve-mix", "hood-cloth/fawn", "--because", _LONG), "Reason: found"),
        (("change", "L-1041", "--leave-out", "QPR", "--because", _ESCAPE), "Reason: found"),
        (("change", "L-1041", "--overlong", "QPR:top:rear=90000 m", "--because", "x"), "too much"),
        (("change", "L-1041", "--line", "1" + "0" * 30, "--quantity", "1"), "has no line"),
        (("answer", "L-1046", "chassis", "RP 1\x1b[0m"), "Chassis number: found"),
        (("answer", "L-1046", "built", _DIGITS), "Built: found"),
        (("cut", "L-1044", "R27L", "--note", _ESCAPE), "Note: found"),
        (("cut", "L-1044", "R27L", "--note", _LONG), "Note: found"),
        (("flaw", "R27L", "1 m", "2 m", _ESCAPE), "Flaw: found"),
        (("spoil", "P61X", "--because", _ESCAPE), "Reason: found"),
        (("send", "L-1044", "--incomplete", "--because", _LONG), "Reason: found"),
        (("out", "T1U", "sewing", "--with", _ESCAPE), "Holder: found"),
        (("out", "T1U", _ESCAPE), "T1U"),
        (("pick", "L-1044", "B1S", "--there", "9" * 30), "Check"),
        (("pick", "L-1044", "B1S", "--there", _DIGITS), "figures"),
        (("pick", "L-1044", _ESCAPE), "\\u001b[31mred"),
        (("pick", _ESCAPE, "B1S"), "\\u001b[31mred"),
        (("measure", "R27L", "9" * 20), "too long to be meant"),
        (("measure", "R27L", _ESCAPE), "\\u001b[31mred"),
        (("side-piece", "R27L", "1 m", "600 mm", _ESCAPE), "\\u001b[31mred"),
        (("pack", "L-1044", "P58L", "--parcel", "9" * 30), "P58L"),
        (("parcel", "L-1044", _ESCAPE), "\\u001b[31mred"),
        (("packing", _LONG), "There is no order"),
        (("walk", _DIGITS), "There is no order"),
        (("reorder", "--week", "0001-W01"), "years away"),
        (("reorder", "--week", "9999-W52"), "years away"),
        (("show", _LONG), "is not a tag"),
        (("show", "../../x"), "is not a tag"),
        (("explode", _DIGITS), "There is no order"),
        (("paper", "tags", "L-1041", "--copies", "9" * 20), "cannot be printed"),
        (("paper", "tags", "L-1041", "--sheet", "../../x"), "no label sheet"),
    ],
    ids=lambda words: words[-1][:12].encode("ascii", "replace").decode() if isinstance(words, tuple) else None,
)
def test_it_is_refused_in_words_and_nothing_is_written(desk: Desk, words: tuple[str, ...], told: str) -> None:
    before = desk.shop.read_bytes()
    said = desk.call(*words).refused(told)
    assert len(said.err) < 1_500
    assert "\x1b" not in said.err
    assert "\u202e" not in said.err
    assert desk.shop.read_bytes() == before
    assert {path.name for path in desk.folder.iterdir()} <= {"shop.db", "shop.db-turns"}


def test_no_text_whatever_for_a_customer_or_car_is_a_fault_of_the_program(desk: Desk) -> None:
    for text in TEXTS[::3]:
        said = desk.call(*TAKE, "--customer", text or "a", "--car", text)
        assert said.status in (0, 1, 2)
        assert "fault of the program" not in said.err
        assert "\x1b" not in said.out + said.err
    desk.call("audit").well()


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_shown_as_it_is(desk: Desk, name: str) -> None:
    taken = desk.call(*TAKE, "--customer", name, "--car", "our barn car", "--json").well().json
    shown = next(one for one in desk.call("rail", "--json").well().json if one["number"] == taken["number"])
    assert shown["customer"] == name
    said = desk.call("rail").well().out
    assert name.encode("ascii", "replace").decode()[:10].split("?")[0] in said


def test_papers_of_an_order_are_named_without_a_path(desk: Desk) -> None:
    desk.call("paper", "pick-list", "L-1041/../L-1041").refused("There is no order")
    taken = desk.call(*TAKE, "--customer", "a", "--car", "../../car", "--json").well().json
    desk.call("paper", "fitting", taken["number"]).well()
    files = {path.name for path in desk.folder.iterdir()} - {"shop.db", "shop.db-turns"}
    assert len(files) == 1
    assert files.pop().startswith(f"fitting-{taken['number']}-")
