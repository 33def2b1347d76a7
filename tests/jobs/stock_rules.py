"""The rules of the two users' model for stock: it comes in, is moved, set apart, put right, thrown away and counted."""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from stockroom.domain.arrival import Arrival
from stockroom.domain.arrival_questions import QUESTIONS
from stockroom.domain.refusal import Refusal
from stockroom.jobs import count
from stockroom.jobs.adjust import adjust
from stockroom.jobs.cut import keep_side_piece, mark_flaw, measure
from stockroom.jobs.move import move, move_part
from stockroom.jobs.purchasing import Purchase, buy, close_purchase
from stockroom.jobs.quarantine import quarantine, release
from stockroom.jobs.receive import receive
from stockroom.jobs.retag import retag
from stockroom.jobs.scrap import scrap
from stockroom.jobs.undo import undo
from stockroom.store.tables import FromStock, Holding, PlannedCut, Reservation
from stockroom.store.tables import Purchase as PurchaseRow
from tests.jobs.order_rules import SHORTEST_USEFUL_MM
from tests.jobs.two_users import Ordered, Step, Thing, TwoUsers
from tests.shops import LATER, STAMP

PLACES = st.sampled_from(["R1", "B1", "B2"])
CLOTH = st.sampled_from(["hood-cloth/fawn", "carpet/red"])
COUNTED = st.sampled_from(["stud", "clip"])
LOT = st.sampled_from(["", "old", "new"])
REASON = st.sampled_from(["", "", "wrong shade"])
"""Why it is in quarantine."""
USER = st.sampled_from([0, 1])
ANY = st.integers(0, 10_000)
REFERENCE = st.sampled_from(["Q-1", "Q-2"])
PART = st.one_of(st.none(), st.integers(1, 99))
"""All of a thing, or so much of it in a hundred."""

SIDE_MM = 400
"""A side piece is so wide."""
FOR_GOOD = frozenset({"cut.cut", "count.begin", "count.enter", "count.close", "count.leave"})
"""What no undo takes back. So is a part that was taken off a roll."""
OF_STOCK = frozenset(
    {
        "receive.receive", "move.move", "move.move_part", "adjust.adjust", "cut.measure", "quarantine.quarantine",
        "quarantine.release", "scrap.scrap",
    }
)  # fmt: skip
"""What may be taken back though something else was done since."""


@dataclass
class Figure:
    """What was counted of one thing."""

    first: int
    expected: int
    second: int | None = None

    @property
    def stands(self) -> int:
        """The latest figure."""
        return self.first if self.second is None else self.second


@dataclass
class Counting:
    """A count that somebody goes round with."""

    number: int
    place: str
    figures: dict[int, Figure] = field(default_factory=dict)
    """By the number of the roll or bin."""
    again: set[int] = field(default_factory=set)
    """Whose first figure was too far off."""


def _tolerated(one: Thing, expected: int) -> int:
    """One in a hundred; of a length at least 50 mm, which no tape is truer than (common practice, no source)."""
    return max(50, expected // 100) if one.kind == "roll" else expected // 100


class StockRules(TwoUsers):
    """What is done with stock."""

    def __init__(self, *opened: Any) -> None:
        super().__init__(*opened)
        self.counting: dict[str, Counting] = {}
        """Place or item → the open sheet."""

    def some_thing(self, which: int, kind: str = "") -> Thing:
        """One of the rolls and bins that hold something; any that was, where none does."""
        of_kind = [one for one in self.things() if kind in ("", one.kind)]
        held = [one for one in of_kind if self.held(one)]
        some = held if held and which % 8 else of_kind
        return some[which // 8 % len(some)]

    # --- what comes in, and where it lies ----------------------------------------------------------------------------

    @rule(item=CLOTH, length=st.integers(300, 4_000), lot=LOT, place=PLACES, user=USER, reason=REASON)
    def a_roll_comes_in(self, item: str, length: int, lot: str, place: str, user: int, reason: str) -> None:
        said = Arrival(item, (f"{length} mm",), place, lot=lot, price="3.10", quarantine=reason)
        came = self.does(True, receive, user, said, sure=tuple(QUESTIONS))
        (tag,) = came.new_tags
        self.stock[tag, item, lot, place, bool(reason)] += length

    @rule(item=COUNTED, many=st.integers(1, 60), lot=LOT, place=PLACES, user=USER, reason=REASON)
    def counted_goods_come_in(self, item: str, many: int, lot: str, place: str, user: int, reason: str) -> None:
        said = Arrival(item, (str(many),), place, lot=lot, price="0.07", quarantine=reason)
        self.does(True, receive, user, said, sure=tuple(QUESTIONS))
        self.stock["", item, lot, place, bool(reason)] += many

    @rule(which=ANY, other=ANY, place=PLACES, user=USER)
    def things_are_put_in_a_place(self, which: int, other: int, place: str, user: int) -> None:
        some = {one.id: one for one in (self.some_thing(which), self.some_thing(other))}.values()
        if not all(self.held(one) for one in some):
            return
        if self.does(True, move, user, [one.tag for one in some], place):
            for one in some:
                self._goes_to(one, self.held(one), place=place)

    @rule(which=ANY, part=st.integers(1, 120), place=PLACES, user=USER)
    def some_of_a_bin_go_elsewhere(self, which: int, part: int, place: str, user: int) -> None:
        one = self.some_thing(which, "bin")
        many = max(1, self.held(one) * part // 100)
        right = many <= self.held(one) and place != one.place
        if self.does(right, move_part, user, one.tag, str(many), place):
            self._goes_to(one, many, place=place)

    # --- what was bought ---------------------------------------------------------------------------------------------

    @rule(reference=REFERENCE, many=st.integers(1, 60), user=USER)
    def something_is_bought(self, reference: str, many: int, user: int) -> None:
        said = Purchase(reference, "tern", "stud", str(many))
        if self.does(not self.purchases[reference, "bought"], buy, user, said):
            self.purchases[reference, "bought"] = many

    @rule(reference=REFERENCE, many=st.integers(1, 40), lot=LOT, place=PLACES, user=USER)
    def bought_goods_come_in(self, reference: str, many: int, lot: str, place: str, user: int) -> None:
        """In part, all of it, or more than was bought; even of what was closed, where somebody says so."""
        said = Arrival("stud", (str(many),), place, purchase=reference, lot=lot, price="0.07")
        if self.does(bool(self.purchases[reference, "bought"]), receive, user, said, sure=tuple(QUESTIONS)):
            self.stock["", "stud", lot, place, False] += many
            self.purchases[reference, "received"] += many

    @rule(reference=REFERENCE, user=USER)
    def no_more_of_it_will_come(self, reference: str, user: int) -> None:
        is_due = self.purchases[reference, "received"] < self.purchases[reference, "bought"]
        if self.does(is_due and not self.purchases[reference, "closed"], close_purchase, user, reference, "sold out"):
            self.purchases[reference, "closed"] = 1

    def _goes_to(self, one: Thing, much: int, place: str = "", is_quarantined: bool | None = None) -> None:
        name, item, lot, was, was_quarantined = self.lying(one)
        now = was_quarantined if is_quarantined is None else is_quarantined
        self.stock[name, item, lot, was, was_quarantined] -= much
        self.stock[name, item, lot, place or was, now] += much

    # --- what is not as the books say --------------------------------------------------------------------------------

    @rule(which=ANY, part=st.integers(0, 150), user=USER)
    def the_true_figure_is_written_down(self, which: int, part: int, user: int) -> None:
        one = self.some_thing(which)
        now = (self.held(one) or 300) * part // 100
        figure = f"{now} mm" if one.kind == "roll" else str(now)
        self.does(True, adjust, user, one.tag, figure, "found so")
        self.stock[self.lying(one)] = now

    @rule(which=ANY, part=st.integers(0, 110), user=USER)
    def a_roll_is_measured(self, which: int, part: int, user: int) -> None:
        one = self.some_thing(which, "roll")
        now = self.held(one) * part // 100
        self.does(True, measure, user, one.tag, now)
        self.stock[self.lying(one)] = now

    @rule(which=ANY, start=st.integers(0, 99), length=st.integers(1, 400), user=USER)
    def a_flaw_is_met(self, which: int, start: int, length: int, user: int) -> None:
        one = self.some_thing(which, "roll")
        first = self.held(one) * start // 100
        last = min(first + length, self.held(one))
        self.does(first < last, mark_flaw, user, one.tag, first, last, "a slub")

    @rule(which=ANY, part=PART, user=USER)
    def something_is_not_to_be_used(self, which: int, part: int | None, user: int) -> None:
        one = self.some_thing(which)
        much = self.held(one) if part is None else max(1, self.held(one) * part // 100)
        right = bool(self.held(one)) and not one.is_quarantined
        done = self.does(right, quarantine, user, one.tag, "damp", amount=_amount(one, part, much))
        if not done:
            return
        if one.kind == "roll" and much < self.held(one):
            self.stock[self.lying(one)] -= much
            self.stock[self.lying(self.thing(done.tag_now))] += much
        else:
            self._goes_to(one, much, is_quarantined=True)

    @precondition(lambda self: any(one.is_quarantined for one in self.things()))
    @rule(which=ANY, user=USER)
    def something_may_be_used_again(self, which: int, user: int) -> None:
        apart = [one for one in self.things() if one.is_quarantined]
        one = apart[which % len(apart)] if which % 8 else self.some_thing(which)
        if self.does(one.is_quarantined, release, user, one.tag, "dried"):
            self._goes_to(one, self.held(one), is_quarantined=False)

    @rule(which=ANY, part=PART, user=USER)
    def something_is_thrown_away(self, which: int, part: int | None, user: int) -> None:
        one = self.some_thing(which)
        much = self.held(one) if part is None else max(1, self.held(one) * part // 100)
        done = self.does(bool(self.held(one)), scrap, user, one.tag, "mildew", amount=_amount(one, part, much))
        if done:
            assert (done.scrapped, done.left) == (much, self.held(one) - much)
            self.stock[self.lying(one)] -= much

    @rule(which=ANY, length=st.integers(250, 900), place=PLACES, user=USER)
    def a_side_piece_is_kept(self, which: int, length: int, place: str, user: int) -> None:
        one = self.some_thing(which, "roll")
        right = length >= SHORTEST_USEFUL_MM and not one.is_quarantined and one.width_mm > SIDE_MM
        tag = self.does(right, keep_side_piece, user, one.tag, length, SIDE_MM, place)
        if tag:
            self.stock[tag, one.item, one.lot, place, False] += length

    @rule(which=ANY, user=USER)
    def a_roll_gets_a_new_tag(self, which: int, user: int) -> None:
        one = self.some_thing(which, "roll")
        if "binding" in one.item:  # what was picked is known by its tag
            return
        new = self.does(True, retag, user, one.tag, "torn").new
        self.first_tags[new] = self.first_tags.get(one.tag, one.tag)
        self.does(False, adjust, user, one.tag, "1 m", "the old tag was scanned")

    # --- counts ------------------------------------------------------------------------------------------------------

    @rule(what=st.sampled_from(["R1", "B1", "B2", "stud", "hood-cloth/fawn"]), user=USER)
    def a_count_is_begun(self, what: str, user: int) -> None:
        begun = self.does(True, count.begin, user, what)
        assert begun.is_new == (what not in self.counting)
        self.counting.setdefault(what, Counting(begun.sheet.number, what if what in ("R1", "B1", "B2") else ""))

    @precondition(lambda self: self.counting)
    @rule(sheet=ANY, which=ANY, part=st.sampled_from([0, 90, 99, 100, 100, 101, 130]), user=USER)
    def something_is_counted(self, sheet: int, which: int, part: int, user: int) -> None:
        what, counting = list(self.counting.items())[sheet % len(self.counting)]
        here = [one for one in self.things() if what in (one.place, one.item)]
        one = here[which % len(here)] if here and which % 8 else self.some_thing(which)
        expected = self.held(one)
        said = (expected or 300) * part // 100
        known = counting.figures.get(one.id)
        has_stood = known is not None and (known.second is not None or one.id not in counting.again)
        right = (bool(counting.place) or one.item == what) and not (has_stood and known and known.stands != said)
        figure = f"{said} mm" if one.kind == "roll" else str(said)
        done = self.does(right, count.enter, user, counting.number, one.tag, figure)
        if not done or has_stood:
            return
        if known is None:
            counting.figures[one.id] = Figure(said, expected)
            if abs(said - expected) > _tolerated(one, expected):
                counting.again.add(one.id)
                assert (done.state, done.expected) == ("count again", "")
        else:
            known.second, known.expected = said, expected
            assert done.state == "counted"

    @precondition(lambda self: self.counting)
    @rule(sheet=ANY, missing=st.booleans(), user=USER)
    def a_count_is_closed(self, sheet: int, missing: bool, user: int) -> None:
        what, counting = list(self.counting.items())[sheet % len(self.counting)]
        lying = [one for one in self.things() if what in (one.place, one.item) and self.held(one)]
        gone = [one for one in lying if one.id not in counting.figures][: int(missing)]
        right = all(counting.figures[one].second is not None for one in counting.again)
        tags = [one.tag for one in gone]
        if not self.does(right, count.close, user, counting.number, missing=tags, left=None):
            return
        del self.counting[what]
        for one in self.things():
            figure = counting.figures.get(one.id)
            if one in gone:
                self.stock[self.lying(one)] = 0
            elif figure:
                # What was found again was brought here, and `things` are as they are now; the rest is a difference.
                was = self.held(one)
                self.stock[self.lying(one)] = max(0, was + figure.stands - figure.expected)

    @precondition(lambda self: self.counting)
    @rule(sheet=ANY, user=USER)
    def a_count_is_dropped(self, sheet: int, user: int) -> None:
        what, counting = list(self.counting.items())[sheet % len(self.counting)]
        self.does(True, count.leave, user, counting.number)
        del self.counting[what]

    # --- putting mistakes right --------------------------------------------------------------------------------------

    @precondition(lambda self: self.steps)
    @rule(user=USER, times=st.integers(1, 3))
    def the_last_job_is_undone(self, user: int, times: int) -> None:
        """All of them can be taken back, newest first, until one that is for good."""
        for _ in range(min(times, len(self.steps))):
            step = self.steps[-1]
            if not self._undone(not self._is_for_good(step), user, step):
                return
            later = {number: known for number, known in self.orders.items() if number not in step.orders}
            for known in later.values():  # an order that was taken by mistake is cancelled, not forgotten
                known.state = "cancelled"
            self.orders, self.stock, self.purchases = step.orders | later, step.stock, step.purchases

    @precondition(lambda self: any(one.name in OF_STOCK for one in self.steps))
    @rule(which=ANY, user=USER)
    def an_earlier_job_on_stock_is_undone(self, which: int, user: int) -> None:
        """What was done since may stand in the way. Where it does not, what the job did is taken out of all since."""
        some = [at for at, one in enumerate(self.steps) if one.name in OF_STOCK]
        at = some[-1 - which % len(some)]
        step = self.steps[at]
        after = self.steps[at + 1].stock if step is not self.steps[-1] else self.stock
        did = Counter({key: after[key] - step.stock[key] for key in {*after, *step.stock}})
        bought = self.steps[at + 1].purchases if step is not self.steps[-1] else self.purchases
        came = Counter({key: bought[key] - step.purchases[key] for key in {*bought, *step.purchases}})
        if not self._comes_back_where_it_lay(at):
            return  # It would come back where its holding is by now, in another place or set apart: not foretold here.
        with suppress(Refusal):
            undo(self.users[user], step.number, (STAMP, LATER)[user])
            for known in (self.stock, *(one.stock for one in self.steps[at + 1 :])):
                known.subtract(did)
            for due in (self.purchases, *(one.purchases for one in self.steps[at + 1 :])):
                due.subtract(came)
            self.steps.remove(step)

    def _comes_back_where_it_lay(self, at: int) -> bool:
        """Whether all that a job changed has lain since where the job left it; whole, if the job brought it there."""
        before, *since = *(one.laid for one in self.steps[at:]), self.laid()
        left = since[0]
        for thing, (lying, _) in left.items():
            was_lying = before.get(thing, left[thing])[0]
            if before.get(thing) == left[thing]:
                continue
            if was_lying != lying and any(one[thing] != left[thing] for one in since):
                return False
            if any(one[thing][0] != lying for one in since):
                return False
        return True

    def _is_for_good(self, step: Step) -> bool:
        parted = step.name == "quarantine.quarantine" and len({one[0] for one in +self.stock}) > len(
            {one[0] for one in +step.stock}
        )
        return step.name in FOR_GOOD or parted or any(self._is_over(known, step) for known in step.of())

    def _is_over(self, known: Ordered, step: Step) -> bool:
        """What is begun is cancelled for good, and of what is cancelled nothing is done that is taken back."""
        return known.state != "open" or (step.name == "change.cancel" and known.is_begun)

    def _undone(self, right: bool, user: int, step: Step) -> bool:
        steps = list(self.steps)
        done = self.does(right, undo, user, step.number)
        self.steps = [one for one in steps if one is not step] if done else steps
        return bool(done)

    # --- what always holds -------------------------------------------------------------------------------------------

    @invariant()
    def nothing_is_promised_twice_and_nothing_is_worth_less_than_nothing(self) -> None:
        promised: Counter[int] = Counter()
        for one in self._rows(Reservation):
            promised[one["holding_id"]] += one["quantity"]
        for one in self._rows(FromStock):
            promised[one["holding_id"]] += one["movement_id"] is None
        stretches: dict[int, list[tuple[int, int]]] = {}
        for one in self._rows(PlannedCut):
            if one["state"] == "planned":
                promised[one["holding_id"]] += one["to_mm"] - one["from_mm"]
                stretches.setdefault(one["holding_id"], []).append((one["from_mm"], one["to_mm"]))
        for one in self._rows(Holding):
            assert promised[one["id"]] == one["reserved"] <= one["held"]
            assert not (one["quarantined"] and one["reserved"])
            assert one["value_minor"] >= 0
            assert one["held"] or not one["value_minor"]
            end = 0
            for first, last in sorted(stretches.get(one["id"], ())):
                assert end <= first < last <= one["held"]
                end = last

    @invariant()
    def what_was_bought_is_as_the_model_says(self) -> None:
        rows = self._rows(PurchaseRow)
        said = {
            (one["reference"], what): number
            for one in rows
            for what, number in (
                ("bought", one["quantity"]), ("received", one["received"]), ("closed", int(bool(one["closed_because"])))
            )
        }  # fmt: skip
        assert +Counter(said) == +self.purchases

    def _rows(self, table: Any) -> list[dict[str, Any]]:
        names = [column.name for column in table.__table__.columns]
        return [dict(zip(names, row, strict=True)) for row in self.before[table.__tablename__]]


def _amount(one: Thing, part: int | None, much: int) -> str:
    if part is None:
        return ""
    return f"{much} mm" if one.kind == "roll" else str(much)
