"""The check of a kit book: every gap, dead rule and missing thing is named, and a whole book has none."""
# ruff: noqa: E501 - a table of faults and sentences is read by the line

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.domain.bookcheck import BookCatalogue, BookReport, check_book
from stockroom.domain.car_kinds import CarKinds
from stockroom.domain.conditions import holds
from stockroom.domain.facts import CarFacts, Case
from stockroom.domain.kitbook import Ask, Hardware, Kit, KitBook, Panel, Rule, RuleList, Span, Then, When
from stockroom.domain.rules import Decided, answer
from stockroom.files.kitbook import read_kitbook
from tests.files.small_book import BOOK, spoiled

WHOLE = read_kitbook(BOOK, "kitbook.toml")
CATALOGUE = BookCatalogue(
    cloths=frozenset({"carpet", "hood-cloth"}),
    narrow=frozenset({"edge-binding", "webbing"}),
    items=frozenset(
        {"clip", "bag-blank-long", "bag-blank-short"}
        | {
            f"{goods}/{colour}"
            for goods in ("carpet", "hood-cloth", "edge-binding", "webbing")
            for colour in ("black", "red")
        }
    ),
    colours=frozenset({"black", "red"}),
)


def report(*changes: tuple[str, str], catalogue: BookCatalogue = CATALOGUE) -> BookReport:
    return check_book(read_kitbook(spoiled(*changes), "kitbook.toml"), catalogue)


def test_a_whole_book_has_no_faults_and_says_what_was_walked() -> None:
    checked = report()
    assert checked.faults == ()
    assert checked.notes == ()
    # Series 1: chassis cut at 2749, one works, days not cut. Series 2: two works. Each with two hands.
    assert checked.tallies.cars == 2 * 1 * 2 + 1 * 2 * 2
    assert checked.lines()[0] == "Kit book 'plover', version 2026.1: no faults."
    assert "8 kinds of car" in checked.lines()[1]
    assert "4 kits, 3 pieces, 1 outline, 5 rule lists" in checked.lines()[1]


def test_a_gap_is_told_with_the_car_in_words() -> None:
    checked = report(('when = {}\nthen = "black"', 'when = { series = "s2", works = "fenmoor" }\nthen = "black"'))
    assert checked.faults == (
        "rules.carpet-colour: no rule answers for Series 1, built at Ashgate, chassis 2750 to 3999; "
        "Series 2, built at Ashgate. Asked by colour role 'carpet'.",
    )


def test_a_gap_by_the_day_built_and_by_an_option_is_told() -> None:
    by_day = report(('when = {}\nthen = "marked"', 'when = { built = { last = "1956-01-31" } }\nthen = "marked"'))
    assert any("Series 2, built 1956-02-01 and later, body colour 'black'" in fault for fault in by_day.faults)
    by_option = report(('when = { option.window = ["sewn"] }', 'when = { option.window = ["sewn"], hand = "left" }'))
    assert any("right-hand drive, option window 'sewn'" in fault for fault in by_option.faults)


def test_a_gap_for_cars_the_kit_does_not_fit_is_none() -> None:
    checked = report(
        ('when = { option.window = ["sewn"] }', 'when = { option.window = ["sewn"], series = "s1" }'),
        ('when = { series = ["s1", "s2"] }', 'when = { series = "s1" }'),
    )
    assert checked.faults == ()


def test_what_is_asked_of_a_thing_that_is_not_there_is_no_gap() -> None:
    """The flap's cloth is only asked where the zip is there."""
    cloth = 'cloth = { rule = "flap-cloth" }\nrole = "hood"\ncard'
    rule = '[[rules.flap-cloth]]\nwhen = { option.window = "zipped" }\nthen = "hood-cloth"\nbecause = "x"\n[outlines.floor]'
    flap = ('cloth = "hood-cloth"\nrole = "hood"\ncard', cloth), ("[outlines.floor]", rule)
    assert report(*flap).faults == ()
    always = report(*flap, ('present = { rule = "zip" }', ""))
    assert any(
        "rules.flap-cloth: no rule answers for Series 1, option window 'sewn'; Series 2" in fault
        for fault in always.faults
    )


def test_rules_that_never_fire_are_told_with_the_reason() -> None:
    hidden = report(
        ("last = 2749", "last = 9999"), ('when = {}\nthen = "black"', 'when = { series = "s1" }\nthen = "black"')
    )
    assert "rules.carpet-colour, rule 2: never fires, earlier rules always hold before it." in hidden.faults
    unmatched = report(("last = 2749", "last = 1000"))
    assert "rules.carpet-colour, rule 1: never fires, no car of the book fits it." in unmatched.faults
    works = report(("when = {}\nthen = 4", 'when = { series = "s1", works = "fenmoor" }\nthen = 4'))
    assert "rules.clips, rule 2: never fires, no car of the book fits it." in works.faults


@pytest.mark.parametrize(
    ("written", "wrong", "sentence"),
    [
        ('cloth = "carpet"', 'cloth = "carpets"', "piece 'BF', panel 'top': There is no cloth 'carpets'. The nearest name is 'carpet'"),
        ('cloth = "carpet"', 'cloth = "webbing"', "piece 'BF', panel 'top': 'webbing' is narrow goods; a cloth was expected."),
        ('cloth = "carpet"', 'cloth = { rule = "clips" }', "rules.clips, rule 1: 6 is no code; a cloth was expected. It is used by piece 'BF', panel 'top'."),
        ('goods = "edge-binding"', 'goods = "carpet"', "piece 'BF', panel 'top', bound edges: 'carpet' is a cloth; narrow goods were expected."),
        ('goods = "webbing"', 'goods = "web"', "piece 'BF', strips: There is no narrow goods 'web'"),
        ('colour = "black"', 'colour = "blak"', "colour role 'strap': There is no colour 'blak'. The nearest name is 'black'"),
        ('then = "@trim"', 'then = "green"', "rules.carpet-colour, rule 1: There is no colour 'green'"),
        ('then = "@trim"', "then = 3", "rules.carpet-colour, rule 1: 3 is no code; a colour was expected."),
        ("then = 6", "then = true", "rules.clips, rule 1: true is no count; a whole number was expected. It is used by piece 'BF', hardware."),
        ("then = 6", 'then = "six"', "rules.clips, rule 1: 'six' is no count"),
        ("then = false", "then = 0", "rules.zip, rule 2: 0 does not say whether it is there; true or false was expected."),
        ('then = "marked"', 'then = "drilled"', "rules.pipe-hole, rule 2: 'drilled' is nothing to do about a hole"),
        ('then = "bag-blank-short"', 'then = "bag-blank-shrt"', "rules.bag-blank, rule 2: There is no item 'bag-blank-shrt'"),
        ('item = "clip"\ncount = 2', 'item = "clips"\ncount = 2', "kit 'boot-set', hardware: There is no item 'clips'. The nearest name is 'clip'"),
        ('item = "clip"\ncount = 1', 'item = "clop"\ncount = 1', "kit 'boot-set', spares: There is no item 'clop'"),
        ('when = { body = "red" }', 'when = { body = "rad" }', "rules.pipe-hole, rule 1: There is no colour 'rad'"),
        ('piping = ["black", "red"]', 'piping = ["black", "ret"]', "pairings, number 1: There is no colour 'ret'"),
        ('do = "Lay the floor."\npieces = ["BF"]', 'do = "Lay the floor."\npieces = ["HD"]', "kit 'boot-set', step 1 (at 10): the piece 'HD' is not in the kit."),
        ('options = ["bag-length"]', "options = []", "kit 'bag': piece 'BAG', rules.bag-blank asks the option 'bag-length', which is not among the kit's options."),
        ('when = { series = ["s1", "s2"] }', 'when = { series = "s1", works = "fenmoor" }', "kit 'hood': no car of the book fits it."),
    ],
)  # fmt: skip
def test_each_kind_of_fault_is_told(written: str, wrong: str, sentence: str) -> None:
    faults = report((written, wrong)).faults
    assert any(fault.startswith(sentence) for fault in faults), "\n".join(faults)


def test_all_faults_come_at_once_and_the_report_begins_with_their_number() -> None:
    checked = report(
        ("then = 6", "then = true"), ('cloth = "carpet"', 'cloth = "felt"'), ("last = 2749", "last = 1000")
    )
    assert len(checked.faults) == 3
    assert checked.lines()[0].startswith("Kit book 'plover', version 2026.1: 3 faults")
    assert sum(line.startswith("FAULT ") for line in checked.lines()) == 3


@pytest.mark.parametrize(
    ("changes", "note"),
    [
        ((('pieces = ["BAG"]', 'pieces = ["HD"]'), ('options = ["bag-length"]', 'options = ["bag-length", "window"]')), "piece 'BAG': in no kit."),
        ((('title = "Handles bag"\npattern', 'title = "Handles bag"\npresent = false\npattern'),), "piece 'BAG': 'present = false', so it is never there."),
        ((('present = { rule = "zip" }', "present = false"),), "piece 'HD', panel 'zip-flap': 'present = false', so it is never there."),
        ((('present = { rule = "zip" }', "present = false"),), "rule list 'zip': nothing uses it."),
        ((("then = true", "then = false"),), "piece 'HD', panel 'zip-flap': never there in kit 'hood', whatever the car."),
        ((("[outlines.floor]", "[outlines.spare]\npoints = [[0, 0], [9, 0], [0, 9]]\n[outlines.floor]"),), "outline 'spare': nothing uses it."),
        ((('role = "strap"', 'role = "trim"'),), "colour role 'strap': nothing uses it."),
        ((("[roles.strap]", "[options.lid]\nask = \"x\"\nchoices = { a = \"b\" }\n[roles.strap]"),), "option 'lid': nothing uses it."),
    ],
)  # fmt: skip
def test_what_is_worth_a_look_is_a_note(changes: tuple[tuple[str, str], ...], note: str) -> None:
    checked = report(*changes)
    assert note in checked.notes, "\n".join(checked.notes)
    assert any(line == f"note  {note}" for line in checked.lines())


def test_goods_without_an_item_in_a_colour_are_a_note() -> None:
    fewer = replace(CATALOGUE, items=CATALOGUE.items - {"carpet/red", "webbing/black"})
    checked = report(catalogue=fewer)
    assert checked.faults == ()
    assert checked.notes == (
        "colour role 'carpet': no item of 'carpet' in 'red'.",
        "colour role 'strap': no item of 'webbing' in 'black'.",
    )
    never_red = report(
        ('then = "@trim"', 'then = "black"'), catalogue=replace(CATALOGUE, items=fewer.items | {"webbing/black"})
    )
    assert never_red.notes == ()


def test_goods_in_colours_may_be_made_up() -> None:
    made = ('made = { rule = "bag-blank" }', 'made = "side-bag"\nmade_role = "trim"')
    without = report(made)
    assert any("There is no item in any colour of 'side-bag'" in fault for fault in without.faults)
    in_red = replace(CATALOGUE, items=CATALOGUE.items | {"side-bag/red"})
    assert not any("side-bag" in line for line in report(made, catalogue=in_red).lines())


def test_a_book_that_asks_for_too_much_at_once_is_told_so() -> None:
    options = "".join(f'[options.o{n}]\nask = "x"\nchoices = {{ a = "a", b = "b" }}\n' for n in range(16))
    when = ", ".join(f'option.o{n} = "a"' for n in range(16))
    checked = report(("[roles.strap]", f"{options}[roles.strap]"), ('when = { body = "red" }', f"when = {{ {when} }}"))
    assert any(
        "rules.pipe-hole: asks for too much at once to be walked (65536 kinds of car)" in f for f in checked.faults
    )


NUMBERS = [1001, 1500, 2749, 2750, 3999, 4001, 5000, 9999]
DAYS = [date(1951, 3, 1), date(1953, 5, 5), date(1954, 8, 31), date(1954, 9, 1), date(1957, 1, 1)]
some_whens = st.builds(
    When,
    series=st.lists(st.sampled_from(["s1", "s2"]), max_size=1).map(tuple),
    works=st.lists(st.sampled_from(["ashgate", "fenmoor"]), max_size=1).map(tuple),
    hand=st.lists(st.sampled_from(["left", "right"]), max_size=1).map(tuple),
    chassis=st.none()
    | st.tuples(st.none() | st.sampled_from(NUMBERS), st.sampled_from(NUMBERS)).map(lambda e: Span(*e)),
    built=st.none() | st.tuples(st.sampled_from(DAYS), st.none() | st.sampled_from(DAYS)).map(lambda e: Span(*e)),
    options=st.dictionaries(st.just("bag-length"), st.sampled_from(["long", "short"]).map(lambda c: (c,)), max_size=1),
)
some_lists = st.lists(
    st.builds(Rule, when=some_whens, then=st.sampled_from([1, 2]), because=st.just("x")), min_size=1, max_size=5
)


def book_of(rules: tuple[Rule, ...]) -> KitBook:
    """A book with one kit, whose one line of hardware is counted by these rules."""
    kit = Kit("k", "K", hardware=(Hardware("clip", Ask("r"), "loose"),), options=("bag-length",))
    return replace(
        WHOLE, roles={}, rules={"r": RuleList("r", "R", rules)}, outlines={}, pieces={}, kits={"k": kit}, pairings=()
    )


def every_car(book: KitBook) -> list[Case]:
    """Cars on and beside every number and day that any rule can name: none is left out."""
    cars: list[Case] = []
    for code, series in book.series.items():
        numbers = [n + step for n in NUMBERS for step in (-1, 0, 1)]
        days = [date.fromordinal(day.toordinal() + step) for day in DAYS for step in (-1, 0, 1)]
        ends: Mapping[str, Span] = {"chassis": series.chassis, "built": series.built}
        inside = [n for n in numbers if (ends["chassis"].first or 0) <= n <= (ends["chassis"].last or 99999)]  # type: ignore[operator]
        in_time = [d for d in days if (ends["built"].first or date.min) <= d <= (ends["built"].last or date.max)]  # type: ignore[operator]
        cars += [
            Case(CarFacts(code, works, number, day, hand), {"bag-length": choice})
            for works in series.works
            for number in inside
            for day in in_time
            for hand in ("left", "right")
            for choice in ("long", "short")
        ]
    return cars


@settings(max_examples=60, deadline=None)
@given(some_lists)
def test_the_check_finds_a_gap_and_a_dead_rule_exactly_where_walking_every_car_does(rules: list[Rule]) -> None:
    book = book_of(tuple(rules))
    fired: set[int] = set()
    gap = False
    for case in every_car(book):
        first = next((number for number, rule in enumerate(rules, 1) if holds(rule.when, case)), None)
        fired |= {first} if first is not None else set()
        gap = gap or first is None
    faults = check_book(book, CATALOGUE).faults
    dead = {number for number in range(1, len(rules) + 1) if any(f"rule {number}: never fires" in f for f in faults)}
    assert dead == set(range(1, len(rules) + 1)) - fired
    assert any("no rule answers" in fault for fault in faults) == gap


@settings(deadline=None)
@given(some_lists)
def test_every_kind_of_car_gets_an_answer_that_waits_for_nothing(rules: list[Rule]) -> None:
    book = book_of(tuple(rules))
    kinds = CarKinds(book, ())
    facts = ("series", "works", "chassis", "built", "hand", "option bag-length")
    found = list(kinds.kinds(facts))
    assert len(found) == kinds.size(facts) == 2 * kinds.count()
    assert len({kind.words for kind in found}) == len(found)
    for kind in found:
        said = answer(book.rules["r"], kind.case)
        expected: Then | None = next((rule.then for rule in rules if holds(rule.when, kind.case)), None)
        assert (said.then if isinstance(said, Decided) else None) == expected


def test_a_panel_that_is_never_there_needs_no_cloth() -> None:
    floor = WHOLE.pieces["BF"]
    never: Panel = replace(floor.panels[0], code="never", cloth="no-such", present=False)
    book = replace(WHOLE, pieces={**WHOLE.pieces, "BF": replace(floor, panels=(*floor.panels, never))})
    checked = check_book(book, CATALOGUE)
    assert checked.faults == ()
    assert checked.notes == ("piece 'BF', panel 'never': 'present = false', so it is never there.",)
