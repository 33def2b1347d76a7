"""The trimmer's question at the shell: how well do these match?"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.calling import call
from tests.cli.conftest import Desk

PUBLISHED = ("50,2.6772,-79.7751", "50,0,-82.7485")
"""ΔE00 2.0425: Sharma, Wu, Dalal, Color Research & Application 30 (2005) 21-30, Table 1, the first pair."""
REDS = ("38.8,52.1,31.1", "38.3,53.2,30.9")


def test_two_bare_readings_need_no_shop(tmp_path: Path) -> None:
    said = call("match", "--readings", *PUBLISHED, "--json", cwd=tmp_path, XDG_DATA_HOME=str(tmp_path)).well().json
    assert (said["dE00"], said["factors"], said["words"]) == (2.0425, "1:1:1", "check by eye in daylight")


def test_a_cloth_has_a_tolerance_to_hold_them_against_and_the_shop_its_factors(desk: Desk) -> None:
    assert desk.call("match", "--readings", *REDS, "--cloth", "leathercloth").well().out == (
        "Matches. ΔE00 is 0.64; Leathercloth matches up to 1.\n"
    )
    far = desk.call("match", "--readings", *PUBLISHED, "--cloth", "felt", "--json").well().json
    assert (far["words"], far["dE00"]) == ("matches", 2.0425)
    assert desk.call("match", "--readings", *PUBLISHED, "--cloth", "hood-cloth").well().out.startswith("Does not match")
    (desk.folder / "shop.toml").write_text(
        'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\ncolour_factors = "2:1:1"\n'
    )
    desk.call("load", "shop.toml").well()
    by_textiles = desk.call("match", "--readings", *REDS, "--json").well().json
    by_the_other = desk.call("match", "--readings", *REDS, "--factors", "1:1:1", "--json").well().json
    assert (by_textiles["factors"], by_the_other["factors"]) == ("2:1:1", "1:1:1")
    assert by_textiles["dE00"] < by_the_other["dE00"]


@pytest.mark.parametrize(
    ("one", "says"),
    [
        ("38,2,-12,1,6,4", "decimal commas"),
        ("-12.1,38.2,6.4", "Are they in another order?"),
        ("38.2,-12.1", "is not three figures"),
        ("138.2,-12.1,6.4", "L* lies from 0 to 100"),
        ("38.2,-12.1,red", "does not begin with three figures"),
    ],
)
def test_what_is_no_reading_is_refused_with_what_it_looks_like(tmp_path: Path, one: str, says: str) -> None:
    call("match", "--readings", REDS[0], one, cwd=tmp_path, XDG_DATA_HOME=str(tmp_path)).refused(says)


def test_a_roll_is_read_several_times_and_a_reading_is_undone(desk: Desk) -> None:
    roll = next(one for one in desk.call("racks", "L2", "--json").well().json["things"] if one["lot"] == "N2190")["tag"]
    under = ("--light", "d65", "--observer", "10°", "--instrument", "bench spectrometer")
    said = desk.call("reading", roll, "39.0,52.3,31.1", *under).well().out
    assert said == (
        f"{roll} reads L* 39, a* 52.3, b* 31.1 under D65/10°. It has 2 readings so, the farthest ΔE00 0.09 from their "
        "middle.\n"
    )
    other = desk.call("reading", roll, "40.1,50.2,28.8", "--light", "A", "--observer", "10", "--json").well().json
    assert (other["number_of_readings"], other["spread"]) == (1, 0.0)
    desk.call("reading", roll, "39.0,52.3,31.1").refused("--light D65 --observer 10", status=2)
    desk.call("reading", roll, "52.3,139.0,31.1", *under).refused("within 128 of 0")
    desk.call("reading", roll, "39.0,52.3,31.1", "--light", "D65", "--observer", "5").refused("2 or 10 degrees")
    desk.call("reading", roll, "-12.1,38.2,6.4", *under).refused("Are they in another order?")
    desk.call("reading", roll, "38,2,-12,1,6,4", *under).refused("decimal commas")
    desk.call("reading", roll, "38.2,-12.1,6.4", "--light", "D65/10", "--observer", "2").refused("Say it once")
    desk.call("reading", roll, "38.2,-12.1,6.4", "--ligt", "D65/10").refused("--ligt", status=2)
    last = desk.call("done", "--json").well().json[0]["number"]
    assert f"The reading of {roll} is gone." in desk.call("undo", last).well().out
    desk.call("dump", "out").well()
    assert "38.9,52.2,31.1,D65,10" in (desk.folder / "out" / "rolls.csv").read_text(encoding="utf-8")


def test_factors_and_cloths_that_are_not_known_are_refused_by_name(desk: Desk) -> None:
    desk.call("match", "--readings", *REDS, "--factors", "3:1:1").refused("1:1:1 or 2:1:1", status=2)
    desk.call("match", "--readings", *REDS, "--cloth", "leather").refused("leathercloth")


def test_the_trimmer_asks_by_item_by_roll_and_by_two_rolls_and_says_what_the_eye_says(desk: Desk) -> None:
    ask = ("match", "--item", "hood-cloth/fawn", "--lot", "W4288")
    first = desk.call(*ask, "--json").well().json["rolls"]
    assert [(one["lot"], one["words"]) for one in first] == [("W4288", "same lot"), ("W4391", "does not match")]
    tags = [one["tag"] for one in first]
    assert desk.call("match", *tags).well().out == "Does not match. ΔE00 is 2.05; Coated hood cloth matches up to 1.\n"
    said = desk.call("verdict", "hood-cloth/fawn", "W4288", "w4391", "near", "--light", "daylight", "--eyes", "GH")
    assert said.well().out == (
        "Coated hood cloth, fawn, lot W4288 and lot W4391: near, as GH saw them, light: daylight.\n"
    )
    assert "check by eye in daylight" in desk.call(*ask).well().out
    assert desk.call("match", tags[0], "--json").well().json["rolls"][0]["tag"] == tags[1]
    desk.call("match").refused("Name a roll", status=2)
    desk.call("match", *tags, "--item", "hood-cloth/fawn").refused("Name a roll", status=2)
    desk.call("match", tags[0], "--lot", "W4288").refused("--lot goes with --item", status=2)


def test_an_order_a_colour_and_a_piece_are_asked_about_by_their_names_and_an_order_asks_to_match_another(
    desk: Desk,
) -> None:
    groups = desk.call("match", "l-1043", "--json").well().json["groups"]
    hood = next(one for one in groups if one["item"] == "hood-cloth/fawn")
    assert (hood["car"], hood["group"], hood["lots"]) == ("RP 3318", "hood", ["W4288"])
    assert [one["lot"] for one in hood["must_match"]] == ["W4288"]
    assert "held for order L-1043" in hood["must_match"][0]["how"]
    far = hood["rolls"][-1]
    assert (far["lot"], far["words"], far["nearest_dE00"] == far["dE00"]) == ("W4391", "does not match", True)
    assert far["shade"]["on_screen"].startswith("#")
    said = desk.call("match", "l-1043").well().out
    assert "must match lot W4288: held for order L-1043" in said
    assert "\x1b" not in said, "no colours where it is not a terminal that has them"
    reds = desk.call("match", "RED", "--json").well().json["groups"]
    assert {one["item"] for one in reds} >= {"leathercloth/red", "ribbed-carpet/red"}
    assert reds[0]["rolls"][0]["words"] == "matches", "the best comes first"
    desk.call("match", "rid").refused("Nothing here is called 'rid'")
    desk.call("match", "R14X").refused("mistyped")
    new = ("take", "--kit", "tonneau-cover", "--customer", "Ada Holm", "--car", "RP 2417", "--series", "s1", "--hood")
    number = desk.call(*new, "fawn", "--hand", "right", "--match", "L-1043", "--json").well().json["number"]
    desk.call("reserve", number).refused("It must match lot W4288, which went out before", "ΔE00 is 2.05")
    desk.call("change", number, "--line", "1", "--match", "nothing").well()
    assert "went out before" not in desk.call("reserve", number).err


def test_an_instruments_file_is_kept_whole_or_not_at_all_with_each_fault_by_row(desk: Desk) -> None:
    file = desk.folder / "readings.csv"
    header = "Instrument 7;;;;;\nSample;L*(D65);a*;b*;Illuminant;Observer\n"
    file.write_text(header + "R14T;38.9;52.2;31.0;D65;10\nr14t;38.7;52.0;31.2;D65;10\nR15R;38.3;53.2;30.9;A;10\n")
    said = desk.call("reading", "--file", "readings.csv", "--instrument", "bench").well().out
    assert said == "readings.csv: readings kept: 3, of rolls: 2.\n"
    last = desk.call("done", "--json").well().json[0]["number"]
    assert "are gone" in desk.call("undo", last).well().out
    rows = ("R14T;38,9;52.2;31.0;D65;10", "R14T;-52;38.9;31;D65;10", "R15X;38;52;31;D65;10", "R15R;38;52;31;;10")
    file.write_text(header + "\n".join((*rows, "R15R;38;52;;D65;10", "R14T;52.2;38.9;31;D65;10", "")))
    desk.call("reading", "--file", "readings.csv").refused(
        "Nothing was loaded", "row 3: '38,9' has a decimal comma", "row 4: '-52 38.9 31' is no reading",
        "in another order?", "row 5: ", "row 6: it is not said under which light",
        "row 7: '38 52' is not three figures", "row 8: L* 52.2, a* 38.9, b* 31 is far from the master of its colour",
    )  # fmt: skip
    file.write_bytes("tag,L,a,b\nR14T,38.9,52.2,31.0 °\n".encode("latin-1"))
    desk.call("reading", "--file", "readings.csv").refused("row 2", "is not UTF-8")
    file.write_text("tag,x,y\nR14T,1,2\n")
    desk.call("reading", "--file", "readings.csv").refused("no row that heads columns tag, L, a and b")
    desk.call("reading", "--file", "readings.csv", "R14T").refused("or a --file", status=2)
    assert desk.call("done", "--json").well().json[0]["number"] == last + 1


def test_the_drift_of_a_colour_is_a_picture_of_eighty_columns_without_colour(desk: Desk) -> None:
    said = desk.call("drift", "hood-cloth/fawn").well().out
    assert all(len(line) <= 80 or not line.startswith("20") for line in said.splitlines())
    assert "\x1b" not in said
    rows = [line for line in said.splitlines() if "W4288" in line or "W4391" in line]
    assert [row.split()[2:7] for row in rows[1:3]] == [
        ["+1.00", "-0.20", "-0.90", "0.99", "==================o"],
        ["-1.10", "+0.20", "+0.90", "1.07", "==================|=?"],
    ]
    assert "! Roll R7Q, lot W4391, in H2: does not match lot W4288, ΔE00 up to 2.05." in said
    told = desk.call("drift", "R26N", "--json").well().json
    assert told["named"] == "Leathercloth, dark blue"
    (item,) = told["items"]
    assert [(one["lot"], one["dL"], one["words"]) for one in item["lots"]] == [
        ("N2222", 0.0, "matches"),
        ("N2270", 2.4, "does not match"),
    ]
    assert [(one["tag"], one["quarantined"], one["lots"]) for one in item["apart"]] == [("R26N", True, ["N2222"])]


def test_drift_goes_by_the_master_that_stands_or_stood_and_names_the_earlier_one(desk: Desk) -> None:
    before = desk.call("drift", "tan", "--json").well().json
    assert {one["master"]["of"] for one in before["items"]} == {"the colour"}
    desk.call("reading", "--colour", "leathercloth/tan", "53.4,17.3,30.9", "--light", "D65/10").well()
    said = desk.call("drift", "leathercloth/tan").well().out
    assert "Master of Leathercloth: L* 53.4, a* 17.3, b* 30.9 under D65/10°" in said
    desk.call("reading", "--colour", "tan", "53.0,17.0,30.4", "--light", "D65/10", "--instrument", "bench").well()
    after = desk.call("drift", "tan", "--json").well().json
    assert [(one["L"], one["of"]) for one in after["earlier_masters"]] == [(52.7, "the colour")]
    assert {one["master"]["L"] for one in after["items"]} == {53.0, 53.4}
    day_before = desk.call("drift", "tan", "--as-of", "2020-01-01").well().out
    assert day_before == "Nothing was read of tan: write readings down with 'stockroom reading'.\n"
    desk.call("drift", "tan", "--as-of", "soon").refused("is not a day", status=2)
    desk.call("drift", "tann").refused("nearest name is 'tan'")
    desk.call("drift", "R9999").refused()
