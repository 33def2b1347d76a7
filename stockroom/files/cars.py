"""The cars of a shop out of their TOML text: what is known of each, its tag, and what was proved on it."""

from __future__ import annotations

from stockroom.domain.order import CarRequest, CarriedCar
from stockroom.domain.refusal import Refusal
from stockroom.domain.tags import read_tag
from stockroom.domain.wording import quoted
from stockroom.files.loose_table import LooseTable
from stockroom.files.toml_text import parse


def read_cars(text: str, name: str) -> tuple[CarriedCar, ...]:
    """The cars written in `text`, in its order. Raises `Refusal` with every fault."""
    from stockroom.files.order_changes import check_change, read_change
    from stockroom.files.order_tables import KeptCar, KeptCars
    from stockroom.files.toml_faults import TomlFaults

    document = parse(text, name)
    faults = TomlFaults(document)
    faults.checked(KeptCars, document.data, ())
    cars = []
    for number, written in enumerate(LooseTable(document.data).tables("cars")):
        car = faults.checked(KeptCar, document.data["cars"][number], written.path)
        for change in written.tables("changes"):
            check_change(faults, change)
        if car is None:
            continue
        try:
            if car.tag and read_tag(car.tag).kind != "C":
                raise Refusal(f"{quoted(car.tag)} is no tag of a car; one that begins with C was expected.")
        except Refusal as refusal:
            faults.add((*written.path, "tag"), refusal.sentence)
        told = CarRequest(
            car.key, car.chassis, car.series, car.works, car.built, car.hand, car.body, car.trim, car.hood
        )
        proved = tuple(
            read_change(faults, change, told_of)
            for change, told_of in zip(car.changes, written.tables("changes"), strict=True)
        )
        cars.append(CarriedCar(told, car.tag, proved))
    faults.raise_if_any()
    return tuple(cars)
