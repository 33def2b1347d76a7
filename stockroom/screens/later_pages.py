"""The pages that nothing but an errand can open: their jobs come with the open shop, and so do they."""

from __future__ import annotations

from stockroom.screens.bench_page import BenchPage
from stockroom.screens.buying_page import BuyingPage
from stockroom.screens.contents_page import ContentsPage
from stockroom.screens.count_page import CountPage
from stockroom.screens.desk import Desk
from stockroom.screens.goods_page import GoodsInPage
from stockroom.screens.low_page import LowPage
from stockroom.screens.match_page import MatchPage
from stockroom.screens.pack_page import PackPage
from stockroom.screens.page import Page
from stockroom.screens.pick_page import PickPage
from stockroom.screens.racks_page import RacksPage
from stockroom.screens.sheet_page import SheetPage
from stockroom.screens.tag_page import TagPage
from stockroom.screens.ticket_page import TicketPage
from stockroom.screens.undo_page import UndoPage


def later_pages(desk: Desk) -> tuple[Page, ...]:
    """One page of each kind, on this screen."""
    return (
        TicketPage(desk, id="ticket"),
        TagPage(desk, id="tag"),
        PickPage(desk, id="pick"),
        BenchPage(desk, id="bench"),
        PackPage(desk, id="pack"),
        GoodsInPage(desk, id="goods"),
        RacksPage(desk, id="racks"),
        ContentsPage(desk, id="contents"),
        CountPage(desk, id="counts"),
        SheetPage(desk, id="sheet"),
        UndoPage(desk, id="undo"),
        LowPage(desk, id="low"),
        MatchPage(desk, id="match"),
        BuyingPage(desk, id="buying"),
    )
