"""What the simple method proposes: worked weeks by hand, and what holds for every item."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, PriceBreak, Supplier, Terms
from stockroom.domain.offer import Offer, sold_quantity
from stockroom.domain.reorder import Proposal, faults, reckon, to_hurry
from stockroom.domain.shortfall import last_week_served, shortfall
from stockroom.domain.standing import Due, OpenNeed, Standing
from stockroom.domain.weeks import Week

W48 = Week(2026, 48)
MONDAY = date(2026, 11, 23)


def offer(
    lead_days: int = 14,
    least_quantity: int = 1,
    multiple: int = 1,
    breaks: tuple[tuple[int, int], ...] = ((1, 100),),
    supplier: str = "mill",
) -> Offer:
    terms = Terms(supplier, "x", None, least_quantity, multiple, tuple(PriceBreak(*step) for step in breaks))
    return Offer(Supplier(supplier, f"The {supplier}", lead_days, "GBP"), terms)


def standing(
    held: int = 0,
    *,
    reserved: int = 0,
    least: int | None = None,
    most: int | None = None,
    dues: tuple[Due, ...] = (),
    needs: tuple[OpenNeed, ...] = (),
    offers: tuple[Offer, ...] | None = None,
    made_here: bool = False,
    kind: str = "hardware",
) -> Standing:
    item = Item("x", "X", "cloth" if kind == "cloth" else "hardware", least=least, most=most, made_here=made_here)
    return Standing(item, held, reserved, 0, dues, needs, (offer(),) if offers is None else offers)


def need(week: int | None, quantity: int, out_of_reach: int = 0) -> OpenNeed:
    return OpenNeed(None if week is None else Week(2026, week), quantity, ("L-1001",), out_of_reach)


def proposed(one: Standing, week: Week = W48) -> Proposal:
    proposal = reckon(one, week).proposal
    assert proposal is not None, "something should have been proposed"
    return proposal


def test_enough_needs_nothing() -> None:
    assert reckon(standing(10, least=10, most=50), W48).proposal is None
    assert reckon(standing(4, needs=(need(50, 4),)), W48).proposal is None


def test_a_hand_worked_weekly_table() -> None:
    """Turn-button fasteners of Lindow Trim, lead time 14 days, run of 2026-W48 (Monday 23 November).

    | week    | needed | comes  | left at the end of the week                    |
    |---------|--------|--------|------------------------------------------------|
    | start   |        |        | 30 held - 12 reserved = 18                     |
    | W49     | 10     |        | 18 - 10 = 8                                    |
    | W50     | 20     |        | 8 - 20 = -12: the first week short             |
    | W51     |        | 30     | due 16 December: too late for W50              |
    | W52     | 25     |        | -12 + 30 - 25 = -7                             |
    | no date | 4      |        | -7 - 4 = -11                                   |

    Goods ordered on the Monday come on 7 December, Monday of W50; the 30 come after W50, so W50 lacks 12 and that is
    the worst: 12 must come for the needs. In the end -11 would be left; the least of 20 asks for 31. So 31 must come.
    The most of 60 asks for 71. Sold in fives: 70 is the most that does not go over 71 and covers 31.
    Wanted first in W50, whose Monday is 7 December: less 14 days is Monday 23 November, this week: urgent.
    70 at 0.40 is 28.00.
    """
    found = proposed(
        standing(
            30,
            reserved=12,
            least=20,
            most=60,
            dues=(Due("P-7", date(2026, 12, 16), 30),),
            needs=(need(49, 10), need(50, 20), need(52, 25), need(None, 4)),
            offers=(offer(multiple=5, least_quantity=10, breaks=((1, 50), (50, 40))),),
        )
    )
    assert (found.needed, found.quantity, found.cost_minor) == (31, 70, 2800)
    assert (found.latest_day, found.urgency) == (date(2026, 11, 23), "urgent")
    assert found.why == "orders short by 12 in 2026-W50"
    assert found.steps == (
        "18 free: 30 held, 12 of it reserved.",
        "30 on order with P-7, due on 2026-12-16.",
        "10 needed in 2026-W49 and not held yet (L-1001).",
        "20 needed in 2026-W50 and not held yet (L-1001).",
        "25 needed in 2026-W52 and not held yet (L-1001).",
        "4 needed with no date and not held yet (L-1001).",
        "Orders in hand fall short by 12, first in 2026-W50.",
        "In the end -11 would be left (least 20, most 60).",
        "31 must come; 71 would reach the most.",
        "The mill (mill) sells it, lead time 14 days.",
        "Buy 70, the most that does not go over (least quantity 10, multiples of 5).",
        "70 costs 28.00 GBP (0.40 GBP each).",
        "Last day to order: 2026-11-23, 14 days before Monday of 2026-W50; the next run would be too late.",
    )


def test_a_late_purchase_is_hurried_not_bought_again() -> None:
    """The purchase comes after its need, but no later than goods ordered this week: buying anew is not quicker."""
    soon = (Due("P-7", MONDAY + timedelta(days=20), 5),)
    assert reckon(standing(needs=(need(48, 5),), dues=soon), W48).proposal is None
    too_late = (Due("P-7", MONDAY + timedelta(days=21), 5),)
    assert proposed(standing(needs=(need(48, 5),), dues=too_late)).needed == 5


def test_a_purchase_overdue_counts_and_is_named() -> None:
    found = proposed(standing(needs=(need(50, 5),), dues=(Due("P-7", date(2026, 11, 20), 3),)))
    assert found.needed == 2
    assert "3 on order with P-7, was due on 2026-11-20 and has not come: ask the supplier." in found.steps


def test_urgency_follows_the_last_day_to_order() -> None:
    """Lead 14 days: wanted in W49 the last day was in W47; in W50 it is this Monday; in W51 the next one."""
    assert [proposed(standing(needs=(need(week, 1),))).urgency for week in (47, 49, 50, 51)] == [
        "late",
        "late",
        "urgent",
        "normal",
    ]


def test_a_least_undercut_has_no_last_day() -> None:
    found = proposed(standing(3, least=5, most=8))
    assert (found.quantity, found.latest_day, found.urgency) == (5, None, "normal")
    assert found.why == "3 left, least is 5"


def test_needs_beyond_the_horizon_are_shown_not_bought() -> None:
    far = OpenNeed(Week(2027, 20), 5, ("L-1009",))
    assert reckon(standing(needs=(far,)), W48).proposal is None
    found = proposed(standing(needs=(far, need(50, 2))))
    assert found.needed == 2
    assert (
        "5 needed in 2027-W20 and not held yet (L-1009); that is after 2027-W08, so it is not bought yet."
        in found.steps
    )
    assert proposed(standing(needs=(far,), offers=(offer(lead_days=170),))).needed == 5


def test_over_the_end_of_a_year_weeks_follow_each_other() -> None:
    """2026 has a week 53, from 28 December 2026 to 3 January 2027 (ISO 8601); so W52 is a fortnight before 2027-W01."""
    found = proposed(standing(needs=(OpenNeed(Week(2027, 1), 2, ("L-1",)),)), Week(2026, 52))
    assert (found.latest_day, found.urgency) == (date(2026, 12, 21), "urgent")
    assert last_week_served(Week(2026, 52), 14) == Week(2027, 12)


def test_what_nothing_free_can_serve_is_bought_though_stock_is_free() -> None:
    """Two lots of 3 m each are free; an order needs 4 m in one lot."""
    found = proposed(
        standing(6000, kind="cloth", needs=(need(50, 4000, out_of_reach=4000),), offers=(offer(breaks=((1, 1234),)),))
    )
    assert (found.quantity, found.cost_minor) == (4000, 4936)
    assert any("nothing free is long enough" in step for step in found.steps)


def test_cost_by_length_is_rounded_up_to_a_whole_minor_unit() -> None:
    """1.001 m at 9.99 a metre is 9.99999: 10.00."""
    one = standing(kind="cloth", needs=(need(50, 1001),), offers=(offer(breaks=((1, 999),)),))
    assert proposed(one).cost_minor == 1000


def test_the_next_break_is_bought_where_it_costs_less_in_all() -> None:
    """90 at 0.12 is 10.80, 100 at 0.10 is 10.00, 500 at 0.09 is 45.00. 80 at 0.12 is 9.60."""
    steps = offer(breaks=((1, 12), (100, 10), (500, 9)))
    found = proposed(standing(needs=(need(50, 90),), offers=(steps,)))
    assert (found.needed, found.quantity, found.cost_minor) == (90, 100, 1000)
    assert found.steps[-2] == "100 would cost 10.00 GBP (0.10 GBP each), which is less in all: buy that."
    assert proposed(standing(needs=(need(50, 80),), offers=(steps,))).quantity == 80


def test_a_cheaper_break_over_the_most_is_told_not_taken() -> None:
    found = proposed(standing(least=10, most=90, offers=(offer(breaks=((1, 12), (100, 10))),)))
    assert found.quantity == 90
    assert any("goes over the most to be kept: it is yours to choose" in step for step in found.steps)


def test_the_first_of_equal_costs_is_bought() -> None:
    """100 at 0.10 costs as much as 50 at 0.20: the fewer, for they take less room."""
    assert proposed(standing(needs=(need(50, 50),), offers=(offer(breaks=((1, 20), (100, 10))),))).quantity == 50


def test_no_price_is_no_cost() -> None:
    for breaks in ((), ((1, 0),), ((100, 5),)):
        found = proposed(standing(needs=(need(50, 50),), offers=(offer(breaks=breaks),)))
        assert (found.quantity, found.cost_minor) == (50, None)


def test_made_here_and_sold_by_nobody() -> None:
    made = proposed(standing(needs=(need(50, 3),), made_here=True, offers=()))
    assert (made.action, made.quantity, made.supplier) == ("make", 3, "")
    lost = proposed(standing(needs=(need(50, 3),), offers=()))
    assert lost.action == "no terms"
    assert "Nobody sells it: add terms." in lost.steps


def test_impossible_terms_are_named_and_the_next_offer_taken() -> None:
    bad = (
        offer(multiple=0),
        offer(least_quantity=-1),
        offer(lead_days=-1),
        offer(lead_days=10**12),
        offer(breaks=((100, 5), (10, 6))),
        offer(breaks=((1, -5),)),
        offer(breaks=((-3, 5),)),
    )
    for one in bad:
        alone = standing(needs=(need(50, 3),), offers=(one,))
        found = proposed(alone)
        assert (found.action, found.quantity, found.why[-16:]) == ("bad terms", 3, "terms impossible")
        (fault,) = faults(alone)
        assert "mill" in fault
        assert fault in found.steps
        second = proposed(standing(needs=(need(50, 3),), offers=(one, offer(supplier="other"))))
        assert (second.action, second.supplier) == ("buy", "other")


def test_limits_that_cannot_be_are_named() -> None:
    contrary = standing(least=10, most=5)
    assert "cannot both be" in faults(contrary)[0]
    assert proposed(contrary).quantity == 10
    wide = standing(least=1, most=5, offers=(offer(multiple=50),))
    assert "more than the most to be kept" in faults(wide)[0]
    assert proposed(wide).quantity == 50


quantities = st.integers(0, 60)
weeks = st.integers(0, 30)
limits = st.one_of(st.none(), quantities)


@st.composite
def offers(draw: st.DrawFn) -> Offer:
    starts = sorted(draw(st.sets(st.integers(1, 80), max_size=4)))
    breaks = tuple((start, draw(st.integers(1, 40))) for start in starts)
    return offer(draw(st.integers(0, 60)), draw(st.integers(0, 30)), draw(st.integers(1, 25)), breaks)


@st.composite
def standings(draw: st.DrawFn) -> Standing:
    held = draw(quantities)
    needs = []
    for _ in range(draw(st.integers(0, 4))):
        quantity = draw(st.integers(1, 40))
        week = draw(st.one_of(st.none(), weeks.map(W48.following)))
        needs.append(OpenNeed(week, quantity, ("L-1",), draw(st.integers(0, quantity))))
    dues = tuple(
        Due("P", MONDAY + timedelta(days=draw(st.integers(-30, 120))), draw(st.integers(1, 40)))
        for _ in range(draw(st.integers(0, 3)))
    )
    kind = draw(st.sampled_from(["cloth", "hardware"]))
    return standing(
        held,
        reserved=draw(st.integers(0, held)),
        least=draw(limits),
        most=draw(limits),
        dues=dues,
        needs=tuple(needs),
        offers=(draw(offers()),),
        kind=kind,
    )


def more(one: Standing, extra: int) -> Standing:
    return Standing(one.item, one.held + extra, one.reserved, 0, one.dues, one.needs, one.offers)


def bought(one: Standing) -> int:
    found = reckon(one, W48).proposal
    return 0 if found is None else found.quantity


@given(standings())
def test_never_below_the_need_and_always_what_is_sold(one: Standing) -> None:
    lack = shortfall(one, W48, one.offers[0].lead_days)
    found = reckon(one, W48).proposal
    assert (found is None) == (lack.must == 0)
    if found is not None:
        terms = one.offers[0].terms
        assert found.quantity >= found.needed == lack.must
        assert found.quantity % terms.multiple == 0
        assert found.quantity >= terms.least_quantity


@given(standings(), st.integers(1, 40))
def test_more_stock_never_buys_more(one: Standing, extra: int) -> None:
    """Price breaks included; what they limit is the reverse, see below."""
    assert bought(more(one, extra)) <= bought(one)


def test_with_price_breaks_more_stock_may_buy_as_much() -> None:
    """Need 99, 95 or 90: the break at 100 is cheapest for all of them, so more stock saves nothing."""
    steps = (offer(breaks=((1, 12), (100, 10))),)
    assert [bought(standing(held, needs=(need(50, 99),), offers=steps)) for held in (0, 4, 9)] == [100, 100, 100]
    assert bought(standing(19, needs=(need(50, 99),), offers=steps)) == 80


@given(standings())
def test_bought_goods_cure_the_shortfall(one: Standing) -> None:
    """Had what is proposed lain on the shelf and been within reach, nothing would be proposed."""
    assert bought(more(one, bought(one))) == 0 or any(need.out_of_reach for need in one.needs)


@given(standings())
def test_the_most_is_exceeded_only_where_it_is_forced(one: Standing) -> None:
    found = reckon(one, W48).proposal
    if found is not None and one.item.most is not None:
        lack = shortfall(one, W48, found.lead_days)
        assert lack.at_end + found.quantity <= max(
            one.item.most, lack.at_end + sold_quantity(one.offers[0].terms, lack.must)
        )


@given(standings())
def test_no_dearer_purchase_than_any_break_that_is_allowed(one: Standing) -> None:
    """Against a plain search over every quantity sold up to the last break, where no most binds."""
    found = reckon(one, W48).proposal
    terms = one.offers[0].terms
    if found is None or found.cost_minor is None or one.item.most is not None:
        return
    last = max([step.from_quantity for step in terms.breaks], default=0)
    for quantity in range(sold_quantity(terms, found.needed), max(last, found.needed) + 60):
        reached = [step.price_minor for step in terms.breaks if step.from_quantity <= quantity]
        if quantity % terms.multiple == 0 and reached:
            by_length = one.item.kind == "cloth"
            cost = -(-reached[-1] * quantity // 1000) if by_length else reached[-1] * quantity
            assert found.cost_minor <= cost


@given(standings())
def test_every_line_shows_its_working(one: Standing) -> None:
    found = reckon(one, W48).proposal
    if found is not None:
        assert len(found.steps) >= 4
        assert all(step.endswith(".") and step[0].isascii() for step in found.steps)


def test_a_purchase_past_its_day_is_named_with_the_orders_that_need_it() -> None:
    late = Due("P-7", MONDAY - timedelta(days=5), 4)
    in_time = Due("P-8", MONDAY + timedelta(days=5), 4)
    (sentence,) = to_hurry(standing(dues=(in_time, late), needs=(need(50, 3),)), W48)
    assert (
        sentence
        == "X: 4 of purchase P-7 was due on 2026-11-18 and has not come. Ask the supplier. Needed by order L-1001."
    )
