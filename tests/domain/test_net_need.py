"""Net need by week through the levels of a bill, against a table worked by hand; bills that lead back; batches."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.catalogue import Item, Supplier, Terms
from stockroom.domain.made_from import MadeFrom, Part
from stockroom.domain.net_need import levels, made_by_week, start_week, week_rows
from stockroom.domain.offer import Offer
from stockroom.domain.reorder import Reckoned
from stockroom.domain.requirement import PanelShape
from stockroom.domain.shortfall import Cover, shortfall
from stockroom.domain.standing import Due, HeldFor, OpenNeed, Standing
from stockroom.domain.weekly_run import run_week
from stockroom.domain.weeks import Week

W48 = Week(2026, 48)
MONDAY = date(2026, 11, 23)


def bought(code: str, held: int = 0, *, lead_days: int = 7, cloth: bool = False, **rest: object) -> Standing:
    terms = Terms("mill", code, lead_days, 1, 1, ())
    item = Item(code, code, "cloth" if cloth else "hardware")
    return Standing(item, held, 0, 0, *_of(rest), (Offer(Supplier("mill", "The mill", 7, "GBP"), terms),))


def made(
    code: str, held: int = 0, *, make_days: int = 0, batch: int = 1, least: int | None = None, **rest: object
) -> Standing:
    item = Item(code, code, "blank", least=least, made_here=True, make_days=make_days, batch=batch)
    return Standing(item, held, 0, 0, *_of(rest), ())


def _of(rest: dict[str, object]) -> tuple[tuple[Due, ...], tuple[OpenNeed, ...]]:
    dues, needs = rest.get("dues", ()), rest.get("needs", ())
    assert isinstance(dues, tuple)
    assert isinstance(needs, tuple)
    return dues, needs


def need(week: int, quantity: int) -> OpenNeed:
    return OpenNeed(Week(2026, week), quantity, ("L-1001",))


def part(item: str, each: int) -> Part:
    return Part(item, each)


def run(*standings: Standing, **parts: tuple[Part, ...]) -> dict[str, Reckoned]:
    bills = {item.replace("_", "-"): MadeFrom(item.replace("_", "-"), some) for item, some in parts.items()}
    return {one.standing.item.code: one for one in run_week(standings, bills, {}, W48).reckoned}


def table(one: Reckoned) -> list[tuple[str, int, int, int, int]]:
    """Week, needed, coming, left, net: the weeks in which anything happens."""
    return [
        (str(row.week)[-3:], row.needed, row.coming, row.left, row.net)
        for row in one.rows
        if row.needed or row.coming or row.net
    ]


def test_a_hand_worked_weekly_net_need_table() -> None:
    """Lindow Trim, run of 2026-W48. A tool bag is sewn from a blank (7 days); a blank is cut from 500 mm of
    leathercloth and takes 2 buckles (14 days, 4 at a time). Three levels.

    Tool bag: 1 held.
    | week | needed | comes | left | net |
    | W51  | 2      |       | -1   | 1   |  to be ready in W51, so sewing begins a week earlier, in W50
    | W53  | 4      |       | -5   | 4   |  to be ready in W53, begun in W52

    Blank: 1 held; needed when sewing begins, and 1 by an order in W51.
    | W50  | 1      |       | 0    |     |
    | W51  | 1      |       | -1   | 1   |  a batch of 4 is ready in W51, begun in W49
    | W52  | 4      |       | -5   | 4   |  3 are over from the batch: 1 lacks, so 4 more in W52, begun in W50

    Leathercloth: 2.5 m held, 1 m due in W50; 4 blanks take 2 m.
    | W49  | 2000   |       | 500  |     |
    | W50  | 2000   | 1000  | -500 | 500 |  500 mm to be bought; due 7 days after ordering: by Monday 30 November

    Buckles: none held; 4 blanks take 8.
    | W49  | 8      |       | -8   | 8   |
    | W50  | 8      |       | -16  | 8   |
    """
    found = run(
        made("tool-bag", 1, make_days=7, needs=(need(51, 2), need(53, 4))),
        made("blank", 1, make_days=14, batch=4, needs=(need(51, 1),)),
        bought("leathercloth", 2500, cloth=True, dues=(Due("P-7", date(2026, 12, 9), 1000),)),
        bought("buckle"),
        tool_bag=(part("blank", 1),),
        blank=(part("leathercloth", 500), part("buckle", 2)),
    )
    assert table(found["tool-bag"]) == [("W51", 2, 0, -1, 1), ("W53", 4, 0, -5, 4)]
    assert table(found["blank"]) == [("W50", 1, 0, 0, 0), ("W51", 1, 0, -1, 1), ("W52", 4, 0, -5, 4)]
    assert table(found["leathercloth"]) == [("W49", 2000, 0, 500, 0), ("W50", 2000, 1000, -500, 500)]
    assert table(found["buckle"]) == [("W49", 8, 0, -8, 8), ("W50", 8, 0, -16, 8)]
    proposed = {code: (one.proposal.quantity, one.proposal.latest_day) for code, one in found.items() if one.proposal}
    assert proposed == {
        "tool-bag": (5, date(2026, 12, 7)),
        "blank": (8, date(2026, 11, 30)),
        "leathercloth": (500, date(2026, 11, 30)),
        "buckle": (16, date(2026, 11, 23)),
    }
    assert found["blank"].proposal is not None
    assert found["blank"].proposal.ready == ((Week(2026, 51), 4), (Week(2026, 52), 4))
    assert "2.00 m needed in 2026-W50 to make 4 of blank." in found["leathercloth"].steps
    assert "To make 4 of blank from 2026-W49 on takes 8 of buckle." in found["blank"].steps


def test_what_is_made_to_be_kept_brings_its_cloth_too() -> None:
    """Nothing is ordered; two are to be kept. They are begun in the run's own week."""
    found = run(made("blank", least=2, make_days=14), bought("felt", cloth=True), blank=(part("felt", 300),))
    assert table(found["felt"]) == [("W48", 600, 0, -600, 600)]
    felt = found["felt"].proposal
    assert felt is not None
    assert (felt.quantity, felt.urgency, felt.why) == (
        600,
        "late",
        "parts of what is to be made short by 0.60 m in 2026-W48",
    )


def test_the_panels_of_several_are_laid_together() -> None:
    """Two panels 400 wide lie side by side on 1000; four take two rows of 300 with 5 mm between for the knife."""
    square = PanelShape(((0, 0), (400, 0), (400, 300), (0, 300)), 400, 300, "along")
    panels = Part("felt", 10, ((square, 1),), 1000)
    assert [panels.amount(count) for count in (1, 2, 4)] == [310, 320, 645]


def test_an_item_has_one_more_than_the_highest_level_that_it_goes_into() -> None:
    """The stud goes into the bag and into the pocket of its blank: it is reckoned after both."""
    found = levels({"bag": ["blank", "stud"], "blank": ["pocket"], "pocket": ["stud"]})
    assert found.code == {"bag": 0, "blank": 1, "pocket": 2, "stud": 3}


def test_a_bill_that_leads_back_is_named_and_the_rest_still_comes() -> None:
    bills = {
        "bag": MadeFrom("bag", (part("blank", 1), part("stud", 2))),
        "blank": MadeFrom("blank", (part("bag", 1), part("felt", 300))),
        "own": MadeFrom("own", (part("own", 1),)),
    }
    standings = (
        made("bag", needs=(need(50, 1),)),
        made("blank"),
        made("own"),
        bought("stud"),
        bought("felt", cloth=True),
    )
    done = run_week(standings, bills, {}, W48)
    assert done.faults == (
        "A bill leads back to itself: bag is made of blank is made of bag. Its last step is left out of the run; "
        "correct the kit book.",
        "A bill leads back to itself: own is made of own. Its last step is left out of the run; correct the kit book.",
    )
    wanted = {one.standing.item.code: one.lack.must for one in done.reckoned}
    assert wanted == {"bag": 1, "blank": 1, "felt": 300, "own": 0, "stud": 2}


def test_over_the_end_of_a_year_making_begins_in_the_old_one() -> None:
    """2026 has a week 53 (ISO 8601)."""
    assert start_week(Week(2027, 1), 7, W48) == Week(2026, 53)
    assert start_week(Week(2026, 48), 21, W48) == W48, "never before the run"


def test_firm_needs_beyond_the_horizon_stand_in_the_table_and_are_not_made() -> None:
    far = OpenNeed(Week(2027, 20), 3, ("L-9",))
    (one,) = run(made("blank", needs=(far,))).values()
    assert one.proposal is None
    assert (one.rows[-1].week, one.rows[-1].needed, one.rows[-1].net) == (None, 3, 0)


def test_what_no_book_tells_of_is_said() -> None:
    (one,) = run(made("blank", needs=(need(50, 1),))).values()
    assert one.steps[-1].startswith("No kit book says what it is made of")


weeks = st.integers(0, 20)
quantities = st.integers(1, 30)
some_needs = st.lists(st.tuples(weeks, quantities), max_size=5)


@given(some_needs, st.integers(0, 40), st.integers(1, 6), st.integers(0, 30))
def test_what_is_made_is_ready_when_it_is_needed(
    wants: list[tuple[int, int]], held: int, batch: int, extra: int
) -> None:
    """In every week what is ready so far covers what lacks by then; and all of it is made, in whole batches."""
    standing = made("blank", held, batch=batch, needs=tuple(OpenNeed(W48.following(w), q, ("L",)) for w, q in wants))
    lack = shortfall(standing, W48, 0)
    quantity = -(-max(lack.must, extra) // batch) * batch
    ready = made_by_week(lack, quantity, batch, W48)
    assert sum(number for _, number in ready) == quantity
    assert all(number % batch == 0 for _, number in ready)
    for wanted, lacking in lack.by_week:
        assert sum(number for week, number in ready if week <= wanted) >= lacking


@given(some_needs, st.integers(0, 60), st.integers(0, 60))
def test_the_table_adds_up(wants: list[tuple[int, int]], held: int, due: int) -> None:
    """What is left at the end is what was free, and came, less what was needed; net needs sum to what ever lacks."""
    needs = tuple(OpenNeed(W48.following(w), q, ("L",)) for w, q in wants)
    standing = bought("stud", held, lead_days=0, needs=needs, dues=(Due("P", MONDAY, due),))
    lack = shortfall(standing, W48, 200)
    rows = week_rows(standing, lack, W48, W48.following(25), {})
    assert rows[-1].left == held + due - sum(quantity for _, quantity in wants)
    assert sum(row.net for row in rows) == max([0, *(lacking for _, lacking in lack.by_week)])


def test_orders_in_hand_are_part_of_what_is_covered_and_not_on_top() -> None:
    """Until 14 December 20 are to be covered. Orders take 12 by then (4 of it held) and 30 later: 8 besides.

    5 free of 9 held, 10 due on 7 December, less 8 that orders still need: 7 will be there, 1 is lacking. In the end
    5 + 10 - 38 = -23, so 23 must come for the orders of W53, and that covers it.
    """
    standing = Standing(
        Item("stud", "Stud", "hardware"), 9, 4, 0,
        (Due("P-7", date(2026, 12, 7), 10),),
        (need(49, 3), need(50, 5), need(53, 30)),
        (), held_for=(HeldFor(Week(2026, 49), 4),),
    )  # fmt: skip
    lack = shortfall(standing, W48, 14, [Cover("reorder point", 20, date(2026, 12, 14))])
    (one,) = lack.covered
    assert (one.firm, one.besides, one.left, one.lacking) == (12, 8, 7, 1)
    assert (lack.must, lack.deciding) == (23, None)


@given(some_needs, st.integers(0, 60), st.integers(0, 80), st.integers(1, 90), st.integers(1, 20))
def test_more_stock_never_lacks_more_and_a_larger_cover_never_less(
    wants: list[tuple[int, int]], held: int, point: int, days: int, more: int
) -> None:
    needs = tuple(OpenNeed(W48.following(w), q, ("L",)) for w, q in wants)
    until = date.fromordinal(MONDAY.toordinal() + days)

    def must(stock: int, quantity: int) -> int:
        return shortfall(bought("stud", stock, needs=needs), W48, 14, [Cover("reorder point", quantity, until)]).must

    assert must(held + more, point) <= must(held, point) <= must(held, point + more)
    assert must(held, point) >= shortfall(bought("stud", held, needs=needs), W48, 14).must
