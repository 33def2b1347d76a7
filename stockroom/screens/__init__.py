"""The terminal screens. They show, they ask, they call a job; they hold no rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockroom.domain.about import About
    from stockroom.jobs.first_look import FirstLook
    from stockroom.jobs.printing import Outlet
    from stockroom.store.database import Shop


def run(shop: Shop, about: About | None, outlet: Outlet) -> None:
    """Run the screens on an open shop until the person leaves. `about` is what the shop says of itself, if it does.

    `outlet` is where papers go.

    The shop is only handed on to the jobs, which are called on a thread of their own. Nothing heavy is loaded before
    this is called.
    """
    from stockroom.screens.app import StockroomApp
    from stockroom.screens.wiring import jobs_of

    StockroomApp(jobs_of(shop, about, outlet)).run()


def run_and_open(place: str, look: FirstLook, outlet: Outlet) -> None:
    """Run the screens on a shop that a first look was taken at. It is opened behind the first rows of the rail."""
    from stockroom.screens.app import StockroomApp
    from stockroom.screens.opening import ToBeOpened

    with ToBeOpened(place, look, outlet) as shop:
        StockroomApp(shop.opening()).run()
