"""A day of goods in through a real terminal: over, short and not to be used; what is printed is scanned next."""

from __future__ import annotations

from pathlib import Path

from stockroom.jobs.audit import audit
from stockroom.jobs.purchasing import expected
from stockroom.jobs.racks import where_is
from stockroom.store.database import Shop
from tests.cli.terminal import Terminal
from tests.labels.reading import codes
from tests.screens.test_goods_page import HOOD, PURCHASES, SUPPLIERS
from tests.screens.test_terminal import CTRL_P, CTRL_Q, CTRL_T, at_the_rail
from tests.shops import TODAY, bin_of, load_files, roll, stock_shop

CTRL_O = "\x0f"


def say(screen: Terminal, *asked_and_answers: tuple[str, str]) -> None:
    """Answer what is asked, each once it is asked."""
    for asked, answer in asked_and_answers:
        screen.wait_for(f"{asked} ▸")
        screen.press(f"{answer}\r")


def booked(screen: Terminal, folder: Path) -> list[str]:
    """Book what came: the codes on the paper that comes of it at once, as a scanner reads them."""
    before = set(folder.glob("*.pdf"))
    say(screen, ("Book it in", ""))
    screen.wait_for("Printed in")
    (paper,) = set(folder.glob("*.pdf")) - before
    return [code for page in codes(paper.read_bytes(), 300) for code in page]


def test_a_day_of_goods_in(tmp_path: Path) -> None:
    path, paper = tmp_path / "shop.db", tmp_path / "paper"
    with Shop.make(path) as shop:
        stock_shop(shop, tmp_path, roll(HOOD, 700, "W4391"), bin_of("stud", 10))
        load_files(shop, tmp_path, {"suppliers.csv": SUPPLIERS, "purchases.csv": PURCHASES})
        with at_the_rail(path) as screen:
            screen.press("goods in\r")
            screen.wait_for("4 lines expected")

            screen.press("P-1\r")
            say(
                screen, ("Dye lot", "W5000"), ("Length of the roll", "2 x 13.5 m"), ("Another roll", ""),
                ("Usable width", ""), ("Put where", "R1"),
            )  # fmt: skip
            screen.wait_for("2.00 m more than is still due")
            say(screen, ("Is it so", "yes"))
            over = booked(screen, paper)
            screen.wait_for("3 lines expected")
            assert len(over) == 2
            for tag in over:
                screen.press(f"{tag}\r")
                say(screen, (f"{tag} goes to", "B2"))
                screen.wait_for("Scan ▸")

            screen.press("carpet/red\r")
            screen.wait_for("Which came ▸")
            screen.press("1\r")
            say(
                screen, ("Dye lot", "D9"), ("Length of the roll", ""), ("Another roll", ""), ("Usable width", ""),
                ("Put where", "R1"),
            )  # fmt: skip
            (short,) = booked(screen, paper)
            screen.wait_for("2 lines expected")
            screen.press(CTRL_T)
            say(screen, (f"True length of {short}", "9.6 m"))
            screen.wait_for("0.40 m shorter than it came")
            screen.press(CTRL_P)
            say(screen, ("Print", ""))
            screen.wait_for("Printed in")
            assert list(paper.glob(f"claim-{short}*"))

            screen.press("carpet/black\r")
            screen.wait_for("Which came ▸")
            screen.press("1\r")
            say(screen, ("Dye lot", "D3"), ("Length of the roll", "10 m"), ("Another roll", ""))
            screen.wait_for("Usable width ▸")
            screen.press(CTRL_O)
            say(
                screen, ("Say or put right", "quarantine"), ("Not to be used, because", "damp"), ("Usable width", ""),
                ("Put where", "R1"),
            )  # fmt: skip
            (damp,) = booked(screen, paper)
            screen.wait_for("1 line expected")
            screen.press(CTRL_Q)
            assert screen.end() == 0
        lies = {one.tag: one for item in (HOOD, "carpet/red", "carpet/black") for one in where_is(shop, item)[0].things}
        assert [(lies[tag].amount, lies[tag].lot, lies[tag].place) for tag in over] == [("13.50 m", "W5000", "B2")] * 2
        assert (lies[short].amount, lies[damp].quarantined) == ("9.60 m", "damp")
        assert [one.reference for one in expected(shop, TODAY)] == ["P-3"]
        assert audit(shop).faults == ()
