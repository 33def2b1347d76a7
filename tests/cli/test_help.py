"""Help: every verb shows an example, every example can be called, and a shell can complete the verbs."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command

from stockroom.cli.app import app
from stockroom.store.shipped import shipped
from tests.cli.calling import DEADLINE_S, call, call_apart, environment
from tests.cli.conftest import Desk


def _verbs(group: TyperGroup, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, command in group.commands.items():
        if isinstance(command, TyperGroup):
            yield from _verbs(command, (*before, name))
        else:
            assert isinstance(command, TyperCommand)
            yield (*before, name)


FRONT = get_command(app)
assert isinstance(FRONT, TyperGroup)
VERBS = tuple(_verbs(FRONT))
NOT_THERE = {
    "show R1042L",
    "load stock-list.xlsx --check",
    'load stock-list.xlsx --column "Bay=place" --unit length=yd --keep-columns',
    "reading --file readings.csv --light D65 --observer 10 --by AB",
}
"""Examples that the demo refuses: it has no roll with that tag, and no stock list or readings of its own."""
SHORT = {"reserve L-1043 --what-there-is"}
"""Examples that end with 1 in the demo shop, because something is short."""
_CUT = tuple(f"cut L-1044 {roll}" for roll in ("R27L", "R18L", "R41P", "R43L", "R20Z", "R30V"))
_SWATCH = ("swatch cut R8O 0 M3",)
_QUARTER_PANEL = ("cut L-1050 R18L", "pick L-1050 B327", "pack L-1050 P187P")
BEFORE = {
    "reserve": ("verdict hood-cloth/fawn W4288 W4391 near --light daylight --by AB",),
    "part-place": ("part-in L-1044 frame M3",),
    "part-back": ("part-in L-1044 frame M3",),
    "release": ("quarantine B6I --because rusty",),
    "count enter": ("count begin B1",),
    "count close": ("count begin B1",),
    "count leave": ("count begin B1",),
    "put-back": ("pick L-1044 B1S",),
    "keep": (*_CUT, "cancel L-1044"),
    "use": (*_CUT, "cancel L-1044", "keep P61X M3"),
    "unuse": (*_CUT, "cancel L-1044", "keep P61X M3", "use P188N L-1041"),
    "spoil": _CUT,
    "tie": _CUT,
    "out": (*_CUT, "tie L-1044"),
    "back": (*_CUT, "tie L-1044", "out T1U sewing"),
    "sew": (*_CUT, "tie L-1044"),
    "pack": _CUT,
    "tick": _CUT,
    "unpack": (*_CUT, "pack L-1044 P61X"),
    "send": (*_QUARTER_PANEL, *_CUT, "tick L-1044 P58L"),
    "paper bundle-tags": (*_CUT, "tie L-1044"),
    "paper kit-tags": _QUARTER_PANEL,
    "paper part-tags": ("part-in L-1044 frame M3",),
    "paper swatch-tags": _SWATCH,
    "swatch send": _SWATCH,
    "swatch wait": (*_SWATCH, "swatch send S1Y L-1049 --until 14d"),
    "swatch answer": (*_SWATCH, "swatch send S1Y L-1049 --until 14d"),
    "swatch gone": _SWATCH,
}
"""What was done on the demo shop before the examples of a verb play there."""


def examples(words: tuple[str, ...], folder: Path) -> list[str]:
    """The example calls in a verb's help, as they stand there."""
    help_text = call(*words, "--help", cwd=folder).well().out
    shown = help_text.partition("Example")[2].partition("\n\n")[0]
    return [line.strip() for line in shown.splitlines() if line.strip().startswith("stockroom")]


def test_the_verbs_of_the_plan_are_there() -> None:
    assert {" ".join(words) for words in VERBS} >= {
        "demo", "load", "take", "show", "explode", "reserve", "reorder", "audit", "answer", "change", "overrule",
        "cancel", "rail", "paper pick-list", "paper tags", "paper reorder", "kitbook check", "kitbook list",
    }  # fmt: skip


@pytest.mark.parametrize("words", VERBS, ids=" ".join)
def test_help_of_every_verb_shows_an_example_of_that_verb(tmp_path: Path, words: tuple[str, ...]) -> None:
    found = examples(words, tmp_path)
    assert found, f"no example in the help of '{' '.join(words)}'"
    assert all(one.startswith(f"stockroom {' '.join(words)}") for one in found)
    assert call(*words, "-h", cwd=tmp_path).out == call(*words, "--help", cwd=tmp_path).out


@pytest.mark.parametrize("words", VERBS, ids=" ".join)
def test_every_example_can_be_called_on_the_demo_shop(desk: Desk, words: tuple[str, ...]) -> None:
    shutil.copytree(shipped("seed"), desk.folder / "our-shop")
    order = (shipped("seed") / "orders" / "01-boot-set-in-red.toml").read_text(encoding="utf-8")
    number = "L-1041" if words == ("change",) else "L-2001"
    (desk.folder / "order.toml").write_text(order.replace("L-1041", number), encoding="utf-8")
    for before in BEFORE.get(" ".join(words), ()):
        desk.call(*before.split()).well()
    for example in examples(words, desk.folder):
        said = desk.call(*shlex.split(example)[1:])
        expected = 1 if example.removeprefix("stockroom ") in NOT_THERE | SHORT else 0
        assert said.status == expected, f"{example}:\n{said.out}{said.err}"


def test_help_of_the_front_names_every_verb_and_fits_a_narrow_terminal(tmp_path: Path) -> None:
    said = call("--help", cwd=tmp_path).well()
    assert {words[0] for words in VERBS} <= set(re.findall(r"^  (\S+)  ", said.out, re.MULTILINE))
    assert max(map(len, said.out.splitlines())) <= 80
    assert "stockroom demo" in said.out


def test_the_version_is_said(tmp_path: Path) -> None:
    from stockroom import __version__

    assert call("--version", cwd=tmp_path).well().out == f"stockroom {__version__}\n"


def test_python_finds_the_program_by_its_name_too(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "stockroom", "show", "R10420", "--shop", "none.db"]
    refused = subprocess.run(
        words, cwd=tmp_path, env=environment({}), capture_output=True, text=True, timeout=DEADLINE_S
    )
    assert (refused.returncode, refused.stdout) == (1, "")
    assert "There is no shop at" in refused.stderr


@pytest.mark.parametrize(("shell", "mark"), [("bash", "complete"), ("zsh", "#compdef"), ("fish", "complete")])
def test_completion_can_be_shown_for_a_shell(tmp_path: Path, shell: str, mark: str) -> None:
    said = call_apart(
        "--show-completion", cwd=tmp_path, SHELL=f"/bin/{shell}", _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1"
    )
    if said.status:
        said = call_apart("--show-completion", shell, cwd=tmp_path, _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1")
    assert mark in said.well().out
    assert "_STOCKROOM_COMPLETE" in said.out


def test_a_shell_that_asks_is_told_the_verbs(tmp_path: Path) -> None:
    asked = {"_STOCKROOM_COMPLETE": "complete_bash", "COMP_WORDS": "stockroom re", "COMP_CWORD": "1"}
    told = call_apart(cwd=tmp_path, **asked).out.split()
    assert {"reserve", "receive", "reorder"} <= set(told)
    assert all(verb.startswith("re") for verb in told)
