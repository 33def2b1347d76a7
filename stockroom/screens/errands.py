"""Slow work, one piece after another on a thread of its own, so that typing never stalls and scans keep their order."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

SLOW_SECONDS = 0.5
"""How long a job may take before the screen says that it is at work."""


@dataclass(frozen=True, slots=True)
class Errand:
    """One job to be called, and what to do with its answer on the screen's own thread."""

    title: str
    """What is being done, for the progress line: 'Reading the rail'."""
    job: Callable[[], Any]
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    awaited: bool = True
    """Whether somebody asked for it: what is scanned or pressed next is for the screen that it leads to."""


class Errands:
    """Runs errands in the order they came, all of them on one thread; and what is pressed behind them, in its turn."""

    def __init__(self, waiting: Callable[[str, int], None]) -> None:
        """`waiting` is told the title of an errand that takes long, and its whole seconds so far, every second."""
        self._queue: asyncio.Queue[Errand] = asyncio.Queue()
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="jobs")
        self._waiting = waiting
        self._to_do = 0
        self._awaited = 0
        self._in_turn: deque[Callable[[], None]] = deque()
        self._begun = False
        self._closed = False

    @property
    def closed(self) -> bool:
        """Whether nothing is done any more."""
        return self._closed

    @property
    def idle(self) -> bool:
        """Whether there is nothing to do."""
        return not self._to_do

    @property
    def awaited(self) -> bool:
        """Whether something is still to come that somebody has asked for."""
        return not self._begun or self._awaited > 0

    def send(self, errand: Errand) -> None:
        """Put an errand at the end of the queue."""
        self._to_do += 1
        self._awaited += errand.awaited
        self._queue.put_nowait(errand)

    def in_turn(self, act: Callable[[], None]) -> None:
        """Do something on the screen's own thread when everything is shown that was asked for before; now, if it is.

        A scanner and quick fingers do not wait for the screen: the third thing typed means what the second leads to.
        """
        self._in_turn.append(act)
        self._catch_up()

    def begin(self) -> None:
        """The screen is there: what was asked of it until now is done, and from now on in its turn."""
        self._begun = True
        self._catch_up()

    def _catch_up(self) -> None:
        while self._in_turn and not self.awaited and not self._closed:
            self._in_turn.popleft()()

    async def settled(self) -> None:
        """Return when every errand is done and shown, with what it led to."""
        while not self.idle:
            await self._queue.join()

    async def do_next(self) -> None:
        """Do the next errand, waiting for one if there is none."""
        errand = await self._queue.get()
        try:
            await self._do(errand)
        finally:
            self._to_do -= 1
            self._awaited -= errand.awaited
            self._catch_up()
            self._queue.task_done()

    def close(self) -> None:
        """Take no more; what is running finishes by itself, and nobody is told."""
        self._closed = True
        self._thread.shutdown(wait=False, cancel_futures=True)

    async def _do(self, errand: Errand) -> None:
        if self._closed:
            return
        work = asyncio.get_running_loop().run_in_executor(self._thread, errand.job)
        pause, seconds = SLOW_SECONDS, 0
        while not (await asyncio.wait({work}, timeout=pause))[0]:
            if not self._closed:
                self._waiting(errand.title, seconds)
            pause, seconds = 1.0, seconds + 1
        if self._closed:
            return
        fault = work.exception()
        if fault is None:
            errand.done(work.result())
        elif isinstance(fault, Exception):
            errand.failed(fault)
        else:
            raise fault
