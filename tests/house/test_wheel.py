"""What is built works away from the source: the demo runs from an unpacked wheel, and the source archive is whole."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.house.tree import ROOT

WHERE = """
import json, sys, labels, stockroom
from stockroom.store.shipped import shipped
print(json.dumps([stockroom.__file__, labels.__file__, str(shipped("seed")), str(shipped("migrations"))]))
"""


def ran(*words: str | Path, cwd: Path, **environment: str) -> str:
    """What a program printed. Fails with everything it said when it does not end well."""
    done = subprocess.run(
        [*map(str, words)], cwd=cwd, env={**os.environ, **environment}, capture_output=True, text=True, timeout=240
    )
    assert done.returncode == 0, (
        f"{' '.join(map(str, words))} ended with {done.returncode}:\n{done.stdout}{done.stderr}"
    )
    return done.stdout


def built(kind: str, tree: Path, to: Path) -> Path:
    """Builds a 'wheel' or an 'sdist' of the tree with what is installed, without the network."""
    before = set(to.iterdir()) if to.exists() else set()
    ran(sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", to, cwd=tree)
    (archive,) = set(to.iterdir()) - before
    return archive


def names(wheel: Path) -> set[str]:
    """The files in a wheel."""
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this tree."""
    return built("wheel", ROOT, tmp_path_factory.mktemp("wheel"))


@dataclass(frozen=True, slots=True)
class Installed:
    """A wheel that was installed in a folder of its own."""

    folder: Path
    elsewhere: Path
    """A working directory from which the source tree cannot be imported."""

    def run(self, *words: str | Path) -> str:
        """What `stockroom WORDS` printed, from this install."""
        return self.python(self.folder / "bin" / "stockroom", *words)

    def python(self, *words: str | Path) -> str:
        """What Python printed, with this install before everything else."""
        path = os.pathsep.join(filter(None, (str(self.folder), os.environ.get("PYTHONPATH"))))
        return ran(sys.executable, *words, cwd=self.elsewhere, PYTHONPATH=path, STOCKROOM_SHOP="")


@pytest.fixture
def installed(wheel: Path, tmp_path: Path) -> Installed:
    """The wheel, installed as pip does it, away from the tree."""
    folder, elsewhere = tmp_path / "installed", tmp_path / "elsewhere"
    elsewhere.mkdir()
    pip = (sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--no-cache-dir")
    ran(*pip, "--target", folder, wheel, cwd=elsewhere)
    return Installed(folder, elsewhere)


def tree_of(*patterns: str) -> set[str]:
    """Files of the tree by pattern, as paths from its top."""
    found = {str(path.relative_to(ROOT)) for pattern in patterns for path in ROOT.glob(pattern)}
    assert found, f"no file fits {patterns}"
    return found


def test_wheel_carries_everything_the_program_reads(wheel: Path) -> None:
    inside = names(wheel)
    assert tree_of("stockroom/**/*.py", "stockroom/**/*.tcss", "labels/**/*.py", "labels/sheets/*.toml") <= inside
    shipped = tree_of(
        "migrations/*.py", "migrations/*.mako", "migrations/versions/*.py", "seed/**/*.toml", "seed/*.csv"
    )
    assert {f"stockroom/_shipped/{name}" for name in shipped} <= inside


def test_wheel_carries_nothing_else(wheel: Path) -> None:
    tops = {name.partition("/")[0] for name in names(wheel)}
    (about,) = (top for top in tops if top.endswith(".dist-info"))
    assert tops == {"stockroom", "labels", about}
    assert [name for name in names(wheel) if "__pycache__" in name] == []


def test_demo_runs_from_a_wheel_in_any_folder(installed: Installed) -> None:
    for place in json.loads(installed.python("-c", WHERE)):
        assert Path(place).is_relative_to(installed.folder), "the source tree was used, not the wheel"

    account = installed.run("demo", "here")
    made = installed.elsewhere / "here"
    papers = list(made.rglob("*.pdf"))
    assert len(papers) >= 3
    assert all(paper.read_bytes().startswith(b"%PDF-") for paper in papers)
    assert f"stockroom --shop {Path('here') / 'shop.db'}" in account.replace(str(installed.elsewhere) + os.sep, "")
    installed.run("audit", "--shop", made / "shop.db")


def test_source_archive_is_whole(wheel: Path, tmp_path: Path) -> None:
    archive = built("sdist", ROOT, tmp_path / "built")
    ran("tar", "-xf", archive, cwd=tmp_path)
    (unpacked,) = tmp_path.glob("stockroom-*")
    missing = {name for name in tree_of("tests/**/*.py", ".ci/run", "*.md") if not (unpacked / name).exists()}
    assert missing == set()
    assert names(built("wheel", unpacked, tmp_path / "again")) == names(wheel)
