"""The master of a colour: written down with who and when, another in its place, and the way back."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockroom.domain.catalogue import Reading
from stockroom.domain.refusal import Refusal
from stockroom.jobs.audit import audit
from stockroom.jobs.match import match_item
from stockroom.jobs.read_master import read_master
from stockroom.jobs.undo import done, undo
from stockroom.store import masters
from stockroom.store.catalogue import read_colours
from stockroom.store.database import Shop
from tests.shops import LATER, STAMP, load_files, roll, stock_shop

UNDER = ("D65", "10")


@pytest.fixture
def reds(shop: Shop, tmp_path: Path) -> Shop:
    """A shop whose red has the master L* 50 from its file, and a roll of leathercloth and of carpet that read so."""
    read = {"L": 50, "a": 20, "b": 10, "illuminant": "D65", "observer": 10}
    stock_shop(shop, tmp_path, roll("leathercloth/red", 5_000, "A", **read), roll("carpet/red", 5_000, "B", **read))
    load_files(shop, tmp_path, {"colours.csv": "code,name,L,a,b,illuminant,observer\nred,red,50,20,10,D65,10\n"})
    return shop


def kept(shop: Shop) -> list[tuple[str, float, str]]:
    """Cloth, L* and initials of every master of red, in turn."""
    with shop.read() as tx:
        return [(one.cloth, one.reading.lightness, one.by) for one in masters.masters_of(tx, "red") if one.reading]


def answers(shop: Shop) -> tuple[str, str]:
    """How the leathercloth and the carpet are to what stands."""
    first, second = (match_item(shop, f"{cloth}/red").rolls[0].words for cloth in ("leathercloth", "carpet"))
    return first, second


def test_a_master_takes_the_place_of_another_which_stays_known_and_comes_back_by_undo(
    reds: Shop, tmp_path: Path
) -> None:
    read = read_master(reds, "Red", "53,20,10", UNDER, LATER, "bench")
    assert read.sentence == (
        "The master of red is L* 53, a* 20, b* 10 under D65/10°. Until now: L* 50, a* 20, b* 10 under D65/10°, "
        "ΔE00 2.98 from it."
    )
    assert kept(reds) == [("", 50, "AB"), ("", 53, "CD")]
    assert answers(reds) == ("does not match", "does not match")
    read_master(reds, "carpet/red", "50.2,20,10", UNDER, LATER)
    assert answers(reds) == ("does not match", "matches"), "one colour name is another thing in each cloth"
    # The same file loaded again takes its own place, and says who loaded it; nothing of before is rewritten.
    load_files(reds, tmp_path, {"colours.csv": "code,name,L,a,b,illuminant,observer\nred,red,50,20,10,D65,10\n"})
    assert kept(reds) == [("", 50, "AB"), ("", 53, "CD"), ("carpet", 50.2, "CD"), ("", 50, "AB")]
    load_files(reds, tmp_path, {"colours.csv": "code,name,L,a,b,illuminant,observer\nred,red,50,20,10,D65,10\n"})
    assert len(kept(reds)) == 4, "what is as it was is not written down again"
    assert answers(reds) == ("matches", "matches")
    for one in done(reds, 10):
        if one.what.startswith("write down the master"):
            undo(reds, one.number, LATER)
    assert kept(reds) == [("", 50, "AB"), ("", 50, "AB")]
    with reds.read() as tx:
        assert read_colours(tx)["red"].master == Reading(50, 20, 10)
    assert audit(reds).is_good


@pytest.mark.parametrize(
    ("name", "figures", "says"),
    [
        ("rde", "50,20,10", "nearest name is 'red'"),
        ("carpet/rde", "50,20,10", "nearest name is 'carpet/red'"),
        ("red", "20,50,10", "Write L\\*, a\\* and b\\* in this order"),
        ("red", "50,20", "not three figures"),
        ("red", "18,0,0", "--sure far"),
    ],
)
def test_a_master_that_cannot_be_is_refused(reds: Shop, name: str, figures: str, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        read_master(reds, name, figures, UNDER, STAMP)
    assert len(kept(reds)) == 1


def test_a_master_far_from_the_one_before_is_confirmed(reds: Shop) -> None:
    read_master(reds, "red", "18,0,0", UNDER, STAMP, sure=("far",))
    assert [lightness for _, lightness, _ in kept(reds)] == [50, 18]
