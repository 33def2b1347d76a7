"""Orders and cars written in the TOML that is read: what the reader makes of it is what was written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime

from stockroom.domain.kitbook import Card, Outline, SetLength, Shape
from stockroom.domain.order import CarRequest, CarriedCar, CarriedOrder, Change, LineRequest, OrderRequest
from stockroom.files.writing import toml_text

_CAR = {
    "chassis": "chassis_number",
    "series": "series",
    "works": "works",
    "built": "built",
    "hand": "hand",
    "body": "body_colour",
    "trim": "trim_colour",
    "hood": "hood_colour",
}
"""Key of a car's table → the field of `CarRequest`."""


def order_toml(request: OrderRequest, carried: CarriedOrder) -> str:
    """The text of an order's file, with the marks that it bears already."""
    lines = ["format = 1"]
    top: dict[str, object] = {
        "number": request.number,
        "customer": None if request.for_stock else request.customer,
        "for_stock": request.for_stock or None,
        "wanted": request.wanted or "open",
        "fitted_here": request.fitted_here or None,
        "book": request.book,
        "note": request.note,
    }
    lines += _pairs(top)
    lines += ["", "[carried]  # the marks it bears already: an order that is written by hand has none"]
    lines += _pairs({"tag": carried.tag, "version": carried.version, "digest": carried.digest})
    lines += _pairs({"by": carried.by, "at": carried.at})
    lines += [f"pieces = [{', '.join(_value(list(row)) for row in carried.pieces)}]"] if carried.pieces else []
    for car in request.cars:
        lines += ["", f"[cars.{toml_text(car.key)}]", *_pairs(_car(car))]
    for line in request.lines:
        lines += ["", *_line(line)]
    return "\n".join(lines) + "\n"


def cars_toml(cars: Sequence[CarriedCar]) -> str:
    """The text of the file of all cars, each with its tag and what was proved on it."""
    lines = ["format = 1"]
    for car in cars:
        lines += ["", "[[cars]]", *_pairs({**_car(car.told), "key": car.told.key, "tag": car.tag})]
        for change in car.proved:
            lines += ["", "[[cars.changes]]", *_pairs(_change(change))]
    return "\n".join(lines) + "\n"


def _car(car: CarRequest) -> dict[str, object]:
    said = {key: getattr(car, field) for key, field in _CAR.items()}
    # Without a key of its own a car is known by its chassis number.
    return {"key": car.key if car.chassis_number not in ("", car.key) else None, **said}


def _line(line: LineRequest) -> Iterator[str]:
    yield "[[lines]]"
    yield from _pairs(
        {
            "kit": line.kit,
            "quantity": line.quantity,
            "car": line.car,
            "pieces": list(line.pieces),
            "swatches": list(line.swatches),
            "match": line.match,
        }
    )
    for name, answers in (("choices", line.choices), ("measurements", line.measurements)):
        if answers:
            yield from (f"[lines.{name}]", *(f"{toml_text(key)} = {toml_text(said)}" for key, said in answers.items()))
    for code, overruled in line.overruled.items():
        yield f"[lines.overruled.{toml_text(code)}]"
        then: object = {"true": True, "false": False}.get(overruled.then, overruled.then)
        if isinstance(then, str) and then.isdecimal():
            then = int(then)
        yield from _pairs({"then": then, "by": overruled.by, "because": overruled.because}, empty=True)
    for change in line.changes:
        yield from ("[[lines.changes]]", *_pairs(_change(change)))


def _change(change: Change) -> dict[str, object]:
    """The keys of a change: only those that go with its kind."""
    keys: dict[str, object] = {
        "what": change.what,
        "because": change.because,
        "by": change.by,
        "proved": change.proved or None,
        "piece": change.piece,
        "panel": change.panel,
        "part": change.part,
    }
    if change.what == "hole":
        drawn = {"at": [change.x_mm, change.y_mm], "diameter": change.diameter_mm} if change.diameter_mm else {}
        keys |= {"made": change.made, **drawn}
    elif change.what == "overlong":
        keys["mm"] = change.mm
    elif change.what == "count":
        keys["count"] = change.mm
    elif change.what == "outline":
        keys |= _shape(change.shape) if change.shape is not None else {"outline": change.to}
    else:
        keys["to"] = change.to
    return keys


def _shape(shape: Shape) -> dict[str, object]:
    if isinstance(shape, Outline):
        return {
            "points": [list(point) for point in shape.points],
            "edges": {name: list(ends) for name, ends in shape.edges.items()},
            "notches": [list(point) for point in shape.notches],
        }
    if isinstance(shape, Card):
        return {"card": {"width": shape.width_mm, "length": shape.length_mm, "edges": dict(shape.edges_mm)}}
    if isinstance(shape, SetLength):
        return {"set_length": {"length": shape.length_mm, "edges": dict(shape.edges_mm)}}
    raise TypeError(f"{shape!r} is no shape")


def _pairs(values: Mapping[str, object], *, empty: bool = False) -> list[str]:
    """`key = value` for each that says something; zero and false say something."""
    return [
        f"{key} = {_value(value)}"
        for key, value in values.items()
        if value is not None and (empty or value not in ("", [], {}))
    ]


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, str):
        return toml_text(value)
    if isinstance(value, list):
        return f"[{', '.join(_value(one) for one in value)}]"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{toml_text(str(key))} = {_value(one)}' for key, one in value.items())} }}"
    raise TypeError(f"{value!r} cannot be written in TOML")
