"""Jobs in any order: the books stay good, what is held is what a plain model says, and nothing is promised twice."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test
from sqlalchemy import select

from stockroom.domain.catalogue import OpeningRoll
from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.answer import answer
from stockroom.jobs.audit import audit
from stockroom.jobs.change import cancel, change_line, set_quantity
from stockroom.jobs.reserve import Reserved, reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.store import ledger, stock, waits
from stockroom.store.database import Shop
from stockroom.store.ledger import Entry
from stockroom.store.tables import Holding
from tests.cleaned_database import CleanedDatabase
from tests.databases import Database
from tests.shops import EARLY, LATE, SECOND, STAMP, bin_of, change, line, look, order, roll, stock_shop

OPENING = (
    roll("carpet/red", 2500, "1"),
    roll("carpet/red", 2400, "2", remnant="yes"),
    roll("carpet/black", 3000),
    roll("hood-cloth/fawn", 3200, "1", flaws="1000-1010 slub"),
    roll("hood-cloth/fawn", 2100, "2"),
    roll("leathercloth/red", 900),
    roll("binding/red", 4000),
    roll("binding/black", 4000),
    roll("zip/fawn", 2500),
    bin_of("stud", 14),
    bin_of("clip", 9),
    bin_of("tool-bag-blank", 1),
)
BY_LENGTH = ("carpet/red", "carpet/black", "hood-cloth/fawn", "leathercloth/red", "binding/red")
COUNTED = ("stud", "clip", "tool-bag-blank")
KITS = ("boot-set", "tonneau", "hood", "header-rail", "tool-bag", "touring")
WAYS = {"all": reserve, "what there is": reserve_what_there_is}
EXAMPLES = {"sqlite": 15, "postgresql": 5}
_quantities = st.integers(1, 3)
_any = st.integers(0, 1000)


class Jobs(RuleBasedStateMachine):
    """A shop with a little of everything, and a plain model of what it holds and which orders are open."""

    stocked: Path | CleanedDatabase
    """A stocked shop: a file, copied for each example, or a database."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="stockroom-any-order-"))
        if isinstance(self.stocked, Path):
            self.shop = Shop.open(shutil.copyfile(self.stocked, self.folder / "shop.db"))
        else:
            assert self.stocked.clean()
            self.shop = Shop.open(self.stocked.url)
        self.taken = 0
        self.open: list[str] = []
        self.gone: list[str] = []
        self.received: list[tuple[int, int, int]] = []
        """Movement, holding and quantity of what came in and was not reversed."""
        self.held: dict[int, int] = {one.id: one.held for one in self._holdings()}

    def teardown(self) -> None:
        self.shop.close()
        shutil.rmtree(self.folder)

    def _holdings(self) -> list[Any]:
        with self.shop.read() as tx:
            return list(tx.execute(select(Holding.__table__)))

    def _one(self, which: int) -> str:
        return self.open[which % len(self.open)]

    @rule(kit=st.sampled_from(KITS), many=_quantities, car=st.sampled_from([EARLY, LATE, SECOND]), pair=st.booleans())
    def take_an_order(self, kit: str, many: int, car: CarRequest, pair: bool) -> None:
        self.taken += 1
        lines = (line(kit, many, car), line("tonneau", 1, car)) if pair else (line(kit, many, car),)
        self.open.append(take(self.shop, order(*lines, number=f"L-{self.taken}"), STAMP).number)

    @precondition(lambda self: self.open)
    @rule(which=_any, way=st.sampled_from(list(WAYS)))
    def reserve_one(self, which: int, way: str) -> None:
        number = self._one(which)
        before = look(self.shop, number)
        try:
            done: Reserved = WAYS[way](self.shop, number, STAMP)
        except Refusal:
            assert way == "all"
            assert look(self.shop, number).holds == before.holds
            return
        after = look(self.shop, number)
        assert done.short or after.wholly_held
        assert done.held_before + done.held_now == sum(
            1 for one in after.requirements if one.needed and one.held == one.needed
        )

    @precondition(lambda self: self.open)
    @rule(which=_any, many=_quantities)
    def change_a_quantity(self, which: int, many: int) -> None:
        number = self._one(which)
        tags = look(self.shop, number).tags
        set_quantity(self.shop, number, 1, many, STAMP)
        now = look(self.shop, number).tags
        assert all(now[key] == tag for key, tag in tags.items() if key in now)

    @precondition(lambda self: self.open)
    @rule(
        which=_any, piece=st.sampled_from(["BF", "BSL", "HL", "TN", "TB"]), what=st.sampled_from(["leave-out", "add"])
    )
    def leave_a_piece_out_or_add_one(self, which: int, piece: str, what: str) -> None:
        number = self._one(which)
        before = look(self.shop, number)
        try:
            change_line(self.shop, number, 1, change(what, piece), STAMP)
        except Refusal:
            assert look(self.shop, number) == before

    @precondition(lambda self: self.open)
    @rule(which=_any, window=st.sampled_from(["sewn", "zipped"]))
    def answer_what_waits(self, which: int, window: str) -> None:
        number = self._one(which)
        with self.shop.read() as tx:
            waiting = waits.waits_of(tx, look(self.shop, number).order.id)
        for one in waiting[:1]:
            said = {"window": window, "works": "fenmoor"}[one.wait.name]
            assert answer(self.shop, number, one.wait.name, said, STAMP).still_waits == ()

    @precondition(lambda self: self.open)
    @rule(which=_any)
    def cancel_one(self, which: int) -> None:
        number = self._one(which)
        cancel(self.shop, number, STAMP)
        self.open.remove(number)
        self.gone.append(number)

    @rule(item=st.sampled_from(BY_LENGTH), length=st.integers(200, 2500), lot=st.sampled_from("123"))
    def receive_a_roll(self, item: str, length: int, lot: str) -> None:
        label = f"label {len(self.held)}"
        with self.shop.write() as tx:
            job = ledger.begin_job(tx, "receive", STAMP)
            stock.write_rolls(tx, job, STAMP, [OpeningRoll(label, item, lot, length, 1400, "R1", True, False, 0)])
        (new,) = [one for one in self._holdings() if one.id not in self.held]
        self.held[new.id] = length

    @rule(item=st.sampled_from(COUNTED), count=st.integers(1, 9))
    def receive_into_a_bin(self, item: str, count: int) -> None:
        with self.shop.write() as tx:
            job = ledger.begin_job(tx, "receive", STAMP)
            holding_id = stock.bins_of(tx, item)[0].holding_id
            (movement,) = ledger.append(tx, job, STAMP, [Entry(holding_id, "received", count)])
        self.held[holding_id] += count
        self.received.append((movement, holding_id, count))

    @rule(which=_any, taken=st.integers(1, 3000))
    def scrap(self, which: int, taken: int) -> None:
        holding = sorted(self._holdings(), key=lambda one: int(one.id))[which % len(self.held)]
        self._move(
            holding.id, -taken, lambda tx, job: ledger.append(tx, job, STAMP, [Entry(holding.id, "scrapped", -taken)])
        )

    @precondition(lambda self: self.received)
    @rule(which=_any)
    def reverse_what_came_in(self, which: int) -> None:
        came = self.received[which % len(self.received)]
        movement, holding_id, count = came
        if self._move(holding_id, -count, lambda tx, job: ledger.reverse(tx, job, STAMP, movement)):
            self.received.remove(came)
            with pytest.raises(Refusal), self.shop.write() as tx:
                ledger.reverse(tx, ledger.begin_job(tx, "reverse", STAMP), STAMP, movement)

    def _move(self, holding_id: int, quantity: int, do: Any) -> bool:
        """Moves stock; refused where more would be promised than is held, and nowhere else."""
        (reserved,) = [one.reserved for one in self._holdings() if one.id == holding_id]
        if self.held[holding_id] + quantity < reserved:
            with pytest.raises(Refusal), self.shop.write() as tx:
                do(tx, ledger.begin_job(tx, "move", STAMP))
            return False
        try:
            with self.shop.write() as tx:
                do(tx, ledger.begin_job(tx, "move", STAMP))
        except Refusal:
            # A cut is planned further along the roll than what would be left of it.
            assert reserved
            return False
        self.held[holding_id] += quantity
        return True

    @invariant()
    def the_books_are_good(self) -> None:
        assert audit(self.shop).faults == ()

    @invariant()
    def what_is_held_is_what_came_in_less_what_went_out_and_no_more_of_it_is_promised(self) -> None:
        found = self._holdings()
        assert {one.id: one.held for one in found} == self.held
        assert all(0 <= one.reserved <= one.held for one in found)

    @invariant()
    def what_is_promised_is_held_for_the_orders_that_are_open(self) -> None:
        promised: dict[int, int] = {}
        for number in self.open:
            for one in look(self.shop, number).holds:
                promised[one.holding_id] = promised.get(one.holding_id, 0) + one.quantity
        assert promised == {one.id: one.reserved for one in self._holdings() if one.reserved}
        assert all(look(self.shop, number).holds == () for number in self.gone)


def test_jobs_in_any_order_keep_the_books_good(database: Database, tmp_path: Path) -> None:
    class Here(Jobs):
        pass

    with Shop.open(database.where) as shop:
        stock_shop(shop, tmp_path, *OPENING)
    Here.stocked = Path(database.where) if database.kind == "sqlite" else CleanedDatabase(database.where)
    run_state_machine_as_test(
        Here,
        settings=settings(
            max_examples=EXAMPLES[database.kind],
            stateful_step_count=14,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            database=None,
        ),
    )
