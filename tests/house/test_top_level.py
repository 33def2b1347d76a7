"""The house has the rooms it says it has, and nothing stands in the yard."""

from __future__ import annotations

from fnmatch import fnmatch

from tests.house.tree import ROOT

PAGES = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
ROOMS = {"stockroom", "labels", "migrations", "seed", "tests"}
OF_GIT_AND_CI = {".git", ".gitignore", ".ci"}
OF_README = {".pictures"}


def ignored(name: str) -> bool:
    """Whether .gitignore lets a file or folder of this name stand at the top."""
    patterns = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    return any(fnmatch(name, pattern.strip("/")) for pattern in patterns)


def test_nothing_else_stands_at_the_top() -> None:
    found = {entry.name for entry in ROOT.iterdir() if not ignored(entry.name)}
    assert found - {".git"} == (PAGES | ROOMS | OF_GIT_AND_CI | OF_README) - {".git"}


def test_every_room_says_what_it_is_for() -> None:
    rooms = sorted(folder for folder in (ROOT / "stockroom").iterdir() if (folder / "__init__.py").exists())
    silent = [
        room.name
        for room in [*rooms, ROOT / "labels"]
        if not (room / "__init__.py").read_text(encoding="utf-8").startswith('"""')
    ]
    assert [room.name for room in rooms] == ["cli", "domain", "files", "jobs", "screens", "store"]
    assert silent == []
