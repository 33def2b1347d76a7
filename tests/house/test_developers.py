"""What DEVELOPERS.md shows to whoever adds something works when it is done."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path

from stockroom.jobs.check_book import check_folder
from tests.house.tree import ROOT

_TOML = re.compile(r"^```toml\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def test_the_kit_it_shows_can_be_added_to_the_demo_book(tmp_path: Path) -> None:
    (shown,) = _TOML.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    before, after = tmp_path / "before", tmp_path / "after"
    for folder in (before, after):
        shutil.copytree(ROOT / "seed", folder)
    with (after / "kitbook.toml").open("a", encoding="utf-8") as book:
        book.write("\n" + shown)

    (was,), (now) = check_folder(before, date(2026, 11, 25)), check_folder(after, date(2026, 11, 25))[0]

    assert now.faults == ()
    assert "parcel-shelf-mat" in shown
    assert now != was, "the check saw no new kit"
