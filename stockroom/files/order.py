"""An order out of its TOML text: every fault at once, each with file, line, table and key.

Nothing is looked up here: whether a kit, a colour or an option exists is for the job that takes the order.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from stockroom.domain.order import FOR_STOCK, CarRequest, CarriedOrder, LineRequest, OrderRequest
from stockroom.domain.tags import KINDS, is_tag, read_tag
from stockroom.domain.wording import quoted, unknown
from stockroom.files.loose_table import LooseTable
from stockroom.files.toml_text import Document, parse, shown

if TYPE_CHECKING:
    from stockroom.files import order_tables as tables
    from stockroom.files.toml_faults import TomlFaults


def read_order(text: str, name: str, opening: date) -> OrderRequest:
    """The order written in `text`; `name` is the file's name, `opening` the day that 'opening' means in it.

    An outline of the kit book that a change names stands in the change's `to`. Raises `Refusal`; where the text is
    TOML its `faults` hold a sentence for every fault of the order.
    """
    return order_from(parse(text, name), opening)


def order_from(document: Document, opening: date) -> OrderRequest:
    """The order in a document that has been parsed. Raises `Refusal` with every fault."""
    from stockroom.files.toml_faults import TomlFaults

    faults = TomlFaults(document)
    order = _Order(document, faults, opening).request()
    faults.raise_if_any()
    if order is None:
        raise RuntimeError("an order without faults was not read")
    return order


def read_carried_order(text: str, name: str, opening: date) -> tuple[OrderRequest, CarriedOrder | None]:
    """`read_order`, with the marks that the order bears already; `None` where it was written by hand."""
    from stockroom.files.order_tables import Carried
    from stockroom.files.toml_faults import TomlFaults

    document = parse(text, name)
    request = order_from(document, opening)
    if "carried" not in document.data:
        return request, None
    faults = TomlFaults(document)
    found = faults.checked(Carried, document.data["carried"], ("carried",))
    tags = [("tag", found.tag, "O"), *(("pieces", row[4], "P") for row in found.pieces)] if found else []
    for key, tag, kind in tags:
        if not is_tag(tag) or read_tag(tag).kind != kind:
            faults.add(("carried", key), f"{quoted(tag)} is not the tag of {KINDS[kind]}.")
    if found is not None and found.at.tzinfo is None:
        faults.add(("carried", "at"), "a moment with its zone was expected, such as 2026-11-25T08:30:00Z.")
    faults.raise_if_any()
    if found is None:
        raise RuntimeError("marks without faults were not read")
    return request, CarriedOrder(found.tag, found.version, found.by, found.at, found.digest, tuple(found.pieces))


class _Order:
    """One order being read."""

    def __init__(self, document: Document, faults: TomlFaults, opening: date) -> None:
        self._data = document.data
        self._written = LooseTable(document.data)
        self._faults = faults
        self._opening = opening

    def request(self) -> OrderRequest | None:
        """The order; `None`, and its faults noted, where its top is not as it should be."""
        from stockroom.files import order_tables as tables

        top = self._faults.checked(tables.Top, self._data, ())
        wanted = self._wanted()
        cars = self._cars()
        lines = self._lines(cars)
        if top is None:
            return None
        if top.customer is None and not top.for_stock:
            self._faults.add(("customer",), "missing; expected text in one line, or for_stock = true.")
        return OrderRequest(
            number=top.number or "",
            customer=top.customer or FOR_STOCK,
            wanted=wanted,
            fitted_here=top.fitted_here,
            book=top.book or "",
            cars=tuple(cars.values()),
            lines=lines,
            note=top.note,
            for_stock=top.for_stock,
        )

    def _wanted(self) -> date | None:
        from stockroom.files.cells import read_day

        value = self._data.get("wanted", "open")
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        if value == "open":
            return None
        day = read_day(value, self._opening) if isinstance(value, str) else None
        if day is None:
            self._faults.add(
                ("wanted",), f"found {shown(value)}; expected a day such as 2026-12-14, 'opening+21d', or 'open'."
            )
        return day

    def _cars(self) -> dict[str, CarRequest]:
        """The cars by the names of their tables."""
        from stockroom.files.order_tables import Car

        cars: dict[str, CarRequest] = {}
        by_chassis: dict[str, str] = {}
        for name, written in self._written.table("cars").entries():
            car = self._faults.checked(Car, self._data["cars"][name], written.path)
            if car is None:
                cars[name] = CarRequest(name, _one_spelling(written.text("chassis") or ""))
                continue
            self._refuse_hidden_marks(car.chassis, written)
            chassis = _one_spelling(car.chassis)
            if chassis and by_chassis.setdefault(chassis, name) != name:
                self._faults.add(
                    (*written.path, "chassis"),
                    f"chassis number {quoted(chassis)} is that of the car {quoted(by_chassis[chassis])} too. "
                    "Name each car once.",
                )
            cars[name] = CarRequest(
                key=car.key or chassis or name,
                chassis_number=chassis,
                series=car.series,
                works=car.works,
                built=car.built,
                hand=car.hand,
                body_colour=car.body,
                trim_colour=car.trim,
                hood_colour=car.hood,
            )
        return cars

    def _refuse_hidden_marks(self, chassis: str, written: LooseTable) -> None:
        if not chassis.isprintable():
            self._faults.add(
                (*written.path, "chassis"),
                f"found {quoted(chassis)}; expected nothing but letters, figures and blanks.",
            )

    def _lines(self, cars: dict[str, CarRequest]) -> tuple[LineRequest, ...]:
        from stockroom.files.order_changes import check_change
        from stockroom.files.order_tables import Line

        lines: list[LineRequest] = []
        for number, written in enumerate(self._written.tables("lines")):
            line = self._faults.checked(Line, self._data["lines"][number], written.path)
            car = self._car_of(written, cars)
            self._faults.twice((*written.path, "pieces"), "piece", (piece for _, piece in written.texts("pieces")))
            for change in written.tables("changes"):
                check_change(self._faults, change)
            if line is not None and car is not None:
                lines.append(self._line(line, car, written))
        return tuple(lines)

    def _line(self, line: tables.Line, car: CarRequest, written: LooseTable) -> LineRequest:
        from stockroom.files.order_changes import read_change

        changes = zip(line.changes, written.tables("changes"), strict=True)
        return LineRequest(
            kit=line.kit,
            quantity=line.quantity,
            car=car.key,
            pieces=tuple(line.pieces),
            choices=line.choices,
            changes=tuple(read_change(self._faults, change, told) for change, told in changes),
            overruled={code: overruled.overruling() for code, overruled in line.overruled.items()},
            swatches=tuple(line.swatches),
            measurements=line.measurements,
            match=line.match or self._written.text("match") or "",
        )

    def _car_of(self, line: LooseTable, cars: dict[str, CarRequest]) -> CarRequest | None:
        """The car a line is for: by its table's name or its chassis number; where there is only one, that one."""
        name = line.text("car")
        if name is None:
            if len(cars) == 1 and not line.has("car"):
                return next(iter(cars.values()))
            if not line.has("car"):
                self._faults.add(
                    (*line.path, "car"),
                    "missing; expected which of [cars.NAME] the line is for (it may be an empty table).",
                )
            return None
        if name in cars:
            return cars[name]
        plain = _one_spelling(name)
        found = next((car for car in cars.values() if car.chassis_number and car.chassis_number == plain), None)
        if found is None:
            self._faults.add((*line.path, "car"), unknown("car in this order called", name, cars))
        return found


def _one_spelling(chassis: str) -> str:
    """A chassis number with single blanks, and none at the ends."""
    return " ".join(chassis.split())
