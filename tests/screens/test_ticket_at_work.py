"""What is done to an order on its ticket, on a small real shop with the real jobs, by keys alone."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot

from stockroom.domain.about import About
from stockroom.domain.order import FOR_STOCK
from stockroom.jobs.audit import audit
from stockroom.jobs.bundle import bench, tie
from stockroom.jobs.change import cancel
from stockroom.jobs.pack import packing_list
from stockroom.jobs.printing import Outlet
from stockroom.jobs.reserve import reserve
from stockroom.jobs.take import take
from stockroom.jobs.ticket import Ticket, ticket
from stockroom.screens.app import StockroomApp
from stockroom.screens.wiring import jobs_of
from stockroom.store.database import Shop
from tests.jobs.workshop import made_order, piece_tag, take_all, taken_order
from tests.labels.reading import codes
from tests.screens.driving import in_a_loop, press, screen_text, settle, shows
from tests.shops import STAMP, TODAY, dump, line, look, order, plenty, roll, stock_shop

ABOUT = About("Lindow Trim", "Europe/London", "GBP")
HOOD = line("hood", choices={"window": "sewn"})
HOOD_CLOTH = "hood-cloth/fawn"


@pytest.fixture
def full(sqlite_shop: Shop, tmp_path: Path) -> Shop:
    """A shop with enough of everything."""
    stock_shop(sqlite_shop, tmp_path, *plenty())
    return sqlite_shop


@asynccontextmanager
async def at_the_ticket(shop: Shop, number: str, folder: Path) -> AsyncIterator[Pilot[None]]:
    """The screens on the ticket of an order, with initials given."""
    async with StockroomApp(jobs_of(shop, ABOUT, Outlet(folder))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f8", *"AB", "enter", *number, "enter")
        assert f"Ticket {number}" in shows(pilot, "#heading")
        yield pilot


def its_ticket(shop: Shop, number: str) -> Ticket:
    """The ticket of an order."""
    return ticket(shop, number, TODAY)


@in_a_loop
async def test_an_order_is_reserved_on_its_ticket_and_its_pick_list_offered(full: Shop, tmp_path: Path) -> None:
    number = take(full, order(line("boot-set")), STAMP).number
    async with at_the_ticket(full, number, tmp_path / "paper") as pilot:
        await press(pilot, "ctrl+r")
        assert look(full, number).wholly_held
        assert f"Ctrl and P prints pick list of {number}." in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        assert (tmp_path / "paper" / f"pick-list-{number}.pdf").exists()
        await press(pilot, "ctrl+r")
        assert "0 more held" in shows(pilot, "#message")


@in_a_loop
async def test_several_marked_orders_are_reserved_from_the_rail(full: Shop, tmp_path: Path) -> None:
    numbers = [take(full, order(line("boot-set"), number=number), STAMP).number for number in ("O-1", "O-2", "O-3")]
    async with StockroomApp(jobs_of(full, ABOUT, Outlet(tmp_path))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f8", *"AB", "enter", "space", "space", "ctrl+r")
        assert [look(full, number).wholly_held for number in numbers] == [True, True, False]
        assert "Reserved: order O-1 and O-2." in shows(pilot, "#message")


@in_a_loop
async def test_what_is_short_is_told_and_what_there_is_held_only_when_asked_for(
    sqlite_shop: Shop, tmp_path: Path
) -> None:
    stock_shop(sqlite_shop, tmp_path, roll(HOOD_CLOTH, 1500, "A"), roll("zip/fawn", 5000))
    number = take(sqlite_shop, order(HOOD), STAMP).number
    async with at_the_ticket(sqlite_shop, number, tmp_path) as pilot:
        await press(pilot, "ctrl+r")
        assert f"Nothing more was held for order {number}" in shows(pilot, "#message")
        assert "! Short: " in shows(pilot, "#message")
        assert look(sqlite_shop, number).holds == ()
        await press(pilot, "enter")
        assert look(sqlite_shop, number).holds != ()
        assert shows(pilot, "#scan-label") == "Scan ▸"


@in_a_loop
async def test_a_mix_of_lots_is_approved_with_a_reason_and_initials(sqlite_shop: Shop, tmp_path: Path) -> None:
    stock_shop(sqlite_shop, tmp_path, roll(HOOD_CLOTH, 1500, "A"), roll(HOOD_CLOTH, 1600, "B"), roll("zip/fawn", 5000))
    number = take(sqlite_shop, order(HOOD), STAMP).number
    async with at_the_ticket(sqlite_shop, number, tmp_path) as pilot:
        await press(pilot, "ctrl+o")
        assert "there is no mix to approve" in shows(pilot, "#message")
        await press(pilot, "ctrl+r", "escape", "ctrl+o")
        said = shows(pilot, "#message")
        assert "lot A and lot B together. Look in daylight at lot A beside lot B first." in said
        await press(pilot, "enter")
        assert look(sqlite_shop, number).holds == (), "without a reason nothing is approved"
        await press(pilot, *"never side by side", "enter")
        assert look(sqlite_shop, number).lots(HOOD_CLOTH) == {"A", "B"}
        assert "A mix of lots of Hood cloth, fawn is approved (AB)." in shows(pilot, "#message")
    assert any("never side by side (AB" in entry for entry in its_ticket(sqlite_shop, number).history)
    assert audit(sqlite_shop).faults == ()


@in_a_loop
async def test_what_a_line_waits_for_is_answered_on_the_ticket(full: Shop, tmp_path: Path) -> None:
    number = take(full, order(line("jack-bag"), line("side-curtains")), STAMP).number
    waits = its_ticket(full, number).waits
    assert [wait.kind for wait in waits] == ["option", "measurement"]
    async with at_the_ticket(full, number, tmp_path) as pilot:
        await press(pilot, "ctrl+n")
        assert shows(pilot, "#scan-label") == f"{waits[0].name} ▸"
        await press(pilot, *"medium", "enter")
        assert "medium" in shows(pilot, "#message")
        assert its_ticket(full, number).waits == waits, "what is no choice is refused"
        assert shows(pilot, "#scan-label") == f"{waits[0].name} ▸", "and asked for once more"
        await press(pilot, "ctrl+n", "ctrl+n")
        assert waits[0].question in shows(pilot, "#message"), "the key goes round what is waited for"
        await press(pilot, "1", "enter")
        assert its_ticket(full, number).waits == waits[1:]
        await press(pilot, "ctrl+n")
        assert waits[1].question in shows(pilot, "#message")
        await press(pilot, *"620 mm", "enter", "ctrl+n")
        assert its_ticket(full, number).waits == ()
        assert "waits for no answer" in shows(pilot, "#message")


@in_a_loop
async def test_a_customers_part_is_received_tagged_moved_and_given_back(full: Shop, tmp_path: Path) -> None:
    number = taken_order(full, line("boot-set"))
    places = {str(row[0]): str(row[1]) for row in dump(full)["place"]}
    async with at_the_ticket(full, number, tmp_path / "paper") as pilot:
        await press(pilot, "ctrl+k", *"hood frame", "enter", *places["R1"], "enter")
        (part,) = its_ticket(full, number).customers_parts
        assert (part.what, part.where) == ("hood frame", "in R1")
        assert f"Ctrl and P prints tag {part.tag}." in shows(pilot, "#message")
        await press(pilot, "ctrl+p", "enter")
        ((tag,),) = codes((tmp_path / "paper" / f"tag-{part.tag}.pdf").read_bytes(), 300)
        await press(pilot, *tag, "enter", *places["B1"], "enter")
        assert its_ticket(full, number).customers_parts[0].where == "in B1"
        await press(pilot, "tab", "pagedown")
        assert f"Customer's part: hood frame ({tag}), in B1" in screen_text(pilot)
        await press(pilot, *tag, "enter", *"back", "enter")
        assert f"hood frame ({tag}) is given back" in shows(pilot, "#message")
        assert not its_ticket(full, number).customers_parts[0].is_here


@in_a_loop
async def test_a_customers_part_is_given_back_at_the_packing_table_too(full: Shop, tmp_path: Path) -> None:
    number = made_order(full, line("boot-set"))
    async with at_the_ticket(full, number, tmp_path) as pilot:
        await press(pilot, "ctrl+k", *"hood frame", "enter", *"R1", "enter", "f7")
        (part,) = its_ticket(full, number).customers_parts
        await press(pilot, *part.tag, "enter", *"back", "enter")
        assert its_ticket(full, number).customers_parts[0].is_here is False


@in_a_loop
async def test_a_scanned_piece_has_its_tag_offered_first(full: Shop, tmp_path: Path) -> None:
    number = taken_order(full, line("boot-set"))
    tag = look(full, number).tags[1, "BF", 1]
    async with at_the_ticket(full, number, tmp_path / "paper") as pilot:
        await press(pilot, *tag, "enter", "ctrl+p", "enter")
        assert codes((tmp_path / "paper" / f"tag-{tag}.pdf").read_bytes(), 300) == [[tag]]


@in_a_loop
async def test_a_whole_kit_that_was_never_tied_is_kept_as_one_once_its_order_is_cancelled(
    full: Shop, tmp_path: Path
) -> None:
    old = made_order(full, line("tool-bag"), line("boot-set", 2))
    cancel(full, old, STAMP)
    async with at_the_ticket(full, old, tmp_path / "paper") as pilot:
        offered = [one.what for one in its_ticket(full, old).to_put_away if one.line]
        assert offered == [f"Full boot set (line 2, {nth} of 2), the whole kit" for nth in (1, 2)]
        await press(pilot, "ctrl+l", "ctrl+l")
        assert shows(pilot, "#scan-label") == "Keep the whole kit in ▸"
        assert "(line 2, 2 of 2)" in shows(pilot, "#message")
        await press(pilot, *"b2", "enter")
        assert "Full boot set is stock now, as K" in shows(pilot, "#message")
        assert [one.nth for one in its_ticket(full, old).to_put_away if one.line] == [1]


@in_a_loop
async def test_an_order_is_cancelled_its_piece_kept_used_for_the_next_one_fetched_and_packed_by_keys_alone(
    full: Shop, tmp_path: Path
) -> None:
    old = made_order(full, line("boot-set"), number="O-1")
    side = piece_tag(full, old, "BSL")
    taken_order(full, line("boot-set"), number="O-2")
    async with at_the_ticket(full, old, tmp_path / "paper") as pilot:
        await press(pilot, "ctrl+t")
        assert "To be kept or scrapped then: " in shows(pilot, "#message")
        assert " To be put back then: " in shows(pilot, "#message")
        await press(pilot, "enter", *"yes", "enter")
        assert its_ticket(full, old).state == "open", "only the word cancels"
        await press(pilot, *"cancel", "enter")
        assert f"Order {old} is cancelled. " in shows(pilot, "#message")
        assert "! Left over " in screen_text(pilot)
        await press(pilot, *side, "enter", *"b2", "enter")
        tag = its_ticket(full, old).became[0].partition(" as ")[2].partition(" ")[0]
        assert f"is stock now, as {tag} in B2." in shows(pilot, "#message")
        assert f"Ctrl and P prints tag {tag}." in shows(pilot, "#message")
        await press(pilot, "ctrl+l")
        first, second = its_ticket(full, old).to_put_away[:2]
        assert shows(pilot, "#scan-label") == f"Keep {first.tag} in ▸"
        await press(pilot, "ctrl+l")
        assert shows(pilot, "#scan-label") == f"Keep {second.tag} in ▸", "the key goes round what is left over"
        await press(pilot, *"scrap", "enter")
        assert second in its_ticket(full, old).to_put_away, "without a reason nothing is scrapped"
        await press(pilot, *second.tag, "enter", *"scrap torn at the edge", "enter")
        assert second not in its_ticket(full, old).to_put_away
        back = next(one for one in its_ticket(full, old).to_put_away if one.how == "put back")
        await press(pilot, *back.tag, "enter", "enter")
        assert back not in its_ticket(full, old).to_put_away

        await press(pilot, *"O-2", "enter")
        assert "! In stock " in screen_text(pilot)
        assert tag in screen_text(pilot)
        await press(pilot, *tag, "enter", "escape")
        assert its_ticket(full, "O-2").from_stock == (), "nothing is used before it is confirmed"
        await press(pilot, "ctrl+l", "enter")
        assert [one.tag for one in its_ticket(full, "O-2").from_stock] == [tag]
        await press(pilot, *tag, "enter", "enter")
        assert its_ticket(full, "O-2").from_stock == (), "scanned again, it is let go"
        await press(pilot, "ctrl+l", "enter")
        await press(pilot, "f4", *tag, "enter")
        assert its_ticket(full, "O-2").from_stock[0].is_fetched
        take_all(full, "O-2")
        await press(pilot, "f7", *tag, "enter")
        assert piece_tag(full, "O-2", "BSL") in {one.tag for one in packing_list(full, "O-2").pieces if one.parcel}
    assert audit(full).faults == ()


@in_a_loop
async def test_a_bundle_left_over_is_kept_where_it_is_scanned_and_what_is_for_stock_too(
    full: Shop, tmp_path: Path
) -> None:
    old = made_order(full, line("boot-set"), number="O-1")
    (bundle,) = tie(full, old, STAMP).bundles
    cancel(full, old, STAMP)
    made = take(full, order(line("tonneau"), number="S-1", customer=FOR_STOCK, for_stock=True), STAMP).number
    reserve(full, made, STAMP)
    take_all(full, made)
    async with at_the_ticket(full, made, tmp_path / "paper") as pilot:
        assert "! For stock kept as soon as it is made: Tonneau cover" in screen_text(pilot)
        await press(pilot, *bundle.tag, "enter")
        assert f"Ticket {old}" in shows(pilot, "#heading"), "nothing of it is packed any more"
        await press(pilot, "f6", *bundle.tag, "enter")
        assert shows(pilot, "#scan-label") == f"Keep {bundle.tag} in ▸"
        await press(pilot, *"b2", "enter")
        assert bench(full, STAMP.at) == ()
        assert "Ctrl and P prints tag K" in shows(pilot, "#message")
        await press(pilot, *made, "enter", "ctrl+l", *"b2", "enter")
        assert its_ticket(full, made).state == "kept"
        await press(pilot, "ctrl+l")
        assert "nothing of it is left over" in shows(pilot, "#message")
    assert audit(full).faults == ()
