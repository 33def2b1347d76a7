# ruff: noqa: ARG002 - the methods below have the signatures that SQLAlchemy calls them with
"""Column types of our own, and the `Base` that every table is built on.

They exist so that a column means the same on both databases: SQLite tables are STRICT (a wrong type is refused, as
PostgreSQL does), text orders by code point, a moment keeps its instant. In a table file:

    class Roll(Base):
        __tablename__ = "roll"
        id: Mapped[Id]                                   # INTEGER PRIMARY KEY / BIGINT identity
        tag: Mapped[str] = mapped_column(unique=True)    # Words
        length_mm: Mapped[int]                           # Whole
        received_at: Mapped[datetime]                    # Moment
        checked_on: Mapped[date | None]                  # Day
        quarantined: Mapped[bool]                        # YesNo
        flaws: Mapped[object] = mapped_column(Json)      # Json must be asked for

Hot paths run through Core's executemany, so a type does no work in Python where the driver already does it.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Annotated, Any, ClassVar

from sqlalchemy import (
    REAL,
    BigInteger,
    Boolean,
    Date,
    DateTime,
    Dialect,
    Double,
    Identity,
    Integer,
    MetaData,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, mapped_column
from sqlalchemy.types import TypeEngine

_Processor = Callable[[Any], Any]


def _is_sqlite(dialect: Dialect) -> bool:
    return dialect.name == "sqlite"


class Words(TypeDecorator[str]):
    """Text, ordered by code point. TEXT on SQLite, TEXT COLLATE "C" on PostgreSQL."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Text() if _is_sqlite(dialect) else Text(collation="C")


class Whole(TypeDecorator[int]):
    """A whole number of 64 bits: mm, g, minor units of money, counts. INTEGER on SQLite, BIGINT on PostgreSQL."""

    impl = BigInteger
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Integer() if _is_sqlite(dialect) else BigInteger()


class Key(Whole):
    """A row's own number, given by the database: the rowid on SQLite, BIGINT identity on PostgreSQL. See `Id`."""

    cache_ok = True


class Real(TypeDecorator[float]):
    """A measured value such as a colour reading. REAL on SQLite, DOUBLE PRECISION on PostgreSQL: both are 64 bits."""

    impl = Double
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return REAL() if _is_sqlite(dialect) else Double()


class YesNo(TypeDecorator[bool]):
    """Yes or no, `bool` in Python. INTEGER 0 or 1 on SQLite, BOOLEAN on PostgreSQL."""

    impl = Boolean
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Integer() if _is_sqlite(dialect) else Boolean()

    def bind_processor(self, dialect: Dialect) -> _Processor | None:
        return _sure_of_yes_no

    def result_processor(self, dialect: Dialect, coltype: object) -> _Processor | None:
        return _to_yes_no if _is_sqlite(dialect) else None


class Moment(TypeDecorator[datetime]):
    """An instant. Aware datetimes only; kept, and given back, in UTC to the microsecond.

    On SQLite it is TEXT of one width (`2026-11-25T08:30:00.000000Z`), so that text order is time order; on PostgreSQL
    TIMESTAMPTZ. A datetime without a zone raises ValueError: its instant is not known.
    """

    impl = DateTime
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Text() if _is_sqlite(dialect) else DateTime(timezone=True)

    def bind_processor(self, dialect: Dialect) -> _Processor | None:
        return _moment_to_text if _is_sqlite(dialect) else _moment_to_utc

    def result_processor(self, dialect: Dialect, coltype: object) -> _Processor | None:
        return _moment_from_text if _is_sqlite(dialect) else _moment_to_utc


class Day(TypeDecorator[date]):
    """A day of the shop's calendar. TEXT `2026-11-25` on SQLite, DATE on PostgreSQL. A datetime raises ValueError."""

    impl = Date
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Text() if _is_sqlite(dialect) else Date()

    def bind_processor(self, dialect: Dialect) -> _Processor | None:
        return _day_to_text if _is_sqlite(dialect) else _sure_of_day

    def result_processor(self, dialect: Dialect, coltype: object) -> _Processor | None:
        return _day_from_text if _is_sqlite(dialect) else None


class Json(TypeDecorator[Any]):
    """Any JSON value, kept as text that is the same for the same value (keys sorted, no blanks) on both databases.

    `None` is SQL NULL. Tuples come back as lists. A value which JSON cannot hold (NaN, a set) raises ValueError or
    TypeError. It is TEXT on PostgreSQL too: JSONB turns away the character U+0000 and rewrites numbers.
    """

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return Text() if _is_sqlite(dialect) else Text(collation="C")

    def bind_processor(self, dialect: Dialect) -> _Processor | None:
        return _json_to_text

    def result_processor(self, dialect: Dialect, coltype: object) -> _Processor | None:
        return _json_from_text


def _sure_of_yes_no(value: bool | None) -> bool | None:
    if value is None or value is True or value is False:
        return value
    raise ValueError(f"{value!r} is neither yes nor no")


def _to_yes_no(value: int | None) -> bool | None:
    return None if value is None else bool(value)


def _moment_to_utc(value: datetime | None) -> datetime | None:
    if value is None:
        return None
    if value.tzinfo is None or value.utcoffset() is None:
        raise ValueError(f"{value!r} has no zone, so its instant is not known")
    return value.astimezone(UTC)


def _moment_to_text(value: datetime | None) -> str | None:
    moment = _moment_to_utc(value)
    return None if moment is None else moment.isoformat(timespec="microseconds")[:26] + "Z"


def _moment_from_text(value: str | None) -> datetime | None:
    return None if value is None else datetime.fromisoformat(value)


def _sure_of_day(value: date | None) -> date | None:
    if isinstance(value, datetime):
        raise ValueError(f"{value!r} is a moment, not a day: say in which zone its day is meant")
    return value


def _day_to_text(value: date | None) -> str | None:
    day = _sure_of_day(value)
    return None if day is None else day.isoformat()


def _day_from_text(value: str | None) -> date | None:
    return None if value is None else date.fromisoformat(value)


# Made once: json.dumps builds a new encoder at every call whose settings are not its defaults.
_encode_json = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode


def _json_to_text(value: object) -> str | None:
    if value == [] and value.__class__ is list:  # the commonest value by far
        return "[]"
    return None if value is None else _encode_json(value)


def _json_from_text(value: str | None) -> object:
    if value is None:
        return None
    return [] if value == "[]" else json.loads(value)  # most lists are empty: no flaws, no notes


Id = Annotated[int, mapped_column(Key, Identity(), primary_key=True)]
"""`id: Mapped[Id]`: the row's own number and primary key, given by the database unless one is named."""


class Base(DeclarativeBase):
    """What every table is built on: names for constraints, a type for each plain annotation, STRICT on SQLite.

    A CHECK is named by what it demands: `CheckConstraint("reserved <= held", name="reserved_within_held")` becomes
    `ck_roll_reserved_within_held`. Keys, uniques and indexes get their names by themselves.
    """

    metadata = MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        str: Words,
        int: Whole,
        bool: YesNo,
        float: Real,
        datetime: Moment,
        date: Day,
    }

    @classmethod
    def __table_cls__(cls, name: str, metadata: MetaData, *args: Any, **options: Any) -> Table:
        """Declarative's hook for making the table: every one of ours is STRICT."""
        return Table(name, metadata, *args, sqlite_strict=True, **options)
