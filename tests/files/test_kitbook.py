"""A kit book is read whole or refused with all its faults: file, line, table, key, what was found and expected."""

# ruff: noqa: E501 - a table of faults and sentences is read by the line

from __future__ import annotations

import random
import re
import time
import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.kitbook import Ask, Card, Hole, KitBook, Outline, SetLength, Span, When
from stockroom.domain.refusal import Refusal
from stockroom.files.kitbook import kitbook_from, read_kitbook
from stockroom.files.toml_text import Document
from tests.files.small_book import BOOK, line_of, spoiled


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(Refusal) as refused:
        read_kitbook(text, "kitbook.toml")
    assert refused.value.faults
    return refused.value.faults


def test_a_whole_book_becomes_its_shapes() -> None:
    book = read_kitbook(BOOK, "kitbook.toml")
    assert (book.code, book.version, book.works["fenmoor"]) == ("plover", "2026.1", "Fenmoor")
    assert book.series["s1"].chassis == Span(1001, 3999)
    assert book.series["s1"].built == Span(date(1951, 3, 1), date(1954, 8, 31))
    assert book.series["s2"].chassis == Span(4001, None)
    assert book.options["window"].default == "sewn"
    assert book.options["bag-length"].choices == {"long": "long", "short": "short"}
    assert book.roles["carpet"].colour == Ask("carpet-colour")
    assert book.rules["carpet-colour"].title == "Colour of the carpet"
    assert book.rules["zip"].title == "zip"
    assert book.rules["zip"].rules[1].when == When(options={"window": ("sewn",)})
    assert book.rules["zip"].rules[1].then is False
    assert book.rules["clips"].rules[0].when.built == Span(date(1951, 3, 1), None)
    floor, hood = book.pieces["BF"], book.pieces["HD"]
    assert isinstance(floor.panels[0].shape, Outline)
    assert floor.panels[0].shape.edges == {"front": (0, 1), "side": (1, 3), "round": (0, 0)}
    assert floor.panels[0].overlong_mm == {"front": 20}
    assert floor.panels[0].holes == (Hole("filler pipe", 200, 250, 60, Ask("pipe-hole")),)
    assert floor.panels[0].edging[0].edges == ("front", "side")
    assert floor.strips[0].length_mm == 1200
    assert hood.panels[0].shape == SetLength(1700, {"rear": 1200})
    assert hood.panels[1].shape == Card(60, 900, {"front": 900})
    assert hood.panels[1].present == Ask("zip")
    assert book.pieces["BAG"].made == Ask("bag-blank")
    assert book.kits["everything"].kits == ("boot-set", "hood", "bag")
    assert book.kits["boot-set"].spares[0].count == 1
    assert book.kits["hood"].when.series == ("s1", "s2")
    assert book.pairings[0].goes_with["piping"] == ("black", "red")


def test_the_colours_of_the_car_are_roles_without_being_written() -> None:
    book = read_kitbook(BOOK, "kitbook.toml")
    assert [book.roles[part].colour for part in ("trim", "body", "hood")] == ["@trim", "@body", "@hood"]


SPOILED: list[tuple[str, str, str]] = [
    # written, spoiled, the sentence after "kitbook.toml, line N, "
    ("format = 1", "format = 2", "'format': found 2; expected 1, the only format"),
    ("format = 1", 'format = "1"', "'format': found '1'; expected 1, the only format"),
    ('version = "2026.1"', "version = 2026.1", "[book], 'version': found 2026.1; expected text in one line"),
    ('version = "2026.1"', 'versoin = "1"', "[book], 'versoin': this key is not known here. Did you mean 'version'?"),
    ('code = "plover"', 'code = "The Plover"', "[book], 'code': found 'The Plover'; expected a code: lower-case"),
    (
        'title = "Boot floor"',
        'title = "Boot\\u0007floor"',
        "[pieces.BF], 'title': found 'Boot\\u0007floor'; expected text",
    ),
    ('title = "Boot floor"', 'title = ""', "[pieces.BF], 'title': found ''; expected text in one line"),
    ('title = "Boot floor"', "title = 7", "[pieces.BF], 'title': found 7; expected text in one line"),
    ("last = 3999 }", "last = 999 }", "[series.s1], 'chassis': this range ends before it begins"),
    ("chassis = { first = 4001 }", "chassis = { }", "[series.s2], 'chassis': this range has no ends"),
    (
        "chassis = { first = 4001 }",
        'chassis = { first = "4001" }',
        "[series.s2.chassis], 'first': found '4001'; expected a whole",
    ),
    (
        'built = { first = "1954-09-01" }',
        'built = { first = "1954-19-01" }',
        "[series.s2.built], 'first': found '1954-19-01'; expected a day",
    ),
    ("last = 1954-08-31", "last = 1951-01-31", "[series.s1], 'built': this range ends before it begins"),
    (
        'works = ["ashgate"]',
        'works = ["ashgat"]',
        "[series.s1], 'works', number 1: There is no works 'ashgat'. The nearest name is 'ashgate'",
    ),
    ('works = ["ashgate"]', "works = []", "[series.s1], 'works': found a list of 0; expected at least 1"),
    (
        'works = ["ashgate", "fenmoor"]',
        'works = ["ashgate", "ashgate"]',
        "[series.s2], 'works', number 2: the works 'ashgate' is there twice",
    ),
    (
        'default = "sewn"',
        'default = "swen"',
        "[options.window], 'default': There is no choice 'swen'. The nearest name is 'sewn'",
    ),
    ('because = "Every hood left the works so."', "", "[options.window], 'because': missing; a default must say why"),
    ('default = "sewn"', "", "[options.window], 'because': a reason without a default"),
    (
        'colour = { rule = "carpet-colour" }',
        'colour = { rule = "carpet" }',
        "[roles.carpet], 'colour': There is no rule list 'carpet'",
    ),
    (
        'colour = { rule = "carpet-colour" }',
        'colour = { rules = "carpet-colour" }',
        "[roles.carpet], 'colour': found a table; expected '@trim'",
    ),
    ('colour = "black"', 'colour = "@tirm"', "[roles.strap], 'colour': found '@tirm'; expected '@trim'"),
    (
        'carpet-colour = "Colour of the carpet"',
        'carpet-color = "x"',
        "[rule-titles], 'carpet-color': There is no rule list 'carpet-color'",
    ),
    (
        'when = { series = "s1",',
        'when = { series = "s3",',
        "[rules.carpet-colour(1).when], 'series': There is no series 's3'",
    ),
    (
        'works = "ashgate", hand',
        'works = "ashford", hand',
        "[rules.clips(1).when], 'works': There is no works 'ashford'",
    ),
    ('hand = "left"', 'hand = "middle"', "[rules.clips(1).when], 'hand': There is no hand of drive 'middle'"),
    (
        'when = { option.window = "zipped" }',
        'when = { option.windows = "zipped" }',
        "[rules.zip(1).when.option], 'windows': There is no option 'windows'",
    ),
    (
        'when = { option.window = "zipped" }',
        'when = { option.window = "ziped" }',
        "[rules.zip(1).when.option], 'window': There is no choice of the option 'window' 'ziped'",
    ),
    (
        'when = { body = "red" }',
        'when = { colour = "red" }',
        "[rules.pipe-hole(1).when], 'colour': this key is not known here",
    ),
    ("then = 6", "then = 6.5", "[rules.clips(1)], 'then': found 6.5; expected a code, a whole number"),
    ("then = 6", "then = -6", "[rules.clips(1)], 'then': found -6; expected a code, a whole number"),
    ("then = 6\n", "\n", "[rules.clips(1)], 'then': missing; expected a code"),
    ("[800, 500]", "[800, 500.5]", "[outlines.floor], 'points', number 3, number 2: found 500.5; expected whole mm"),
    (
        "[800, 500]",
        "[800]",
        "[outlines.floor], 'points', number 3: found a list of 1; expected a point of two whole mm",
    ),
    (
        "[[0, 0], [800, 0], [800, 500], [0, 500]]",
        "[[0, 0], [800, 0]]",
        "[outlines.floor], 'points': found a list of 2; expected at least 3",
    ),
    (
        "[800, 500], [0, 500]]",
        "[0, 500], [800, 500]]",
        "[outlines.floor], 'points', number 4: the outline crosses or touches itself: the sides [800, 0] to [0, 500] and [800, 500] to [0, 0] meet",
    ),
    (
        "[800, 500], [0, 500]]",
        "[800, 500], [0, 500], [0, 0]]",
        "[outlines.floor], 'points', number 5: the last point repeats the first",
    ),
    (
        "[800, 500], [0, 500]]",
        "[800, 500], [800, 500], [0, 500]]",
        "[outlines.floor], 'points', number 4: point [800, 500] is there twice",
    ),
    (
        "[[0, 0], [800, 0], [800, 500], [0, 500]]",
        "[[0, 0], [10, 10], [20, 20]]",
        "[outlines.floor], 'points', number 3: the outline crosses or touches itself",
    ),
    (
        "[[0, 0], [800, 0],",
        "[[0, 0], [20001, 0],",
        "[outlines.floor], 'points', number 2, number 1: found 20001; expected whole mm",
    ),
    (
        "[[0, 0], [800, 0],",
        "[[-15000, 0], [15000, 0],",
        "[outlines.floor], 'points': the outline is 30000 × 500 mm; expected no more than 20000",
    ),
    (
        "front = [0, 1]",
        "front = [0, 4]",
        "[outlines.floor.edges], 'front', number 2: found 4; expected the number of a point of this outline, from 0 to 3",
    ),
    (
        "front = [0, 1]",
        "front = [0]",
        "[outlines.floor.edges], 'front': found a list of 1; expected the numbers of its first and last point",
    ),
    (
        "notches = [[400, 0]]",
        "notches = [[400, 501]]",
        "[outlines.floor], 'notches', number 1: the notch at [400, 501] lies outside the outline",
    ),
    (
        "[pieces.BF]\n",
        '[pieces."B F"]\ntitle = "x"\npattern = "card"\nmade = "x"\n[pieces.BF]\n',
        "[pieces], 'B F': this name will not do; expected a short piece code",
    ),
    (
        'pattern = "outline"\ngroup',
        'pattern = "outlined"\ngroup',
        "[pieces.BF], 'pattern': found 'outlined'; expected 'outline', 'card' or 'length'",
    ),
    (
        'pattern = "outline"\ngroup',
        'pattern = "card"\ngroup',
        "[pieces.BF], 'pattern': found 'card', but no panel of the piece has 'card'",
    ),
    (
        'outline = "floor"',
        'outline = "flor"',
        "[pieces.BF.panels(1)], 'outline': There is no outline 'flor'. The nearest name is 'floor'",
    ),
    ('outline = "floor"', "", "[pieces.BF], 'panels', number 1: found none of them; expected exactly one of"),
    (
        'role = "carpet"\noutline',
        'role = "carpets"\noutline',
        "[pieces.BF.panels(1)], 'role': There is no colour role 'carpets'",
    ),
    (
        'overlong = { front = "2 cm" }',
        "overlong = { rear = 20 }",
        "[pieces.BF.panels(1).overlong], 'rear': There is no edge 'rear'",
    ),
    (
        'overlong = { front = "2 cm" }',
        'overlong = { front = "long" }',
        "[pieces.BF.panels(1).overlong], 'front': found 'long'; expected an allowance",
    ),
    (
        "overlong = { length = 30 }",
        "overlong = { width = 30 }",
        "[pieces.HD.panels(1).overlong], 'width': There is no edge 'width'",
    ),
    (
        "at = [200, 250]",
        "at = [900, 250]",
        "[pieces.BF.panels(1).holes(1)], 'at': the middle of the hole, [900, 250], lies outside",
    ),
    (
        "diameter = 60",
        "diameter = 460",
        "[pieces.BF.panels(1).holes(1)], 'diameter': the hole at [200, 250], 460 mm across, runs over the edge",
    ),
    (
        "diameter = 60",
        "diameter = 0",
        "[pieces.BF.panels(1).holes(1)], 'diameter': found 0; expected a length from 1 to 20000",
    ),
    (
        'made = { rule = "pipe-hole" }',
        'made = "drilled"',
        "[pieces.BF.panels(1).holes(1)], 'made': found 'drilled'; expected 'cut', 'marked' or 'solid'",
    ),
    (
        'edges = ["front", "side"]',
        'edges = ["front", "back"]',
        "[pieces.BF.panels(1).edging(1)], 'edges', number 2: There is no edge 'back'",
    ),
    (
        'edges = ["front", "side"]',
        'edges = ["front", "front"]',
        "[pieces.BF.panels(1).edging(1)], 'edges', number 2: the edge 'front' is there twice",
    ),
    (
        'how = "bound"',
        'how = "sewn"',
        "[pieces.BF.panels(1).edging(1)], 'how': found 'sewn'; expected 'bound' or 'piped'",
    ),
    (
        'count = { rule = "clips" }',
        "count = true",
        "[pieces.BF.hardware(1)], 'count': found true; expected a whole number",
    ),
    (
        'count = { rule = "clips" }',
        'count = "2"',
        "[pieces.BF.hardware(1)], 'count': found '2'; expected a whole number",
    ),
    (
        'count = { rule = "clips" }',
        'count = { rule = "clip" }',
        "[pieces.BF.hardware(1)], 'count': There is no rule list 'clip'",
    ),
    (
        'ends = "bench"',
        'ends = "on the bench"',
        "[pieces.BF.hardware(1)], 'ends': found 'on the bench'; expected 'sewn in', 'bench', 'loose' or 'on the car'",
    ),
    (
        'length = "1.2 m"',
        "length = 25000",
        "[pieces.BF.strips(1)], 'length': found 25000; expected a length from 1 to 20000",
    ),
    (
        'length = "1.2 m"',
        "length = true",
        "[pieces.BF.strips(1)], 'length': found true; expected a length from 1 to 20000",
    ),
    (
        'role = "strap"',
        'role = "straps"',
        "[pieces.BF.strips(1)], 'role': There is no colour role 'straps'. The nearest name is 'strap'",
    ),
    (
        "card = { width = 60, length = 900, edges = { front = 900 } }",
        "card = { width = 60 }",
        "[pieces.HD.panels(2).card], 'length': missing; expected a length",
    ),
    ('code = "zip-flap"', 'code = "top"', "[pieces.HD], 'panels', number 2: the panel 'top' is there twice"),
    ('present = { rule = "zip" }', "present = 1", "[pieces.HD.panels(2)], 'present': found 1; expected true or false"),
    ('made = { rule = "bag-blank" }', "", "[pieces], 'BAG': this piece is made of nothing"),
    (
        'made = { rule = "bag-blank" }',
        'made = "x"\nmade_role = "bags"',
        "[pieces.BAG], 'made_role': There is no colour role 'bags'",
    ),
    (
        'pieces = ["BF"]\n[[kits.boot-set.hardware]]',
        'pieces = ["BX"]\n[[kits.boot-set.hardware]]',
        "[kits.boot-set], 'pieces', number 1: There is no piece 'BX'",
    ),
    (
        'do = "Lay the floor."\npieces = ["BF"]',
        'do = "Lay the floor."\npieces = ["BX"]',
        "[kits.boot-set.steps(1)], 'pieces', number 1: There is no piece 'BX'",
    ),
    ("at = 10", 'at = "first"', "[kits.boot-set.steps(1)], 'at': found 'first'; expected a whole number"),
    (
        'options = ["window"]',
        'options = ["windows"]',
        "[kits.hood], 'options', number 1: There is no option 'windows'. The nearest name is 'window'",
    ),
    (
        'when = { series = ["s1", "s2"] }',
        'when = { series = ["s1", "s9"] }',
        "[kits.hood.when], 'series', number 2: There is no series 's9'",
    ),
    (
        'kits = ["boot-set", "hood", "bag"]',
        'kits = ["boot-set", "hod"]',
        "[kits.everything], 'kits', number 2: There is no kit 'hod'",
    ),
    (
        'kits = ["boot-set", "hood", "bag"]',
        'kits = ["everything"]',
        "[kits.everything], 'kits': a kit would hold itself: 'everything' in 'everything'",
    ),
    ('kits = ["boot-set", "hood", "bag"]', "", "[kits], 'everything': this kit holds nothing"),
    (
        "goes_with = { hood",
        "goes_with = { roof",
        "[pairings(1).goes_with], 'roof': this name will not do; expected 'hood', 'body' or 'piping'",
    ),
]


@pytest.mark.parametrize(("written", "wrong", "sentence"), SPOILED, ids=[wrong[:40] for _, wrong, _ in SPOILED])
def test_each_fault_is_told_with_file_line_table_and_key(written: str, wrong: str, sentence: str) -> None:
    text = spoiled((written, wrong))
    found = faults(text)
    told = [fault for fault in found if sentence in fault]
    assert told, "\n".join(found)
    place = re.match(r"kitbook\.toml, line (\d+), (?:\[.*?\], )?'([^']+)'", told[0])
    assert place is not None, told[0]
    assert "missing" in told[0] or place[2] in text.split("\n")[int(place[1]) - 1], told[0]


def test_all_faults_of_a_book_come_at_once_in_the_order_of_their_lines() -> None:
    text = spoiled(
        ('version = "2026.1"', "version = 2026.1"),
        ('works = ["ashgate"]', 'works = ["ashgat"]'),
        ("then = 6", "then = 6.5"),
        ("[800, 500]", "[800, 500.5]"),
        ('count = { rule = "clips" }', 'count = "2"'),
        ('role = "strap"', 'role = "straps"'),
        ('made = { rule = "pipe-hole" }', 'made = "drilled"'),
        ('role = "carpet"\noutline', 'role = "carpets"\noutline'),
        ("at = 10", 'at = "first"'),
        ('kits = ["boot-set", "hood", "bag"]', 'kits = ["boot-set", "hod"]'),
    )
    found = faults(text)
    wrong = ("2026.1", "'ashgat'", "6.5", "500.5", "'carpets'", "'drilled'", "'2'", "'straps'", "'first'", "'hod'")
    assert len(found) == len(wrong), "\n".join(found)
    for fault, words in zip(found, wrong, strict=True):
        assert words in fault
    line = line_of(text, 'works = ["ashgat"]')
    assert f"line {line}," in found[1]
    with pytest.raises(Refusal, match=r"kitbook\.toml has 10 faults; nothing was read from it"):
        read_kitbook(text, "kitbook.toml")


def test_a_ring_of_kits_is_told_whole() -> None:
    text = spoiled(('pieces = ["BAG"]', 'kits = ["everything"]'))
    assert any("a kit would hold itself: 'bag' in 'everything' in 'bag'" in fault for fault in faults(text))


def test_kits_within_kits_by_the_thousand_are_no_ring_and_take_no_time() -> None:
    chain = "".join(f'[kits.k{n}]\ntitle = "K"\nkits = ["k{n + 1}", "k{n + 2}"]\n' for n in range(1000))
    text = BOOK.replace(
        "[[pairings]]",
        f'{chain}[kits.k1000]\ntitle = "K"\nkits = ["bag"]\n[kits.k1001]\ntitle = "K"\nkits = ["bag"]\n[[pairings]]',
    )
    assert len(read_kitbook(text, "kitbook.toml").kits) == 1006


def test_a_table_that_is_missing_or_no_table_is_a_fault() -> None:
    found = faults("format = 1\nkits = 7\n[pieces]\nBF = 'x'\n[outlines]\no = [1]\n[rules]\nr = 3\n")
    for words in (
        "'book': missing",
        "'works': missing",
        "'kits': found 7; expected a table",
        "'BF': found 'x'; expected a table",
        "'o': found a list of 1; expected a table",
        "'r': expected at least one rule",
    ):
        assert any(words in fault for fault in found), words


def test_an_empty_file_says_what_is_missing() -> None:
    assert [fault.split("'")[1] for fault in faults("")] == ["format", "book", "works", "series", "pieces", "kits"]


def test_markup_in_a_name_is_kept_as_it_is_written() -> None:
    text = spoiled(('title = "Boot floor"', 'title = "<b>[red]Boot</b>"'))
    assert read_kitbook(text, "kitbook.toml").pieces["BF"].title == "<b>[red]Boot</b>"


def test_only_so_many_faults_are_told() -> None:
    text = BOOK.replace("[works]", "[works]\n" + "".join(f'"no {n}" = "x"\n' for n in range(300)))
    found = faults(text)
    assert len(found) == 201
    assert found[-1] == "kitbook.toml has more faults than these."


def test_a_large_outline_is_read_quickly() -> None:
    points = (
        ", ".join(f"[{n}, {n % 7}]" for n in range(2400))
        + ", "
        + ", ".join(f"[{2400 - n}, {900 + n % 5}]" for n in range(2400))
    )
    text = spoiled(
        ("[[0, 0], [800, 0], [800, 500], [0, 500]]", f"[{points}]"), ("notches = [[400, 0]]", "notches = []")
    )
    start = time.perf_counter()
    assert len(read_kitbook(text, "kitbook.toml").outlines["floor"].points) == 4800
    assert time.perf_counter() - start < 3


VALUES: list[object] = [
    None,
    0,
    -1,
    2.5,
    True,
    "",
    "x",
    "a b",
    "\u202e",
    [],
    [[]],
    [0],
    {},
    {"rule": 1},
    {"a": {}},
    date(1953, 1, 1),
    10**30,
]


def some_place(value: object, chance: random.Random) -> tuple[object, object]:
    """A container somewhere in the document, and a key of it."""
    while True:
        keys = list(value) if isinstance(value, dict) else list(range(len(value))) if isinstance(value, list) else []
        key = chance.choice(keys)
        inner = value[key]  # type: ignore[index]
        if not isinstance(inner, dict | list) or not inner or chance.random() < 0.2:
            return value, key
        value = inner


@given(st.integers(0, 10**9))
def test_whatever_stands_at_whatever_place_is_read_or_refused(seed: int) -> None:
    chance = random.Random(seed)
    data = tomllib.loads(BOOK)
    for _ in range(chance.randint(1, 3)):
        container, key = some_place(data, chance)
        wrong = chance.choice(VALUES)
        if wrong is None:
            del container[key]  # type: ignore[attr-defined]
        else:
            container[key] = wrong  # type: ignore[index]
    try:
        book = kitbook_from(Document("kitbook.toml", "", data))
    except Refusal:
        return
    assert isinstance(book, KitBook)
