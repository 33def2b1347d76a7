"""Sheets and rolls: what ships is sound, and a file that is wrong says how."""

from pathlib import Path

import pytest

from labels import PaperError, load_sheet, sheet_names

GOOD = """
kind = "sheet"
page_width_mm = 210
page_height_mm = 297
columns = 2
rows = 4
label_width_mm = 99.1
label_height_mm = 67.7
left_margin_mm = 4.65
top_margin_mm = 13.1
column_pitch_mm = 101.6
row_pitch_mm = 67.7
resolution_dpi = 600
"""


@pytest.mark.parametrize("name", sheet_names())
def test_every_shipped_sheet_loads_and_is_named_by_what_it_measures(name: str) -> None:
    sheet = load_sheet(name)
    measures = name.split("-")
    width, height = next(part for part in reversed(measures) if "x" in part).split("x")
    assert int(sheet.label_width_mm) == int(width)
    assert int(sheet.label_height_mm) == int(height)
    if sheet.kind == "sheet":
        assert measures[1] == f"{sheet.columns}x{sheet.rows}"
    else:
        assert measures[-1] == f"{sheet.resolution_dpi}dpi"


def test_a_shop_may_bring_its_own_sheet(tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(GOOD)
    sheet = load_sheet(file)
    assert (sheet.name, sheet.positions, sheet.resolution_dpi) == ("ours", 8, 600)
    assert sheet.corner_mm(4) == pytest.approx((4.65 + 101.6, 13.1 + 67.7))


@pytest.mark.parametrize(
    ("found", "put", "said"),
    [
        ("column_pitch_mm = 101.6", "column_pitch_mm = 90", "overlap"),
        ("row_pitch_mm = 67.7", "row_pitch_mm = 60", "overlap"),
        ("left_margin_mm = 4.65", "left_margin_mm = 20", "leaves the page at the right"),
        ("rows = 4", "rows = 5", "leaves the page at the foot"),
        ("rows = 4", "rows = 0", "rows must be a whole number"),
        ("rows = 4", "rows = true", "rows must be a whole number"),
        ("rows = 4", "", "rows must be a whole number"),
        ("page_width_mm = 210", "page_width_mm = nan", "page_width_mm must be a length"),
        ("page_width_mm = 210", 'page_width_mm = "210"', "page_width_mm must be a length"),
        ('kind = "sheet"', 'kind = "card"', "kind must be"),
        ('kind = "sheet"', 'kind = "roll"', "one label a page"),
        ("resolution_dpi = 600", "resolution_dpi = 72", "resolution_dpi is under 150"),
        ("rows = 4", "rows = 4\nmaker = 1", "maker is not a field"),
        ("rows = 4", "rows = [[", "not a TOML file"),
        ("rows = 4", "rows = " + "[" * 5000, "not a TOML file"),
        ("rows = 4", "# " + "x" * 70_000, "larger than"),
    ],
)
def test_a_wrong_sheet_is_refused_with_what_is_wrong(tmp_path: Path, found: str, put: str, said: str) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(GOOD.replace(found, put))
    with pytest.raises(PaperError, match=said):
        load_sheet(file)


def test_binary_and_missing_files_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "binary.toml"
    file.write_bytes(bytes(range(256)))
    with pytest.raises(PaperError, match="not a TOML file"):
        load_sheet(file)
    for name in ("nowhere", "nul\0name", str(tmp_path)):
        with pytest.raises(PaperError, match="a4-3x7-63x38"):
            load_sheet(name)
