"""The keys of every page, as the key line and the help page show them."""

from __future__ import annotations

from stockroom.screens.help_page import HelpPage
from stockroom.screens.key_line import Key
from stockroom.screens.page import Page
from stockroom.screens.rail_page import RailPage
from stockroom.screens.stock_pages import keys_in_help, keys_in_line

HELP = Key("F1", "Help", "help", "this page; so does ? where nothing is typed")
RAIL = Key("F2", "Rail", "rail", "the orders in hand")
RAIL_HERE = Key("F2", "", "", "read the orders in hand again, from wherever one is")
FILTER = Key("F3", "Filter", "filter", "narrow the list by words; so does / where nothing is typed")
BENCH = Key("F6", "Bench", "open_page('bench')", "the bundles in the sewing room: where each is, and who has it")
PACK = Key("F7", "Pack", "pack", "the packing list of the order")
PICK = Key("F4", "Pick", "pick", "fetch what the order, or the marked orders, need")
ORDERS = Key("F4", "", "", "pick; F6 the bench; F7 pack: the pages of an order")
PRINT = Key("^P", "Print", "print", "print what there is to print here (Ctrl and P)")
WHO = Key("F8", "", "initials", "say who is at the screen")
AGAIN = Key("F5 F9", "", "", "read the page again; the light theme or the dark one")
BACK = Key("Esc", "Back", "back", "clear what is typed, leave a question, the filter, the page")
QUIT = Key("^Q", "Quit", "quit", "leave (Ctrl and Q; Ctrl and C too); nothing is lost")
MOVING = (
    Key("Enter", "", "", "open or answer what is typed; with nothing typed, open the highlight"),
    Key("↑ ↓", "", "", "move; Page up, Page down, Ctrl+Home, Ctrl+End too; Tab: the writing"),
)


def keys_of(page: Page) -> tuple[Key, ...]:
    """The keys that work on a page, in the order in which the key line and the help page show them."""
    if isinstance(page, HelpPage):
        return (HELP, RAIL, PICK, BENCH, PACK, BACK, QUIT)
    middle = (FILTER,) if page.rows is not None else ()
    papers = (PRINT,) if page.prints else ()
    stock = (*keys_in_line(page.id or ""), keys_in_help()) if page.LISTS_STOCK_PAGES or page.OF_STOCK else ()
    orders = (ORDERS,) if page.OF_STOCK else (PICK, BENCH, PACK)
    rail = RAIL_HERE if isinstance(page, RailPage) else RAIL
    return (HELP, rail, *middle, *orders, BACK, QUIT, *papers, *page.KEYS, *stock, WHO, AGAIN, *MOVING)
