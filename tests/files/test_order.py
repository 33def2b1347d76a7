"""An order is read whole, with what is not known left open, or refused with all its faults at once."""
# ruff: noqa: E501 - a table of faults and sentences is read by the line

from __future__ import annotations

import random
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.domain.facts import Overruling
from stockroom.domain.kitbook import Card, Outline, SetLength
from stockroom.domain.order import CarRequest, Change, LineRequest, OrderRequest
from stockroom.domain.refusal import Refusal
from stockroom.files.order import order_from, read_order
from stockroom.files.toml_text import Document

OPENING = date(2026, 11, 23)

ORDER = """\
format = 1
number = "L-1042"
customer = "Ágnes Lőrinc"
wanted = "opening+21d"
fitted_here = true
book = "plover"
note = "Comes on a trailer."
[cars.mine]
chassis = " RP  2417 "
series = "s1"
works = "ashgate"
built = "1953-06"
hand = "right"
body = "ivory"
trim = "red"
hood = ""
[cars.barn-car]
built = 1955-03-07
[[lines]]
kit = "full-boot-set"
quantity = 2
car = "mine"
pieces = ["BF", "WAL"]
swatches = ["hood cloth in fawn"]
[lines.choices]
bag-length = "long"
[lines.measurements]
"How long is the frame?" = 1715
[lines.overruled.carpet-colour]
then = "black"
by = "AB"
because = "as it was"
[lines.overruled.mat-clips]
then = 6
by = "Ő. B."
because = "as it was"
[lines.overruled.lamp-covers]
then = false
by = "AB"
because = "as it was"
[[lines.changes]]
what = "hole"
piece = "BF"
panel = "top"
part = "filler pipe"
made = "solid"
because = "moved"
by = "ab"
proved = true
[[lines]]
kit = "tool-bag"
quantity = 1
match = "L-1022"
car = "RP 2417"
[[lines]]
kit = "hood"
quantity = 1
car = "barn-car"
"""


def spoiled(old: str, new: str) -> str:
    assert ORDER.count(old) == 1, f"{old!r} stands in the order {ORDER.count(old)} times"
    return ORDER.replace(old, new)


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(Refusal) as refused:
        read_order(text, "order.toml", OPENING)
    assert refused.value.faults
    return refused.value.faults


def test_a_whole_order_becomes_its_shapes() -> None:
    order = read_order(ORDER, "order.toml", OPENING)
    assert (order.number, order.customer, order.wanted, order.fitted_here) == (
        "L-1042",
        "Ágnes Lőrinc",
        date(2026, 12, 14),
        True,
    )
    assert (order.book, order.note) == ("plover", "Comes on a trailer.")
    mine, barn = order.cars
    assert mine == CarRequest("RP 2417", "RP 2417", "s1", "ashgate", date(1953, 6, 1), "right", "ivory", "red", "")
    assert barn == CarRequest("barn-car", built=date(1955, 3, 7))
    first, second, third = order.lines
    assert (first.kit, first.quantity, first.pieces) == ("full-boot-set", 2, ("BF", "WAL"))
    assert (first.choices, first.swatches) == ({"bag-length": "long"}, ("hood cloth in fawn",))
    assert first.measurements == {"How long is the frame?": "1715"}
    assert first.overruled["carpet-colour"] == Overruling("black", "AB", "as it was")
    assert [first.overruled[code].then for code in ("mat-clips", "lamp-covers")] == ["6", "false"]
    assert first.changes == (
        Change("hole", "BF", "moved", "AB", panel="top", part="filler pipe", made="solid", proved=True),
    )
    assert [line.car for line in order.lines] == ["RP 2417", "RP 2417", "barn-car"]
    assert third == LineRequest("hood", 1, "barn-car")
    assert second.overruled == {}
    assert [line.match for line in order.lines] == ["", "L-1022", ""]
    every = read_order('match = "RP 1500"\n' + ORDER, "order.toml", OPENING)
    assert [line.match for line in every.lines] == ["RP 1500", "L-1022", "RP 1500"], "a line's own word comes first"


def test_an_order_may_tell_next_to_nothing() -> None:
    order = read_order('format = 1\ncustomer = "Tom"\n[cars.x]\n[[lines]]\nkit = "hood"\nquantity = 1\n', "o", OPENING)
    assert order == OrderRequest("", "Tom", None, False, "", (CarRequest("x"),), (LineRequest("hood", 1, "x"),))


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ('"open"', None),
        ("2026-12-14", date(2026, 12, 14)),
        ('"2026-12-14"', date(2026, 12, 14)),
        ('"opening"', OPENING),
        ('"opening-9d"', OPENING - timedelta(days=9)),
    ],
)
def test_the_day_wanted_is_a_day_an_offset_or_open(written: str, day: date | None) -> None:
    assert read_order(spoiled('"opening+21d"', written), "o", OPENING).wanted == day


@pytest.mark.parametrize("quantity", ["0", "-1", "1.0", '"2"', "true", "10001", "[1]", "nan"])
def test_a_quantity_that_is_no_positive_whole_number_is_refused_in_words(quantity: str) -> None:
    (fault,) = faults(spoiled("quantity = 2", f"quantity = {quantity}"))
    assert fault.startswith("order.toml, line 21, [lines(1)], 'quantity': found ")
    assert fault.endswith("; expected a positive whole number, from 1 to 10000.")


SPOILED = [
    ("format = 1", "format = 3", "line 1, 'format': found 3; expected 1, the only format of orders"),
    ('customer = "Ágnes Lőrinc"', "", "'customer': missing; expected text in one line"),
    ("Ágnes Lőrinc", "A\\u001b[31mB", "line 3, 'customer': found 'A\\u001b[31mB'; expected text in one line"),
    ("Ágnes Lőrinc", "A\\u202eB", "line 3, 'customer': found 'A\\u202eB'; expected text in one line"),
    ('"L-1042"', '"../../x"', "line 2, 'number': found '../../x'; expected an order number of letters and digits"),
    (
        '"opening+21d"',
        '"soon"',
        "line 4, 'wanted': found 'soon'; expected a day such as 2026-12-14, 'opening+21d', or 'open'",
    ),
    ('"opening+21d"', "2026-12-14T10:00:00", "line 4, 'wanted': found 2026-12-14T10:00:00; expected a day"),
    ("fitted_here = true", 'fitted_here = "yes"', "line 5, 'fitted_here': found 'yes'; expected true or false"),
    (
        "fitted_here = true",
        "fited_here = true",
        "line 5, 'fited_here': this key is not known here. Did you mean 'fitted_here'?",
    ),
    (
        'built = "1953-06"',
        'built = "1953-13"',
        "line 12, [cars.mine], 'built': found '1953-13'; expected the day or month it was built",
    ),
    ('hand = "right"', 'hand = "middle"', "line 13, [cars.mine], 'hand': found 'middle'; expected 'left' or 'right'"),
    (
        'chassis = " RP  2417 "',
        "chassis = 2417",
        "line 9, [cars.mine], 'chassis': found 2417; expected the chassis number as text",
    ),
    (
        'chassis = " RP  2417 "',
        'chassis = "RP\\u00002417"',
        "line 9, [cars.mine], 'chassis': found 'RP\\u00002417'; expected nothing but letters",
    ),
    (
        "built = 1955-03-07",
        'chassis = "RP 2417"',
        "line 18, [cars.barn-car], 'chassis': chassis number 'RP 2417' is that of the car 'mine' too",
    ),
    (
        'car = "barn-car"',
        'car = "barncar"',
        "line 58, [lines(3)], 'car': There is no car in this order called 'barncar'. The nearest name is 'barn-car'",
    ),
    ('car = "barn-car"', "", "[lines(3)], 'car': missing; expected which of [cars.NAME]"),
    ('kit = "hood"', 'kit = "The Hood"', "[lines(3)], 'kit': found 'The Hood'; expected a code"),
    (
        'pieces = ["BF", "WAL"]',
        'pieces = ["BF", "BF"]',
        "[lines(1)], 'pieces', number 2: the piece 'BF' is there twice",
    ),
    ('pieces = ["BF", "WAL"]', 'pieces = "BF"', "[lines(1)], 'pieces': found 'BF'; expected a list"),
    ('bag-length = "long"', "bag-length = true", "[lines(1).choices], 'bag-length': found true; expected a code"),
    ("= 1715", "= 1715.5", "[lines(1).measurements], 'How long is the frame?': found 1715.5; expected the measurement"),
    (
        'then = "black"\nby = "AB"',
        'then = "black"',
        "[lines(1).overruled.carpet-colour], 'by': missing; expected initials",
    ),
    ('by = "ab"\nproved', 'by = "A\\nB"\nproved', "[lines(1).changes(1)], 'by': found 'A\\u000aB'; expected initials"),
    ('what = "hole"', 'what = "paint"', "[lines(1).changes(1)], 'what': found 'paint'; expected one of hole, overlong"),
    ('made = "solid"', "", "[lines(1).changes(1)], 'made': missing; a change of 'hole' must say it"),
    (
        'made = "solid"',
        'made = "solid"\nat = [1, 2]',
        "[lines(1)], 'changes', number 1: a new hole needs both 'at' and 'diameter'",
    ),
    (
        'made = "solid"',
        'made = "solid"\nto = "x"',
        "[lines(1).changes(1)], 'to': does not go with a change of 'hole'; expected 'piece', 'part', 'made'",
    ),
]


@pytest.mark.parametrize(("written", "wrong", "sentence"), SPOILED, ids=[wrong[:40] for _, wrong, _ in SPOILED])
def test_each_fault_is_told_with_file_line_table_and_key(written: str, wrong: str, sentence: str) -> None:
    found = faults(spoiled(written, wrong))
    assert any(fault.startswith("order.toml, line ") and sentence in fault for fault in found), "\n".join(found)


def test_all_faults_of_an_order_come_at_once() -> None:
    text = (
        ORDER.replace("format = 1", "format = 2").replace("quantity = 1", "quantity = 0").replace('"1953-06"', '"June"')
    )
    found = faults(text.replace('hand = "right"', 'hand = "both"').replace('part = "filler pipe"\n', ""))
    assert len(found) == 6, "\n".join(found)
    assert sum("'quantity': found 0" in fault for fault in found) == 2


def change(text: str) -> Change:
    """The one change written so."""
    order = read_order(
        'format = 1\ncustomer = "Tom"\n[cars.x]\n[[lines]]\nkit = "hood"\nquantity = 1\n'
        f'[[lines.changes]]\nbecause = "asked for"\nby = "HM"\n{text}',
        "order.toml",
        OPENING,
    )
    (only,) = order.lines[0].changes
    return only


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            'what = "hole"\npiece = "BF"\npart = "aerial"\nat = [10, 20]\ndiameter = "1 cm"\nmade = "cut"',
            {"part": "aerial", "x_mm": 10, "y_mm": 20, "diameter_mm": 10, "made": "cut"},
        ),
        ('what = "overlong"\npiece = "BF"\npart = "rear"\nmm = 35', {"part": "rear", "mm": 35}),
        ('what = "cloth"\npiece = "BF"\nto = "loop-carpet"', {"to": "loop-carpet"}),
        ('what = "colour"\npiece = "BF"\npanel = "top"\nto = "red"', {"panel": "top", "to": "red"}),
        ('what = "hardware"\npiece = "BF"\npart = "clip"\nto = "stud"', {"part": "clip", "to": "stud"}),
        ('what = "count"\npiece = "BF"\npart = "clip"\ncount = 0', {"part": "clip", "mm": 0}),
        ('what = "count"\npiece = "BF"\ncount = 3', {"mm": 3}),
        ('what = "leave-out"\npiece = "BF"', {}),
        ('what = "add"\npiece = "BF"\nproved = true', {"proved": True}),
        ('what = "not-on-car"\npiece = "BF"\npart = "stud"', {"part": "stud"}),
        ('what = "outline"\npiece = "BF"\noutline = "floor"', {"to": "floor"}),
        ('what = "outline"\npiece = "BF"\ncard = { width = 10, length = 20 }', {"shape": Card(10, 20, {})}),
        ('what = "outline"\npiece = "BF"\nset_length = { length = 20 }', {"shape": SetLength(20, {})}),
        (
            'what = "outline"\npiece = "BF"\npanel = "top"\npoints = [[0, 0], [9, 0], [0, 9]]\nedges = { rear = [0, 1] }',
            {"panel": "top", "shape": Outline("bf-top", ((0, 0), (9, 0), (0, 9)), {"rear": (0, 1)})},
        ),
    ],
)
def test_each_kind_of_change_is_read(text: str, expected: dict[str, object]) -> None:
    read = change(text)
    told = tomllib.loads(text)
    assert (read.what, read.piece, read.because, read.by) == (told["what"], "BF", "asked for", "HM")
    plain = Change(read.what, "BF", "asked for", "HM")
    for name in Change.__slots__:
        assert getattr(read, name) == expected.get(name, getattr(plain, name)), name


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            'what = "outline"\npiece = "BF"',
            "found none of them; expected exactly one of 'outline', 'points', 'card' and 'set_length'",
        ),
        (
            'what = "outline"\npiece = "BF"\noutline = "a"\ncard = { width = 1, length = 1 }',
            "found outline and card; expected exactly one",
        ),
        ('what = "outline"\npiece = "BF"\noutline = "a"\nedges = {}', "'edges': goes with 'points' only"),
        (
            'what = "outline"\npiece = "BF"\npoints = [[0, 0], [9, 9], [9, 0], [0, 9]]',
            "'points', number 3: the outline crosses or touches itself",
        ),
        (
            'what = "outline"\npiece = "BF"\npoints = [[0, 0], [9, 9], 3]',
            "'points', number 3: found 3; expected a point",
        ),
        (
            'what = "outline"\npiece = "BF"\ncard = { width = 0, length = 1 }',
            "[lines(1).changes(1).card], 'width': found 0; expected a length",
        ),
        ('what = "overlong"\npiece = "BF"\npart = "rear"', "'mm': missing; a change of 'overlong' must say it"),
        ('what = "leave-out"', "'piece': missing; a change of 'leave-out' must say it"),
    ],
)
def test_a_change_that_cannot_be_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(Refusal) as refused:
        change(text)
    assert any(sentence in fault for fault in refused.value.faults), refused.value.faults


def test_markup_is_kept_as_it_is_written() -> None:
    order = read_order(spoiled("Ágnes Lőrinc", "<b>[red]=1+1 {x}"), "o", OPENING)
    assert order.customer == "<b>[red]=1+1 {x}"


VALUES: list[object] = [None, 0, -1, 2.5, True, "", "x", "a b", "\u202e", [], [[]], [0], {}, {"a": {}}, OPENING, 10**30]


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
    data = tomllib.loads(ORDER)
    for _ in range(chance.randint(1, 3)):
        container, key = some_place(data, chance)
        wrong = chance.choice(VALUES)
        if wrong is None:
            del container[key]  # type: ignore[attr-defined]
        else:
            container[key] = wrong  # type: ignore[index]
    try:
        order = order_from(Document("order.toml", "", data), OPENING)
    except Refusal:
        return
    assert isinstance(order, OrderRequest)


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "seed" / "orders").glob("*.toml")), ids=lambda p: p.stem
)
def test_the_orders_of_the_demo_are_read(path: Path) -> None:
    order = read_order(path.read_text(encoding="utf-8"), path.name, OPENING)
    assert order.lines
    assert {line.car for line in order.lines} <= {car.key for car in order.cars}
