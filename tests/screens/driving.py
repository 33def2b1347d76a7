"""Driving the screens by keys alone."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from functools import wraps
from time import monotonic
from typing import Any, ParamSpec

from textual import events
from textual.content import Content
from textual.pilot import Pilot
from textual.widgets import Static

from stockroom.screens.app import StockroomApp
from stockroom.screens.paragraphs import Paragraphs
from stockroom.screens.typed import ScanLine

Given = ParamSpec("Given")
Driver = Pilot[Any]
_COMES_WITHIN_S = 60
"""So long is waited at most for what is looked up behind a page; a test that waits longer fails."""


def in_a_loop(test: Callable[Given, Coroutine[Any, Any, None]]) -> Callable[Given, None]:
    """A test that is a coroutine, as pytest calls it."""

    @wraps(test)
    def plain_test(*args: Given.args, **kwargs: Given.kwargs) -> None:
        asyncio.run(test(*args, **kwargs))

    return plain_test


async def settle(pilot: Driver) -> None:
    """Wait until every key is seen, every job is done and its answer is on the screen."""
    app = pilot.app
    assert isinstance(app, StockroomApp)
    await pilot.pause()
    await app.settled()
    await pilot.pause()


async def press(pilot: Driver, *keys: str) -> None:
    """Press keys one after another, and wait for what they lead to. A code is given as `*"R1042L", "enter"`.

    Characters come without a pause, as a scanner sends them.
    """
    for key in keys:
        if len(key) == 1:
            pilot.app.post_message(events.Key(key, key))
        else:
            await pilot.press(key)
    await settle(pilot)


async def comes(pilot: Driver, words: str) -> str:
    """Wait until the screen shows these words, which something looked up behind the page brings; gives the screen."""
    last = monotonic() + _COMES_WITHIN_S
    while words not in screen_text(pilot) and monotonic() < last:
        await settle(pilot)
    return screen_text(pilot)


def shows(pilot: Driver, selector: str) -> str:
    """The text that a part of the screen shows."""
    content = pilot.app.screen.query_one(selector, Static).content
    if isinstance(content, Paragraphs):
        return content.folded(1000).plain
    assert isinstance(content, Content)
    return content.plain


def scan_line(pilot: Driver) -> ScanLine:
    """The scan line."""
    return pilot.app.screen.query_one(ScanLine)


def screen_text(pilot: Driver) -> str:
    """The whole screen, a line under a line, as a person reads it."""
    compositor = pilot.app.screen._compositor
    return "\n".join("".join(segment.text for segment in strip) for strip in compositor.render_strips())
