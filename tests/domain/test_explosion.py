"""Explosion: what a kit comes to on one car, and what it waits for."""

from __future__ import annotations

import doctest
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain import answers
from stockroom.domain.explosion import Explosion, LineCase, explode, fits_code
from stockroom.domain.facts import CarFacts, Overruling
from stockroom.domain.kitbook import (
    Ask,
    Card,
    Edging,
    Hardware,
    Hole,
    Kit,
    KitBook,
    Option,
    Pairing,
    Role,
    SetLength,
    Spare,
    Strip,
    When,
)
from stockroom.domain.order import Change
from stockroom.domain.refusal import Refusal
from stockroom.domain.requirement import Requirement
from tests.domain.books import (
    EARLY,
    LATE,
    ask_option,
    book,
    bound,
    catalogue,
    change,
    early_or_late,
    line,
    panel,
    piece,
    rectangle,
)

STYLE = Option("length", "Long or short?", {"long": "long", "short": "short"})
BY_LENGTH = ask_option("length", long=2, short=1)
HOLES = (Hole("filler", 100, 50, 40, "cut"), Hole("lamp", 700, 50, 20, "marked"))
MAT = piece(
    "MAT",
    panel(
        "top",
        role="carpet",
        holes=HOLES,
        overlong_mm={"rear": 20},
        edging=(bound("front", "left", corner_mm=15, end_mm=20),),
    ),
    title="Boot floor mat",
    hardware=(Hardware("cap", 4, "bench", "cap"), Hardware("stud", 4, "on the car", "stud")),
    group="boot",
)
CARPET = Role("carpet", Ask("carpet-colour"), "carpet and binding go together")
CARPET_COLOUR = early_or_late("carpet-colour", "@trim", "black")


def need(
    what: KitBook, *lines: LineCase, without: tuple[str, ...] = ()
) -> dict[tuple[int, str, str, str, int], Requirement]:
    """Requirements by line, path, piece, part and unit."""
    done = explode(what, catalogue(without=without), lines or (line(),))
    found = {(r.key.line, r.key.path, r.key.piece, r.key.part, r.key.unit): r for r in done.requirements}
    assert len(found) == len(done.requirements), "every requirement has a key of its own"
    return found


def parts(found: dict[tuple[int, str, str, str, int], Requirement]) -> dict[str, int]:
    return {key[3]: req.quantity for key, req in found.items()}


def one(done: Explosion, part: str) -> Requirement:
    (found,) = [r for r in done.requirements if r.key.part == part]
    return found


def mat_book(**more: object) -> KitBook:
    return book(MAT, roles=(CARPET,), rules=(CARPET_COLOUR,), **more)  # type: ignore[arg-type]


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(answers).failed == 0


def test_a_bound_mat_comes_to_its_panel_its_binding_and_its_hardware() -> None:
    done = explode(mat_book(), catalogue(), [line()])
    top = one(done, "top")
    assert (top.item, top.quantity, top.need, top.group) == ("carpet/black", 1, "panel", "boot")
    assert top.shape is not None
    assert (top.shape.width_mm, top.shape.length_mm) == (800, 520)
    assert top.shape.holes == (("filler", 100, 50, 40, "cut"), ("lamp", 700, 50, 20, "marked"))
    binding = one(done, "bound:binding/red")
    # left and front are one run: 500 + 800, one corner, two ends; its end at the over-long rear reaches 20 mm further
    assert binding.quantity == binding.each_mm == 800 + 500 + 15 + 2 * 20 + 20
    assert one(done, "hardware:cap").quantity == 4
    assert [(c.item, c.count, c.half) for c in done.on_car] == [("stud", 4, "stud")]
    (made,) = done.pieces
    assert made.holes_left == ("hole 'lamp': marked on the back",)
    assert not done.waits


def test_the_reasons_read_like_a_person_explaining() -> None:
    top = one(explode(mat_book(), catalogue(), [line()]), "top")
    assert top.reasons[0] == "Boot floor mat, panel top: carpet in black."
    text = " ".join(top.reasons)
    assert "carpet and binding go together" in text
    assert "changed from chassis 2150 on" in text
    assert "chassis 3000" in text
    assert "Left 0.02 m over-long at the rear" in text


def test_a_rule_may_send_a_colour_back_to_the_car() -> None:
    top = one(explode(mat_book(), catalogue(), [line(car=EARLY)]), "top")
    assert top.item == "carpet/red"
    assert "This car's trim colour is red." in top.reasons


@given(st.integers(1, 40))
def test_counts_are_linear_in_the_number_of_kits(kits: int) -> None:
    what = mat_book()
    single, many = parts(need(what)), parts(need(what, line(quantity=kits)))
    assert many == {part: quantity * kits for part, quantity in single.items()}
    assert len(explode(what, catalogue(), [line(quantity=kits)]).pieces) == kits


@given(st.permutations([1, 2, 3, 4]))
def test_the_order_of_the_lines_changes_nothing_but_their_order(numbers: list[int]) -> None:
    what = mat_book()
    lines = {n: line(number=n, quantity=n, car=EARLY if n % 2 else LATE, key=f"RP {n % 2}") for n in numbers}
    straight = explode(what, catalogue(), [lines[n] for n in sorted(numbers)])
    shuffled = explode(what, catalogue(), [lines[n] for n in numbers])
    assert sorted(straight.requirements, key=lambda r: r.key) == sorted(shuffled.requirements, key=lambda r: r.key)
    assert straight.steps == shuffled.steps
    assert Counter(straight.pieces) == Counter(shuffled.pieces)


def test_spare_is_whole_a_kit_and_kits_of_kits_add_up() -> None:
    inner = Kit(
        "inner", "Inner", ("MAT",), hardware=(Hardware("cap", 2, "loose"),), spares=(Spare("cap", 1, "they break"),)
    )
    outer = Kit("outer", "Outer", (), ("inner", "inner"))
    what = mat_book(kits=(inner, outer))
    found = need(what, line("outer", 3))
    assert {key[1:4]: req.quantity for key, req in found.items()} == {
        ("outer/inner", "MAT", "top"): 6,
        ("outer/inner", "MAT", "bound:binding/red"): 6 * 1375,
        ("outer/inner", "MAT", "hardware:cap"): 24,
        ("outer/inner", "", "hardware:cap"): 12,
        ("outer/inner", "", "spare:cap"): 6,
    }


def test_a_fact_that_is_not_known_holds_up_only_what_hangs_on_it() -> None:
    other = piece("BOARD", panel("face", "leathercloth"))
    what = book(MAT, other, roles=(CARPET,), rules=(CARPET_COLOUR,))
    done = explode(what, catalogue(), [line(car=replace(LATE, chassis=None))])
    ((number, wait),) = done.waits
    assert (number, wait.kind, wait.name, wait.holds_up) == (1, "fact", "chassis", ("MAT",))
    assert {r.key.piece for r in done.requirements} == {"BOARD"}
    assert [p.piece for p in done.pieces] == ["BOARD"]


def test_a_missing_colour_of_the_car_waits_with_the_colours_to_choose_from() -> None:
    done = explode(mat_book(), catalogue(), [line(car=CarFacts("s1", chassis=3000))])
    ((_, wait),) = done.waits
    assert (wait.kind, wait.name) == ("fact", "trim colour")
    assert "red" in wait.choices


def test_an_option_not_answered_waits_and_a_stated_default_is_said() -> None:
    bag = piece("BAG", panel("side", count=1), count=Ask("by-length"))
    kits = (Kit("set", "Set", ("BAG",), options=("length",)),)
    done = explode(book(bag, kits=kits, rules=(BY_LENGTH,), options=(STYLE,)), catalogue(), [line()])
    ((_, wait),) = done.waits
    assert (wait.kind, wait.name, wait.question, wait.choices) == (
        "option",
        "length",
        "Long or short?",
        ("long", "short"),
    )
    assert wait.holds_up == ("BAG",)
    assert not done.requirements
    safe = replace(STYLE, default="short", because="short fits every car")
    told = explode(book(bag, kits=kits, rules=(BY_LENGTH,), options=(safe,)), catalogue(), [line()])
    assert not told.waits
    assert any("short fits every car" in reason for reason in told.requirements[0].reasons)
    chosen = explode(
        book(bag, kits=kits, rules=(BY_LENGTH,), options=(STYLE,)), catalogue(), [line(choices={"length": "long"})]
    )
    assert chosen.requirements[0].quantity == 2


def test_an_option_that_no_rule_looks_at_holds_up_the_whole_line() -> None:
    kits = (Kit("set", "Set", ("MAT",), options=("length",)),)
    done = explode(mat_book(kits=kits, options=(STYLE,)), catalogue(), [line()])
    assert [(wait.name, wait.holds_up) for _, wait in done.waits] == [("length", ())]
    assert not done.requirements
    assert not done.pieces


QUESTION = "How wide is the boot?"


@pytest.mark.parametrize(
    ("kind", "measurements", "held", "free"),
    [
        ("swatch", (), line(swatches=("hood cloth in fawn",)), line(number=2)),
        ("measurement", (QUESTION,), line(), line(number=2, measurements={QUESTION: "84 cm"})),
    ],
)
def test_a_swatch_or_a_measurement_holds_up_the_whole_line(
    kind: str, measurements: tuple[str, ...], held: LineCase, free: LineCase
) -> None:
    what = mat_book(kits=(Kit("set", "Set", ("MAT",), measurements=measurements),))
    done = explode(what, catalogue(), [held, free])
    assert [(number, wait.kind, wait.holds_up) for number, wait in done.waits] == [(1, kind, ())]
    assert {r.key.line for r in done.requirements} == {2}


def test_a_measurement_of_an_inner_kit_holds_up_only_that_kit() -> None:
    bag = piece("BAG", panel("side"))
    kits = (Kit("set", "Set", ("MAT",), ("bag",)), Kit("bag", "Bag", ("BAG",), measurements=(QUESTION,)))
    what = book(MAT, bag, kits=kits, roles=(CARPET,), rules=(CARPET_COLOUR,))
    done = explode(what, catalogue(), [line()])
    assert [wait.holds_up for _, wait in done.waits] == [("bag", "BAG")]
    assert {r.key.piece for r in done.requirements} == {"MAT"}
    assert not explode(what, catalogue(), [line(pieces=("MAT",))]).waits


def test_a_cloth_in_a_colour_that_the_catalogue_lacks_waits_as_material() -> None:
    done = explode(mat_book(), catalogue(without=("carpet/black",)), [line()])
    ((_, wait),) = done.waits
    assert (wait.kind, wait.name, wait.holds_up) == ("material", "carpet/black", ("MAT",))


def test_a_car_that_no_rule_covers_is_named_as_such_and_can_be_overruled() -> None:
    rules = replace(CARPET_COLOUR, rules=CARPET_COLOUR.rules[:1])
    what = book(MAT, roles=(CARPET,), rules=(rules,))
    ((_, wait),) = explode(what, catalogue(), [line()]).waits
    assert (wait.kind, wait.name) == ("rule", "carpet-colour")
    said = {"carpet-colour": Overruling("fawn", "CD", "seen on the car")}
    done = explode(what, catalogue(), [line(overruled=said)])
    top = one(done, "top")
    assert (top.item, top.changed) == ("carpet/fawn", True)
    assert "seen on the car" in " ".join(top.reasons)
    assert done.pieces[0].changed
    assert not one(done, "hardware:cap").changed
    with pytest.raises(Refusal, match="nearest name is 'fawn'"):
        explode(what, catalogue(), [line(overruled={"carpet-colour": Overruling("fawm", "CD", "seen")})])


def test_a_kit_that_does_not_fit_the_car_waits_until_somebody_says_yes() -> None:
    kits = (Kit("set", "Set", ("MAT",), when=When(series=("s2",))),)
    what = mat_book(kits=kits)
    ((_, wait),) = explode(what, catalogue(), [line()]).waits
    assert (wait.kind, wait.name, wait.holds_up) == ("rule", fits_code("set"), ())
    said = {fits_code("set"): Overruling("yes", "CD", "the boot was changed")}
    done = explode(what, catalogue(), [line(overruled=said)])
    assert not done.waits
    assert all(r.changed and "the boot was changed" in r.reasons[-1] for r in done.requirements)
    ((_, unknown_series),) = explode(what, catalogue(), [line(car=replace(LATE, series=None))]).waits
    assert (unknown_series.kind, unknown_series.name) == ("fact", "series")


def test_an_inner_kit_that_does_not_fit_holds_up_only_itself() -> None:
    bag = piece("BAG", panel("side"))
    inner = Kit("bag", "Bag", ("BAG",), hardware=(Hardware("cap", 1, "loose"),), when=When(series=("s2",)))
    what = book(MAT, bag, kits=(Kit("set", "Set", ("MAT",), ("bag",)), inner), roles=(CARPET,), rules=(CARPET_COLOUR,))
    done = explode(what, catalogue(), [line()])
    assert [wait.holds_up for _, wait in done.waits] == [("bag", "BAG")]
    assert {r.key.piece for r in done.requirements} == {"MAT"}


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (line("sett"), "nearest name is 'set'"),
        (line(quantity=0), "whole number"),
        (line(quantity=-2), "whole number"),
        (line(quantity=10**9), "whole number"),
        (line(quantity=True), "whole number"),
        (line(pieces=("MATT",)), "nearest name is 'MAT'"),
        (line(choices={"lenght": "long"}), "nearest name is 'length'"),
        (line(choices={"length": "longg"}), "nearest name is 'long'"),
        (line(car=replace(LATE, trim_colour="redd")), "nearest name is 'red'"),
        (line(overruled={"carpet-color": Overruling("red", "AB", "x")}), "nearest name is 'carpet-colour'"),
        (line(measurements={"How?": "so"}), "no measurement"),
        (line(changes=(change("colour", "MTA", to="red"),)), "nearest name is 'MAT'"),
        (line(changes=(change("colour", "MAT", to="redd"),)), "nearest name is 'red'"),
        (line(changes=(change("cloth", "MAT", to="carpett"),)), "nearest name is 'carpet'"),
        (line(changes=(change("hole", "MAT", part="fillr", made="solid"),)), "nearest name is 'filler'"),
        (line(changes=(change("hole", "MAT", part="filler"),)), "cut, marked or left solid"),
        (line(changes=(change("hole", "MAT", panel="tpo", part="filler", made="cut"),)), "nearest name is 'top'"),
        (line(changes=(change("overlong", "MAT", part="raer", mm=5),)), "nearest name is 'rear'"),
        (line(changes=(change("hardware", "MAT", part="capp", to="stud"),)), "nearest name is 'cap'"),
        (line(changes=(change("hardware", "MAT", part="cap", to="studd"),)), "nearest name is 'stud'"),
        (line(changes=(change("add", "MATT"),)), "nearest name is 'MAT'"),
        (line(changes=(change("not-on-car", "MAT"),)), "does not say of what"),
        (line(changes=(change("count", "", mm=3),)), "does not say of what"),
        (line(changes=(change("leave-out", ""),)), "Name the piece"),
        (line(pieces=("MAT",), changes=(change("count", "", part="cap", mm=3),)), "Name the piece"),
        (line(changes=(change("outline", "MAT", to="rectangel"),)), "There is no outline 'rectangel'"),
        (line(changes=(change("outline", "MAT", shape=Card(1, 1, {})),)), "no edge"),
        (line(changes=(change("colour", "MAT", to="red"), change("colour", "MAT", to="green"))), "contradict"),
    ],
)
def test_what_does_not_exist_or_makes_no_sense_is_refused_with_the_nearest_name(bad: LineCase, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        explode(mat_book(options=(STYLE,)), catalogue(), [bad])


def changed_by(*changes: Change, kept: tuple[Change, ...] = ()) -> Explosion:
    return explode(mat_book(), catalogue(), [line(changes=changes, kept=kept)])


def test_a_hole_may_be_left_solid_and_another_be_added() -> None:
    done = changed_by(
        change("hole", "MAT", part="filler", made="solid", because="the filler was moved"),
        change("hole", "MAT", part="aerial", made="cut", x_mm=10, y_mm=20, diameter_mm=8),
    )
    top = one(done, "top")
    assert top.shape is not None
    assert [(h[0], h[4]) for h in top.shape.holes] == [("filler", "solid"), ("lamp", "marked"), ("aerial", "cut")]
    assert top.changed
    assert any("because the filler was moved (AB)" in reason for reason in top.reasons)
    assert not one(done, "bound:binding/red").changed
    assert "hole 'filler': left solid" in done.pieces[0].holes_left
    assert len(done.pieces[0].changes) == 2


def test_an_allowance_changes_the_panel_and_its_binding() -> None:
    done = changed_by(change("overlong", "MAT", panel="top", part="rear", mm=50))
    top = one(done, "top")
    assert top.shape is not None
    assert top.shape.length_mm == 550
    binding = one(done, "bound:binding/red")
    assert (binding.quantity, binding.changed) == (1375 + 30, True)


def test_an_outline_of_this_cars_own_is_cut_and_bound_by_it() -> None:
    done = changed_by(change("outline", "MAT", shape=rectangle(900, 600)))
    top = one(done, "top")
    assert top.shape is not None
    assert (top.shape.width_mm, top.shape.length_mm) == (900, 620)
    assert one(done, "bound:binding/red").quantity == 1375 + 200


def test_an_outline_of_the_book_may_be_named_for_this_car() -> None:
    other = rectangle(900, 600, "other-mat")
    kit_book = mat_book()
    named = replace(kit_book, outlines={**kit_book.outlines, other.code: other})
    done = explode(named, catalogue(), [line(changes=(change("outline", "MAT", to="other-mat"),))])
    top = one(done, "top")
    assert top.shape is not None
    assert (top.shape.width_mm, top.shape.length_mm) == (900, 620)


def test_cloth_and_colour_may_be_others() -> None:
    done = changed_by(change("cloth", "MAT", to="leathercloth"), change("colour", "MAT", panel="top", to="blue"))
    assert one(done, "top").item == "leathercloth/blue"


def test_hardware_may_be_another_more_or_missing_from_the_car() -> None:
    done = changed_by(
        change("hardware", "MAT", part="cap", to="tool-bag-blank"),
        change("count", "MAT", part="cap", mm=6),
        change("not-on-car", "MAT", part="stud"),
    )
    assert (one(done, "hardware:tool-bag-blank").quantity, one(done, "hardware:stud").quantity) == (6, 4)
    assert not done.on_car
    assert one(done, "hardware:stud").changed


def test_a_piece_may_be_left_out_and_another_be_added() -> None:
    bag = piece("BAG", panel("side"))
    what = book(MAT, bag, kits=(Kit("set", "Set", ("MAT",)),), roles=(CARPET,), rules=(CARPET_COLOUR,))
    done = explode(what, catalogue(), [line(changes=(change("leave-out", "MAT"), change("add", "BAG")))])
    assert {(r.key.path, r.key.piece, r.changed) for r in done.requirements} == {("set/added", "BAG", True)}
    assert done.pieces[0].changed
    assert any("left out" in sentence for _, sentence in done.advice)


def test_changes_proved_on_the_car_come_first_and_the_orders_own_win() -> None:
    kept = change("hole", "MAT", part="filler", made="solid", proved=True)
    done = changed_by(kept=(kept,))
    assert "hole 'filler': left solid" in done.pieces[0].holes_left
    assert "proved on this car" in done.pieces[0].changes[0]
    again = changed_by(change("hole", "MAT", part="filler", made="cut"), kept=(kept,))
    assert "hole 'filler': left solid" not in again.pieces[0].holes_left
    foreign = changed_by(kept=(change("colour", "DOOR", to="red"),))
    assert not foreign.pieces[0].changed


def test_a_kept_change_that_no_longer_fits_holds_its_piece_up_until_somebody_says() -> None:
    kept = (change("overlong", "MAT", part="flap", mm=40, proved=True),)
    ((_, wait),) = changed_by(kept=kept).waits
    assert (wait.kind, wait.name, wait.holds_up) == ("rule", "kept:MAT:overlong:flap", ("MAT",))
    assert "no longer fits" in wait.question
    said = {wait.name: Overruling("without", "CD", "the flap is gone")}
    assert not explode(mat_book(), catalogue(), [line(kept=kept, overruled=said)]).waits


def test_a_kept_addition_is_brought_to_mind_and_not_repeated() -> None:
    done = changed_by(kept=(change("add", "BAG"),))
    assert {p.piece for p in done.pieces} == {"MAT"}
    assert any("Add it again" in sentence for _, sentence in done.advice)


def test_a_change_of_a_piece_that_is_not_on_the_car_is_said_to_do_nothing() -> None:
    lamp = piece("LAMP", panel("cover"), present=Ask("has-lamp"))
    what = book(lamp, rules=(early_or_late("has-lamp", False, True),))
    done = explode(what, catalogue(), [line(car=EARLY, changes=(change("colour", "LAMP", to="blue"),))])
    assert not done.requirements
    assert ["not on this car" in sentence for _, sentence in done.advice] == [True]


BAG = piece(
    "BAG",
    panel("side", "leathercloth", "bag", count=2),
    title="Tool bag",
    made="tool-bag-blank",
    hardware=(Hardware("cap", 2, "sewn in"),),
    strips=(Strip("binding", "bag", 300, 2),),
)
BAG_BOOK = book(BAG, roles=(Role("bag", "black", "bags are black"),))


def test_a_made_up_item_comes_from_stock_first_and_says_what_each_unit_is_made_of() -> None:
    found = need(BAG_BOOK, line(quantity=2))
    made = found.pop((1, "set", "BAG", "made:tool-bag-blank", 0))
    assert (made.need, made.item, made.quantity) == ("made", "tool-bag-blank", 2)
    assert {(key[1], key[4]) for key in found} == {("set/made", 1), ("set/made", 2)}
    assert [found[(1, "set/made", "BAG", part, 2)].quantity for part in ("side", "hardware:cap")] == [2, 2]
    strip = found[(1, "set/made", "BAG", "strip:binding/black:1", 1)]
    assert (strip.quantity, strip.each_mm) == (600, 300)


def test_a_made_up_item_with_colours_may_be_had_in_another() -> None:
    pouch = piece("POUCH", panel("side"), made="leathercloth", made_role="trim")
    found = need(book(pouch), line(changes=(change("colour", "POUCH", to="blue"),)))
    assert found[(1, "set", "POUCH", "made:leathercloth/blue", 0)].changed
    assert found[(1, "set/made", "POUCH", "side", 1)].item == "carpet/blue"


def test_a_made_up_item_that_differs_on_this_car_is_made_for_it() -> None:
    found = need(BAG_BOOK, line(changes=(change("cloth", "BAG", to="carpet"),)))
    assert {(key[1], key[3]) for key in found} == {
        ("set", "side"),
        ("set", "hardware:cap"),
        ("set", "strip:binding/black:1"),
    }
    assert found[(1, "set", "BAG", "side", 0)].item == "carpet/black"


def test_single_pieces_come_without_the_kits_own_hardware() -> None:
    bag = piece("BAG", panel("side"))
    kits = (Kit("set", "Set", ("MAT", "BAG"), hardware=(Hardware("cap", 9, "loose"),), spares=(Spare("cap", 1, "x"),)),)
    what = book(MAT, bag, kits=kits, roles=(CARPET,), rules=(CARPET_COLOUR,))
    assert {key[2] for key in need(what, line(pieces=("BAG",)))} == {"BAG"}


def test_a_mirrored_panel_keeps_its_holes_in_their_place() -> None:
    hand = piece("SIDE", panel("face", holes=(Hole("lamp", 100, 50, 20, "cut"),), mirrored=True), hand="right")
    face = one(explode(book(hand), catalogue(), [line()]), "face")
    assert face.shape is not None
    assert face.shape.holes == (("lamp", 700, 50, 20, "cut"),)
    assert face.key.hand == "right"


def test_cards_and_set_lengths_need_no_outline() -> None:
    card = panel("card", shape=Card(300, 400, {"front": 310, "rear": 290}), edging=(bound("front", "rear", end_mm=10),))
    strip = panel("length", shape=SetLength(1250, {"front": 1400}))
    done = explode(book(piece("MIX", card, strip)), catalogue(), [line()])
    shape, whole = one(done, "card").shape, one(done, "length").shape
    assert shape is not None
    assert whole is not None
    assert (shape.width_mm, shape.length_mm) == (300, 400)
    assert (whole.width_mm, whole.length_mm) == (0, 1250)
    assert one(done, "bound:binding/red").quantity == 310 + 290 + 4 * 10


def test_a_piece_that_is_not_on_this_car_leaves_no_trace() -> None:
    lamp = piece("LAMP", panel("cover"), present=Ask("has-lamp"))
    what = book(lamp, MAT, roles=(CARPET,), rules=(CARPET_COLOUR, early_or_late("has-lamp", False, True)))
    done = explode(what, catalogue(), [line(car=EARLY)])
    assert {r.key.piece for r in done.requirements} == {p.piece for p in done.pieces} == {"MAT"}


def test_unusual_colours_get_advice_and_never_a_refusal() -> None:
    pairings = (Pairing("red", {"hood": ("black",), "body": ("green",), "piping": ("black",)}, "So the works had it."),)
    piped = piece("EDGE", panel("face", edging=(Edging("piped", ("front",), "binding", "body"),)))
    done = explode(book(piped, pairings=pairings), catalogue(), [line()])
    assert len(done.requirements) == 2
    assert [number for number, _ in done.advice] == [1, 1]
    hood, piping = (sentence for _, sentence in done.advice)
    assert hood == "With red trim the hood is usually black; here it is fawn. So the works had it. Advice only."
    assert "green" in piping


def test_markup_and_control_characters_are_shown_literally() -> None:
    done = changed_by(change("colour", "MAT", to="blue", because="<b>bold</b> [red]\x07"))
    assert any("<b>bold</b> [red]\\u0007" in reason for reason in one(done, "top").reasons)


def test_a_kits_own_hardware_goes_into_a_packet_with_a_tag_one_a_kit_and_last_of_its_set() -> None:
    kit = Kit("set", "Full set", ("MAT",), hardware=(Hardware("cap", 2, "loose"),))
    what = book(MAT, kits=(kit,), roles=(CARPET,), rules=(CARPET_COLOUR,))
    done = explode(what, catalogue(), [line(quantity=2)])
    assert [(one.path, one.piece, one.copy, one.title) for one in done.pieces] == [
        ("set", "MAT", 1, "Boot floor mat"),
        ("set", "", 1, "Packet of hardware, full set"),
        ("set", "MAT", 2, "Boot floor mat"),
        ("set", "", 2, "Packet of hardware, full set"),
    ]
