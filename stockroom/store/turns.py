"""Writers of a SQLite shop take turns: they queue at a lock file beside the database.

SQLite lets one process write at a time but keeps no queue: of several processes that write in a loop, one gets
nearly every turn and the others wait for ever. Here a writer holds the lock file only while it waits for its turn, so
that the one which has just written stands behind those who are waiting.
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> bool:
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _take(descriptor: int) -> bool:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


class TooLong(Exception):  # noqa: N818 - it is an answer: the turn did not come
    """The turn did not come within the stated time."""


@contextmanager
def turn(lock_file: Path, wait_s: float) -> Iterator[None]:
    """Be next in line for as long as the block runs. Raises TooLong after `wait_s` seconds, OSError if there is no way
    to make the file. The lock goes with the open file, so threads queue as processes do and a killed one leaves none.
    """
    until = time.monotonic() + wait_s
    descriptor = os.open(lock_file, os.O_RDWR | os.O_CREAT, 0o666)
    try:
        while not _take(descriptor):
            if time.monotonic() > until:
                raise TooLong
            # Uneven naps, so that several who wait have the same chance whenever the lock comes free.
            time.sleep(random.uniform(0.0005, 0.003))
        yield
    finally:
        os.close(descriptor)
