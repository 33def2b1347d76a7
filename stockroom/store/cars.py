"""Cars that are kept: found again by a later order, with what was proved on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam, insert, select, update

from stockroom.domain.facts import CarFacts
from stockroom.domain.order import CarRequest, CarriedCar, Change
from stockroom.domain.stamp import Stamp
from stockroom.store.catalogue import Written
from stockroom.store.database import Tx, refusing
from stockroom.store.kept_shapes import given_back, kept
from stockroom.store.tables import Car, CarChange
from stockroom.store.tags import next_tags, tags_for


@dataclass(frozen=True, slots=True)
class KeptCar:
    """A car as it is kept. Texts are empty and the others `None` where a fact is not known."""

    id: int
    tag: str
    told: CarRequest
    """Everything that orders have told of it."""

    @property
    def key(self) -> str:
        """How the shop speaks of it."""
        return self.told.key


def folded_key(key: str) -> str:
    """The key without blanks, points and case, so that 'RP 2417' and 'rp2417' are one car."""
    return "".join(character for character in key.casefold() if character.isalnum()) or key.casefold()


def facts_of(told: CarRequest) -> CarFacts:
    """The facts that rules ask about, out of what was told. The chassis number counts by its last run of digits."""
    digits = ""
    for character in reversed(told.chassis_number):
        if character.isdecimal() and character.isascii():
            digits = character + digits
        elif digits:
            break
    return CarFacts(
        series=told.series or None,
        works=told.works or None,
        chassis=int(digits) if digits else None,
        built=told.built,
        hand=told.hand or None,
        body_colour=told.body_colour or None,
        trim_colour=told.trim_colour or None,
        hood_colour=told.hood_colour or None,
    )


_COLUMNS = (
    Car.id,
    Car.tag,
    Car.key,
    Car.chassis_number,
    Car.series,
    Car.works,
    Car.built,
    Car.hand,
    Car.body_colour,
    Car.trim_colour,
    Car.hood_colour,
)
# Made once: building a statement takes longer than sending it.
_BY_KEY = select(*_COLUMNS).where(Car.key_folded.in_(bindparam("keys", expanding=True)))
_BY_ID = select(*_COLUMNS).where(Car.id.in_(bindparam("ids", expanding=True)))
_CHANGES = (
    select(CarChange.car_id, CarChange.change)
    .where(CarChange.car_id.in_(bindparam("ids", expanding=True)))
    .order_by(CarChange.id)
)
_INSERT = insert(Car).returning(Car.id, sort_by_parameter_order=True)


def _kept_car(row: Any) -> KeptCar:
    return KeptCar(
        row.id,
        row.tag,
        CarRequest(
            row.key,
            row.chassis_number,
            row.series,
            row.works,
            row.built,
            row.hand,
            row.body_colour or "",
            row.trim_colour or "",
            row.hood_colour or "",
        ),
    )


def cars_by_key(tx: Tx, keys: Sequence[str]) -> dict[str, KeptCar]:
    """The cars kept under any of `keys`, by folded key."""
    folded = {folded_key(key) for key in keys}
    rows = tx.execute(_BY_KEY, {"keys": sorted(folded)})
    return {folded_key(row.key): _kept_car(row) for row in rows}


def cars_by_id(tx: Tx, ids: Sequence[int]) -> dict[int, KeptCar]:
    """The cars of these numbers."""
    rows = tx.execute(_BY_ID, {"ids": sorted(set(ids))})
    return {row.id: _kept_car(row) for row in rows}


def car_by_tag(tx: Tx, tag: str) -> KeptCar | None:
    """The car that a tag names."""
    row = tx.execute(select(*_COLUMNS).where(Car.tag == tag)).one_or_none()
    return None if row is None else _kept_car(row)


def _values(told: CarRequest) -> dict[str, Any]:
    return {
        "key": told.key,
        "key_folded": folded_key(told.key),
        "chassis_number": told.chassis_number,
        "series": told.series,
        "works": told.works,
        "built": told.built,
        "hand": told.hand,
        "body_colour": told.body_colour or None,
        "trim_colour": told.trim_colour or None,
        "hood_colour": told.hood_colour or None,
    }


def write_cars(tx: Tx, cars: Sequence[CarriedCar], stamp: Stamp) -> Written:
    """Keeps the cars that are not known yet, each with the tag it bears and what was proved on it.

    A car that is known is left as it is. Raises `Refusal` where a tag is on another car.
    """
    known = cars_by_key(tx, [one.told.key for one in cars]) if cars else {}
    new = [one for one in cars if folded_key(one.told.key) not in known]
    for one, kept_now in zip(new, keep_cars(tx, [one.told for one in new], [one.tag for one in new]), strict=True):
        keep_changes(tx, kept_now.id, None, one.proved, stamp)
    return Written("cars", len(new), len(cars) - len(new))


def all_cars(tx: Tx) -> tuple[CarriedCar, ...]:
    """Every car that is kept, in the order in which they came, with what was proved on it."""
    found = [_kept_car(row) for row in tx.execute(select(*_COLUMNS).order_by(Car.id))]
    proved = changes_of(tx, [car.id for car in found])
    return tuple(CarriedCar(car.told, car.tag, proved[car.id]) for car in found)


def keep_cars(tx: Tx, told: Sequence[CarRequest], own: Sequence[str] = ()) -> list[KeptCar]:
    """Keeps new cars, each with a tag of its own; `own`: the tags that they bear already, an empty text for none."""
    if not told:
        return []
    tags = tags_for(tx, "C", own, set(tx.scalars(select(Car.tag)))) if own else next_tags(tx, "C", len(told))
    with refusing({"uq_car_key_folded": "Somebody else has just kept the same car. Take the order again."}):
        rows = [{"tag": tag, **_values(car)} for tag, car in zip(tags, told, strict=True)]
        ids = tx.execute(_INSERT, rows).scalars()
        return [KeptCar(*kept) for kept in zip(ids, tags, told, strict=True)]


def tell_more(tx: Tx, car_id: int, told: CarRequest) -> None:
    """Writes down all that is now known of a kept car."""
    values = _values(told)
    del values["key"], values["key_folded"]
    tx.execute(update(Car).where(Car.id == car_id).values(values))


def changes_of(tx: Tx, car_ids: Sequence[int]) -> Mapping[int, tuple[Change, ...]]:
    """What was proved on these cars and is kept with them, oldest first."""
    found: dict[int, tuple[Change, ...]] = dict.fromkeys(car_ids, ())
    for car_id, change in tx.execute(_CHANGES, {"ids": sorted(found)}):
        found[car_id] += (given_back(Change, change),)
    return found


def keep_changes(tx: Tx, car_id: int, order_id: int | None, changes: Sequence[Change], stamp: Stamp) -> None:
    """Keeps changes proved on the car with it; one that is kept already is not kept twice."""
    known = set(map(repr, changes_of(tx, [car_id])[car_id]))
    rows = [
        {"car_id": car_id, "order_id": order_id, "change": kept(change), "by": stamp.by, "at": stamp.at}
        for change in changes
        if repr(change) not in known
    ]
    if rows:
        tx.execute(insert(CarChange), rows)
