"""Which shop a call means: after the verb, before it, by the environment, or the user's own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.calling import call
from tests.cli.conftest import Desk


@pytest.fixture
def two(demo_made: Desk, tmp_path: Path) -> tuple[Path, Path]:
    """A whole demo shop, and one in which order L-1041 was cancelled."""
    whole, less = tmp_path / "whole.db", tmp_path / "less.db"
    for shop in (whole, less):
        shutil.copyfile(demo_made.shop, shop)
    call("cancel", "L-1041", "--shop", less, cwd=tmp_path).well()
    return whole, less


@pytest.mark.parametrize(
    ("words", "in_environment", "orders"),
    [
        (("rail", "--shop", "whole.db"), "", 11),
        (("rail", "--shop", "less.db"), "", 10),
        (("--shop", "whole.db", "rail"), "", 11),
        (("--shop", "less.db", "rail"), "", 10),
        (("rail",), "whole.db", 11),
        (("rail",), "less.db", 10),
        (("--shop", "less.db", "rail", "--shop", "whole.db"), "less.db", 11),
        (("--shop", "less.db", "rail"), "whole.db", 10),
        (("rail", "--shop", "less.db"), "whole.db", 10),
        (("--shop=less.db", "rail"), "no-such-shop.db", 10),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else str(value),
)
def test_what_is_typed_nearest_wins(
    two: tuple[Path, Path], words: tuple[str, ...], in_environment: str, orders: int
) -> None:
    named = {"STOCKROOM_SHOP": in_environment} if in_environment else {}
    assert len(call(*words, "--json", cwd=two[0].parent, **named).well().json) == orders


def test_a_group_of_verbs_takes_the_shop_before_and_after_too(two: tuple[Path, Path]) -> None:
    for words in (("--shop", "whole.db", "kitbook", "list"), ("kitbook", "list", "--shop", "whole.db")):
        assert call(*words, cwd=two[0].parent).well().out.startswith("plover")


def test_without_a_word_it_is_the_shop_in_the_users_data_folder(demo_made: Desk, tmp_path: Path) -> None:
    home = {"HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path / "data")}
    refused = call("rail", cwd=tmp_path, **home).refused("There is no shop at", "stockroom load FOLDER")
    place = Path(refused.err.split("There is no shop at ")[1].split(". Make one")[0])
    assert place.is_relative_to(tmp_path)
    place.parent.mkdir(parents=True)
    shutil.copyfile(demo_made.shop, place)
    call("rail", cwd=tmp_path, **home).well()


VERBS = (
    ("rail",), ("show", "L-1041"), ("explode", "L-1041"), ("reserve", "L-1041"), ("reorder",), ("audit",),
    ("take", "--kit", "x", "--customer", "y", "--car", "z"), ("answer", "L-1046", "bag-length", "long"),
    ("change", "L-1041", "--wanted", "open"), ("overrule", "L-1041", "a", "b", "--because", "c"), ("cancel", "L-1041"),
    ("car", "RP 1983"), ("paper", "pick-list", "L-1041"), ("paper", "tags", "L-1041"), ("paper", "stock-tags"),
    ("paper", "place-tags"), ("paper", "fitting", "L-1041"), ("paper", "reorder"), ("kitbook", "check"),
    ("kitbook", "list"), ("walk", "L-1041"), ("pick", "L-1041", "B1S"), ("put-back", "L-1041", "B1S"),
    ("cut", "L-1041", "R31T"), ("side-piece", "R31T", "1 m", "1 m", "M3"), ("measure", "R31T", "1 m"),
    ("flaw", "R31T", "1 m", "2 m", "slub"), ("spoil", "P19", "--because", "c"), ("tie", "L-1041"), ("bench",),
    ("out", "T1U", "sewing"), ("back", "T1U"), ("packing", "L-1041"), ("pack", "L-1041", "P19"),
    ("tick", "L-1041", "P19"), ("unpack", "L-1041", "P19"), ("parcel", "L-1041"), ("send", "L-1041"), (),
)  # fmt: skip


@pytest.mark.parametrize("words", VERBS, ids=" ".join)
def test_a_shop_that_is_not_there_is_refused_and_not_made(tmp_path: Path, words: tuple[str, ...]) -> None:
    call("--shop", "missing.db", *words, cwd=tmp_path).refused("There is no shop at missing.db")
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_shop_is_refused_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"not a shop\n" * 500)
    (tmp_path / "empty.db").write_bytes(b"")
    (tmp_path / "folder").mkdir()
    for place, told in (
        ("notes.txt", "is not a stockroom shop"),
        ("empty.db", "empty.db"),
        ("folder", "is a folder"),
        ("http://lindow.example/shop", "postgresql+psycopg://"),
        ("postgresql+psycopg://nobody@127.0.0.1:1/none", "cannot be reached"),
    ):
        call("rail", "--shop", place, cwd=tmp_path).refused(told)
    assert (tmp_path / "notes.txt").read_bytes() == b"not a shop\n" * 500
    assert (tmp_path / "empty.db").read_bytes() == b""
