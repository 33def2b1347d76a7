"""Orders and cars that are written out are read back as what they were, every kind of change included."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from stockroom.domain.facts import Overruling
from stockroom.domain.kitbook import Card, Outline, SetLength
from stockroom.domain.order import CarRequest, CarriedCar, CarriedOrder, LineRequest, OrderRequest
from stockroom.domain.refusal import Refusal
from stockroom.files.cars import read_cars
from stockroom.files.order import read_carried_order
from stockroom.files.order_text import cars_toml, order_toml
from tests.shops import change

REASON = 'the "owner" asked,\\ for it'
CHANGES = (
    change("hole", "BF", part="filler pipe", panel="top", made="solid", because=REASON),
    change("hole", "BF", part="new", made="cut", x_mm=-12, y_mm=40, diameter_mm=60, proved=True, because=REASON),
    change("overlong", "BF", part="rear", mm=30, because=REASON),
    change("outline", "BF", panel="top", to="floor-2", because=REASON),
    change(
        "outline",
        "BF",
        panel="top",
        shape=Outline("bf-top", ((0, 0), (100, 0), (100, 80), (0, 80)), {"front": (0, 1)}, ((50, 0),)),
        because=REASON,
    ),
    change("outline", "BF", panel="top", shape=Card(900, 320, {"front": 900}), because=REASON),
    change("outline", "BF", panel="top", shape=SetLength(400, {"front": 390}), because=REASON),
    change("cloth", "BF", to="felt", because=REASON),
    change("colour", "BF", panel="top", to="red", because=REASON),
    change("hardware", "BF", part="stud", to="clip", because=REASON),
    change("count", "BF", part="stud", mm=0, because=REASON),
    change("leave-out", "BSL", because=REASON),
    change("add", "TN", because=REASON),
    change("not-on-car", "BF", part="clip", proved=True, because=REASON),
)
CARS = (
    CarRequest("RP 1500", "RP 1500", "s1", "ashgate", date(1952, 6, 1), "right", "green", "red", "fawn"),
    CarRequest("the car in the barn", "RP 5000"),
    CarRequest("nothing known"),
)
REQUEST = OrderRequest(
    number="L-7",
    customer="Ann “Example”",
    wanted=None,
    fitted_here=True,
    book="plover",
    cars=CARS,
    lines=(
        LineRequest(
            "boot-set",
            2,
            "RP 1500",
            pieces=("BF", "BSL"),
            choices={"bag-length": "long"},
            changes=CHANGES,
            overruled={"clips": Overruling("6", "AB", "x"), "zipped": Overruling("true", "AB", "y")},
            swatches=("carpet in red",),
            match="L-1022",
            measurements={"How high is the door top?": "812"},
        ),
        LineRequest("tonneau", 1, "the car in the barn"),
        LineRequest("tonneau", 1, "nothing known"),
    ),
    note="Ring first.\nTwice.",
)
MARKS = CarriedOrder(
    "O1D", "1", "ÁL", datetime(2026, 11, 25, 8, 30, 1, 5, tzinfo=UTC), "ab", ((1, "boot-set", "BF", 1, "P19"),)
)


def test_an_order_is_read_back_as_it_was_written() -> None:
    assert read_carried_order(order_toml(REQUEST, MARKS), "1.toml", date(2026, 11, 25)) == (REQUEST, MARKS)


def test_cars_are_read_back_as_they_were_written() -> None:
    tags = ("C1O", "", "")
    cars = tuple(CarriedCar(car, tag, CHANGES) for car, tag in zip(CARS, tags, strict=True))
    assert read_cars(cars_toml(cars), "cars.toml") == cars


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ('tag = "O1D"', 'tag = "O1E"', "'tag': 'O1E' is not the tag of order"),
        ('"P19"', '"B1S"', "'pieces': 'B1S' is not the tag of piece"),
        ('1, "P19"', '"1", "P19"', "expected rows of line, path, piece, copy and tag"),
        ("+00:00", "", "a moment with its zone was expected"),
        ('version = "1"', "", "'version': missing"),
    ],
)
def test_marks_that_cannot_be_are_named(before: str, after: str, words: str) -> None:
    text = order_toml(REQUEST, MARKS)
    assert before in text
    with pytest.raises(Refusal) as refused:
        read_carried_order(text.replace(before, after), "1.toml", date(2026, 11, 25))
    assert words in " ".join(refused.value.faults)


def test_a_car_with_another_thing_s_tag_is_named() -> None:
    text = cars_toml([CarriedCar(CARS[0], "C1O")]).replace("C1O", "O1D")
    with pytest.raises(Refusal) as refused:
        read_cars(text, "cars.toml")
    assert "'O1D' is no tag of a car" in refused.value.faults[0]
