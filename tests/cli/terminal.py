"""A real terminal: `stockroom` behind a pseudo-terminal, its screen kept by a terminal emulator."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pyte

from tests.cli.calling import DEADLINE_S, PROGRAM, environment


class Terminal:
    """The program's screen as a person sees it, and the keys they press."""

    def __init__(self, running: subprocess.Popen[bytes], own: int, columns: int, rows: int) -> None:
        self.running = running
        self._own = own
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)

    @property
    def lines(self) -> list[str]:
        """The screen, line by line."""
        return [line.rstrip() for line in self._screen.display]

    @property
    def text(self) -> str:
        """The screen as one text."""
        return "\n".join(self.lines)

    def press(self, keys: str) -> None:
        """Type keys, as the terminal sends them."""
        os.write(self._own, keys.encode())

    def wait_for(self, what: str | Callable[[str], bool]) -> str:
        """Read what the program draws until the screen shows a text, or does what is asked; gives the screen back."""

        def shown() -> bool:
            return what in self.text if isinstance(what, str) else what(self.text)

        deadline = time.monotonic() + DEADLINE_S
        while not shown():
            left = deadline - time.monotonic()
            assert left > 0, f"{what!r} did not come:\n{self.text}"
            if not self._read(left):
                assert shown(), f"the program ended before {what!r} came:\n{self.text}"
        return self.text

    def go_away(self) -> int:
        """Close the terminal under the program, which is sent no signal; its exit status when it has ended."""
        # Another file in its place, so that what the context closes in the end is still this one's number.
        nothing = os.open(os.devnull, os.O_RDWR)
        os.dup2(nothing, self._own)
        os.close(nothing)
        return self.running.wait(timeout=DEADLINE_S)

    def end(self) -> int:
        """Read on until the program has ended; its exit status."""
        deadline = time.monotonic() + DEADLINE_S
        while self._read(deadline - time.monotonic()):
            assert time.monotonic() < deadline, f"it did not end:\n{self.text}"
        return self.running.wait(timeout=DEADLINE_S)

    def _read(self, seconds: float) -> bool:
        """Whether there may be more to read."""
        if not select.select([self._own], [], [], max(seconds, 0))[0]:
            return True
        try:
            drawn = os.read(self._own, 65_536)
        except OSError:  # Linux says so when the other end is closed.
            return False
        self._stream.feed(drawn)
        return bool(drawn)


@contextmanager
def terminal(*words: object, cwd: Path, columns: int, rows: int, **named: str) -> Iterator[Terminal]:
    """`stockroom WORDS` in a terminal of this size; killed if the test leaves it running."""
    own, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    running = subprocess.Popen(
        [*PROGRAM, *map(str, words)],
        cwd=cwd,
        env=environment({"TERM": "xterm-256color", "LANG": "C.UTF-8", **named}),
        stdin=its,
        stdout=its,
        stderr=its,
        start_new_session=True,
    )
    os.close(its)
    try:
        yield Terminal(running, own, columns, rows)
    finally:
        if running.poll() is None:
            running.send_signal(signal.SIGKILL)
            running.wait()
        os.close(own)
