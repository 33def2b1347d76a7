"""A printer that is a small program: an `lp` that writes down what it is given."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest


class FakePrinter:
    """`lp` on a search path of its own, and what was sent to it."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self._log = folder / "printed.txt"
        self._folder = folder
        folder.mkdir()
        monkeypatch.setenv("PATH", str(folder))
        self._write("")

    def jams(self, words: str) -> None:
        """From now on it takes nothing, and says why."""
        self._write(f"sys.exit({words!r})")

    @property
    def sent(self) -> list[tuple[str, Path]]:
        """Printer and file of each paper that it took."""
        lines = self._log.read_text().splitlines() if self._log.exists() else []
        return [(printer, Path(file)) for printer, file in (line.split("\t") for line in lines)]

    def _write(self, last: str) -> None:
        lp = self._folder / "lp"
        lp.write_text(
            f"#!{sys.executable}\nimport sys\nswitch, printer, file = sys.argv[1:]\nassert switch == '-d'\n"
            f"{last}\nprint(printer, file, sep='\\t', file=open({str(self._log)!r}, 'a'))\n"
        )
        lp.chmod(0o755)
