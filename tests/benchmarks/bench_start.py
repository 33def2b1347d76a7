"""How soon the shell answers: `python -m pytest tests/benchmarks/bench_start.py -m benchmark -s`.

`stockroom --help` is held against a Typer program with one empty command, as Typer makes it, each in a process of its
own, in turn. Told besides, without a limit: the same program with Typer's own colours switched off, as ours has them,
which leaves nothing but the parser; and `stockroom rail` on the demo shop.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import pytest

from tests.benchmarks.measured_shop import make_demo_file

RUNS = 21
MOST_TIMES_EMPTY = 1.5

EMPTY = """
import typer

app = typer.Typer()


@app.command()
def nothing() -> None:
    "Nothing."


app()
"""
PLAIN = EMPTY.replace("Typer()", "Typer(rich_markup_mode=None, pretty_exceptions_enable=False)")
OURS = """
from stockroom.cli import main

main()
"""

pytestmark = pytest.mark.benchmark


def seconds(program: Path, *words: str, shop: Path | None = None) -> float:
    """Wall seconds of one run in a process of its own."""
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONPATH": str(root), "NO_COLOR": "1"}
    if shop is not None:
        environment["STOCKROOM_SHOP"] = str(shop)
    start = perf_counter()
    done = subprocess.run([sys.executable, str(program), *words], env=environment, capture_output=True, text=True)
    took = perf_counter() - start
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip(), "it says something"
    return took


def written(folder: Path, name: str, text: str) -> Path:
    """A program of this text."""
    program = folder / name
    program.write_text(text, encoding="utf-8")
    return program


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    """What the installed `stockroom` command runs."""
    return written(tmp_path, "ours.py", OURS)


def test_help_takes_at_most_one_and_a_half_times_an_empty_typer_program(tmp_path: Path, ours: Path) -> None:
    programs = (ours, written(tmp_path, "empty.py", EMPTY), written(tmp_path, "plain.py", PLAIN))
    for program in programs:
        seconds(program, "--help")  # whose modules are compiled once
    took = [[seconds(program, "--help") for program in programs] for _ in range(RUNS)]
    help_s, empty_s, plain_s = (median(column) for column in zip(*took, strict=True))
    ratio = help_s / empty_s
    print(  # noqa: T201
        f"\nstockroom --help: {1000 * help_s:.0f} ms; an empty Typer program {1000 * empty_s:.0f} ms, "
        f"ratio {ratio:.2f}; one without colours {1000 * plain_s:.0f} ms, ratio {help_s / plain_s:.2f}"
    )
    assert ratio <= MOST_TIMES_EMPTY, f"{ratio:.2f} times an empty Typer program"


def test_rail_from_a_cold_start_is_told(tmp_path: Path, ours: Path) -> None:
    shop = tmp_path / "demo.db"
    make_demo_file(shop)
    took = [seconds(ours, "rail", shop=shop) for _ in range(RUNS // 3)]
    print(f"\nstockroom rail on the demo shop: {1000 * median(took):.0f} ms")  # noqa: T201
