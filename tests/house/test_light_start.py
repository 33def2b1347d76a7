"""A small command answers at once: help loads none of the heavy libraries. Proved in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.house.tree import ROOT

HEAVY = {
    "PIL",
    "alembic",
    "barcode",
    "coloraide",
    "numpy",
    "openpyxl",
    "psycopg",
    "pydantic",
    "reportlab",
    "scipy",
    "shapely",
    "sqlalchemy",
    "textual",
}
PROBE = """
import json, sys
from stockroom.cli import main
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""
LATER = ("stockroom.jobs", "stockroom.store", "stockroom.files", "stockroom.screens", "labels")
"""Rooms of ours that only a verb at work may load."""


def loaded_by(*words: str) -> tuple[set[str], str]:
    """The modules that a call of `stockroom` had loaded when it ended, and what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", PROBE, *words], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    return set(json.loads(done.stderr.splitlines()[-1])), done.stdout


@pytest.mark.parametrize("words", [["--help"], ["-h"], ["--version"]])
def test_a_small_call_loads_nothing_heavy(words: list[str]) -> None:
    modules, printed = loaded_by(*words)
    assert printed
    assert "typer" in modules, "the probe saw no modules"
    assert modules & HEAVY == set()
    assert [name for name in modules if name.startswith(LATER)] == []


@pytest.mark.parametrize("verb", ["demo", "take", "paper", "kitbook"])
def test_help_of_a_verb_loads_nothing_heavy(verb: str) -> None:
    modules, printed = loaded_by(verb, "--help")
    assert printed
    # Typer itself reads the options of a verb through pydantic, from some version on.
    assert modules & HEAVY <= {"pydantic"}


def test_the_probe_would_see_a_heavy_library() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import stockroom.store.database\n" + PROBE, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert "sqlalchemy" in json.loads(done.stderr.splitlines()[-1])
