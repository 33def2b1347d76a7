"""The keys of every page, as the key line and the help page show them."""

from __future__ import annotations

from stockroom.screens.help_page import HelpPage
from stockroom.screens.key_line import Key
from stockroom.screens.page import Page

HELP = Key("F1", "Help", "help", "this page; so does ? where nothing is typed")
RAIL = Key("F2", "Rail", "rail", "the orders in hand")
FILTER = Key("F3", "Filter", "filter", "narrow the list by words; so does / where nothing is typed")
AGAIN = Key("F5", "Refresh", "refresh", "read the page again")
LIGHT = Key("F9", "Theme", "light", "the light theme or the dark one")
BACK = Key("Esc", "Back", "back", "clear what is typed, then the filter, then go back a page")
QUIT = Key("^Q", "Quit", "quit", "leave (Ctrl and Q; Ctrl and C too); nothing is lost")
MOVING = (
    Key("Enter", "", "", "open what is typed; with nothing typed, what is highlighted"),
    Key("↑ ↓", "", "", "move; Page up, Page down, Ctrl+Home and Ctrl+End too"),
)


def keys_of(page: Page) -> tuple[Key, ...]:
    """The keys that work on a page, in the order in which the key line shows them."""
    if isinstance(page, HelpPage):
        return (HELP, RAIL, LIGHT, BACK, QUIT)
    middle = (FILTER,) if page.rows is not None else ()
    return (HELP, RAIL, *middle, *page.KEYS, AGAIN, LIGHT, BACK, QUIT, *MOVING)
