"""Opening stock and the past come in through the ledger, once however often they are written, on both databases."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from stockroom.domain.catalogue import (
    Flaw,
    OpeningBin,
    OpeningPurchase,
    OpeningRoll,
    PastKind,
    PastMovement,
    Reading,
)
from stockroom.jobs.audit import audit
from stockroom.store import history, stock
from stockroom.store.catalogue import Written
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry, append, begin_job
from stockroom.store.readings import readings_by_roll
from stockroom.store.tables import Holding, Movement, Purchase
from tests.databases import count_statements
from tests.small_shop import STAMP, write_small_shop

OPENING = date(2026, 11, 23)
ROLL = OpeningRoll(
    label="R001",
    item="hood-cloth/black",
    lot="W4410",
    length_mm=24_600,
    width_mm=1520,
    place="H1",
    measured=True,
    remnant=False,
    value_minor=94_710,
    flaws=(Flaw(8200, 8240, "slub"),),
    reading=Reading(18.7, 0.4, -0.7),
    received=date(2026, 9, 21),
)
DAMP = replace(ROLL, label="R002", lot="W1", length_mm=900, remnant=True, reading=None, flaws=(), quarantined="damp")
NUTS = OpeningBin("nut", "", "B1", 400, 1_200)


@pytest.fixture
def small(shop: Shop) -> Shop:
    with shop.write() as tx:
        write_small_shop(tx)
    return shop


def open_stock(tx: Tx, rolls: Sequence[OpeningRoll] = (), bins: Sequence[OpeningBin] = ()) -> tuple[Written, Written]:
    job = begin_job(tx, "load", STAMP)
    return stock.write_rolls(tx, job, STAMP, rolls), stock.write_bins(tx, job, STAMP, bins)


def test_a_roll_is_given_back_as_it_was_opened_with_a_tag(small: Shop) -> None:
    with small.write() as tx:
        open_stock(tx, [ROLL, DAMP])
    with small.read() as tx:
        kept, damp = stock.rolls_of(tx, "hood-cloth/black")
        assert (kept.label, kept.lot, kept.place, kept.held_mm, kept.reserved_mm) == ("R001", "W4410", "H1", 24_600, 0)
        assert (kept.width_mm, kept.measured, kept.remnant, kept.value_minor) == (1520, True, False, 94_710)
        assert (kept.flaws, kept.received) == (ROLL.flaws, ROLL.received)
        assert readings_by_roll(tx) == {kept.holding_id: [ROLL.reading]}
        assert (kept.tag[:2], damp.tag[:2]) == ("R1", "R2")
        assert (damp.quarantined, damp.remnant) == ("damp", True)
        assert stock.rolls_in(tx, "H1") == (kept, damp)
        received = tx.execute(select(Movement.__table__).where(Movement.holding_id == kept.holding_id)).one()
        assert (received.kind, received.quantity, received.note) == ("received", 24_600, "opening stock")
    assert audit(small).faults == ()


def test_a_roll_that_is_used_up_is_not_among_the_rolls(small: Shop) -> None:
    with small.write() as tx:
        open_stock(tx, [ROLL])
        (kept,) = stock.rolls_of(tx, ROLL.item)
        append(tx, begin_job(tx, "cut", STAMP), STAMP, [Entry(kept.holding_id, "cut", -24_600)])
        assert stock.rolls_of(tx, ROLL.item) == ()


def test_bins_are_kept_by_item_place_and_lot_and_may_be_empty(small: Shop) -> None:
    with small.write() as tx:
        open_stock(tx, bins=[NUTS, replace(NUTS, lot="x", count=0, value_minor=0), replace(NUTS, item="bolt")])
    with small.read() as tx:
        assert [(one.tag[:2], one.lot, one.held) for one in stock.bins_of(tx, "nut")] == [
            ("B1", "", 400),
            ("B2", "x", 0),
        ]
        assert [one.item for one in stock.bins_in(tx, "B1")] == ["nut", "nut", "bolt"]
    assert audit(small).faults == ()


def test_the_same_stock_written_again_changes_nothing_even_after_some_was_used(small: Shop) -> None:
    with small.write() as tx:
        open_stock(tx, [ROLL], [NUTS, replace(NUTS, lot="x", count=0, value_minor=0)])
        (nuts, _) = stock.bins_of(tx, "nut")
        append(tx, begin_job(tx, "issue", STAMP), STAMP, [Entry(nuts.holding_id, "issued", -30)])
        before = tx.execute(select(func.count()).select_from(Movement)).scalar_one()
        again = open_stock(tx, [ROLL], [NUTS, replace(NUTS, lot="x", count=0, value_minor=0)])
        assert again == (Written("rolls", same=1), Written("bins", same=2))
        assert tx.execute(select(func.count()).select_from(Movement)).scalar_one() == before
        assert stock.bins_of(tx, "nut")[0].held == 370


def test_stock_that_differs_from_what_was_opened_is_told_and_not_doubled(small: Shop) -> None:
    with small.write() as tx:
        open_stock(tx, [ROLL], [NUTS])
        rolls, bins = open_stock(tx, [replace(ROLL, length_mm=25_000)], [replace(NUTS, count=500)])
        assert rolls.changes == (
            "rolls: R001: was opened with 24.60 m of hood-cloth/black, lot W4410, the file says 25.00 m of "
            "hood-cloth/black, lot W4410: not changed, count it instead",
        )
        assert bins.changes == (
            "bins: nut in B1: was opened with 400, the file says 500: not changed, count it instead",
        )
        assert (stock.rolls_of(tx, ROLL.item)[0].held_mm, stock.bins_of(tx, "nut")[0].held) == (24_600, 400)


def test_a_thousand_rolls_take_as_many_statements_as_one(small: Shop) -> None:
    def statements(labels: range) -> int:
        with small.write() as tx, count_statements(small) as sent:
            open_stock(tx, [replace(ROLL, label=f"L{number}") for number in labels])
        return len({statement.split("VALUES")[0] for statement in sent.sent})

    assert statements(range(1)) == statements(range(1, 1_000))


def test_what_is_on_order_is_written_once(small: Shop) -> None:
    one = OpeningPurchase("P1", "mill", "nut", 10, 4, date(2026, 11, 16), date(2026, 11, 30), 96)
    with small.write() as tx:
        assert stock.write_purchases(tx, STAMP, [one, replace(one, item="bolt")]) == Written("purchases", added=2)
        assert stock.write_purchases(tx, STAMP, [replace(one, received=0)]) == Written("purchases", same=1)
        (told,) = stock.write_purchases(tx, STAMP, [replace(one, quantity=20)]).changes
        assert told.startswith("purchases: P1, nut: is kept with another supplier, quantity, due day or price")
        row = tx.execute(select(Purchase.__table__).where(Purchase.item == "nut")).one()
        assert (row.quantity, row.received, row.due, row.price_minor, row.by) == (10, 4, date(2026, 11, 30), 96, "AB")


# --- the past --------------------------------------------------------------------------------------------------


def past(day: str, kind: PastKind, quantity: int, item: str = "nut", note: str = "") -> PastMovement:
    return PastMovement(date.fromisoformat(day), item, kind, quantity, "", note)


def write_past(tx: Tx, lines: Sequence[PastMovement]) -> Written:
    return history.write_history(tx, begin_job(tx, "load", STAMP), STAMP, lines, OPENING, "Europe/London")


def movements(tx: Tx, item: str) -> Sequence[Any]:
    return tx.execute(
        select(Movement.__table__)
        .join(Holding, Holding.id == Movement.holding_id)
        .where(Holding.kind == "past", Holding.item == item)
        .order_by(Movement.number)
    ).all()


def test_the_past_of_an_item_begins_with_what_it_took_and_ends_with_nothing(small: Shop) -> None:
    lines = [
        past("2026-01-05", "issued", 30),
        past("2025-07-01", "issued", 20, note="a kit"),
        past("2026-02-01", "received", 100),
    ]
    with small.write() as tx:
        assert write_past(tx, lines) == Written("history", added=3)
        found = movements(tx, "nut")
        assert [(row.kind, row.quantity, row.balance, row.note) for row in found] == [
            ("received", 50, 50, "brought forward"),
            ("issued", -20, 30, "a kit"),
            ("issued", -30, 0, ""),
            ("received", 100, 100, ""),
            ("counted", -100, 0, "counted into the opening stock"),
        ]
        assert [row.at for row in found] == [
            datetime(2025, 6, 30, 11, tzinfo=UTC),
            datetime(2025, 7, 1, 11, tzinfo=UTC),
            datetime(2026, 1, 5, 12, tzinfo=UTC),
            datetime(2026, 2, 1, 12, tzinfo=UTC),
            datetime(2026, 11, 23, 12, tzinfo=UTC),
        ]
    assert audit(small).faults == ()


def test_nothing_is_brought_forward_where_nothing_was_missing(small: Shop) -> None:
    with small.write() as tx:
        write_past(tx, [past("2026-01-05", "received", 30), past("2026-01-05", "issued", 30)])
        assert [row.note for row in movements(tx, "nut")] == ["", "", "counted into the opening stock"]


def test_the_same_past_written_again_changes_nothing_and_another_is_told(small: Shop) -> None:
    lines = [past("2026-01-05", "received", 30), past("2026-01-05", "issued", 10, item="bolt")]
    with small.write() as tx:
        write_past(tx, lines)
        assert write_past(tx, lines) == Written("history", same=2)
        told = write_past(tx, [lines[0], past("2026-02-01", "issued", 1, item="bolt")])
        assert told.changes == (
            "history: bolt: its past is kept with other movements (1) than the file says (1): not changed",
        )
        assert len(movements(tx, "bolt")) == 3


def test_the_past_is_no_stock(small: Shop) -> None:
    with small.write() as tx:
        write_past(tx, [past("2026-01-05", "received", 30)])
        assert stock.bins_of(tx, "nut") == ()
        assert tx.execute(select(Holding.held, Holding.tag).where(Holding.kind == "past")).one() == (0, None)


_lines = st.lists(
    st.builds(
        PastMovement,
        day=st.dates(date(2024, 1, 1), date(2026, 11, 22)),
        item=st.sampled_from(["nut", "bolt", "felt/red"]),
        kind=st.sampled_from(["received", "cut", "issued", "made", "scrapped", "returned"]),
        quantity=st.integers(1, 50_000),
    ),
    max_size=25,
)


class _UndoneError(Exception):
    """Raised so that an example leaves nothing behind."""


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=_lines)
def test_any_past_keeps_every_line_never_falls_below_nothing_and_ends_empty(
    small: Shop, lines: list[PastMovement]
) -> None:
    with suppress(_UndoneError), small.write() as tx:
        write_past(tx, lines)
        for item in {line.item for line in lines}:
            found = movements(tx, item)
            told = [row for row in found if row.note == ""]
            of_item = sorted((line for line in lines if line.item == item), key=lambda line: line.day)
            assert [(row.kind, abs(row.quantity)) for row in told] == [(line.kind, line.quantity) for line in of_item]
            assert min(row.balance for row in found) == 0
            assert found[-1].balance == 0
            assert [row.at for row in found] == sorted(row.at for row in found)
        raise _UndoneError
