"""A shop that is opened behind the first rows of the rail: what its jobs need takes longer to load than the screens."""

from __future__ import annotations

import gc
from contextlib import ExitStack
from datetime import UTC, datetime
from types import TracebackType
from typing import TYPE_CHECKING, Self

from stockroom.screens.calls import Opening

if TYPE_CHECKING:
    from stockroom.jobs.first_look import FirstLook
    from stockroom.jobs.printing import Outlet
    from stockroom.screens.calls import Jobs


class ToBeOpened:
    """The shop at a place, whose papers go to an outlet. As a context manager it closes what was opened."""

    def __init__(self, place: str, look: FirstLook, outlet: Outlet) -> None:
        self._place = place
        self._outlet = outlet
        self._look = look
        self._opened = ExitStack()

    def opening(self) -> Opening:
        """How the screens open it, and what they show until then."""
        zone = self._look.zone
        return Opening(
            shop_name=self._look.shop_name,
            today=lambda: datetime.now(zone).date(),
            now=lambda: datetime.now(UTC),
            open=self._open,
            first=self._look.orders,
        )

    def _open(self) -> Jobs:
        from stockroom.jobs.about import about_of
        from stockroom.screens.wiring import jobs_of
        from stockroom.store.database import Shop

        shop = self._opened.enter_context(Shop.open(self._place))
        jobs = jobs_of(shop, about_of(shop), self._outlet)
        # What is loaded by now stays for good. The collecting of garbage would look through all of it in the middle of
        # a scan, for longer than the scan itself takes.
        gc.freeze()
        return jobs

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._opened.close()
