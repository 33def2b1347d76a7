"""Law 4: a job either happened or it did not, wherever it is broken off; and law 5: what refuses is a sentence."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel, change_line, retake
from stockroom.jobs.reserve import approve_mix, reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.shops import LATE, LATER, SECOND, STAMP, bin_of, change, dump, line, order, plenty, propose_mix, stock_shop

KEPT_ORDER = order(line("boot-set"), line("tool-bag", 2), line("hood"), number="L-1")
OTHER_LINES = order(line("boot-set", 2), line("tonneau", car=LATE), line("tool-bag", 1), number="L-1")
PROVED = replace(change("hole", "BF", panel="top", part="filler", made="solid"), proved=True)
JOBS: dict[str, Callable[[Shop], object]] = {
    "take": lambda shop: take(shop, order(line("touring", car=SECOND), line("hood", car=LATE), number="L-2"), LATER),
    "reserve": lambda shop: reserve(shop, "L-1", LATER),
    "hold what there is": lambda shop: reserve_what_there_is(shop, "L-1", LATER),
    "change": lambda shop: change_line(shop, "L-1", 1, PROVED, LATER),
    "take again": lambda shop: retake(shop, "L-1", OTHER_LINES, LATER),
    "cancel": lambda shop: cancel(shop, "L-1", LATER),
    "answer": lambda shop: answer(shop, "L-1", "window", "zipped", LATER),
    "approve a mix": lambda shop: approve_mix(shop, "L-1", "carpet/red", "no difference", LATER),
}
HELD_FIRST = {"change", "take again", "cancel", "answer"}


@contextmanager
def broken_off(shop: Shop, at: int) -> Iterator[None]:
    """Ctrl-C is pressed when the statement of this number (from 1) is about to be sent."""
    sent = 0

    def _sent(*_: Any) -> None:
        nonlocal sent
        sent += 1
        if sent == at:
            raise KeyboardInterrupt

    writing, _ = shop.engines
    event.listen(writing, "before_cursor_execute", _sent)
    try:
        yield
    finally:
        event.remove(writing, "before_cursor_execute", _sent)


def breaks_off(shop: Shop, job: str, at: int) -> bool:
    """Whether the job was broken off at this statement; False: it was done before it."""
    try:
        with broken_off(shop, at):
            JOBS[job](shop)
    except KeyboardInterrupt:
        return True
    return False


def _pressed(*_: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize("job", JOBS)
def test_ctrl_c_at_any_statement_leaves_the_shop_as_it_was_before_the_job(
    shop: Shop, tmp_path: Path, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    stock_shop(shop, tmp_path, *plenty(), bin_of("tool-bag-blank", 1))
    take(shop, KEPT_ORDER, STAMP)
    if job in HELD_FIRST:
        reserve(shop, "L-1", STAMP)
    if job == "approve a mix":
        propose_mix(shop, "L-1", "carpet/red", "1", "2")
    before = dump(shop)
    with monkeypatch.context() as at_the_commit:
        at_the_commit.setattr(shop.engines[0].dialect, "do_commit", _pressed)
        with pytest.raises(KeyboardInterrupt):
            JOBS[job](shop)
    assert dump(shop) == before
    at, step = 1, 2 if shop.engines[0].dialect.name == "sqlite" else 5
    while breaks_off(shop, job, at):
        assert dump(shop) == before, f"broken off at statement {at}"
        at += step
    assert at > step
    assert dump(shop) != before
    assert not audit(shop).faults
