"""The explosion as an order keeps it: it adds up, whatever the order of the lines, and every line says why."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockroom.domain.order import LineRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.explode import explode
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.store.database import Shop
from tests.databases import count_statements
from tests.shops import EARLY, LATE, STAMP, TODAY, change, line, look, order

KITS = ("boot-set", "tonneau", "header-rail", "tool-bag", "touring")


def totals(shop: Shop, *lines: LineRequest, number: str) -> Counter[tuple[str, str]]:
    """(item, need) → how much a new order of these lines requires, as it is stored."""
    take(shop, order(*lines, number=number), STAMP)
    total: Counter[tuple[str, str]] = Counter()
    for one in look(shop, number).requirements:
        total[one.requirement.item, one.requirement.need] += one.requirement.quantity
    return total


@pytest.mark.parametrize("kit", KITS)
def test_so_many_kits_need_exactly_so_many_times_what_one_needs(full_shop: Shop, kit: str) -> None:
    one = totals(full_shop, line(kit), number="one")
    for many in (3, 17):
        needed = totals(full_shop, line(kit, many), number=f"{many}")
        assert needed == {key: many * count for key, count in one.items()}


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    lines=st.lists(
        st.tuples(st.sampled_from(KITS), st.integers(1, 4), st.sampled_from([EARLY, LATE])), min_size=2, max_size=5
    ),
    shuffled=st.randoms(use_true_random=False),
)
def test_the_order_of_the_lines_does_not_matter_and_lines_add_up(
    full_shop: Shop, lines: list[tuple[str, int, object]], shuffled: object
) -> None:
    asked = [line(kit, many, car) for kit, many, car in lines]  # type: ignore[arg-type]
    other = list(asked)
    shuffled.shuffle(other)  # type: ignore[attr-defined]
    number = len(_numbers)
    _numbers.append(number)
    together = totals(full_shop, *asked, number=f"a{number}")
    assert totals(full_shop, *other, number=f"b{number}") == together
    alone: Counter[tuple[str, str]] = Counter()
    for at, one in enumerate(asked):
        alone.update(totals(full_shop, one, number=f"c{number}.{at}"))
    assert alone == together


_numbers: list[int] = []


def test_the_stored_bill_is_read_and_not_exploded_again(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set", 2)), STAMP).number
    bill = explode(full_shop, number, TODAY)
    assert {(one.item, one.needed, one.held, one.amount, one.lines) for one in bill.totals} == {
        ("carpet/red", 6, 0, "6 panels", 3),
        ("binding/red", 3360, 0, "3.36 m", 1),
        ("stud", 10, 0, "10", 2),
    }
    reserve(full_shop, number, STAMP)
    assert all(one.held == one.needed for one in explode(full_shop, number, TODAY).totals)
    with count_statements(full_shop) as sent:
        explode(full_shop, number, TODAY)
    assert not [statement for statement in sent.sent if not statement.lstrip().upper().startswith(("SELECT", "WITH"))]


def test_every_line_says_why(full_shop: Shop) -> None:
    asked = order(line("touring", changes=(change("overlong", "BF", panel="top", part="front", mm=30),)), number="why")
    take(full_shop, asked, STAMP)
    for one in explode(full_shop, "why", TODAY).ticket.needs:
        assert one.reasons
        assert all(reason.rstrip().endswith(".") for reason in one.reasons), one.reasons
    floor = next(one for one in explode(full_shop, "why", TODAY).ticket.needs if one.part == "top")
    assert floor.changed
    assert any("over-long" in reason and "(AB)" in reason for reason in floor.reasons)
    assert any("Early cars took the trim colour" in reason for reason in floor.reasons)


def test_bound_edges_are_as_long_as_the_outline_says_with_what_is_turned_in(full_shop: Shop) -> None:
    """Front and rear of the floor are 800 mm each; each run turns in 20 mm at both ends: 2 × (800 + 40)."""
    number = take(full_shop, order(line("boot-set")), STAMP).number
    assert look(full_shop, number).needed("binding/red") == 2 * (800 + 2 * 20)


def test_the_right_hand_is_the_mirror_of_the_left(full_shop: Shop) -> None:
    number = take(full_shop, order(line("boot-set")), STAMP).number
    shapes = {
        one.requirement.key.hand: one.requirement.shape
        for one in look(full_shop, number).requirements
        if one.requirement.key.part == "side"
    }
    left, right = shapes["left"], shapes["right"]
    assert left is not None
    assert right is not None
    assert {(left.width_mm - x, y) for x, y in left.points} == set(right.points)
    assert set(left.points) != set(right.points)


def test_an_order_that_does_not_exist_has_no_bill(full_shop: Shop) -> None:
    with pytest.raises(Refusal, match="There is no order 'L-404'"):
        explode(full_shop, "L-404", TODAY)
