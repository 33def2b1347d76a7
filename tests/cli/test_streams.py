"""What is on stdout and what is on stderr, in a pipe and without colours; names are shown as they are."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path
from unittest.mock import patch

import pytest

from tests.cli.calling import DEADLINE_S, PROGRAM, call, call_apart, environment
from tests.cli.conftest import Desk

NAMES = {
    "<b>Ada</b> & Sons": "<b>Ada</b> & Sons",
    "[red]Ada[/red] [bold": "[red]Ada[/red] [bold",
    "=HYPERLINK(1)": "=HYPERLINK(1)",
    "%s {0} \\n": "%s {0} \\n",
    "Σοφία Żółć Їжак": "Σοφία Żółć Їжак",
}
"""A customer's name → how it is shown."""
UNPRINTABLE = ("A\x1b[31mda", "Ada\x07", "Ada\u202eadA", "Ada\r\nfake line", "Ada\u0000"[:3] + "\x7f")


def take_for(customer: str) -> tuple[str, ...]:
    """The words of a call that takes a small order for a customer."""
    kit = ("take", "--kit", "handles-bag", "--choose", "bag-length=long", "--car", "RP 2417")
    return (*kit, f"--customer={customer}")


@pytest.mark.parametrize("name", NAMES)
def test_markup_in_a_name_is_only_letters(desk: Desk, name: str) -> None:
    number = desk.call(*take_for(name), "--json").well().json["number"]
    assert NAMES[name] in desk.call("rail").well().out
    assert NAMES[name] in desk.call("explode", number).well().out
    assert NAMES[name] in desk.call("show", number).well().out
    assert name in [entry["customer"] for entry in desk.call("rail", "--json").json]


@pytest.mark.parametrize("name", UNPRINTABLE, ids=ascii)
def test_control_characters_never_reach_a_terminal(desk: Desk, name: str) -> None:
    taken = desk.call(*take_for(name))
    if taken.status:
        taken.refused()
    said = [taken, desk.call("rail"), desk.call("show", name), desk.call("explode", name), desk.call("car", name)]
    for one in said:
        for text in (one.out, one.err):
            strange = {mark for mark in text if not mark.isprintable()} - {"\n"}
            assert strange == set()
            assert "\nfake line" not in text


def test_a_pipe_and_no_color_get_no_escapes(demo_made: Desk) -> None:
    plain = demo_made.call_apart("rail").well()
    bare = demo_made.call_apart("rail", NO_COLOR="1", TERM="dumb").well()
    forced = demo_made.call_apart("rail", FORCE_COLOR="1", TERM="xterm-256color").well()
    assert b"\x1b" not in plain.raw + bare.raw
    assert plain.raw == bare.raw == forced.raw
    for words in (("--help",), ("conjure",)):
        said = demo_made.call_apart(*words, NO_COLOR="1")
        assert "\x1b" not in said.out + said.err


def test_a_reader_that_goes_away_is_no_error(demo_made: Desk) -> None:
    for words in (("explode", "L-1045", "--json"), ("rail",), ("paper", "stock-tags", "-o", "-")):
        reading, writing = os.pipe()
        os.close(reading)
        with subprocess.Popen(
            [*PROGRAM, *words],
            cwd=demo_made.folder,
            env=environment({"STOCKROOM_SHOP": str(demo_made.shop)}),
            stdout=writing,
            stderr=subprocess.PIPE,
        ) as running:
            os.close(writing)
            _, err = running.communicate(timeout=DEADLINE_S)
        assert (running.returncode, err) == (0, b""), words


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_disk_is_told_in_a_sentence(demo_made: Desk) -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [*PROGRAM, "rail"],
            cwd=demo_made.folder,
            env=environment({"STOCKROOM_SHOP": str(demo_made.shop)}),
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=DEADLINE_S,
        )
    assert done.returncode == 1
    assert done.stderr.decode().startswith("This could not be done: ")
    assert done.stderr.count(b"\n") == 1


def test_a_terminal_without_the_letters_gets_escapes(demo_made: Desk) -> None:
    said = demo_made.call_apart("rail", PYTHONIOENCODING="ascii", PYTHONUTF8="0").well()
    assert "\\u041e\\u043b" in said.out


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    said = call_apart(os.fsdecode(b"sho\xff"), cwd=tmp_path)
    said.refused("UTF-8", status=2)


def test_a_fault_of_the_program_is_a_sentence_and_tells_more_when_asked(demo_made: Desk) -> None:
    with patch("stockroom.jobs.rail.rail", side_effect=ZeroDivisionError("a made-up fault")):
        said = demo_made.call("rail")
        told = call("rail", cwd=demo_made.folder, STOCKROOM_SHOP=str(demo_made.shop), STOCKROOM_TRACE="1")
    assert (said.status, said.raw) == (1, b"")
    assert "ZeroDivisionError: a made-up fault" in said.err
    assert "Traceback" not in said.err
    assert "Traceback" in told.err


def test_what_a_library_logs_stays_off_the_terminal(demo_made: Desk) -> None:
    logs = "import atexit, logging; atexit.register(lambda: logging.getLogger('sqlalchemy.pool').error('a log line'))"
    for words in (["rail"], ["load", "no-such-folder"], ["demo", "."]):
        done = subprocess.run(
            [PROGRAM[0], "-c", f"{logs}; {PROGRAM[2]}", *words],
            cwd=demo_made.folder,
            env=environment({"STOCKROOM_SHOP": str(demo_made.shop)}),
            capture_output=True,
            timeout=DEADLINE_S,
        )
        assert b"a log line" not in done.stderr, words
