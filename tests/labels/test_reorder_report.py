"""The reorder report: lines as given, their use drawn, totals, the sentence of an empty week."""

from dataclasses import replace

import pytest

from labels import ReorderLine, ReorderReport, SupplierProposals, reorder_report_pdf
from tests.labels.examples import HOSTILE, LATE, LONG, REORDER, WORDLESS
from tests.labels.reading import assert_within_pages, ink_outside, pictures, texts


def with_lines(*lines: ReorderLine) -> ReorderReport:
    return replace(REORDER, suppliers=(SupplierProposals("Harrow Fastenings", lines),))


def dark(report: ReorderReport) -> int:
    return sum(sum(picture.histogram()[:128]) for picture in pictures(reorder_report_pdf(report), 150))


def test_a_line_says_its_position_what_is_proposed_and_why() -> None:
    (page,) = texts(reorder_report_pdf(REORDER))
    for said in (
        "2026-W48",
        "Lindow Trim",
        "Harrow Fastenings",
        "lead time 12 days",
        "LATE",
        "Snap fastener, socket half",
        "SF-SOCK-N",
        "1 240",
        "310",
        "500",
        "1 000",
        "1 500",
        "184.50",
        "Under the reorder point of 1 000.",
        "Total, Harrow Fastenings",
        "Purchase 88 is 4 days late.",
        "page 1 of 1",
    ):
        assert said in page, said


def test_lines_keep_their_order_over_the_pages() -> None:
    lines = tuple(replace(LATE, item=f"IT-{at:03d}", mark="late" if at < 2 else "") for at in range(60))
    pages = texts(reorder_report_pdf(with_lines(*lines)))
    assert len(pages) > 2
    said = " ".join(pages)
    places = [said.index(line.item) for line in lines]
    assert places == sorted(places)
    assert said.count("LATE") == 2
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page


def test_an_empty_week_says_so() -> None:
    (page,) = texts(reorder_report_pdf(ReorderReport("Lindow Trim", "2026-W49", ())))
    assert "Nothing is to be ordered this week." in page
    (page,) = texts(reorder_report_pdf(replace(REORDER, suppliers=(SupplierProposals("Harrow Fastenings", ()),))))
    assert "Nothing is to be ordered this week." in page
    assert "Harrow" not in page


def test_past_use_is_drawn_in_proportion() -> None:
    def ink(*weeks: int) -> int:
        return dark(with_lines(replace(LATE, weekly_use=weeks)))

    empty = ink(*(0,) * 12)
    one = ink(8, *(0,) * 11) - empty
    half = ink(8, 4, *(0,) * 10) - empty
    full = ink(*(8,) * 12) - empty
    assert one > 50
    assert half == pytest.approx(1.5 * one, rel=0.1)
    assert full == pytest.approx(12 * one, rel=0.1)


@pytest.mark.parametrize("weeks", [(), (0,), (-3, 0, 5), (1,) * 500])
def test_any_history_can_be_drawn(weeks: tuple[int, ...]) -> None:
    assert_within_pages(reorder_report_pdf(with_lines(replace(LATE, weekly_use=weeks))), 10.0)


@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "\n" * 60], ids=["long", "one word", "hostile", "empty lines"]
)
def test_nothing_runs_over(text: str) -> None:
    line = ReorderLine(text, text, text, text, text, text, text, text, text, text, (1, 2))
    report = ReorderReport(text, text, (SupplierProposals(text, (line, LATE), text, text),), text, text, (text,), text)
    pdf = reorder_report_pdf(report)
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0


def test_the_same_report_gives_the_same_bytes() -> None:
    assert reorder_report_pdf(REORDER) == reorder_report_pdf(REORDER)


def test_stock_to_come_is_drawn_and_runs_below_nothing_where_it_is_short() -> None:
    def ink(projected: tuple[int, ...], as_it_is: tuple[int, ...] = ()) -> int:
        return dark(with_lines(replace(LATE, projected=projected, as_it_is=as_it_is)))

    none, level, falling = ink(()), ink((40,) * 14), ink(tuple(range(40, -30, -5)))
    assert level > none + 100
    assert falling > level + 50, "a step down for each week"
    assert ink((40,) * 14, (10,) * 14) > level + 20, "what it would be without is dashed beneath"
    for strange in ((0,), (-5,) * 3, (10**12, -(10**12)), (1,) * 200):
        assert_within_pages(reorder_report_pdf(with_lines(replace(LATE, projected=strange, as_it_is=strange))), 10.0)


def test_what_lies_idle_stands_at_the_end() -> None:
    (page,) = texts(reorder_report_pdf(replace(REORDER, idle=("DEAD 5 of CL-9, Clip",))))
    assert page.index("Lies idle") > page.index("Total, Harrow Fastenings")
    assert "DEAD 5 of CL-9, Clip" in page
