"""Law 5: what is refused is said in sentences a person can act on, and no fault of the program reaches them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from stockroom.domain.facts import Overruling
from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.answer import answer
from stockroom.jobs.change import cancel, change_line, overrule, retake, set_quantity
from stockroom.jobs.explode import explode
from stockroom.jobs.reserve import approve_mix, reserve
from stockroom.jobs.show import show
from stockroom.jobs.take import take
from stockroom.jobs.ticket import ticket
from stockroom.store.database import Shop
from tests.shops import EARLY, LATER, STAMP, TODAY, change, dump, line, order, roll, stock_shop

PROGRAM_WORDS = re.compile(
    r"Traceback|Error\b|Exception|sqlalche|psycopg|sqlite3|\bNone\b|\bINSERT\b|\bSELECT\b|constraint|<[a-z]+\.|0x[0-9a-f]{6}",
)
NASTY = "[red]<b>\x1b[2J\u202e=cmd|'x'!A1\n../.."
_SOLID = change("hole", "BF", panel="top", part="filler", made="solid")
JOBS: dict[str, Callable[[Shop], object]] = {
    "take a kit": lambda shop: take(shop, order(line(NASTY)), STAMP),
    "take a colour": lambda shop: take(shop, order(line("hood"), cars=[replace(EARLY, hood_colour=NASTY)]), STAMP),
    "take a series": lambda shop: take(shop, order(line("hood"), cars=[replace(EARLY, series=NASTY)]), STAMP),
    "take a hand": lambda shop: take(shop, order(line("hood"), cars=[replace(EARLY, hand=NASTY)]), STAMP),
    "take a book": lambda shop: take(shop, order(line("hood"), book=NASTY), STAMP),
    "take a number": lambda shop: take(shop, order(line("hood"), number="L-1"), STAMP),
    "take a choice": lambda shop: take(shop, order(line("hood", choices={"window": NASTY})), STAMP),
    "take an option": lambda shop: take(shop, order(line("hood", choices={NASTY: "sewn"})), STAMP),
    "take a contradiction": lambda shop: take(
        shop, order(line("hood"), cars=[CarRequest("RP 1500", trim_colour="green")]), STAMP
    ),
    "take pieces": lambda shop: take(shop, order(line("hood", pieces=(NASTY,))), STAMP),
    "take a change": lambda shop: take(shop, order(line("boot-set", changes=(replace(_SOLID, part=NASTY),))), STAMP),
    "answer a name": lambda shop: answer(shop, "L-1", NASTY, "sewn", LATER),
    "answer with": lambda shop: answer(shop, "L-1", "window", NASTY, LATER),
    "answer on a line": lambda shop: answer(shop, "L-1", "window", "sewn", LATER, 9),
    "reserve": lambda shop: reserve(shop, NASTY, LATER),
    "approve": lambda shop: approve_mix(shop, "L-1", NASTY, "x", LATER),
    "overrule": lambda shop: overrule(shop, "L-1", 1, NASTY, Overruling("black", "AB", "x"), LATER),
    "overrule with": lambda shop: overrule(shop, "L-1", 1, "carpet-colour", Overruling(NASTY, "AB", "x"), LATER),
    "change a panel": lambda shop: change_line(shop, "L-1", 1, replace(_SOLID, panel=NASTY), LATER),
    "change a cloth": lambda shop: change_line(shop, "L-1", 1, change("cloth", "BF", to=NASTY), LATER),
    "change a quantity": lambda shop: set_quantity(shop, "L-1", 1, -7, LATER),
    "retake": lambda shop: retake(shop, "L-1", order(line(NASTY)), LATER),
    "cancel": lambda shop: cancel(shop, NASTY, LATER),
    "ticket": lambda shop: ticket(shop, NASTY, TODAY),
    "explode": lambda shop: explode(shop, NASTY, TODAY),
    "show": lambda shop: show(shop, NASTY),
}


@pytest.mark.parametrize("job", JOBS)
def test_a_refusal_is_a_sentence_in_plain_words_with_nothing_hidden_in_it(
    sqlite_shop: Shop, tmp_path: Path, job: str
) -> None:
    stock_shop(sqlite_shop, tmp_path, roll("carpet/red", 5000))
    take(sqlite_shop, order(line("boot-set"), line("hood"), number="L-1"), STAMP)
    before = dump(sqlite_shop)
    with pytest.raises(Refusal) as refused:
        JOBS[job](sqlite_shop)
    for sentence in (refused.value.sentence, *refused.value.faults):
        assert sentence == sentence.strip()
        assert sentence[0].isupper() or sentence[0] in "'0123456789-"
        assert sentence.endswith((".", "?")), sentence
        assert sentence.isprintable(), sentence
        assert not PROGRAM_WORDS.search(sentence.replace(NASTY, "")), sentence
    assert dump(sqlite_shop) == before
