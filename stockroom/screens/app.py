"""The terminal screens as one application."""

from __future__ import annotations

import sys
from typing import ClassVar

from rich.text import Text
from textual.app import App
from textual.binding import Binding, BindingType
from textual.worker import WorkerFailed

from stockroom.screens.calls import Jobs, Opening, already_open
from stockroom.screens.frame import Frame
from stockroom.screens.themes import DARK, LIGHT
from stockroom.screens.wording import plain

TERMINAL_SECONDS = 2.0
"""How often the program makes sure that its terminal is still there."""


class StockroomApp(App[None]):
    """Shows, asks, and calls the jobs it was given."""

    CSS_PATH = "stockroom.tcss"
    # The toolkit declares these two as it does, so they cannot be marked as belonging to the class.
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (120, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (36, "-high")]  # noqa: RUF012
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "quit", priority=True),
        Binding("ctrl+c", "quit", priority=True),
    ]

    def __init__(self, start: Jobs | Opening) -> None:
        """On a shop that is open, or is to be opened when the screen stands."""
        super().__init__()
        self._opening = start if isinstance(start, Opening) else already_open(start)
        self.title = "stockroom"
        for theme in (LIGHT, DARK):
            self.register_theme(theme)
        self.theme = DARK.name

    def get_default_screen(self) -> Frame:
        """The one screen there is."""
        return Frame(self._opening)

    def on_mount(self) -> None:
        if not self.is_headless:
            self.set_interval(TERMINAL_SECONDS, self._leave_without_a_terminal)

    async def _leave_without_a_terminal(self) -> None:
        """Leave where the terminal went away without the signal that says so: nobody could end the program any more."""
        if sys.__stdin__ is not None and not sys.__stdin__.isatty():
            await self.action_quit()

    async def action_quit(self) -> None:
        """Leave. What a job still running answers has no screen any more."""
        frame = self.screen
        if isinstance(frame, Frame):
            frame.errands.close()
        self.exit()

    def _fatal_error(self) -> None:
        """Say in a sentence that the program failed; the toolkit would print a traceback (TEXTUAL=debug does)."""
        if "debug" in self.features:
            super()._fatal_error()
            return
        fault = self._exception.error if isinstance(self._exception, WorkerFailed) else self._exception
        self.panic(
            Text(
                f"The screens stopped because of a fault in the program ({type(fault).__name__}: {plain(str(fault))}). "
                "The shop is as the last finished job left it. Start the screens again."
            )
        )

    async def settled(self) -> None:
        """Return when every job asked for so far is done and shown."""
        frame = self.screen
        if isinstance(frame, Frame):
            await frame.errands.settled()
