"""A demo shop for every test of the shell: made once a run, copied for each test."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.cli.calling import Said, call, call_apart


@dataclass(frozen=True, slots=True)
class Desk:
    """A folder to work in, with the demo shop in `shop.db`."""

    folder: Path
    account: str
    """What `stockroom demo` printed."""

    @property
    def shop(self) -> Path:
        """The shop's file."""
        return self.folder / "shop.db"

    def call(self, *words: object, **named: str) -> Said:
        """`stockroom WORDS` on this shop, in this process; `named` is more of its environment."""
        return call(*words, cwd=self.folder, STOCKROOM_SHOP=str(self.shop), **named)

    def call_apart(self, *words: object, **named: str) -> Said:
        """`stockroom WORDS` on this shop, in a process of its own."""
        return call_apart(*words, cwd=self.folder, STOCKROOM_SHOP=str(self.shop), **named)


@pytest.fixture(scope="session")
def demo_made(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The demo as `stockroom demo` makes it. Read only."""
    folder = tmp_path_factory.mktemp("demo")
    said = call("demo", "made", cwd=folder).well()
    assert said.err == ""
    return Desk(folder / "made", said.out)


@pytest.fixture
def desk(demo_made: Desk, tmp_path: Path) -> Desk:
    """A copy of the demo shop for one test."""
    shutil.copyfile(demo_made.shop, tmp_path / "shop.db")
    return Desk(tmp_path, demo_made.account)
