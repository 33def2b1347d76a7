"""The ledger: what a holding holds is what its movements say, whatever is done, on both databases."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select, update
from sqlalchemy.exc import DBAPIError

from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.store.database import Shop, Tx
from stockroom.store.ledger import Entry, MovementKind, append, begin_job, reverse
from stockroom.store.stock import add_holdings, empty_holding
from stockroom.store.tables import Holding, Job, Movement
from stockroom.store.tags import next_serial, next_tags
from tests.databases import Database, count_statements
from tests.small_shop import STAMP, write_small_shop

_lots = itertools.count()


@pytest.fixture
def small(shop: Shop) -> Shop:
    with shop.write() as tx:
        write_small_shop(tx)
    return shop


def bins(tx: Tx, how_many: int, item: str = "nut") -> list[int]:
    tags = next_tags(tx, "B", how_many)
    return list(add_holdings(tx, [empty_holding("bin", tag, item, "B1", f"lot {next(_lots)}") for tag in tags]))


def holding(tx: Tx, holding_id: int) -> Any:
    return tx.execute(select(Holding.__table__).where(Holding.id == holding_id)).one()


def movements(tx: Tx, holding_id: int) -> Sequence[Any]:
    return tx.execute(
        select(Movement.__table__).where(Movement.holding_id == holding_id).order_by(Movement.number)
    ).all()


def test_a_movement_carries_its_number_balance_worth_job_and_stamp(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "receive", STAMP)
        first, second = append(
            tx, job, STAMP, [Entry(nuts, "received", 100, 500, "from the mill"), Entry(nuts, "issued", -30)]
        )
    with small.read() as tx:
        received, issued = movements(tx, nuts)
        assert (received.id, received.number, received.balance, received.value_minor) == (first, 1, 100, 500)
        assert (issued.id, issued.number, issued.balance, issued.value_minor) == (second, 2, 70, -150)
        assert (received.by, received.at, received.job_id, received.note) == ("AB", STAMP.at, job, "from the mill")
        kept = holding(tx, nuts)
        assert (kept.held, kept.value_minor, kept.last_number) == (70, 350, 2)
        assert tx.execute(select(Job.what, Job.by, Job.at)).one() == ("receive", "AB", STAMP.at)


def test_numbers_of_movements_come_back_in_the_order_of_the_entries(small: Shop) -> None:
    with small.write() as tx:
        ids = bins(tx, 50)
        job = begin_job(tx, "receive", STAMP)
        wanted = [(one, number) for number in range(1, 101) for one in reversed(ids)]
        given_back = append(tx, job, STAMP, [Entry(one, "received", number, 0) for one, number in wanted])
        found = {row.id: (row.holding_id, row.quantity) for row in tx.execute(select(Movement.__table__))}
    assert [found[id_] for id_ in given_back] == wanted


def test_the_history_of_years_is_appended_in_four_statements_whatever_its_length(small: Shop) -> None:
    def statements(length: int) -> int:
        with small.write() as tx, count_statements(small) as sent:
            (nuts,) = bins(tx, 1)
            job = begin_job(tx, "load", STAMP)
            before = sent.count
            append(tx, job, STAMP, [Entry(nuts, "received", 1, 1) for _ in range(length)])
            return len({statement.split("VALUES")[0] for statement in sent.sent[before:]})

    assert statements(2_000) == statements(2) <= 4


def test_more_than_there_is_cannot_be_taken(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        append(tx, begin_job(tx, "receive", STAMP), STAMP, [Entry(nuts, "received", 10, 50)])
        tag = holding(tx, nuts).tag
    with (
        pytest.raises(Refusal, match=rf"^11 cannot be taken from bin {tag} \(nut in B1\): it holds 10\."),
        small.write() as tx,
    ):
        append(tx, begin_job(tx, "issue", STAMP), STAMP, [Entry(nuts, "issued", -11)])
    with small.read() as tx:
        assert holding(tx, nuts).held == 10
        assert len(movements(tx, nuts)) == 1


def test_what_is_reserved_cannot_be_taken_and_is_said_in_metres_for_cloth(small: Shop) -> None:
    with small.write() as tx:
        roll = add_holdings(tx, [empty_holding("roll", "R15", "hood-cloth/black", "H1", "W1")])[0]
        append(tx, begin_job(tx, "receive", STAMP), STAMP, [Entry(roll, "received", 10_000, 0)])
        tx.execute(update(Holding).where(Holding.id == roll).values(reserved=4_000))
    with (
        pytest.raises(Refusal, match=r"leave 3\.00 m in roll R15 .* of which 4\.00 m is reserved"),
        small.write() as tx,
    ):
        append(tx, begin_job(tx, "cut", STAMP), STAMP, [Entry(roll, "cut", -7_000)])


def test_entries_may_pass_below_what_is_reserved_if_they_end_above_it(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "count", STAMP)
        append(tx, job, STAMP, [Entry(nuts, "received", 10, 0)])
        tx.execute(update(Holding).where(Holding.id == nuts).values(reserved=8))
        append(tx, job, STAMP, [Entry(nuts, "moved", -5), Entry(nuts, "moved", 5)])
        assert holding(tx, nuts).held == 10


def test_a_holding_that_does_not_exist_is_named(small: Shop) -> None:
    with pytest.raises(Refusal, match="no holding 77"), small.write() as tx:
        append(tx, begin_job(tx, "issue", STAMP), STAMP, [Entry(77, "issued", -1)])


@pytest.mark.parametrize(
    ("kind", "quantity"),
    [("cut", 1), ("issued", 0), ("scrapped", 5), ("received", -1), ("made", 0), ("reversed", 1), ("reversed", -1)],
)
def test_a_movement_goes_the_way_its_kind_says(small: Shop, kind: MovementKind, quantity: int) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "wrong", STAMP)
        with pytest.raises(ValueError, match=kind):
            append(tx, job, STAMP, [Entry(nuts, kind, quantity)])


def test_an_empty_holding_is_worth_nothing_however_the_shares_were_rounded(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "issue", STAMP)
        append(tx, job, STAMP, [Entry(nuts, "received", 3, 100)])
        append(tx, job, STAMP, [Entry(nuts, "issued", -1) for _ in range(3)])
        assert [row.value_minor for row in movements(tx, nuts)] == [100, -33, -33, -34]
        assert holding(tx, nuts).value_minor == 0


def test_goods_never_carry_off_more_worth_than_there_is(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "issue", STAMP)
        append(tx, job, STAMP, [Entry(nuts, "received", 3, 100), Entry(nuts, "scrapped", -1, -500)])
        assert holding(tx, nuts).value_minor == 0


def test_a_movement_is_reversed_once_and_by_name(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "receive", STAMP)
        _, issued = append(tx, job, STAMP, [Entry(nuts, "received", 10, 100), Entry(nuts, "issued", -4)])
        back = reverse(tx, job, STAMP, issued)
        last = movements(tx, nuts)[-1]
        assert (last.id, last.kind, last.quantity, last.value_minor, last.reverses_id) == (
            back,
            "reversed",
            4,
            40,
            issued,
        )
        with pytest.raises(Refusal, match=f"Movement {issued} was reversed already, by movement {back}"):
            reverse(tx, job, STAMP, issued)
        with pytest.raises(Refusal, match=f"Movement {back} is a reversal itself"):
            reverse(tx, job, STAMP, back)
        with pytest.raises(Refusal, match="no movement 999"):
            reverse(tx, job, STAMP, 999)


def test_a_receipt_whose_goods_are_gone_cannot_be_reversed(small: Shop) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        job = begin_job(tx, "receive", STAMP)
        received, _ = append(tx, job, STAMP, [Entry(nuts, "received", 10, 100), Entry(nuts, "issued", -4)])
    with pytest.raises(Refusal, match="10 cannot be taken"), small.write() as tx:
        reverse(tx, begin_job(tx, "reverse", STAMP), STAMP, received)


@pytest.mark.parametrize("statement", ["UPDATE movement SET quantity = 1", "DELETE FROM movement"])
def test_the_database_itself_refuses_to_change_a_movement(small: Shop, statement: str) -> None:
    with small.write() as tx:
        (nuts,) = bins(tx, 1)
        append(tx, begin_job(tx, "receive", STAMP), STAMP, [Entry(nuts, "received", 10, 100)])
    with pytest.raises(DBAPIError, match="a movement is never changed"), small.write() as tx:
        tx.exec_driver_sql(statement)


def test_two_jobs_that_take_the_last_goods_at_once_leave_one_with_them(database: Database) -> None:
    with Shop.open(database.where) as shop:
        with shop.write() as tx:
            write_small_shop(tx)
            pair = bins(tx, 2)
            append(tx, begin_job(tx, "receive", STAMP), STAMP, [Entry(one, "received", 10, 0) for one in pair])
        outcomes: list[str] = []
        together = threading.Barrier(4)

        def take(order: list[int]) -> None:
            together.wait()
            try:
                with shop.write() as tx:
                    append(tx, begin_job(tx, "issue", STAMP), STAMP, [Entry(one, "issued", -10) for one in order])
                outcomes.append("taken")
            except Refusal as refusal:
                outcomes.append(refusal.sentence)

        workers = [threading.Thread(target=take, args=(pair[:: 1 if n % 2 else -1],)) for n in range(4)]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        assert outcomes.count("taken") == 1, outcomes
        assert sum("it holds 0" in outcome for outcome in outcomes) == 3, outcomes
        assert audit(shop).faults == ()


def test_serials_are_given_once_each(small: Shop) -> None:
    with small.write() as tx:
        assert next_serial(tx, "anything", 3) == 1
        assert next_serial(tx, "anything") == 4
        tags = next_tags(tx, "K", 2) + next_tags(tx, "K", 0) + next_tags(tx, "K", 2)
    assert [tag[:2] for tag in tags] == ["K1", "K2", "K3", "K4"]


# --- any sequence, against a plain model -----------------------------------------------------------------------


@dataclass
class Model:
    """What a ledger comes to, told with a list and a sum."""

    lines: list[tuple[int, int]] = field(default_factory=list)
    """Quantity and worth."""
    reversed: set[int] = field(default_factory=set)
    """Indexes of lines that were reversed, or are reversals."""

    @property
    def held(self) -> int:
        return sum(quantity for quantity, _ in self.lines)

    @property
    def worth(self) -> int:
        return sum(worth for _, worth in self.lines)

    def add(self, quantity: int, worth: int | None) -> bool:
        """Whether it may be; then it is."""
        left = self.held + quantity
        if left < 0:
            return False
        if worth is None:
            share = self.worth * abs(quantity) // self.held if self.held else 0
            worth = share if quantity > 0 else -share
        worth = -self.worth if left == 0 else max(worth, -self.worth)
        self.lines.append((quantity, worth))
        return True


_amounts = st.integers(min_value=1, max_value=1_000)
_worths = st.none() | st.integers(min_value=0, max_value=5_000)
_steps = st.one_of(
    st.tuples(st.sampled_from(["received", "made"]), _amounts, _worths),
    st.tuples(st.sampled_from(["cut", "issued", "scrapped"]), _amounts.map(lambda n: -n), st.none()),
    st.tuples(st.sampled_from(["counted", "moved", "returned"]), st.integers(-1_000, 1_000), st.none()),
    st.tuples(st.just("reverse"), st.integers(min_value=0, max_value=30), st.none()),
)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(steps=st.lists(st.tuples(st.integers(0, 1), _steps), max_size=25))
def test_any_sequence_of_movements_comes_to_what_a_plain_model_says(
    small: Shop, steps: list[tuple[int, tuple[str, int, int | None]]]
) -> None:
    models = (Model(), Model())
    with small.write() as tx:
        ids = bins(tx, 2)
        job = begin_job(tx, "anything", STAMP)
        numbers: tuple[list[int], list[int]] = ([], [])
        for which, step in steps:
            _take_step(tx, job, ids[which], models[which], numbers[which], step)
    with small.read() as tx:
        for id_, model in zip(ids, models, strict=True):
            kept = holding(tx, id_)
            assert (kept.held, kept.value_minor, kept.last_number) == (model.held, model.worth, len(model.lines))
            rows = movements(tx, id_)
            assert [(row.quantity, row.value_minor) for row in rows] == model.lines
            assert [row.number for row in rows] == list(range(1, len(rows) + 1))
            assert [row.balance for row in rows] == list(itertools.accumulate(line[0] for line in model.lines))
            assert kept.value_minor >= 0
            assert kept.held > 0 or kept.value_minor == 0


def _take_step(
    tx: Tx, job: int, holding_id: int, model: Model, numbers: list[int], step: tuple[Any, int, int | None]
) -> None:
    kind, amount, worth = step
    if kind == "reverse":
        if not numbers:
            return
        index = amount % len(numbers)
        may_be = index not in model.reversed and model.add(*(-part for part in model.lines[index]))
        if may_be:
            model.reversed |= {index, len(model.lines) - 1}
        numbers += _if_let(may_be, lambda: (reverse(tx, job, STAMP, numbers[index]),))
    else:
        may_be = model.add(amount, worth)
        numbers += _if_let(may_be, lambda: append(tx, job, STAMP, [Entry(holding_id, kind, amount, worth)]))


def _if_let(may_be: bool, do: Any) -> tuple[int, ...]:
    """What `do` gives; where the model says that it may not be, a refusal it must be."""
    if may_be:
        done: tuple[int, ...] = do()
        return done
    with pytest.raises(Refusal):
        do()
    return ()
