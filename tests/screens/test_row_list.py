"""The list widget: how columns share the width, what the filter lets through, what is drawn."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.app import App, ComposeResult

from stockroom.screens.row_list import GAP, MARK, Cell, Column, RowList, spread
from tests.screens.driving import in_a_loop

COLUMNS: tuple[Column[str], ...] = (
    Column("Name", Cell, 10, grow=1),
    Column("Twice", lambda row: Cell(row * 2), 6, grow=2, shown_from=40),
    Column("Size", lambda row: Cell(str(len(row))), 4),
)


class OneList(App[None]):
    """Nothing but a list."""

    def __init__(self) -> None:
        super().__init__()
        self.rows = RowList[str](COLUMNS, key=lambda row: row, words=lambda row: row, empty="Nothing.\nAdd something.")

    def compose(self) -> ComposeResult:
        yield self.rows


def drawn(rows: RowList[str]) -> list[str]:
    return [rows.render_line(y).text for y in range(rows.size.height)]


@given(st.integers(28, 400))
def test_columns_fill_the_width_exactly(width: int) -> None:
    shared = spread(COLUMNS, width)
    assert len(MARK) + sum(room for _, room in shared) + GAP * (len(shared) - 1) == width


def test_a_column_that_needs_more_room_is_left_out_of_a_narrow_list() -> None:
    assert [column.title for column, _ in spread(COLUMNS, 39)] == ["Name", "Size"]
    assert [column.title for column, _ in spread(COLUMNS, 40)] == ["Name", "Twice", "Size"]


@in_a_loop
async def test_every_line_is_as_wide_as_the_list_whatever_a_name_holds() -> None:
    app = OneList()
    names = [
        "[red]x[/red]",
        "<b>",
        "a\x1b[31m\tb\x00",
        "日本語の長い名前です",
        "e\u0301" * 30,
        "\u202eabc",
        "x" * 500,
        "🧵🧵🧵🧵🧵🧵🧵",
        "",
    ]
    async with app.run_test(size=(41, 14)):
        app.rows.fill(names)
        lines = drawn(app.rows)
        width = app.rows.scrollable_content_region.width
        assert {cell_len(line) for line in lines} == {width}
        assert all(line.isprintable() for line in lines)
        assert "[red]x[/red]" in lines[1]
        assert "<b>" in lines[2]
        assert r"a\x1b[31m" in lines[3]
        assert r"\u202eabc" in lines[6]


@in_a_loop
async def test_the_filter_wants_every_word_in_any_order_and_any_case() -> None:
    app = OneList()
    async with app.run_test(size=(41, 14)):
        app.rows.fill(["Hood, FAWN", "hood, black", "Straße fawn"])
        app.rows.filter("fawn hood")
        assert app.rows.seen == 1
        assert app.rows.row == "Hood, FAWN"
        app.rows.filter("STRASSE")
        assert app.rows.row == "Straße fawn"


@in_a_loop
async def test_the_highlight_stays_on_its_row_when_others_come_and_go() -> None:
    app = OneList()
    async with app.run_test(size=(41, 14)):
        app.rows.fill(["a", "b", "c"])
        app.rows.move(1)
        app.rows.fill(["0", "a", "b", "c"])
        assert app.rows.row == "b"
        app.rows.fill(["0", "a"])
        assert app.rows.row == "0"


@in_a_loop
async def test_moving_goes_no_further_than_the_ends_and_keeps_the_row_in_view() -> None:
    app = OneList()
    async with app.run_test(size=(41, 14)) as pilot:
        app.rows.fill([f"row {number}" for number in range(100)])
        await pilot.pause()
        for step, row in ((-5, "row 0"), (500, "row 99"), (-1, "row 98")):
            app.rows.move(step)
            assert app.rows.row == row
            assert sum(line.startswith(MARK) for line in drawn(app.rows)) == 1
        app.rows.end(-1)
        app.rows.turn(1)
        assert app.rows.row == "row 12"
        assert drawn(app.rows)[-1].startswith(f"{MARK}row 12")


@in_a_loop
async def test_an_empty_list_says_what_to_do_and_an_overfiltered_one_how_to_get_out() -> None:
    app = OneList()
    async with app.run_test(size=(41, 14)):
        assert "Nothing." not in "".join(drawn(app.rows)), "it is not known to be empty before it is filled"
        app.rows.fill([])
        assert "Nothing." in drawn(app.rows)[2]
        assert "Add something." in drawn(app.rows)[3]
        app.rows.fill(["a"])
        app.rows.filter("zz")
        assert "Nothing here matches 'zz'." in drawn(app.rows)[2]
        assert app.rows.row is None


@in_a_loop
async def test_of_five_thousand_rows_only_those_in_view_are_ever_drawn() -> None:
    app = OneList()
    rows = [f"L-{number} Ann Carpenter, Full boot set" for number in range(5000)]
    drawn_rows: list[str] = []

    def noted(row: str) -> Cell:
        drawn_rows.append(row)
        return Cell(row)

    app.rows = RowList((Column("Name", noted, 10, grow=1),), key=lambda row: row, words=lambda row: row, empty="")
    async with app.run_test(size=(80, 24)) as pilot:
        app.rows.fill(rows)
        await pilot.pause()
        app.rows.filter("carpenter")
        await pilot.pause()
        app.rows.end(1)
        await pilot.pause()
        assert set(drawn_rows) == {*rows[:23], *rows[-23:]}
