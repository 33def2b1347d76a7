"""Rule lists: the first that holds wins, and what is not known makes an answer wait only where it matters."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.facts import CarFacts, Case, Overruling
from stockroom.domain.kitbook import KitBook, Rule, RuleList, Series, Span, Then, When
from stockroom.domain.refusal import Refusal
from stockroom.domain.rules import Decided, Uncovered, Waiting, answer, facts_asked, settle, written_then

DAYS = [date(1953, 1, 1), date(1954, 5, 17), date(1955, 9, 30)]
SERIES = ["s1", "s2"]
HANDS = ["left", "right"]
NUMBERS = [1, 2, 3, 4]
BAGS = ["long", "short"]

some_numbers = st.tuples(st.none() | st.sampled_from(NUMBERS), st.none() | st.sampled_from(NUMBERS))
some_days = st.tuples(st.none() | st.sampled_from(DAYS), st.none() | st.sampled_from(DAYS))
some_whens = st.builds(
    When,
    series=st.lists(st.sampled_from(SERIES), max_size=2, unique=True).map(tuple),
    hand=st.lists(st.sampled_from(HANDS), max_size=1).map(tuple),
    chassis=st.none() | some_numbers.filter(any).map(lambda ends: Span(*ends)),
    built=st.none() | some_days.filter(any).map(lambda ends: Span(*ends)),
    options=st.dictionaries(st.just("bag"), st.sampled_from(BAGS).map(lambda bag: (bag,)), max_size=1),
)
some_thens: st.SearchStrategy[Then] = st.sampled_from(["red", "black", 1, 2, True, False])
some_lists = st.lists(st.builds(Rule, when=some_whens, then=some_thens, because=st.just("so")), max_size=6).map(
    lambda rules: RuleList("colour", "Colour", tuple(rules))
)


def case(series: str | None, chassis: int | None, built: date | None, hand: str | None, bag: str | None) -> Case:
    return Case(CarFacts(series, None, chassis, built, hand), {} if bag is None else {"bag": bag})


full_facts = st.tuples(*(st.sampled_from(values) for values in (SERIES, NUMBERS, DAYS, HANDS, BAGS)))
some_facts = st.tuples(*(st.none() | st.sampled_from(values) for values in (SERIES, NUMBERS, DAYS, HANDS, BAGS)))


def naive(rules: RuleList, facts: tuple[object, ...]) -> Then | None:
    """The plain model: every fact known, rules one after the other."""
    series, chassis, built, hand, bag = facts
    for rule in rules.rules:
        when = rule.when
        if when.series and series not in when.series:
            continue
        if when.hand and hand not in when.hand:
            continue
        if when.options and bag not in when.options["bag"]:
            continue
        if when.chassis and not (when.chassis.first or -9) <= chassis <= (when.chassis.last or 999):  # type: ignore[operator]
            continue
        if when.built and not (when.built.first or date.min) <= built <= (when.built.last or date.max):  # type: ignore[operator]
            continue
        return rule.then
    return None


@given(some_lists, full_facts)
def test_with_every_fact_known_the_first_rule_that_holds_wins(rules: RuleList, facts: tuple[object, ...]) -> None:
    said = answer(rules, case(*facts))  # type: ignore[arg-type]
    expected = naive(rules, facts)
    if expected is None:
        assert isinstance(said, Uncovered)
    else:
        assert isinstance(said, Decided)
        assert (type(said.then), said.then) == (type(expected), expected)


@given(some_lists, some_facts)
def test_an_answer_is_decided_only_where_every_completion_agrees(rules: RuleList, facts: tuple[object, ...]) -> None:
    said = answer(rules, case(*facts))  # type: ignore[arg-type]
    spaces: tuple[list[object], ...] = (
        [*SERIES, "other"],
        [*NUMBERS, -5, 99],
        [*DAYS, date(1800, 1, 1)],
        [*HANDS],
        [*BAGS],
    )
    completions = [
        naive(rules, filled)
        for filled in product(
            *([known] if known is not None else space for known, space in zip(facts, spaces, strict=True))
        )
    ]
    results = {(type(result), result) for result in completions}
    if isinstance(said, Decided):
        assert results == {(type(said.then), said.then)}
    elif isinstance(said, Uncovered):
        assert results == {(type(None), None)}
    else:
        assert said.facts
        assert set(said.facts) <= {name for name, known in zip(NAMES, facts, strict=True) if known is None}


SPACES: tuple[list[object], ...] = ([*SERIES], [*NUMBERS], [*DAYS], [*HANDS], [*BAGS])
NAMES = ("series", "chassis", "built", "hand", "option bag")


@given(some_lists, some_facts)
def test_once_the_awaited_facts_are_given_the_answer_waits_no_longer(
    rules: RuleList, facts: tuple[object, ...]
) -> None:
    said = answer(rules, case(*facts))  # type: ignore[arg-type]
    if isinstance(said, Waiting):
        told = [
            known if name not in said.facts else next(iter(space))
            for name, known, space in zip(NAMES, facts, SPACES, strict=True)
        ]
        assert not isinstance(answer(rules, case(*told)), Waiting)  # type: ignore[arg-type]


CARPET = RuleList(
    "carpet-colour",
    "Colour of the boot carpet",
    (
        Rule(When(series=("s1",), chassis=Span(None, 2416)), "red", "Early cars took the trim colour"),
        Rule(When(series=("s1",)), "black", "Later cars were black"),
        Rule(When(series=("s2",)), "black", "Later cars were black"),
    ),
)


def test_a_decided_answer_says_the_reason_and_which_facts_decided() -> None:
    said = answer(CARPET, Case(CarFacts(series="s1", chassis=2000)))
    assert said == Decided(
        "red",
        (
            "Early cars took the trim colour.",
            "Decided by series s1 and chassis 2000 (rule 1 of 3 in 'Colour of the boot carpet').",
        ),
    )


def test_an_unknown_fact_that_could_change_the_answer_is_waited_for() -> None:
    assert answer(CARPET, Case(CarFacts(series="s1"))) == Waiting(("chassis",))
    assert answer(CARPET, Case(CarFacts(chassis=2000))) == Waiting(("series",))


def test_an_unknown_fact_that_cannot_change_the_answer_is_not_waited_for() -> None:
    said = answer(CARPET, Case(CarFacts(series="s2")))
    assert isinstance(said, Decided)
    agreeing = RuleList("a", "A", (Rule(When(series=("s1",)), 2, "two"), Rule(When(), 2, "always two")))
    decided = answer(agreeing, Case(CarFacts()))
    assert isinstance(decided, Decided)
    assert decided.then == 2
    assert "The answer is the same whatever the series." in decided.because


def test_a_fact_asked_only_by_rules_that_agree_is_not_asked_for() -> None:
    rules = RuleList(
        "a",
        "A",
        (Rule(When(hand=("left",)), 1, "x"), Rule(When(trim=("red",)), 2, "y"), Rule(When(), 2, "z")),
    )
    assert answer(rules, Case(CarFacts())) == Waiting(("hand",))


def test_a_count_of_one_is_not_the_same_as_true() -> None:
    rules = RuleList("a", "A", (Rule(When(hand=("left",)), 1, "x"), Rule(When(), True, "z")))
    assert answer(rules, Case(CarFacts())) == Waiting(("hand",))


def test_a_car_that_no_rule_covers_is_named() -> None:
    said = answer(CARPET, Case(CarFacts(series="s3", chassis=7)))
    assert said == Uncovered("No rule of 'Colour of the boot carpet' covers a car with series s3 and chassis 7.")


def test_an_overruling_wins_with_initials_and_reason_even_where_facts_are_missing() -> None:
    word = Overruling("fawn", by="EH", because="owner has the old carpet")
    said = answer(CARPET, Case(CarFacts(), overruled={"carpet-colour": word}))
    assert said == Decided(
        "fawn",
        ("EH overruled 'Colour of the boot carpet' for this car: owner has the old carpet.",),
        overruled=True,
    )


def test_an_overruling_is_read_as_the_rules_own_answers_are_written() -> None:
    counts = RuleList("n", "Number of studs", (Rule(When(), 4, "x"),))
    there = RuleList("p", "Whether it has a strap", (Rule(When(), True, "x"),))
    assert written_then(counts, " 6 ") == 6
    assert written_then(there, "no") is False
    assert written_then(CARPET, "fawn") == "fawn"
    for rules, text in ((counts, "six"), (counts, "-1"), (counts, "٤"), (there, "6"), (CARPET, " ")):
        with pytest.raises(Refusal, match=rules.title):
            written_then(rules, text)


def test_the_facts_a_list_asks_about_are_named_once_and_in_order() -> None:
    assert facts_asked(CARPET) == ("series", "chassis")


PLOVER = KitBook(
    code="plover",
    title="the Plover book",
    version="1",
    format=1,
    works={"ashgate": "Ashgate", "fenmoor": "Fenmoor"},
    series={
        "s1": Series("s1", "Series 1", Span(1001, 3999), Span(date(1951, 3, 12), date(1954, 8, 31)), ("ashgate",)),
        "s2": Series(
            "s2", "Series 2", Span(4001, 6500), Span(date(1954, 9, 1), date(1958, 6, 30)), ("ashgate", "fenmoor")
        ),
    },
    options={},
    roles={},
    rules={},
    outlines={},
    pieces={},
    kits={},
)


def test_the_series_and_its_only_works_follow_from_the_chassis_number() -> None:
    settled = settle(PLOVER, CarFacts(chassis=2417))
    assert (settled.car.series, settled.car.works) == ("s1", "ashgate")
    assert settled.reasons == (
        "Chassis number 2417 lies in Series 1 (1001 to 3999), so the car is of that series.",
        "Series 1 was built at Ashgate only, so the car was built there.",
    )


def test_the_works_does_not_follow_where_two_built_the_series() -> None:
    assert settle(PLOVER, CarFacts(chassis=4400)).car == CarFacts(series="s2", chassis=4400)


def test_the_series_follows_from_the_day_built() -> None:
    assert settle(PLOVER, CarFacts(built=date(1953, 6, 1))).car.series == "s1"


def test_a_month_that_is_only_partly_in_the_series_still_fits() -> None:
    assert settle(PLOVER, CarFacts(series="s1", built=date(1951, 3, 1))).car.series == "s1"
    with pytest.raises(Refusal, match="built 1951-03-12 to 1954-08-31"):
        settle(PLOVER, CarFacts(series="s1", built=date(1951, 3, 2)))


def test_nothing_follows_from_nothing() -> None:
    assert settle(PLOVER, CarFacts(hand="left")).car == CarFacts(hand="left")
    assert settle(PLOVER, CarFacts(works="ashgate")).car == CarFacts(works="ashgate")


def test_a_day_that_two_series_share_settles_nothing_until_the_works_tells() -> None:
    shared = replace(PLOVER.series["s2"], built=Span(date(1954, 1, 1), date(1958, 6, 30)), works=("fenmoor",))
    book = replace(PLOVER, series={"s1": PLOVER.series["s1"], "s2": shared})
    assert settle(book, CarFacts(built=date(1954, 5, 5))).car.series is None
    assert settle(book, CarFacts(built=date(1954, 5, 5), works="fenmoor")).car.series == "s2"


def test_a_chassis_number_in_no_series_is_named_and_not_refused() -> None:
    settled = settle(PLOVER, CarFacts(chassis=4000))
    assert settled.car == CarFacts(chassis=4000)
    assert settled.reasons == ("Chassis number 4000 lies in no series of the Plover book: no rule covers it.",)
    assert settle(PLOVER, CarFacts(series="s2", chassis=9000)).car == CarFacts(series="s2", chassis=9000)


@pytest.mark.parametrize(
    ("car", "words"),
    [
        (CarFacts(series="s2", chassis=2417), ("Series 2", "2417", "Series 1 (1001 to 3999)")),
        (CarFacts(series="s1", works="fenmoor"), ("Series 1", "Ashgate", "Fenmoor")),
        (CarFacts(chassis=2417, works="fenmoor"), ("Series 1", "Ashgate", "Fenmoor")),
        (CarFacts(series="s1", built=date(1957, 2, 3)), ("Series 1", "1951-03-12 to 1954-08-31", "1957-02-03")),
        (CarFacts(chassis=2417, built=date(1957, 2, 3)), ("Series 1", "1957-02-03")),
        (CarFacts(series="s9"), ("'s9'", "'s1' and 's2'")),
        (CarFacts(works="fenmor"), ("'fenmor'", "The nearest name is 'fenmoor'")),
        (CarFacts(hand="middle"), ("'middle'", "'left' or 'right'")),
    ],
)
def test_facts_that_contradict_or_are_not_known_are_refused_in_words(car: CarFacts, words: tuple[str, ...]) -> None:
    with pytest.raises(Refusal) as refused:
        settle(PLOVER, car)
    for word in words:
        assert word in refused.value.sentence
