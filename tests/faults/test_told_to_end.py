"""A command is stopped at any moment, by Ctrl-C or by being told to end: the shop is as before or after, and good."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from stockroom.store.shipped import shipped
from tests.cli.calling import DEADLINE_S, PROGRAM, call, environment
from tests.cli.conftest import Desk

STOPPED = "Stopped. A job that was not done left nothing behind.\n"


def _stopped(sign: signal.Signals, ready: Callable[[], bool], *words: str, cwd: Path) -> tuple[int, str]:
    """Status and stderr of a command that was sent `sign` as soon as `ready()` held."""
    running = subprocess.Popen(
        # Where tests run in the background, Ctrl-C is ignored by what they start; a person's command heeds it.
        [sys.executable, "-c", f"import signal; signal.signal(2, signal.default_int_handler); {PROGRAM[2]}", *words],
        cwd=cwd,
        env=environment({}),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    deadline = time.monotonic() + DEADLINE_S
    while not ready() and running.poll() is None:
        assert time.monotonic() < deadline, "what should happen did not"
    running.send_signal(sign)
    _, err = running.communicate(timeout=DEADLINE_S)
    return running.returncode, err.decode()


def _rows(shop: Path) -> list[str]:
    with closing(sqlite3.connect(shop)) as link:
        return list(link.iterdump())


@pytest.mark.parametrize(
    ("sign", "stage"), [(signal.SIGHUP, "begun"), (signal.SIGTERM, "shop"), (signal.SIGTERM, "paper")]
)
def test_a_demo_told_to_end_leaves_no_half_of_a_folder(tmp_path: Path, sign: signal.Signals, stage: str) -> None:
    pattern = {"begun": ".demo-*", "shop": ".demo-*/shop.db", "paper": ".demo-*/paper/*.pdf"}[stage]
    status, err = _stopped(sign, lambda: any(tmp_path.glob(pattern)), "demo", "demo", cwd=tmp_path)
    assert (status, err) == (128 + sign, STOPPED)
    assert list(tmp_path.iterdir()) == []


def test_a_first_load_told_to_end_leaves_no_shop(tmp_path: Path) -> None:
    words = ("load", str(shipped("seed")), "--shop", "shop.db")
    being_made = lambda: any(tmp_path.glob(".shop.db-*/shop.db-turns"))  # noqa: E731 - a name for what is waited for
    assert _stopped(signal.SIGTERM, being_made, *words, cwd=tmp_path) == (143, STOPPED)
    assert list(tmp_path.iterdir()) == []
    call(*words, cwd=tmp_path).well()


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize(
    "words",
    [
        ("take", "--kit", "full-boot-set", "--customer", "Ann Example", "--car", "RP 1990", "--trim", "red"),
        ("reserve", "L-1042", "--what-there-is"),
        ("cancel", "L-1045"),
    ],
    ids=lambda words: words[0],
)
def test_a_job_on_a_shop_is_done_or_not(desk: Desk, sign: signal.Signals, words: tuple[str, ...]) -> None:
    before = _rows(desk.shop)
    lock = desk.folder / "shop.db-turns"
    status, err = _stopped(sign, lock.exists, *words, "--shop", "shop.db", cwd=desk.folder)
    after = _rows(desk.shop)
    if status == 128 + sign:
        assert err == STOPPED
    else:  # it was done before it heard
        assert status in (0, 1)
    with closing(sqlite3.connect(desk.shop)) as link:
        assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    desk.call("audit").well()
    assert status != 0 or after != before
    again = desk.call(*words)
    assert again.status in (0, 1)
    assert "fault of the program" not in again.err


def test_ctrl_c_while_the_program_starts_shows_nothing_of_its_inside(tmp_path: Path) -> None:
    stop_at = """
import sys
class Stop:
    def find_spec(self, name, path=None, target=None):
        if name == {name!r}:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Stop())
from stockroom.cli import main
main()
"""
    for name in (
        "stockroom.cli.calls",
        "stockroom.domain.refusal",
        "stockroom.cli.app",
        "typer",
        "stockroom.jobs.rail",
    ):
        done = subprocess.run(
            [sys.executable, "-c", stop_at.format(name=name), "rail", "--shop", "shop.db"],
            cwd=tmp_path,
            env=environment({}),
            capture_output=True,
            timeout=DEADLINE_S,
        )
        assert done.returncode == 130, done.stderr.decode()
        assert done.stderr.decode() in ("", STOPPED)
