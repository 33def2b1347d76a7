"""Calling `stockroom` as a person at a shell does: in this process, which is fast, or in one of its own."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from stockroom.cli import main
from tests.house.tree import ROOT

DEADLINE_S = 60.0
"""How long a test waits for something that should happen at once, in seconds."""
STOPPED_WORDS = "Stopped. A job that was not done left nothing behind.\n"
PROGRAM = (sys.executable, "-c", "from stockroom.cli import main; main()")


@dataclass(frozen=True, slots=True)
class Said:
    """What a call said, and how it ended."""

    status: int
    raw: bytes
    """stdout as it is."""
    err: str

    @property
    def out(self) -> str:
        """stdout as text."""
        return self.raw.decode("utf-8")

    @property
    def json(self) -> Any:
        """stdout as JSON."""
        return json.loads(self.raw)

    def well(self) -> Said:
        """Itself; fails where the call did not end well."""
        assert self.status == 0, f"ended with {self.status}:\n{self.err}"
        return self

    def refused(self, *words: str, status: int = 1) -> Said:
        """Itself; fails unless it is a refusal: a sentence with these words on stderr, and nothing on stdout."""
        assert (self.status, self.raw) == (status, b""), f"ended with {self.status}:\n{self.out}{self.err}"
        assert "Traceback" not in self.err
        assert "fault of the program" not in self.err
        assert self.err.strip().endswith((".", "?", "…")) or "\n" in self.err.strip()
        for word in words:
            assert word in self.err
        return self


def environment(named: Mapping[str, str]) -> dict[str, str]:
    """The environment of a call: nothing of the shop of whoever runs the tests."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STOCKROOM_")}
    return {**kept, "PYTHONPATH": str(ROOT), "STOCKROOM_BY": "AB", **named}


def call(*words: object, cwd: Path, **named: str) -> Said:
    """`stockroom WORDS` in this process, by the same door as the command's: its stdout is a file, no terminal."""
    out, err = io.BytesIO(), io.BytesIO()
    text_out = io.TextIOWrapper(out, encoding="utf-8", write_through=True)
    text_err = io.TextIOWrapper(err, encoding="utf-8", write_through=True)
    status: object = 0
    with (
        chdir(cwd),
        patch.object(sys, "argv", ["stockroom", *map(str, words)]),
        patch.dict(os.environ, environment(named), clear=True),
        redirect_stdout(text_out),
        redirect_stderr(text_err),
    ):
        try:
            main()
        except SystemExit as end:
            status = end.code or 0
    assert isinstance(status, int)
    return Said(status, out.getvalue(), err.getvalue().decode())


def call_apart(*words: object, cwd: Path, **named: str) -> Said:
    """`stockroom WORDS` in a process of its own."""
    done = subprocess.run(
        [*PROGRAM, *map(os.fspath, map(str, words))],
        cwd=cwd,
        env=environment(named),
        capture_output=True,
        timeout=DEADLINE_S,
    )
    return Said(done.returncode, done.stdout, done.stderr.decode())


def stopped_when(ready: Callable[[], bool], *words: object, cwd: Path) -> Said:
    """`stockroom WORDS` in a process of its own, sent Ctrl-C as soon as `ready()` holds."""
    running = subprocess.Popen(
        # A shell that starts a command in the background has it ignore Ctrl-C; a person's command does not.
        [sys.executable, "-c", f"import signal; signal.signal(2, signal.default_int_handler); {PROGRAM[2]}"]
        + [str(word) for word in words],
        cwd=cwd,
        env=environment({}),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    deadline = time.monotonic() + DEADLINE_S
    while not ready():
        assert running.poll() is None, "it was done before it could be stopped"
        assert time.monotonic() < deadline, "what should happen did not"
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=DEADLINE_S)
    return Said(running.returncode, out, err.decode())
